"""What `treewright prove` says: as a table for people, as JSON, and as JUnit XML.

Says only what stands in a `Proof`. Author text is data: harmless at a terminal, escaped in XML.
"""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Sequence
from fractions import Fraction
from xml.sax.saxutils import escape, quoteattr

from treewright.reason.minutes import Minutes
from treewright.report.proof import Proof
from treewright.report.terminal import cells, harmless
from treewright.text.quantity import minutes_text, number_text

_GAP = "  "
_LONGEST = 36  # columns of a title, past which it is cut


# ---- for people ----------------------------------------------------------------------------


def table(proof: Proof, width: int = 100) -> str:
    """The tree's faults and cases, each with its way below; then how many stand the proof."""
    lines = [f"{proof.tree.name}: {harmless(proof.tree.title.text)}"]
    rows = [
        (one.fault.number, one.fault.title.text, _time(one.minutes), _share(one.share), one.words)
        for one in proof.faults
    ]
    ways = [one.way for one in proof.faults]
    lines += _rows(("", "fault", "minutes", "share", "by what it shows"), rows, ways, width)
    if proof.cases:
        told = [(one.case.name, one.case.title.text, one.words) for one in proof.cases]
        trouble = [() if one.good else one.way for one in proof.cases]
        lines += ["", *_rows(("case", "", "as it was read"), told, trouble, width)]
    return "\n".join([*lines, "", summary(proof)]) + "\n"


def summary(proof: Proof) -> str:
    """ "23 of 24 faults found, 11 of 11 cases end where they say"; a fault counts once."""
    names = {one.fault.name for one in proof.faults}
    bad = {one.fault.name for one in proof.faults if not one.good}
    silent = {one.fault.name for one in proof.faults if one.proven.verdict == "silent"} - bad
    parts = [f"{len(names - bad - silent)} of {len(names)} faults found"]
    if silent:
        parts.append(f"{len(silent)} not followed")
    if proof.cases:
        cases = {one.case.name for one in proof.cases}
        astray = {one.case.name for one in proof.cases if not one.good}
        parts.append(f"{len(cases - astray)} of {len(cases)} cases end where they say")
    return ", ".join(parts)


def _time(took: Minutes | None) -> str:
    if took is None:
        return "-"
    if took.total is not None:
        return minutes_text(took.total)
    return f"{minutes_text(took.known)} + ?" if took.known else "?"


def _share(share: Fraction | None) -> str:
    return "-" if share is None else f"{number_text(share, 1)} %"


def _rows(
    head: tuple[str, ...],
    rows: Sequence[tuple[str, ...]],
    ways: Sequence[tuple[str, ...]],
    width: int,
) -> list[str]:
    short = [tuple(_cut(harmless(cell)) for cell in row[:-1]) for row in rows]
    wide = [max(map(cells, column)) for column in zip(head[:-1], *short, strict=True)]
    ahead = sum(wide) + len(_GAP) * len(wide)
    lines = [_row((*head[:-1], head[-1]), wide)]
    for row, last, way in zip(short, (row[-1] for row in rows), ways, strict=True):
        said = textwrap.wrap(harmless(last), max(width - ahead, 30), break_on_hyphens=False)
        lines.append(_row((*row, said[0]), wide))
        lines += [" " * ahead + more for more in said[1:]]
        if way:
            indent = " " * (wide[0] + len(_GAP))
            lines += textwrap.wrap(
                harmless(" → ".join(way)), max(width, 40), break_on_hyphens=False,
                initial_indent=indent, subsequent_indent=indent,
            )  # fmt: skip
    return lines


def _row(row: Sequence[str], wide: Sequence[int]) -> str:
    padded = [cell + " " * (size - cells(cell)) for cell, size in zip(row, wide, strict=False)]
    return _GAP.join([*padded, row[-1]]).rstrip()


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


# ---- for other programs --------------------------------------------------------------------


def as_json(proofs: Sequence[Proof]) -> str:
    """{"version": 1, "trees": […]}: of each its `faults` and `cases`. Minutes and shares are
    numbers, shares in percent; null where they are not known. All is ASCII."""
    shown = {"version": 1, "trees": [_tree(proof) for proof in proofs]}
    return json.dumps(shown, indent=2) + "\n"


def _tree(proof: Proof) -> dict[str, object]:
    return {
        "path": proof.tree.source.path,
        "name": proof.tree.name,
        "good": proof.good,
        "faults": [
            {
                "number": one.fault.number,
                "name": one.fault.name,
                "title": one.fault.title.text,
                "verdict": one.proven.verdict,
                "good": one.good,
                "words": one.words,
                "way": list(one.way),
                "minutes": _number(one.minutes.total) if one.minutes else None,
                "minutes_known": _number(one.minutes.known) if one.minutes else None,
                "times_missing": list(one.minutes.missing) if one.minutes else [],
                "share": _number(one.share),
                "alike": list(one.proven.alike),
                "taken_for": [name for name, _ in one.proven.taken_for],
                "ends": [end for end, _ in one.proven.ends],
            }
            for one in proof.faults
        ],
        "cases": [
            {
                "name": one.case.name,
                "title": one.case.title.text,
                "outcome": one.followed.outcome,
                "good": one.good,
                "words": one.words,
                "end": one.followed.end,
                "way": list(one.way),
            }
            for one in proof.cases
        ],
    }


def _number(value: Fraction | None) -> float | int | None:
    if value is None:
        return None
    return int(value) if value.denominator == 1 else float(value)


def junit(proofs: Sequence[Proof], unread: Sequence[str] = ()) -> str:
    """JUnit XML: a suite for each tree, a test case for each fault and each case.

    Args:
        proofs: of the trees that could be read.
        unread: the paths of those that could not; each is an error.
    """
    suites = [_suite(proof) for proof in proofs]
    for path in unread:
        error = '<error message="the tree could not be read whole"/>'
        test = f'    <testcase classname="tree" name={_attribute(path)}>{error}</testcase>\n'
        suites.append(
            f'  <testsuite name={_attribute(path)} tests="1" failures="0" errors="1"'
            f' skipped="0">\n{test}  </testsuite>\n'
        )
    body = "".join(suites)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<testsuites>\n{body}</testsuites>\n'


def _suite(proof: Proof) -> str:
    tests = []
    for fault in proof.faults:
        name = f"{fault.fault.number} {fault.fault.name}{fault.on}"
        skipped = fault.proven.verdict == "silent"
        tests.append(_test("faults", name, fault.good, skipped, fault.words, fault.way))
    for case in proof.cases:
        name = f"{case.case.name}{case.on}"
        tests.append(_test("cases", name, case.good, False, case.words, case.way))
    silent = sum(one.proven.verdict == "silent" for one in proof.faults)
    counts = f'tests="{len(tests)}" failures="{proof.failed}" errors="0" skipped="{silent}"'
    name = _attribute(proof.tree.name)
    return f"  <testsuite name={name} {counts}>\n{''.join(tests)}  </testsuite>\n"


def _test(
    kind: str, name: str, good: bool, skipped: bool, words: str, way: tuple[str, ...]
) -> str:
    said, shown = _attribute(words), escape(_xml(" → ".join(way)))
    if not good:
        inside = f"<failure message={said}>{shown}</failure>"
    elif skipped:
        inside = f"<skipped message={said}/>"
    else:
        inside = f"<system-out>{escape(_xml(words))}: {shown}</system-out>"
    return f'    <testcase classname="{kind}" name={_attribute(name)}>{inside}</testcase>\n'


def _attribute(text: str) -> str:
    return quoteattr(_xml(text))


def _xml(text: str) -> str:
    """Text without the signs that no XML may have, nor a terminal."""
    return re.sub("[\ufffe\uffff]", "\ufffd", harmless(text))
