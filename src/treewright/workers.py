"""Shares work out to the processors of the machine, where that is safe and pays."""

from __future__ import annotations

import gc
import os
from collections import deque
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
    count = _processes(len(jobs))
    if count < 2:
        yield from map(work, jobs)
        return
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(count) as pool:
        yield from pool.map(work, jobs)


class Share(Protocol):
    """Does work on each of some jobs and of those that follow from their results.

    It gives the results in the order of the jobs; those of the jobs that follow come last.
    """

    def __call__(
        self,
        work: Callable[[Job], Result],
        jobs: Iterable[Job],
        following: Callable[[Result], Iterable[Job]] = ...,
        /,
    ) -> Iterator[Result]: ...


_one_of_a_crew = False


def _begin(get_ready: Callable[[], object]) -> None:
    global _one_of_a_crew
    _one_of_a_crew = True
    gc.freeze()  # what came from the process they were split off is not looked through again
    get_ready()


def idle_processors() -> bool:
    """Whether there may be processors without work: no other process of a crew has them."""
    return not _one_of_a_crew


def _none(result: object) -> tuple[()]:
    return ()


@contextmanager
def crew(get_ready: Callable[[], object], *more: Callable[[], object]) -> Iterator[Share]:
    """Processes that get ready while it is still being found out what there is to do.

    Args:
        get_ready: done once in each of them; a function of a module.
        more: each done in one of them after that, as there is not time enough for all to do it
            all; what that makes ready is best asked for in this order.

    Yields:
        what shares jobs out to them; where there is but one processor, or no process can be
        split off safely, they are done one after the other in this one.
    """
    count = _processes(_MOST)
    if count < 2:
        yield one_by_one
        return
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(count, initializer=_begin, initargs=(get_ready,)) as pool:
        for one in more:
            pool.submit(one)  # starts them

        def share(
            work: Callable[[Job], Result],
            jobs: Iterable[Job],
            following: Callable[[Result], Iterable[Job]] = _none,
        ) -> Iterator[Result]:
            waiting = deque(pool.submit(work, job) for job in jobs)
            try:
                while waiting:
                    result = waiting.popleft().result()
                    waiting += [pool.submit(work, job) for job in following(result)]
                    yield result
            finally:
                for future in waiting:
                    future.cancel()

        yield share


def one_by_one(
    work: Callable[[Job], Result],
    jobs: Iterable[Job],
    following: Callable[[Result], Iterable[Job]] = _none,
) -> Iterator[Result]:
    """Shares nothing out: all is done in this process."""
    later: list[Job] = []
    for job in jobs:
        result = work(job)
        later += following(result)
        yield result
    if later:
        yield from one_by_one(work, later, following)


def _processes(most: int) -> int:
    """How many processes there can be beside this one; below 2: none."""
    count = min(os.cpu_count() or 1, most, _MOST)
    return count if count > 1 and _alone() else 1


def _alone() -> bool:
    """Whether this process has one thread only.

    A process that is split while another thread (of the PDF maker, say) holds a lock leaves a
    child that waits for it for ever. Where that cannot be told, no process is split.
    """
    try:
        return sum(1 for _ in _THREADS.iterdir()) == 1
    except OSError:
        return False
