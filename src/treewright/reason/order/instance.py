"""The question of the best order, put in whole numbers: faults, checks, conditions, demands.

It knows nothing of files or trees. Shares and minutes are scaled to integers once, so that all
that is compared later is exact. Faults, checks and conditions are numbered; sets of them are
bits of an integer.

What is meant:
    - One fault is there. A check gives one answer; `gives` has for each answer the faults that
      can give it. A fault that stands under several answers of a check (it shows one of them
      `maybe`) gives each of them equally often, each check for itself; asked again the check
      would say the same, so it is asked once. Checks that are the `same` say the same as each
      other: whichever of them is done, all are.
    - The job goes on until no check that is left can tell apart what is still suspected.
    - A check needs conditions. What does not hold is set up first; a condition that excludes
      it is undone before. What holds stays until something excludes it. What is left set at
      the end of the job costs nothing here.
    - `after`: checks that must have been done on the same way before this one. `rung`: with
      `ladder`, a check of a deeper rung waits while one of a lower rung could still tell
      something apart.
    - The last fault is `inferred` (the job ends when only one suspect, or one group, is left)
      or `confirmed` (its own check, if it was not done on the way, with what must come before
      it, and its remedy are paid as well; in a group one suspect after another is tried, the
      least minutes for its share first).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from math import lcm, prod
from typing import Literal, TypeAlias

from treewright.record import record

Last: TypeAlias = Literal["inferred", "confirmed"]
Number: TypeAlias = int | Fraction


@record
class Suspect:
    """A fault: how often it is the one, relative to the others, and what makes sure of it."""

    name: str
    share: Number
    confirm: int | None = None  # the check that confirms it
    remedy: Number = 0  # minutes, paid where the last fault is confirmed


@record
class Probe:
    """A check: its minutes, and for each answer the bits of the faults that can give it."""

    name: str
    cost: Number
    gives: tuple[int, ...]
    needs: int = 0  # bits of conditions
    after: int = 0  # bits of checks that must come before it
    rung: int | None = None
    same: int = 0  # bits of checks that ask the same; what one of them says all say


@record
class State:
    """A condition of the job: minutes to set it up and to undo it, what it cannot hold with."""

    name: str
    setup: Number
    undo: Number = 0
    excludes: int = 0


@record
class Instance:
    """All of it, in whole numbers. Made by `instance`, which looks whether it holds together.

    Attributes:
        per_minute: how many units of cost a minute is.
        weights: the shares as whole numbers; large enough to be split by every `maybe`.
        rows: for each check all that must come before it and then itself, in turn: of those
            that can be next, the one with the lowest number.
        rungs: the rung of each check, no lower than of what must come before it.
        alike: for each check the bits of those that are done with it, itself among them.
        askers: the first of each such group, as bits: so many questions there are.
    """

    suspects: tuple[Suspect, ...]
    probes: tuple[Probe, ...]
    states: tuple[State, ...]
    last: Last
    ladder: bool
    per_minute: int
    weights: tuple[int, ...]
    costs: tuple[int, ...]
    setups: tuple[int, ...]
    undos: tuple[int, ...]
    remedies: tuple[int, ...]
    rows: tuple[tuple[int, ...], ...]
    rungs: tuple[int | None, ...]
    alike: tuple[int, ...]
    askers: int

    @property
    def everything(self) -> int:
        """The bits of all faults."""
        return (1 << len(self.suspects)) - 1

    @property
    def total(self) -> int:
        """The sum of all weights."""
        return sum(self.weights)

    def minutes(self, value: int) -> Fraction:
        """Expected minutes of a sum of weight times cost."""
        return Fraction(value, self.total * self.per_minute)

    @property
    def idle(self) -> int:
        """The checks that all faults answer alike and that need not come before another."""
        awaited = 0
        for probe in self.probes:
            awaited |= self.with_same(probe.after)
        return sum(
            1 << at
            for at, probe in enumerate(self.probes)
            if all(given == self.everything for given in probe.gives) and not awaited >> at & 1
        )

    def with_same(self, checks: int) -> int:
        """Some checks with all that are done when these are, as bits."""
        for at in bits(checks):
            checks |= self.alike[at]
        return checks

    def groups(self) -> tuple[int, ...]:
        """Faults that no check can tell apart, as bits, by the first fault of each group."""
        found = [self.everything]
        for probe in self.probes:
            for given in probe.gives:
                found = [
                    part for group in found for part in (group & given, group & ~given) if part
                ]
        return tuple(sorted(found, key=lambda group: group & -group))


def instance(
    suspects: Sequence[Suspect],
    probes: Sequence[Probe],
    states: Sequence[State] = (),
    *,
    last: Last = "inferred",
    ladder: bool = False,
) -> Instance:
    """Puts the question in whole numbers.

    Returns:
        The instance.

    Raises:
        ValueError: nothing to find, a share or a time below zero, no share at all, a check with
            a fault that gives no answer, checks that wait for each other, a check that needs
            two conditions which exclude each other, or checks that are the same and say
            different things.
    """
    everyone = (1 << len(suspects)) - 1
    if not suspects:
        raise ValueError("there is no fault to find")
    _look_at_numbers(suspects, probes, states)
    for probe in probes:
        union = 0
        for given in probe.gives:
            union |= given
        if union != everyone:
            raise ValueError(f"{probe.name}: not every fault gives an answer, or one too many")
    mutual = _mutual(states)
    for probe in probes:
        if any(mutual[at] & probe.needs for at in bits(probe.needs)):
            raise ValueError(f"{probe.name}: two of the conditions it needs exclude each other")
    alike = _alike(probes)
    probes = [replace(one, after=one.after & ~alike[at]) for at, one in enumerate(probes)]
    _look_at_order(probes)

    rows = [_row(probes, alike, check) for check in range(len(probes))]
    askers = sum(1 << at for at, same in enumerate(alike) if not same & ((1 << at) - 1))
    unsure = [probes[at] for at in bits(askers) if several(probes[at])]
    splits = [prod(answers(p, at).bit_count() for p in unsure) for at in range(len(suspects))]
    shares = [Fraction(suspect.share) for suspect in suspects]
    whole = lcm(*(share.denominator for share in shares)) * lcm(*splits)
    times = [Fraction(probe.cost) for probe in probes]
    setups = [Fraction(state.setup) for state in states]
    undos = [Fraction(state.undo) for state in states]
    remedies = [Fraction(suspect.remedy) for suspect in suspects]
    unit = lcm(1, *(time.denominator for time in (*times, *setups, *undos, *remedies)))
    return Instance(
        suspects=tuple(suspects),
        probes=tuple(probes),
        states=tuple(
            State(state.name, state.setup, state.undo, both)
            for state, both in zip(states, mutual, strict=True)
        ),
        last=last,
        ladder=ladder,
        per_minute=unit,
        weights=tuple(int(share * whole) for share in shares),
        costs=tuple(int(time * unit) for time in times),
        setups=tuple(int(time * unit) for time in setups),
        undos=tuple(int(time * unit) for time in undos),
        remedies=tuple(int(time * unit) for time in remedies),
        rows=tuple(rows),
        rungs=tuple(_rung(probes, row) for row in rows),
        alike=tuple(alike),
        askers=askers,
    )


def bits(of: int) -> Iterator[int]:
    """The places of the bits that are set, from the lowest."""
    while of:
        low = of & -of
        yield low.bit_length() - 1
        of ^= low


def answers(probe: Probe, fault: int) -> int:
    """The answers that a fault can give at a check, as bits."""
    return sum(1 << at for at, given in enumerate(probe.gives) if given >> fault & 1)


def several(probe: Probe) -> int:
    """The faults that can give more than one answer at a check, as bits."""
    once = twice = 0
    for given in probe.gives:
        twice |= once & given
        once |= given
    return twice


def _look_at_numbers(
    suspects: Sequence[Suspect], probes: Sequence[Probe], states: Sequence[State]
) -> None:
    for suspect in suspects:
        if suspect.share < 0 or suspect.remedy < 0:
            raise ValueError(f"{suspect.name}: a share or a time is below zero")
        if suspect.confirm is not None and not 0 <= suspect.confirm < len(probes):
            raise ValueError(f"{suspect.name}: there is no such check to confirm it")
    if not any(suspect.share for suspect in suspects):
        raise ValueError("no fault has a share")
    for probe in probes:
        if probe.cost < 0:
            raise ValueError(f"{probe.name}: a time is below zero")
        if probe.needs >> len(states):
            raise ValueError(f"{probe.name}: it needs a condition that is not there")
    for state in states:
        if state.setup < 0 or state.undo < 0:
            raise ValueError(f"{state.name}: a time is below zero")


def _mutual(states: Sequence[State]) -> list[int]:
    """What each condition cannot hold with, whichever of the two says so."""
    found = [state.excludes for state in states]
    for at, state in enumerate(states):
        for other in bits(state.excludes):
            if other >= len(states) or other == at:
                raise ValueError(f"{state.name}: it excludes itself, or what is not there")
            found[other] |= 1 << at
    return found


def _alike(probes: Sequence[Probe]) -> list[int]:
    """For each check those that are done with it, whichever of the two says so."""
    found = [1 << at | probe.same for at, probe in enumerate(probes)]
    for at, same in enumerate(found):
        if same >> len(probes):
            raise ValueError(f"{probes[at].name}: it is the same as what is not there")
        for other in bits(same):
            found[other] |= 1 << at
    for through in range(len(found)):
        for at, same in enumerate(found):
            if same >> through & 1:
                found[at] |= found[through]
    for at, same in enumerate(found):
        for other in bits(same):
            if sorted(probes[other].gives) != sorted(probes[at].gives):
                raise ValueError(f"{probes[at].name}: the same as {probes[other].name}, and says"
                                 " other things")  # fmt: skip
    return found


def _look_at_order(probes: Sequence[Probe]) -> None:
    done, todo = 0, set(range(len(probes)))
    while todo:
        ready = {at for at in todo if not probes[at].after & ~done}
        if not ready:
            names = ", ".join(probes[at].name for at in sorted(todo))
            raise ValueError(f"each of these waits for another: {names}")
        done |= sum(1 << at for at in ready)
        todo -= ready


def _row(probes: Sequence[Probe], alike: Sequence[int], check: int) -> tuple[int, ...]:
    todo = awaited = 1 << check
    while todo:
        todo = probes[(todo & -todo).bit_length() - 1].after & ~awaited | todo & (todo - 1)
        awaited |= todo
    row: list[int] = []
    done = 0
    while awaited & ~done:
        ready = next(at for at in bits(awaited & ~done) if not probes[at].after & ~done)
        done |= alike[ready]
        row.append(ready)
    return tuple(row) if row[-1] == check else (*row, check)


def _rung(probes: Sequence[Probe], row: Sequence[int]) -> int | None:
    rungs = [rung for one in row if (rung := probes[one].rung) is not None]
    return None if probes[row[-1]].rung is None else max(rungs)
