"""Published troubleshooting tables, written out as trees: no row is lost in any output.

Sources, both works of the US government, read on reprints: US Army Technical Manual
TM 5-4320-200-13&P, Change 5, Table 4-2 (centrifugal pump); MIL-HDBK-1164, Table 13
(progressive-cavity pump). The rows in tables.json are the tables', word for word; a remedy of
null means that the table gives none.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from pdf import needs_poppler
from read_back import sheet_text, squeezed, symbols
from walk import ends_of

from treewright.model.nodes import Fault
from treewright.model.tree import Tree
from treewright.project import Project, lint_loaded
from treewright.render import chart
from treewright.render.compile import compile_tree
from treewright.render.data import to_json
from treewright.render.sheet import sheet
from treewright.text.diagnostic import Level

FOLDER = Path(__file__).parent / "published"
TABLES = json.loads((FOLDER / "tables.json").read_text(encoding="utf-8"))["tables"]
ROWS = [(table["tree"], row) for table in TABLES for row in table["rows"]]

each_row = pytest.mark.parametrize(
    ("file", "row"), ROWS, ids=[f"{row['symptom']}: {row['cause']}" for _, row in ROWS]
)
each_tree = pytest.mark.parametrize("file", [table["tree"] for table in TABLES])


@cache
def tree(file: str) -> Tree:
    found = Project().load(FOLDER / file).tree
    assert found is not None
    return found


@cache
def data(file: str) -> dict[str, Any]:
    made: dict[str, Any] = json.loads(to_json(compile_tree(tree(file))))
    return made


def symptom_of(file: str, row: dict[str, str]) -> str:
    (symptom,) = [s["name"] for s in data(file)["symptoms"] if s["title"] == row["symptom"]]
    return str(symptom)


@cache
def drawn(file: str, symptom: str) -> dict[str, str]:
    """What the chart of one symptom shows in each symbol."""
    svg = chart.svg(compile_tree(tree(file)), symptom=symptom)
    return {name: squeezed("".join(lines)) for name, lines in symbols(svg).items()}


@cache
def printed(file: str, symptom: str) -> str:
    """What stands on the sheet of one symptom."""
    return squeezed(sheet_text(sheet(compile_tree(tree(file)), "a4", symptom)))


def reached(made: dict[str, Any], symptom: str) -> set[str]:
    """All nodes that the data lead to from a symptom."""
    nodes = {node["name"]: node for node in made["nodes"]}
    (onward,) = [[s["start"]] for s in made["symptoms"] if s["name"] == symptom]
    found: set[str] = set()
    while onward:
        name = onward.pop()
        if name not in found:
            found.add(name)
            onward += [outcome["exit"]["target"] for outcome in nodes[name]["outcomes"]]
    return found


def faults_of(file: str, row: dict[str, str | None], symptom: str) -> list[dict[str, Any]]:
    """The faults with the row's words that the row's symptom leads to, in the data."""
    here = reached(data(file), symptom)
    return [
        node
        for node in data(file)["nodes"]
        if node["name"] in here
        and node["title"] == row["cause"]
        and (row["remedy"] is None or node["remedy"] == row["remedy"])
    ]


@each_tree
def test_the_tree_names_its_source_and_has_no_fault(file: str) -> None:
    (source,) = [table["source"] for table in TABLES if table["tree"] == file]
    document, table = source.split(", ")[0], source.split(", ")[-1]
    about = data(file)["about"]
    assert document.split()[-1] in about and table in about
    loaded = Project().load(FOLDER / file)
    assert [f.message for f in lint_loaded(loaded) if f.level is Level.FAULT] == []


@each_row
def test_a_row_is_in_the_data(file: str, row: dict[str, Any]) -> None:
    (fault,) = faults_of(file, row, symptom_of(file, row))
    assert fault["kind"] == "fault"


@each_row
def test_a_row_is_on_the_chart_of_its_symptom(file: str, row: dict[str, Any]) -> None:
    symptom = symptom_of(file, row)
    shown = drawn(file, symptom)
    assert squeezed(row["symptom"]) in shown[f"chart-symptom-{symptom}"]
    (fault,) = faults_of(file, row, symptom)
    symbol = shown[f"node-{fault['name']}"]
    assert symbol.startswith(squeezed(fault["number"] + row["cause"]))
    assert squeezed(row["remedy"] or "gives no remedy") in symbol


@each_row
@needs_poppler
def test_a_row_is_on_the_sheet_of_its_symptom(file: str, row: dict[str, Any]) -> None:
    symptom = symptom_of(file, row)
    (fault,) = faults_of(file, row, symptom)
    text = printed(file, symptom)
    assert squeezed(row["symptom"]) in text
    remedy = row["remedy"] or "The table gives no remedy."
    assert squeezed(f"{fault['number']} {row['cause']} Remedy: {remedy}") in text


@each_row
def test_a_row_is_found_by_what_its_cause_shows(file: str, row: dict[str, Any]) -> None:
    symptom = symptom_of(file, row)
    (fault,) = faults_of(file, row, symptom)
    node = tree(file).nodes[fault["name"]]
    assert isinstance(node, Fault)
    assert set(ends_of(tree(file), node, symptom, None)) == {fault["name"]}


@each_tree
def test_there_is_no_fault_and_no_symptom_that_the_table_does_not_have(file: str) -> None:
    rows = [row for name, row in ROWS if name == file]
    faults = {node["title"] for node in data(file)["nodes"] if node["kind"] == "fault"}
    assert faults == {row["cause"] for row in rows}
    assert {s["title"] for s in data(file)["symptoms"]} == {row["symptom"] for row in rows}


def test_the_printed_contradiction_is_kept_and_is_all_that_is_found() -> None:
    """One cause, two remedies: a slip of the Army table, kept for a reviewer to see."""
    made = data("centrifugal-pump.tree")
    remedies = [n["remedy"] for n in made["nodes"] if n["title"].startswith("Packing seals")]
    assert remedies == ["Replace packing seals.", "Replace impeller."]
    (found,) = Project().lint(FOLDER / "centrifugal-pump.tree")
    assert (found.rule, found.level) == ("two-remedies", Level.DOUBT)
    (other,) = found.labels
    assert [found.span.text, other.span.text] == ["Replace impeller.", "Replace packing seals."]


def test_nothing_is_found_in_the_other_table() -> None:
    assert Project().lint(FOLDER / "progressing-cavity-pump.tree") == []
