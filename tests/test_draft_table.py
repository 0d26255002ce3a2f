"""Tables of causes: what spreadsheets save is read, what makes no sense is named by its cell."""

from __future__ import annotations

import csv
import io
import json
import random
from fractions import Fraction
from pathlib import Path

import pytest
from test_draft import check, drafted

from treewright.draft.from_table import name_of, tree_text
from treewright.draft.table import BadTable, read_table
from treewright.model.nodes import Check, Fault
from treewright.model.tree import Tree
from treewright.project import Project
from treewright.text.source import Source

ROOT = Path(__file__).parents[1]
PLAIN = """\
symptom,cause,share,Is the tank full?,Gauge
minutes,,,1,"2,5"
normal,,,yes,green
Dry,Tank empty,40,no,
,Pump dead,12,,low
"""


def tree_of(table: str | bytes, stem: str = "table") -> Tree:
    content = table if isinstance(table, bytes) else table.encode()
    text, _ = tree_text(read_table(content), stem)
    made, tree = drafted(text)
    check(made, tree)
    return tree


def bare_of(table: str) -> Tree:
    """The table as a tree without ways, before anything is left out of it."""
    project, path = Project(), ROOT / "trees" / "bare.tree"
    text, _ = tree_text(read_table(table.encode()), "table")
    project.take(path, Source(path.as_posix(), text))
    loaded = project.load(path)
    assert loaded.sound and loaded.tree is not None
    return loaded.tree


def faults(tree: Tree) -> dict[str, tuple[Fraction | None, list[str]]]:
    return {
        node.name: (
            node.share,
            [f"{'maybe ' * one.maybe}{one.node} {one.text}" for one in node.shows],
        )
        for node in tree.nodes.values()
        if isinstance(node, Fault)
    }


def test_a_plain_table() -> None:
    tree = tree_of(PLAIN)
    assert faults(bare_of(PLAIN)) == {
        "tank-empty": (Fraction(40), ["tank-full no"]),
        "pump-dead": (Fraction(12), ["gauge low"]),
    }
    node = tree.nodes["tank-full"]
    assert isinstance(node, Check)
    assert [outcome.label for outcome in node.outcomes] == ["yes", "no"]
    assert node.cost.minutes == 1


@pytest.mark.parametrize(
    "table",
    [
        PLAIN.replace(",", ";").replace('"2;5"', "2,5"),
        PLAIN.replace('"2,5"', "2.5").replace(",", "\t"),
        "\ufeff" + PLAIN,
        PLAIN.replace("\n", "\r\n"),
        PLAIN.replace("40", "40 %").replace("12", '"12,0%"'),
        PLAIN.replace("symptom,cause,share", "SYMPTOM, Cause ,Share"),
        PLAIN.replace("Dry,Tank", "\n,,,,\nDry,Tank") + ",,,,\n\n",
    ],
)
def test_the_ways_in_which_spreadsheets_save_it(table: str) -> None:
    assert faults(tree_of(table)) == faults(tree_of(PLAIN))
    assert read_table(table.encode()) == read_table(PLAIN.encode()) or "\n,,,," in table


def test_maybe_and_several_answers() -> None:
    table = PLAIN + ",Leak,3,maybe no,low or high\n,Clog,4,,green or high\n"
    tree_of(table)
    found = faults(bare_of(table))
    assert found["leak"][1] == ["maybe tank-full no", "maybe gauge low", "maybe gauge high"]
    assert found["clog"][1] == ["maybe gauge high"]


def test_one_cause_under_two_symptoms() -> None:
    table = PLAIN + "Weak,Tank empty,40,no,\n,Pump dead,12,,high\n"
    tree = tree_of(table)
    one = tree.nodes["tank-empty"]
    assert isinstance(one, Fault) and [name.name for name in one.symptoms] == ["dry", "weak"]
    two, three = tree.nodes["pump-dead"], tree.nodes["pump-dead-2"]
    assert isinstance(two, Fault) and isinstance(three, Fault)
    assert [name.name for name in (*two.symptoms, *three.symptoms)] == ["dry", "weak"]
    _, said = tree_text(read_table(table.encode()), "table")
    assert len(said) == 1 and said[0].startswith("row 5: `Pump dead` has other answers")


def test_access_is_a_ladder_by_its_numbers() -> None:
    table = PLAIN.replace("normal", "access,,,2 opened,1\nnormal")
    tree = bare_of(table)
    assert tree.access == ("level-1", "opened")


ODD = 'He said "#1": {no}; 100 % <b>*not*</b> _this_ [x](y) & `z` \\ $(rm)'


def test_author_text_is_data() -> None:
    rows = [
        ["symptom", "cause", "share", "remedy", ODD],
        [f"{ODD} s", "# " + ODD, "3", f"- {ODD}\n# two\nshare: 4\n\nthree", "yes"],
        ["", "1. " + ODD, "", "time: 3 h", "no {x} #"],
        ["", "   ", "", "", ""][:0] or ["", "if yes: go next", "2", "", ""],
        ["normal", "", "", "", "fine"],
        ["minutes", "", "", "", "3"],
    ]
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    tree = tree_of(out.getvalue(), "Ünfug: # {} “x”")
    from treewright.render.prose import plain

    titles = [plain(node.title.text) for node in tree.nodes.values() if isinstance(node, Fault)]
    assert titles == ["# " + ODD, "1. " + ODD, "if yes: go next"]
    assert [plain(node.title.text) for node in tree.nodes.values() if isinstance(node, Check)] == [
        ODD
    ]
    fault = next(iter(node for node in tree.nodes.values() if isinstance(node, Fault)))
    assert fault.remedy is not None
    assert plain(fault.remedy.text) == f"- {ODD} # two share: 4 three"


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("", "the table is empty: its first row names the columns"),
        ("\n,,\n", "the table is empty"),
        ("symptom,cause,Gauge\nDry,Tank,low\n", "row 1: the header names no column `share`"),
        ("Dry,Tank,4,low\n", "row 1: the header names no column `symptom`, `cause` and `share`"),
        ("symptom,cause,share\nDry,Tank,4\n", "row 1: the header names no check"),
        ("symptom,cause,shares,Gauge\n", "row 1, column C (`shares`): did you mean `share`?"),
        ("symptom,cuase,share,Gauge\n", "row 1, column B (`cuase`): did you mean `cause`?"),
        (PLAIN.replace("Gauge", "is the tank full?"), "row 1, column E (`is the tank full?`): "
         "column D is called the same"),
        (PLAIN.replace("12,", "dozen,"), "row 5, column C (`share`): `dozen` is no number"),
        (PLAIN.replace("12,", "-3,"), "row 5, column C (`share`): `-3` is no number"),
        (PLAIN.replace('"2,5"', "soon"), "row 2, column E (`Gauge`): `soon` is no number"),
        (PLAIN + ",tank empty,2,no,\n", "row 6: the cause `tank empty` stands under `Dry` in row 4 "
         "as well"),
        (PLAIN.replace("normal,,,yes,green\n", "").replace(",low", ",low or high"),
         "row 1, column E (`Gauge`): nothing says what the normal answer is"),
        (PLAIN.replace(",low", ","), "row 1, column E (`Gauge`): no cause gives an answer here"),
        (PLAIN.replace("full?,Gauge", "full?,"), "row 2, column E: `2,5` stands under no check"),
        (PLAIN.replace(",low", ",low,high"), "row 5, column F: `high` stands under no check"),
        (PLAIN.replace("Dead", "").replace(",,low", ""), "row 5: it has 3 cells, and the header "
         "has 5"),
        (PLAIN.replace(",low", ',"low, red"'), "row 5, column E (`Gauge`): the answer `low, red` "
         "has a comma in it"),
        (PLAIN.replace(",low", ",maybe"), "row 5, column E (`Gauge`): no answer stands behind"),
        (PLAIN.replace("Dry", ""), "row 4, column A (`symptom`): no symptom is named"),
        (PLAIN.replace("Pump dead", ""), "row 5, column B (`cause`): no cause is named"),
        (PLAIN.replace("normal", "minutes"), "row 3: a second row `minutes`"),
        (PLAIN.replace("normal,,", "normal,x,"), "row 3, column B (`cause`): a row `normal` says "),
        (PLAIN.replace("normal", "access,,,deep,\nnormal"), "row 3, column D (`Is the tank full?`)"
         ": write how deep it goes as a number"),
        ("symptom,cause,share,Gauge\nminutes,,,1\n", "the table has no cause"),
        (PLAIN.replace("Pump dead", '"Pump dead'), "row 5: a quotation mark is not closed"),
        (PLAIN.encode("utf-16"), "line 1: this is not UTF-8 text"),
        (PLAIN.replace("Dry", "Größe").encode("latin-1"), "line 4: this is not UTF-8 text"),
        (b"symptom\x00,cause", "this is no table of text"),
    ],
)  # fmt: skip
def test_a_bad_cell_is_named(table: str | bytes, said: str) -> None:
    with pytest.raises(BadTable) as wrong:
        read_table(table if isinstance(table, bytes) else table.encode())
    assert str(wrong.value).startswith(said)


@pytest.mark.parametrize("seed", range(40))
def test_torn_tables_are_read_or_refused(seed: int) -> None:
    """Whatever is torn out of a table or put into it, there is a tree or a sentence."""
    rng = random.Random(seed)
    content = bytearray((ROOT / "trees/tables/coffee-machine.csv").read_bytes())
    for _ in range(rng.randint(1, 6)):
        at = rng.randrange(len(content))
        content[at : at + rng.randint(0, 9)] = rng.choice([b"", b";", b'"', b"\n", b"#:{", b"\xff"])
    try:
        table = read_table(bytes(content))
    except BadTable as wrong:
        assert str(wrong)
        return
    tree_of(bytes(content))
    assert table.causes


def test_names_are_made_of_what_tells() -> None:
    assert name_of("Is the oil between the two marks?", "check") == "oil-between-two-marks"
    assert name_of("Ölstand zu niedrig", "fault") == "olstand-zu-niedrig"
    assert name_of("Is it?", "check") == "is-it"
    assert name_of("油", "fault-1") == "fault-1"


def test_the_table_of_the_demo() -> None:
    tree = tree_of((ROOT / "trees/tables/coffee-machine.csv").read_bytes(), "coffee-machine")
    assert len(faults(tree)) == 6


def test_published_tables() -> None:
    """US government tables (named in the fixture): facts only, their checks are invented here:
    each cause has one of its own, since the manuals give none."""
    tables = json.loads((ROOT / "tests/published/tables.json").read_text(encoding="utf-8"))
    made = 0
    for table in tables["tables"]:
        if not all({"symptom", "cause"} <= set(row) for row in table["rows"]):
            continue
        causes = list(dict.fromkeys(row["cause"] for row in table["rows"]))
        out = io.StringIO()
        writer = csv.writer(out, delimiter=";")
        writer.writerow(["symptom", "cause", "share", "remedy", *(f"{one}?" for one in causes)])
        writer.writerow(["minutes", "", "", "", *(2 + at % 3 for at in range(len(causes)))])
        seen = set()
        for row in table["rows"]:
            key = row["symptom"], row["cause"]
            if key in seen:
                continue
            seen.add(key)
            cells = ["yes" if row["cause"] == one else "" for one in causes]
            writer.writerow([row["symptom"], row["cause"], "1", row.get("remedy", ""), *cells])
        tree = tree_of(out.getvalue(), table["tree"].removesuffix(".tree"))
        made += 1
        assert {f.title.text for f in tree.nodes.values() if isinstance(f, Fault)} == set(causes)
    assert made > 1


def test_the_table_of_the_reference() -> None:
    text = (ROOT / "grammar" / "language.md").read_text(encoding="utf-8")
    tables = [block for block in text.split("```\n") if block.startswith("symptom;")]
    assert len(tables) == 1
    tree = tree_of(tables[0])
    assert {node.name for node in tree.nodes.values() if isinstance(node, Fault)} == {
        "tank-empty", "pump-dead", "sieve-clogged", "grinder-set-coarse",
    }  # fmt: skip
    assert tree.access == ("outside", "opened")
