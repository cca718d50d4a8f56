"""Machines: a cluster that Dask schedules, as a place where the parts of a big day are solved."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from planner.faults import PlannerError

if TYPE_CHECKING:
    from planner.search.executors import Executor

Job = TypeVar("Job")
Answer = TypeVar("Answer")

REACHED_WITHIN_S = 10


class NoMachines(PlannerError):
    """A scheduler that cannot be used; the sentence names it and what to do."""

    def __init__(self, address: str, says: str) -> None:
        super().__init__(f"--machines {address}: {says}")


@dataclass(frozen=True, slots=True)
class OnMachines:
    """Jobs on the workers of one Dask scheduler; each needs homeleg of the same version installed."""

    client: Any

    @property
    def lanes(self) -> int:
        """How many jobs the workers do at a time."""
        threads: dict[str, int] = self.client.nthreads()
        return max(1, sum(threads.values()))

    def answers(self, work: Callable[[Job], Answer], jobs: Sequence[Job]) -> list[Answer]:
        """Return the answer to each job, in their order."""
        futures = self.client.map(work, jobs, pure=False)
        answers: list[Answer] = self.client.gather(futures)
        return answers


@contextmanager
def machines(address: str | None) -> "Iterator[Executor]":
    """
    Yield where to solve: this machine's processes, or the workers of the scheduler at an address such as tcp://10.0.0.5:8786.

    Raises
    ------
    NoMachines
        If Dask is not installed, nobody answers there, or the scheduler has no workers.

    """
    from planner.search.executors import InProcesses

    if address is None:
        with InProcesses() as executor:
            yield executor
        return
    try:
        import distributed
    except ImportError:
        raise NoMachines(address, "Dask is not installed. Install it with: pip install 'homeleg[cluster]'.") from None
    join: Any = distributed.Client
    try:
        client = join(address, timeout=REACHED_WITHIN_S, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as fault:
        says = f"no scheduler answers ({fault}). Start one with 'dask scheduler' and give the address that it prints."
        raise NoMachines(address, says) from None
    with client:
        if not client.nthreads():
            raise NoMachines(address, "the scheduler has no workers. Start some with 'dask worker' and its address.")
        yield OnMachines(client)
