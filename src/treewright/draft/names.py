"""What everything in a drafted tree is called: places of checks, what is tried next, ends."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from treewright.model.nodes import Check, Done, Fault, Handoff, Reading
from treewright.model.tree import Tree
from treewright.reason.answers import Answers
from treewright.reason.draft import Draft, Place
from treewright.reason.order.from_tree import firsts
from treewright.record import record

UNKNOWN, GONE = "no-known-fault", "complaint-gone"


def free(name: str, taken: set[str]) -> str:
    """The name, or with a number where something else has it; it is taken then."""
    made, count = name, 1
    while made in taken:
        count += 1
        made = f"{name}-{count}"
    taken.add(made)
    return made


@record
class Again:
    """A check taken after the remedy of a fault that may be another one.

    `of`: the check it is the same as; "" for the plain question whether the complaint is gone.
    """

    name: str
    of: str
    fault: str
    then: str


@dataclass(slots=True)
class Names:
    """The names of a drafted tree.

    Attributes:
        places: of each place of the draft.
        copies: by check, the names under which it is asked besides its own.
        again: what is asked after a remedy to try the next fault, by the fault.
        retests: the check to take after a remedy, by the fault, where the file names none and
            the one that led to it would not do.
        no_retest: faults for which no check shows whether the remedy was one.
        only_retests: checks that are only taken after a remedy.
        left_out: blocks to which no way leads.
        unknown, gone: the hand-off where nothing fits and the end where the complaint is gone;
            `stops` and `cured` say whether a way leads there.
    """

    places: list[str] = field(default_factory=list)
    copies: dict[str, list[str]] = field(default_factory=dict)
    again: dict[str, Again] = field(default_factory=dict)
    retests: dict[str, str] = field(default_factory=dict)
    no_retest: set[str] = field(default_factory=set)
    only_retests: list[str] = field(default_factory=list)
    left_out: set[str] = field(default_factory=set)
    unknown: str = UNKNOWN
    gone: str = GONE
    stops: bool = False
    cured: bool = False


def names(tree: Tree, draft: Draft, answers: Answers) -> Names:
    """Names what a draft needs; names of the tree stay."""
    made = Names()
    taken = set(tree.nodes)
    for place in draft.places:
        name = place.check
        if place.copy > 1:
            number = place.copy
            while f"{place.check}-{number}" in taken:
                number += 1
            name = free(f"{place.check}-{number}", taken)
            made.copies.setdefault(place.check, []).append(name)
        made.places.append(name)
    _ends(tree, made, taken)
    asked = dict.fromkeys(place.check for place in draft.places)
    # Whatever must come after another check cannot be taken from just anywhere.
    first = firsts(tree, None)
    checks = sorted(answers.checks, key=lambda check: _dearness(check, asked))
    checks = [check for check in checks if check.name not in first]
    spots = _spots(draft, made, checks, first)
    wanted: list[str] = []  # checks that are taken after a remedy, under their own names
    for fault in answers.faults:
        if fault.name in draft.tries:
            continue
        best = _retest(fault, draft, answers, spots)
        if fault.retest is not None:
            wanted.append(fault.retest.name)
        elif best is None:
            made.no_retest.add(fault.name)
        elif best:
            made.retests[fault.name] = best
            wanted.append(best)
    for fault in answers.faults:
        if fault.name in draft.tries:
            of = _tells_both(fault, draft.tries[fault.name], answers, checks)
            name = of
            if not of or of in asked or of in wanted:
                name = free(f"{of or 'cured'}-after-{fault.name}", taken)
                made.copies.setdefault(of, []).append(name)
            else:
                wanted.append(of)  # it stands here, and nowhere else
            made.again[fault.name] = Again(name, of, fault.name, draft.tries[fault.name])
    named = {again.name for again in made.again.values()}
    made.only_retests = [
        name for name in dict.fromkeys(wanted) if name not in made.places and name not in named
    ]
    made.cured = bool(made.again or made.only_retests)
    by_name = {check.name: check for check in answers.checks}
    made.stops = bool(made.only_retests) or any(
        len(place.ways) < len(by_name[place.check].outcomes) for place in draft.places
    )
    for again in made.again.values():
        check = by_name.get(again.of)
        if check is not None:
            fits = answers.given(again.then, check) | set(check.normal)
            made.stops = made.stops or len(fits) < len(check.outcomes)
    used = {*asked, *wanted}
    used |= ({made.unknown} if made.stops else set()) | ({made.gone} if made.cured else set())
    made.left_out = {
        node.name
        for node in tree.nodes.values()
        if not isinstance(node, Fault) and node.name not in used and "." not in node.name
    }
    return made


def _ends(tree: Tree, made: Names, taken: set[str]) -> None:
    """The file's own hand-off and clean end, where it has one of each, else new ones."""
    for kind, name in ((Handoff, UNKNOWN), (Done, GONE)):
        own = [node.name for node in tree.nodes.values() if isinstance(node, kind)]
        end = own[0] if len(own) == 1 else name if name in own else free(name, taken)
        if kind is Handoff:
            made.unknown = end
        else:
            made.gone = end


def _spots(
    draft: Draft, made: Names, checks: list[Check | Reading], first: dict[str, set[str]]
) -> list[tuple[str, Check | Reading]]:
    """Where a job can be taken up again: the names of places from which all that follows is in
    turn, whatever was done before, and of checks that are asked nowhere."""
    lacking: list[set[str]] = [set() for _ in draft.places]  # what must be done on arrival
    for at in reversed(range(len(draft.places))):  # every way leads down
        place = draft.places[at]
        for to in place.ways.values():
            if to.place >= 0:
                lacking[at] |= lacking[to.place] - {place.check}
        lacking[at] |= first.get(place.check, set())
    found = []
    for check in checks:
        places = [at for at, place in enumerate(draft.places) if place.check == check.name]
        names = [made.places[at] for at in places if not lacking[at]]
        found += [(name, check) for name in (names[:1] if places else [check.name])]
    return found


def _retest(
    fault: Fault, draft: Draft, answers: Answers, spots: list[tuple[str, Check | Reading]]
) -> str | None:
    """The check that shows whether a fault is mended; "" if the one that leads to it does."""
    by_name = {check.name: check for check in answers.checks}
    leads = [
        (by_name[place.check], answer)
        for place in draft.places
        for answer, to in place.ways.items()
        if to.fault == fault.name
    ]
    started = any(begun.to.fault == fault.name for begun in draft.begun)
    tried = fault.name in draft.tries.values()
    plain = leads and not started and not tried and fault.name not in draft.tries
    if plain and all(answer not in check.normal for check, answer in leads):
        return ""
    return next((name for name, check in spots if _is_sure(fault.name, check, answers)), None)


def _is_sure(fault: str, check: Check | Reading, answers: Answers) -> bool:
    """Whether a check surely gives another answer than its normal one with a fault."""
    return bool(check.normal) and not answers.given(fault, check) & set(check.normal)


def _tells_both(
    fault: Fault, then: str, answers: Answers, checks: list[Check | Reading]
) -> str:
    """The check that shows whether a remedy was one, though it may be the next fault: the
    file's own if that does, else the cheapest; "" where there is none."""
    own = fault.retest.name if fault.retest else ""
    sure = [
        check.name
        for check in sorted(checks, key=lambda check: check.name != own)
        if _is_sure(fault.name, check, answers) and _is_sure(then, check, answers)
    ]
    return sure[0] if sure else ""


def _dearness(check: Check | Reading, asked: dict[str, None]) -> tuple[bool, bool, Fraction]:
    """Checks that are asked anyhow first, then the cheap ones."""
    minutes = check.cost.minutes
    return check.name not in asked, minutes is None, minutes or Fraction(0)


def place_of(draft: Draft, made: Names, check: str) -> list[tuple[str, Place]]:
    """The places of a check with their names."""
    return [
        (name, place)
        for name, place in zip(made.places, draft.places, strict=True)
        if place.check == check
    ]
