"""What `treewright matrix` says: faults by checks, with the answers, groups and figures of merit.

As text for people, as CSV and as JSON. A normal answer is left blank, so that what tells
faults apart stands out. Says only what `reason/answers` and `reason/merit` found.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from fractions import Fraction

from treewright.lint.rule import Context
from treewright.lint.words import listed
from treewright.model.nodes import Check, Fault, Reading
from treewright.model.tree import Tree
from treewright.reason.answers import Answers, Given
from treewright.reason.merit import SIZES, Merit, merit
from treewright.record import record
from treewright.report.terminal import cells, harmless
from treewright.text.quantity import number_text

_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_GAP = "  "

SOURCES = "definitions in the spirit of IEEE 1522 and MIL-HDBK-2165, from memory"
"""Where the figures of merit come from, as every output says it."""


@record
class Matrix:
    """The matrix of one tree on some models.

    Attributes:
        on: "" or " on B60 and B80".
        rows: for each fault, for each check, the answers it may give; None: the normal ones.
        groups: faults that every check answers alike, those of two or more.
    """

    tree: Tree
    on: str
    faults: tuple[Fault, ...]
    checks: tuple[Check | Reading, ...]
    rows: tuple[tuple[Given | None, ...], ...]
    groups: tuple[tuple[str, ...], ...]
    merit: Merit | None


def matrices(tree: Tree) -> tuple[Matrix, ...]:
    """The matrix of a tree; several where its models have different checks or faults."""
    context = Context(tree)
    made: dict[str | None, Answers] = {}

    def find(model: str | None) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
        made[model] = Answers(tree, model)
        checks = tuple(check.name for check in made[model].checks)
        return [(checks, tuple(fault.name for fault in made[model].faults))]

    return tuple(_matrix(tree, str(w), made[w.model]) for _, w in context.by_model(find))


def _matrix(tree: Tree, on: str, answers: Answers) -> Matrix:
    told = [answers.told_by(fault.name) for fault in answers.faults]
    return Matrix(
        tree,
        on,
        answers.faults,
        answers.checks,
        tuple(tuple(row.get(check.name) for check in answers.checks) for row in told),
        tuple(group for group in answers.groups if len(group) > 1),
        merit(answers),
    )


# ---- for people ----------------------------------------------------------------------------


def text(matrix: Matrix) -> str:
    """Checks by their numbers, answers by letters, `b?` for one that may be normal as well;
    below the groups, the figures, and what the numbers and letters stand for."""
    telling = shown(matrix)
    head = ["", "", *(matrix.checks[at].number for at in telling)]
    rows = [head]
    for fault, row in zip(matrix.faults, matrix.rows, strict=True):
        answered = [letters(matrix.checks[at], row[at]) for at in telling]
        rows.append([fault.number, fault.name, *answered])
    wide = [max(map(cells, column)) for column in zip(*rows, strict=True)]
    lines = [f"{matrix.tree.name}{matrix.on}: {harmless(matrix.tree.title.text)}"]
    for line in rows:
        padded = (cell + " " * (size - cells(cell)) for cell, size in zip(line, wide, strict=True))
        lines.append(_GAP.join(padded).rstrip())
    lines.append("")
    for at in telling:
        check = matrix.checks[at]
        lines.append(f"{check.number} {check.name}: {harmless(legend(check))}")
    silent = len(matrix.checks) - len(telling)
    if silent:
        checks = "check that all faults answer" if silent == 1 else "checks that all faults answer"
        lines.append(f"left out: {silent} {checks} as normal")
    lines += ["", *_groups(matrix), *_figures(matrix.merit)]
    return "\n".join(lines) + "\n"


def shown(matrix: Matrix) -> list[int]:
    """The places of the checks that some fault answers otherwise than as normal."""
    return [at for at in range(len(matrix.checks)) if any(row[at] for row in matrix.rows)]


def letters(check: Check | Reading, given: Given | None) -> str:
    """ "b"; "b?" where it may be normal as well; "b/c" where it may be either."""
    if given is None:
        return ""
    told = given - set(check.normal) or given
    letters = "/".join(_letter(at) for at in sorted(told))
    return f"{letters}?" if given & set(check.normal) else letters


def _letter(at: int) -> str:
    return _LETTERS[at] if at < len(_LETTERS) else str(at + 1)


def legend(check: Check | Reading) -> str:
    """ "a yes (normal), b low": what the letters of a check stand for."""
    return ", ".join(
        f"{_letter(at)} {outcome.label}" + (" (normal)" if at in check.normal else "")
        for at, outcome in enumerate(check.outcomes)
    )


def _groups(matrix: Matrix) -> list[str]:
    if not matrix.groups and not matrix.faults:
        return ["there is no fault"]
    if not matrix.groups:
        return ["every fault has answers of its own"]
    return [f"answered alike: {listed(group)}" for group in matrix.groups]


def _figures(figures: Merit | None) -> list[str]:
    if figures is None:
        return []
    weight = "faults by their shares" if figures.by_shares else "all faults alike: no shares"
    lines = [f"figures of merit ({weight}; {SOURCES})", f"{_percent(figures.detected)} detected"]
    for most, part in zip(SIZES, figures.isolated, strict=True):
        if part is not None:
            of = "one fault" if most == 1 else f"a group of at most {most}"
            lines.append(f"{_percent(part)} of that isolated to {of}")
    for mean, name in (
        (figures.over_groups, "over the groups"),
        (figures.expected, "expected: over the faults by their weights"),
        (figures.over_faults, "over the faults, each once"),
    ):
        lines.append(f"{number_text(mean, 2)} mean group size, {name}")
    return lines


def _percent(part: Fraction) -> str:
    return f"{number_text(part * 100, 1)} %"


# ---- for other programs --------------------------------------------------------------------


def as_csv(matrix: Matrix) -> str:
    """A row for each fault, a column for each check; a normal answer is blank.

    Words that a spreadsheet would take for a formula have an apostrophe in front.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    head = ["number", "fault", "title", "share", *(check.name for check in matrix.checks)]
    writer.writerow(map(_cell, head))
    for fault, row in zip(matrix.faults, matrix.rows, strict=True):
        share = "" if fault.share is None else number_text(fault.share)
        told = [said(c, given) for c, given in zip(matrix.checks, row, strict=True)]
        writer.writerow(map(_cell, [fault.number, fault.name, fault.title.text, share, *told]))
    return out.getvalue()


def _cell(text: str) -> str:
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def said(check: Check | Reading, given: Given | None) -> str:
    """ "below", "maybe below", "below or above"."""
    if given is None:
        return ""
    told = given - set(check.normal) or given
    words = listed((check.outcomes[at].label for at in sorted(told)), "or")
    return f"maybe {words}" if given & set(check.normal) else words


def as_json(found: Sequence[Matrix]) -> str:
    """{"version": 1, "matrices": […]}; of each the faults with `answers`: by check the answers
    it may give, where these are not just the normal ones. All is ASCII."""
    return json.dumps({"version": 1, "matrices": list(map(_object, found))}, indent=2) + "\n"


def _object(matrix: Matrix) -> dict[str, object]:
    figures = matrix.merit
    return {
        "path": matrix.tree.source.path,
        "name": matrix.tree.name,
        "on": matrix.on.strip(),
        "checks": [
            {
                "number": check.number,
                "name": check.name,
                "answers": [outcome.label for outcome in check.outcomes],
                "normal": [check.outcomes[at].label for at in check.normal],
            }
            for check in matrix.checks
        ],
        "faults": [
            {
                "number": fault.number,
                "name": fault.name,
                "title": fault.title.text,
                "share": None if fault.share is None else float(fault.share),
                "answers": {
                    check.name: [check.outcomes[at].label for at in sorted(given)]
                    for check, given in zip(matrix.checks, row, strict=True)
                    if given is not None
                },
            }
            for fault, row in zip(matrix.faults, matrix.rows, strict=True)
        ],
        "groups": [list(group) for group in matrix.groups],
        "merit": None if figures is None else {
            "source": SOURCES,
            "by_shares": figures.by_shares,
            "detected": float(figures.detected),
            "isolated": {
                str(most): None if part is None else float(part)
                for most, part in zip(SIZES, figures.isolated, strict=True)
            },
            "mean_group_size": {
                "over_groups": float(figures.over_groups),
                "expected": float(figures.expected),
                "over_faults": float(figures.over_faults),
            },
        },
    }  # fmt: skip
