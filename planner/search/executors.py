"""
Executors: where the parts of a big day are solved; the work is one pure function, so the answers do not depend on it.

A cluster of machines is an executor of the shell (:mod:`cli.machines`), because nothing here speaks to a network.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from typing import Protocol, Self, TypeVar

Job = TypeVar("Job")
Answer = TypeVar("Answer")


class Executor(Protocol):
    """Does the same work on many jobs, ``lanes`` of them at a time."""

    @property
    def lanes(self) -> int:
        """How many jobs are done at a time."""

    def answers(self, work: Callable[[Job], Answer], jobs: Sequence[Job]) -> list[Answer]:
        """Return the answer to each job, in their order."""


@dataclass(frozen=True, slots=True)
class InProcess:
    """One job after another, here."""

    lanes: int = 1

    def answers(self, work: Callable[[Job], Answer], jobs: Sequence[Job]) -> list[Answer]:
        """Return the answer to each job, in their order."""
        return [work(job) for job in jobs]


class InProcesses:
    """Jobs in processes of their own on this machine; within ``with`` the processes stay for further jobs."""

    def __init__(self, lanes: int = 2) -> None:
        self.lanes = lanes
        self._pool: ProcessPoolExecutor | None = None
        self._is_kept = False

    def __enter__(self) -> Self:
        self._is_kept = True
        return self

    def __exit__(self, *_: object) -> None:
        self._is_kept = False
        self._end()

    def answers(self, work: Callable[[Job], Answer], jobs: Sequence[Job]) -> list[Answer]:
        """Return the answer to each job, in their order."""
        if self._pool is None:
            self._pool = ProcessPoolExecutor(self.lanes, mp_context=get_context("spawn"))
        try:
            return list(self._pool.map(work, jobs))
        except KeyboardInterrupt:
            self._end()
            raise
        finally:
            if not self._is_kept:
                self._end()

    def _end(self) -> None:
        if self._pool is not None:
            self._pool.shutdown()
            self._pool = None
