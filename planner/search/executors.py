"""
Executors: where the parts of a big day are solved; the work is one pure function, so the answers do not depend on it.

A cluster of machines is an executor of the shell (:mod:`cli.machines`), because nothing here speaks to a network.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from typing import Protocol, TypeVar

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


@dataclass(frozen=True, slots=True)
class InProcesses:
    """Jobs in processes of their own on this machine."""

    lanes: int = 2

    def answers(self, work: Callable[[Job], Answer], jobs: Sequence[Job]) -> list[Answer]:
        """Return the answer to each job, in their order."""
        with ProcessPoolExecutor(self.lanes, mp_context=get_context("spawn")) as pool:
            return list(pool.map(work, jobs))
