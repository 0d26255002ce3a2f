"""Faults by checks: the answers, the groups, the figures of merit, and how they are told."""

from __future__ import annotations

import argparse
import csv
import io
import json
from fractions import Fraction
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest
from test_lint import sound
from test_prove import SMALL, TREES, made_tree, may, tree_at

from treewright.cli.matrix import run
from treewright.model.nodes import Check, Fault
from treewright.model.tree import Tree
from treewright.reason.answers import Answers
from treewright.reason.merit import merit
from treewright.render.chart.type import width
from treewright.report.matrix import as_csv, as_json, matrices, text
from treewright.report.matrix_picture import matrix_picture
from treewright.usage import UsageError

SVG = "{http://www.w3.org/2000/svg}"

# MIL-HDBK-1164, Table 13 (a work of the US government, read on a reprint): which of the four
# complaints each cause stands under.
TABLE_13 = {
    "shaft-broken": ["no-water"],
    "excessive-head": ["no-water"],
    "suction-plugged": ["no-water"],
    "speed-low": ["capacity", "pressure"],
    "suction-lift": ["capacity"],
    "partly-plugged": ["capacity"],
    "mechanical-defect": ["capacity", "pressure"],
    "head-high": ["pressure"],
    "relief-low": ["pressure"],
    "shaft-bent": ["stops"],
    "suction-clogged": ["stops"],
}


def matrix_tree(rows: dict[str, list[str]], shares: dict[str, int] | None = None) -> Tree:
    """A tree of yes/no checks, one a column: where each row says yes."""
    columns = list(dict.fromkeys(name for row in rows.values() for name in row))
    lines = ["tree made: Made", "", "symptom all: All of it", f"  start at: {columns[0]}", ""]
    for name in columns:
        found = next(fault for fault, row in rows.items() if name in row)
        lines += [f"check {name}: Is it so?", "  if no: go next", f"  if yes: found {found}", ""]
    lines += ["check last: Is it something else?", "  if no: stop shop", "  if yes: stop shop", ""]
    for name, row in rows.items():
        share = [f"  share: {shares[name]}"] if shares else []
        shows = [f"  shows: {', '.join(f'{one} yes' for one in row)}"] if row else []
        lines += [f"fault {name}: Broken", *share, *shows, "  remedy: Mend it.", ""]
    return sound("\n".join([*lines, "handoff shop: Not here", "  to: the workshop", ""]))


def test_the_groups_of_a_published_table() -> None:
    """Five groups of sizes 3, 2, 2, 2, 2: computed by hand from the table."""
    answers = Answers(matrix_tree(TABLE_13))
    assert sorted(map(len, answers.groups), reverse=True) == [3, 2, 2, 2, 2]
    found = merit(answers)
    assert found is not None and not found.by_shares
    assert found.detected == 1
    assert found.isolated == (0, Fraction(8, 11), 1)
    assert found.over_groups == Fraction(11, 5)
    assert found.over_faults == found.expected == Fraction(25, 11)  # (3·3 + 4·2·2) / 11


def test_figures_with_shares_by_hand() -> None:
    rows = {"a": ["one"], "b": ["two"], "c": ["two"], "d": []}
    found = merit(Answers(matrix_tree(rows, {"a": 5, "b": 2, "c": 1, "d": 2})))
    assert found is not None and found.by_shares
    assert found.detected == Fraction(8, 10)
    assert found.isolated == (Fraction(5, 8), 1, 1)
    assert found.over_groups == Fraction(4, 3)
    assert found.expected == Fraction(5 + 2 * 2 + 2 * 1 + 2, 10)
    assert found.over_faults == Fraction(1 + 2 + 2 + 1, 4)


def test_a_tree_without_faults_has_no_figures() -> None:
    made = "tree made: Made\n\ncheck one: So?\n  if yes: stop shop\n  if no: stop shop\n\n"
    tree = sound(made + "handoff shop: Not here\n  to: the workshop\n")
    assert merit(Answers(tree)) is None
    (matrix,) = matrices(tree)
    assert "every fault has answers of its own" not in text(matrix)
    assert json.loads(as_json([matrix]))["matrices"][0]["merit"] is None


@pytest.mark.parametrize("seed", range(40))
def test_answers_and_groups_against_all_pairs(seed: int) -> None:
    tree = sound(made_tree(seed))
    answers = Answers(tree)
    checks = [node for node in tree.nodes.values() if isinstance(node, Check)]
    faults = [node for node in tree.nodes.values() if isinstance(node, Fault)]
    for fault in faults:
        for check in checks:
            assert answers.given(fault.name, check) == may(fault, check)
    for one, two in combinations(faults, 2):
        alike = all(may(one, c) == may(two, c) for c in checks)
        assert (two.name in answers.group_of[one.name]) is alike
    assert sorted(n for group in answers.groups for n in group) == sorted(f.name for f in faults)


# ---- how it is told ----------------------------------------------------------------------------

TEXT = """\
made: A & B < C
               1   2
F1  flat-cell  b
F2  dirty-plug b?  b
F3  slack
F4  wet-plug   b?  b
F5  lost           b

1 lamp: a bright (normal), b dim
2 plug: a yes (normal), b no
left out: 1 check that all faults answer as normal

answered alike: dirty-plug and wet-plug
figures of merit (faults by their shares; definitions in the spirit of IEEE 1522 and \
MIL-HDBK-2165, from memory)
100.0 % detected
37.5 % of that isolated to one fault
100.0 % of that isolated to a group of at most 2
100.0 % of that isolated to a group of at most 3
1.25 mean group size, over the groups
1.63 mean group size, expected: over the faults by their weights
1.40 mean group size, over the faults, each once
"""


def test_the_text() -> None:
    (matrix,) = matrices(sound(SMALL))
    assert [line.split() for line in text(matrix).splitlines()] == [
        line.split() for line in TEXT.splitlines()
    ]


def test_the_csv() -> None:
    made = SMALL.replace("Plug dirty", '=1+1,"x"').replace("plug no", "plug -no")
    made = made.replace("if no: found dirty", "if -no: found dirty")
    made = made.replace("  plug: no", "  plug: -no")
    (matrix,) = matrices(sound(made))
    rows = list(csv.reader(io.StringIO(as_csv(matrix))))
    assert rows[0] == ["number", "fault", "title", "share", "lamp", "plug", "band"]
    assert rows[1] == ["F1", "flat-cell", 'Cell flat "<b>&', "3", "dim", "", ""]
    # A spreadsheet must not take an author's words for a formula.
    assert rows[2] == ["F2", "dirty-plug", "'=1+1,\"x\"", "1", "maybe dim", "'-no", ""]


def test_the_json() -> None:
    shown = json.loads(as_json(matrices(sound(SMALL))))
    (matrix,) = shown["matrices"]
    assert matrix["groups"] == [["dirty-plug", "wet-plug"]]
    assert matrix["faults"][1]["answers"] == {"lamp": ["bright", "dim"], "plug": ["no"]}
    assert matrix["merit"]["mean_group_size"]["over_groups"] == 1.25
    assert "IEEE 1522" in matrix["merit"]["source"]


def test_models_with_other_faults_have_a_matrix_of_their_own() -> None:
    made = SMALL.replace("fault slack: Band slack", "fault slack: Band slack\n  only for: B")
    made = made.replace("  if no: found slack", "  if no: found wet-plug")
    one, two = matrices(sound(made))
    assert (one.on, two.on) == (" on A", " on B")
    assert len(two.faults) == len(one.faults) + 1


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def asked(path: Path, format: str, picture: str | None = None) -> int:
        return run(argparse.Namespace(paths=[str(path)], format=format, picture=picture))

    assert asked(TREES[0].parent, "text") == 0
    assert capsys.readouterr().out.count("figures of merit") == len(TREES)
    assert asked(TREES[0], "csv") == 0
    assert capsys.readouterr().out.startswith("number,fault,title,share,")
    with pytest.raises(UsageError):
        asked(TREES[0].parent, "csv")
    odd = tmp_path / "odd.tree"
    odd.write_text("tree odd: Odd\nchck\n", encoding="utf-8")
    assert asked(odd, "json") == 1
    assert json.loads(capsys.readouterr().out)["matrices"] == []
    drawn = tmp_path / "drawn.svg"
    assert asked(TREES[0], "text", str(drawn)) == 0
    assert drawn.read_text(encoding="utf-8").startswith("<svg ")
    with pytest.raises(UsageError, match="one tree"):
        asked(TREES[0].parent, "text", str(drawn))


def test_the_picture_shows_the_answers_and_who_is_alike() -> None:
    found = matrices(sound(SMALL))
    drawn = ElementTree.fromstring(matrix_picture(found, 'Lamp <script>&"', "en"))
    (title,), (told,) = (drawn.iter(f"{SVG}{name}") for name in ("title", "desc"))
    assert title.text == 'Faults by checks: Lamp <script>&"'
    assert told.text is not None and "F2 Plug dirty: 1 maybe dim; 2 no." in told.text
    lines = [text.text or "" for text in drawn.iter(f"{SVG}text")]
    (matrix,) = found
    for fault in matrix.faults:
        assert f"{fault.number} {fault.title.text}" in lines
    assert lines.count("= 1") == 2  # dirty-plug and wet-plug
    answers = [cell for row in matrix.rows for cell in row]
    boxes = [box for box in drawn.iter(f"{SVG}rect") if "stroke" in box.attrib]
    assert len(boxes) == sum(cell is not None for cell in answers)
    telling = [at for at in range(len(matrix.checks)) if any(row[at] for row in matrix.rows)]
    dots = sum(1 for _ in drawn.iter(f"{SVG}circle"))
    assert dots == len(telling) * len(matrix.faults) - len(boxes)
    assert sum("stroke-dasharray" in box.attrib for box in boxes) == 2  # lamp b? twice
    sizes = [float(text.attrib["font-size"]) for text in drawn.iter(f"{SVG}text")]
    assert min(sizes) >= 8


def test_nothing_drawn_stands_outside_the_picture() -> None:
    for path in TREES:
        found = matrices(tree_at(path))
        drawn = ElementTree.fromstring(matrix_picture(found, "x"))
        wide, high = (float(size) for size in drawn.attrib["viewBox"].split()[2:])
        for line in drawn.iter(f"{SVG}text"):
            size = float(line.attrib["font-size"])
            long = width(line.text or "", size, "font-weight" in line.attrib)
            left = float(line.attrib["x"]) - {"end": long, "middle": long / 2}.get(
                line.attrib.get("text-anchor", ""), 0.0
            )
            assert left >= 0 and left + long <= wide and 0 < float(line.attrib["y"]) < high
