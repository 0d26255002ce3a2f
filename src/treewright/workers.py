"""Shares work out to the processors of the machine, where that is safe and pays."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol, TypeVar

Job = TypeVar("Job")
Result = TypeVar("Result")

_MOST = 8
_THREADS = Path("/proc/self/task")


def shared(work: Callable[[Job], Result], jobs: Sequence[Job]) -> Iterator[Result]:
    """The results of the jobs, in their order; more than one at a time where that can be.

    Args:
        work: a function of a module (a process must be able to find it by name).
        jobs: what it is done on; each must be able to go to another process.
    """
    count = min(os.cpu_count() or 1, len(jobs), _MOST)
    if count < 2 or not _alone():
        yield from map(work, jobs)
        return
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(count) as pool:
        yield from pool.map(work, jobs)


class Share(Protocol):
    """Does work on each of some jobs, and gives the results in their order."""

    def __call__(
        self, work: Callable[[Job], Result], jobs: Iterable[Job], /
    ) -> Iterator[Result]: ...


@contextmanager
def crew(get_ready: Callable[[], object]) -> Iterator[Share]:
    """Processes that get ready while it is still being found out what there is to do.

    Args:
        get_ready: done once in each of them; a function of a module.

    Yields:
        what shares jobs out to them; where there is but one processor, or no process can be
        split off safely, they are done one after the other in this one.
    """
    count = min(os.cpu_count() or 1, _MOST)
    if count < 2 or not _alone():
        yield map
        return
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(count, initializer=get_ready) as pool:
        pool.submit(_nothing)  # starts them
        yield pool.map


def _nothing() -> None:
    pass


def _alone() -> bool:
    """Whether this process has one thread only.

    A process that is split while another thread (of the PDF maker, say) holds a lock leaves a
    child that waits for it for ever. Where that cannot be told, no process is split.
    """
    try:
        return sum(1 for _ in _THREADS.iterdir()) == 1
    except OSError:
        return False
