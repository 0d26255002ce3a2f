"""What `treewright weigh` says to people: minutes by fault, where they go, and the best order.

Says only what stands in a `Weighing`. Means are rounded; what one way takes is exact.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from fractions import Fraction

from treewright.lint.words import listed
from treewright.model.tree import Tree
from treewright.reason.order.instance import Last
from treewright.reason.order.ranges import Range
from treewright.reason.weigh import Bar, FaultWeighed, Weighed
from treewright.report.order import looked
from treewright.report.terminal import cells, harmless
from treewright.report.weighed import LASTS, Compared, Ranges, Weighing
from treewright.text.quantity import minutes_text, number_text

_LONGEST = 40  # columns of a title, past which it is cut
_BAR = 30  # columns of the longest bar
_INDENT = "  "

COUNTED = (
    "Checks, steps and set-up count each time they are done; set-up only where it does not hold"
    " already. What is still set at the end costs nothing.",
    "Last cause inferred: the job ends when one fault is left. Confirmed: its own check, if it was"
    " not taken on the way, and its remedy count as well, and faults that no check tells apart are"
    " tried in turn; a retest does not count.",
    "Where a fault may give several answers (`maybe`), each counts as equally often; answers that"
    " no fault tells apart count as one. Asked again a check says the same, until a step puts it"
    " in doubt: then the normal answer may come as well.",
    "90 of 100 jobs: the fewest minutes such that the shares of the faults found within them are"
    " at least 90 %.",
    "Compared with the best order of the same checks are the checks and the set-up they need;"
    " confirmed, remedies as well, without what these need. Other steps are not, since nobody can"
    " say where they would stand in another order, nor are checks that all these faults answer"
    " alike.",
)
"""How it is counted, for the foot of a report."""


def text(tree: Tree, found: Sequence[Weighing], last: Last, width: int = 100) -> str:
    """All symptoms of a tree; the tables below the head figures are for one meaning of `last`."""
    lines = [f"{tree.name}: {harmless(tree.title.text)}"]
    for one in found:
        lines += ["", *_symptom(one, last, width)]
    lines.append("")
    for counted in COUNTED:
        lines += textwrap.wrap(counted, max(width, 40), break_on_hyphens=False)
    return "\n".join(lines) + "\n"


def roughly(minutes: Fraction) -> str:
    """A mean: "1 h 5 min", "12 min", "4.3 min", "20 s"."""
    if minutes >= 10:
        return minutes_text(Fraction((2 * minutes + 1) // 2))
    if minutes >= Fraction(119, 120):  # from there on it is a minute, rounded to seconds
        return f"{number_text(minutes, 1).removesuffix('.0')} min"
    return f"{number_text(minutes * 60, 0)} s" if minutes else "0 min"


def percent(part: Fraction) -> str:
    """A part of 1: "12.5 %"."""
    return f"{number_text(part * 100, 1).removesuffix('.0')} %"


def kind_of(bar: Bar) -> str:
    """What a bar stands for, where it is no check or step: "set-up", "undo", "remedy"."""
    return "" if bar.item.kind in ("check", "step") else bar.item.kind


# ---- one symptom ---------------------------------------------------------------------------


def _symptom(one: Weighing, last: Last, width: int) -> Iterator[str]:
    yield f"symptom {one.symptom.name}{one.on}: {harmless(one.symptom.title.text)}"
    weighed = one.weighed
    if weighed is None:
        yield f"{_INDENT}not weighed: {one.refused}"
        return
    yield from _table(_head(one, weighed), left=1)
    for note in _notes(one, weighed):
        yield from _wrapped(note, width)
    yield ""
    yield from _faults(weighed, last)
    yield ""
    yield f"{_INDENT}where the time goes, last cause {last}:"
    yield from _bars(weighed.bars(last))
    wanted = _wanted(weighed, last)
    if wanted:
        yield ""
        yield from _wrapped(f"to take along, and in how many jobs it is wanted: {wanted}", width)
    if one.ranges is not None:
        yield ""
        yield from _ranges(one.ranges, width)


def _head(one: Weighing, weighed: Weighed) -> list[tuple[str, ...]]:
    both = [weighed.figures(last) for last in LASTS]
    more = ["at least " if figures.missing else "" for figures in both]
    rows = [
        ("", *(f"last cause {last}" for last in LASTS)),
        ("expected", *(m + roughly(f.expected) for m, f in zip(more, both, strict=True))),
        ("90 of 100 jobs", *(
            "not reached" if f.percentile is None else m + minutes_text(f.percentile)
            for m, f in zip(more, both, strict=True)
        )),
        ("worst", *(
            f"{m}{minutes_text(f.worst)} ({f.worst_fault})"
            for m, f in zip(more, both, strict=True)
        )),
    ]  # fmt: skip
    if any(f.people != f.expected for f in both):
        people = zip(more, both, strict=True)
        rows.append(("all people together", *(m + roughly(f.people) for m, f in people)))
    rows.append(("of it, compared", *(_author(c) for c in one.compared)))
    rows.append(("in the best order", *(_best(c) for c in one.compared)))
    if not all(c.proven for c in one.compared):
        least = (minutes_text(c.at_least) for c in one.compared)
        rows.append(("any order, at least", *least))
        rows.append(("", *("" if c.proven else looked(c.points) for c in one.compared)))
    return [*rows, ("saved", *(_saved(c) for c in one.compared))]


def _author(one: Compared) -> str:
    return "-" if one.author is None else minutes_text(one.author)


def _best(one: Compared) -> str:
    return minutes_text(one.best) + ("" if one.proven else ", not proven")


def _saved(one: Compared) -> str:
    if one.author is None:
        return "- (a fault goes astray)"
    if one.is_best:
        return "nothing: this order is the best"
    saved = max(one.author - one.best, Fraction(0))
    part = f" ({percent(saved / one.author)})" if one.author else ""
    return f"{'' if one.proven else 'at least '}{minutes_text(saved)}{part}"


def _notes(one: Weighing, weighed: Weighed) -> Iterator[str]:
    missing = list(dict.fromkeys(m for last in LASTS for m in weighed.figures(last).missing))
    if missing:
        yield f"no time is written for {listed(missing)}: it counts as nothing above"
    if one.no_time:
        yield (
            f"in the best order, and in what it is compared with, a check without a time counts as"
            f" the middle one, a condition as nothing: {listed(one.no_time)}"
        )
    if one.no_share:
        yield f"no share is written for {listed(one.no_share)}: it counts as the mean of the others"
    if one.silent:
        yield f"not followed, since nothing is written of what it shows: {listed(one.silent)}"
    if weighed.open:
        names = listed(fault.name for fault in weighed.open)
        yield f"not followed, since too many answers are left open: {names}"
    if weighed.astray:
        yield (
            f"in {percent(weighed.astray)} of the jobs the fault is not found; then the minutes"
            " count to where the way ends"
        )


def _faults(weighed: Weighed, last: Last) -> Iterator[str]:
    rows = [("", "fault", "share", *LASTS)]
    below: list[list[str]] = [[]]
    for one in weighed.faults:
        title = _cut(harmless(one.fault.title.text))
        rows.append(
            (one.fault.number, title, percent(one.share), *(_minutes(one, at) for at in LASTS))
        )
        below.append(list(_ends(one, last)))
    for line, more in zip(_table(rows, left=2), below, strict=True):
        yield line
        for said in more:
            yield f"{_INDENT * 4}{said}"


def _minutes(one: FaultWeighed, last: Last) -> str:
    short = any(s.cost.minutes is None for end in one.ends for s in end.done(last))
    alone = len({end.minutes(last) for end in one.ends}) == 1
    minutes = one.minutes(last)
    return (minutes_text(minutes) if alone else roughly(minutes)) + (" + ?" if short else "")


def _ends(one: FaultWeighed, last: Last) -> Iterator[str]:
    ends: dict[tuple[str | None, bool, Fraction], Fraction] = {}
    for end in one.ends:
        key = (end.node, end.found, end.minutes(last))
        ends[key] = ends.get(key, Fraction(0)) + end.part
    if len(ends) > 1 and all(found for _, found, _ in ends):
        ways = sorted((minutes, part) for (_, _, minutes), part in ends.items())
        shown = ", ".join(f"{minutes_text(m)} ({percent(part)})" for m, part in ways[:4])
        more = f" and {len(ways) - 4} more" if len(ways) > 4 else ""
        yield f"{last}, by what it may show: {shown}{more}"
    for (node, found, minutes), part in ends.items():
        if not found:
            where = f"ends at {node}" if node else "goes round, or leads nowhere"
            yield f"astray in {percent(part)}: {where} after {minutes_text(minutes)}"


# ---- where the time goes -------------------------------------------------------------------


def _bars(bars: Sequence[Bar]) -> Iterator[str]:
    most = max((bar.minutes or Fraction(0) for bar in bars), default=Fraction(0))
    rows = [("", "", "minutes", "times a job", "")]
    for bar in bars:
        name = harmless(bar.item.name + (f" ({kind_of(bar)})" if kind_of(bar) else ""))
        long = 0 if not bar.minutes else max(1, round(_BAR * bar.minutes / most))
        minutes = "?" if bar.minutes is None else roughly(bar.minutes)
        rows.append((bar.item.number, name, minutes, number_text(bar.times, 2), "#" * long))
    return _table(rows, left=2, last_left=True)


def _wanted(weighed: Weighed, last: Last) -> str:
    groups: dict[str, list[str]] = {}
    for one in weighed.wanted(last):
        groups.setdefault(one.kind, []).append(f"{harmless(one.text)} {percent(one.jobs)}")
    return "; ".join(", ".join(some) for some in groups.values())


# ---- what if a share or a time is wrong ----------------------------------------------------


def _ranges(one: Ranges, width: int) -> Iterator[str]:
    whose = "this order, the best now," if one.of_author else "the best order"
    yield from _wrapped(
        "if a share or a time is wrong: over these values, each changed alone, "
        f"{whose} stays the best, last cause {one.last}", width,
    )  # fmt: skip
    if not one.ranges:
        yield f"{_INDENT * 2}not proven: no order is proven to be the best"
        return
    rows = [("", "now", "from", "to")]
    for each in one.ranges:
        name = f"{each.what} of {each.name}"
        rows.append((name, _value(each, each.now), _low(each), _high(each)))
    yield from _table(rows, left=1)


def _value(one: Range, value: Fraction) -> str:
    return _short(value) if one.what == "share" else minutes_text(value)


def _short(value: Fraction) -> str:
    """A number with two decimals at most."""
    text = number_text(value, 2)
    return text.rstrip("0").removesuffix(".")


def _low(one: Range) -> str:
    return "not proven" if one.low is None else _value(one, one.low)


def _high(one: Range) -> str:
    if one.high is not None:
        return _value(one, one.high)
    return "any" if one.endless else "not proven"


# ---- rows ----------------------------------------------------------------------------------


def _table(
    rows: Sequence[tuple[str, ...]], left: int, last_left: bool = False
) -> Iterator[str]:
    """Rows in columns: the first `left` of them (and the last) at the left, others at the right."""
    wide = [max(map(cells, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        shown = []
        for at, (cell, size) in enumerate(zip(row, wide, strict=True)):
            blank = " " * (size - cells(cell))
            at_left = at < left or (last_left and at == len(row) - 1)
            shown.append(cell + blank if at_left else blank + cell)
        yield (_INDENT + _INDENT.join(shown)).rstrip()


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(
        harmless(text), max(width, 40), initial_indent=_INDENT, subsequent_indent=_INDENT,
        break_on_hyphens=False,
    )  # fmt: skip


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
