"""Makes one of two places of the same check where they do not contradict each other.

Two places agree where each answer that both have goes on alike; an answer that only one of them
has cannot come at the other, by what the faults show. It must not come to a way that leads round.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

MOST = 400  # places; with more, only what is the same to the end is one


@dataclass(slots=True)
class Spot:
    """A place where a check is asked.

    Attributes:
        check: the check.
        ways: by answer, the number of the next place, or the name of a fault.
        others: by answer that finds a fault, what else it may be.
    """

    check: str
    ways: dict[int, int | str]
    others: dict[int, tuple[str, ...]]

    def add_others(self, more: dict[int, tuple[str, ...]]) -> None:
        """Takes note of what else it may be, where the same fault is found from elsewhere."""
        for answer, names in more.items():
            known = self.others.get(answer, ())
            self.others[answer] = (*known, *(name for name in names if name not in known))


def merged(spots: list[Spot], tops: Sequence[int]) -> tuple[list[Spot], dict[int, int]]:
    """Makes one of places that agree.

    Args:
        spots: the places; none leads round.
        tops: where a job can begin.

    Returns:
        The places, those that were taken into another left unused, and for each the one that
        stands for it.
    """
    stands: dict[int, int] = {}
    if len(spots) <= MOST:
        order = _down(spots, tops)
        for at in order:
            for other in order:
                if other == at:
                    break
                if _find(stands, other) == other and _find(stands, at) == at:
                    _try(spots, stands, other, at)
    moved = {at: _find(stands, at) for at in range(len(spots))}
    made = []
    for spot in spots:
        ways = {
            answer: moved[then] if isinstance(then, int) else then
            for answer, then in spot.ways.items()
        }
        made.append(Spot(spot.check, ways, spot.others))
    return made, moved


def _down(spots: list[Spot], tops: Sequence[int]) -> list[int]:
    """All places, each as it is first met, so that large pieces are tried before small ones."""
    found: dict[int, None] = {}
    todo = list(reversed(tops))
    while todo:
        at = todo.pop()
        if at not in found:
            found[at] = None
            ways = [spots[at].ways[answer] for answer in sorted(spots[at].ways, reverse=True)]
            todo += [then for then in ways if isinstance(then, int)]
    return list(found)


def _find(stands: dict[int, int], at: int) -> int:
    while at in stands:
        at = stands[at]
    return at


def _try(spots: list[Spot], stands: dict[int, int], first: int, second: int) -> None:
    """Takes a place and all behind it into another, or leaves both as they are."""
    trial = dict(stands)
    ways: dict[int, dict[int, int | str]] = {}
    pairs = [(first, second)]
    while pairs:
        one, other = (_find(trial, at) for at in pairs.pop())
        if one == other:
            continue
        if spots[one].check != spots[other].check:
            return
        mine = dict(ways.get(one, spots[one].ways))
        for answer, then in ways.get(other, spots[other].ways).items():
            known = mine.setdefault(answer, then)
            if isinstance(known, int) and isinstance(then, int):
                pairs.append((known, then))
            elif known != then:
                return
        ways[one] = mine
        trial[other] = one
    if _leads_round(spots, ways, trial):
        return
    for at, joined in ways.items():
        spots[at].ways = joined
    for at in set(trial) - set(stands):
        spots[_find(trial, at)].add_others(spots[at].others)
    stands.update(trial)


def _leads_round(
    spots: list[Spot], ways: dict[int, dict[int, int | str]], stands: dict[int, int]
) -> bool:
    """Whether some way comes back to where it was."""
    onward: dict[int, list[int]] = {}
    into: dict[int, int] = {}
    for at in range(len(spots)):
        if at in stands:
            continue
        thens = ways.get(at, spots[at].ways).values()
        onward[at] = list({_find(stands, then) for then in thens if isinstance(then, int)})
        for then in onward[at]:
            into[then] = into.get(then, 0) + 1
    ready = [at for at in onward if not into.get(at)]
    gone = 0
    while ready:
        gone += 1
        for then in onward[ready.pop()]:
            into[then] -= 1
            if not into[then]:
                ready.append(then)
    return gone < len(onward)
