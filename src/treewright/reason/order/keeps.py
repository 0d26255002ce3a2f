"""Whether the author's order keeps to what the best one must: what comes first, and the ladder."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from treewright.reason.order.author import Followed, Taken
from treewright.reason.order.from_tree import Question
from treewright.reason.order.instance import bits
from treewright.record import record


@record
class Breach:
    """A check that is taken while another one was to come first, by its `before` line or by
    the access ladder."""

    check: str
    first: str
    by: Literal["before", "access"]


def breaches(of: Question, followed: Followed) -> tuple[Breach, ...]:
    """What the author's order does not keep to, on any way of a fault; each pair once."""
    ways = {end.way for ends in followed.ends.values() for end in ends}
    found = {breach: None for way in sorted(ways, key=_numbers) for breach in _on(of, way)}
    return tuple(found)


def _numbers(way: tuple[Taken, ...]) -> tuple[tuple[int, int], ...]:
    return tuple((taken.check, taken.answer) for taken in way)


def _on(of: Question, way: tuple[Taken, ...]) -> Iterator[Breach]:
    it = of.instance
    left, done = it.everything, 0
    for taken in way:
        name = it.probes[taken.check].name
        for first in bits(it.probes[taken.check].after & ~done):
            yield Breach(name, it.probes[first].name, "before")
        rung = it.rungs[taken.check]
        if it.ladder and rung is not None and not done >> taken.check & 1:
            for other, probe in enumerate(it.probes):
                low = it.rungs[other]
                tells = any(given & left and left & ~given for given in probe.gives)
                if low is not None and low < rung and tells and not done >> other & 1:
                    yield Breach(name, probe.name, "access")
        done |= it.alike[taken.check]
        for given, same in zip(
            it.probes[taken.check].gives, of.answers[taken.check], strict=True
        ):
            if taken.answer in same:
                left &= given
