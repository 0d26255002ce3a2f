"""Makes one of two places of the same check where they do not contradict each other.

Two places agree where each answer that both have goes on alike; an answer that only one of them
has cannot come at the other, by what the faults show. It must not come to a way that leads
round, nor to one on which a check is taken before what must come first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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


def merged(
    spots: list[Spot], tops: Sequence[int], first: Mapping[str, set[str]]
) -> tuple[list[Spot], dict[int, int]]:
    """Makes one of places that agree.

    Args:
        spots: the places; none leads round.
        tops: where a job can begin.
        first: by check, all that must be taken before it on every way.

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
                    _try(spots, stands, other, at, tops, first)
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


def _try(
    spots: list[Spot],
    stands: dict[int, int],
    one_place: int,
    second: int,
    tops: Sequence[int],
    first: Mapping[str, set[str]],
) -> None:
    """Takes a place and all behind it into another, or leaves both as they are."""
    trial = dict(stands)
    ways: dict[int, dict[int, int | str]] = {}
    pairs = [(one_place, second)]
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
    order = _in_order(spots, ways, trial)
    if order is None or (first and not _in_turn(spots, ways, trial, order, tops, first)):
        return
    for at, joined in ways.items():
        spots[at].ways = joined
    for at in set(trial) - set(stands):
        spots[_find(trial, at)].add_others(spots[at].others)
    stands.update(trial)


def _onward(
    spots: list[Spot], ways: dict[int, dict[int, int | str]], stands: dict[int, int], at: int
) -> set[int]:
    """The places that come next after one."""
    thens = ways.get(at, spots[at].ways).values()
    return {_find(stands, then) for then in thens if isinstance(then, int)}


def _in_order(
    spots: list[Spot], ways: dict[int, dict[int, int | str]], stands: dict[int, int]
) -> list[int] | None:
    """The places, each before those it leads to; None where some way comes back to where it was."""
    onward = {at: _onward(spots, ways, stands, at) for at in range(len(spots)) if at not in stands}
    into = dict.fromkeys(onward, 0)
    for thens in onward.values():
        for then in thens:
            into[then] += 1
    order = [at for at in onward if not into[at]]
    for at in order:  # grows while it is walked
        for then in onward[at]:
            into[then] -= 1
            if not into[then]:
                order.append(then)
    return order if len(order) == len(onward) else None


def _in_turn(
    spots: list[Spot],
    ways: dict[int, dict[int, int | str]],
    stands: dict[int, int],
    order: list[int],
    tops: Sequence[int],
    first: Mapping[str, set[str]],
) -> bool:
    """Whether on every way, whatever is answered, what must come first does."""
    done: dict[int, frozenset[str]] = {_find(stands, top): frozenset() for top in tops}
    for at in order:
        if at not in done:  # nothing leads there
            continue
        if first.get(spots[at].check, set()) - done[at]:
            return False
        now = done[at] | {spots[at].check}
        for then in _onward(spots, ways, stands, at):
            done[then] = done[then] & now if then in done else now
    return True
