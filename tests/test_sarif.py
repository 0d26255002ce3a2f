"""Findings as SARIF: held against the OASIS schema, and read back as a viewer would."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft4Validator

from treewright.model.written import Waiver
from treewright.project import lint_all, review_all
from treewright.report.explain import rule_texts
from treewright.report.sarif import RuleText, render
from treewright.text.diagnostic import Finding, Label, Level
from treewright.text.source import Source, Span

HERE = Path(__file__).parent
CASES = sorted((HERE / "cases" / "lint").glob("*.tree"))

TREE = """\
tree slow: Fills slowly

reading delivery: Pressure at the 𝄞 outlet
  if below 2 bar: found worn
  if above 2 bar: stop workshop
  waive gap: It never stands at 2 bar.
"""


@cache
def validator() -> Draft4Validator:
    schema = json.loads((HERE / "schemas" / "sarif-schema-2.1.0.json").read_text(encoding="utf-8"))
    Draft4Validator.check_schema(schema)
    return Draft4Validator(schema)


def run_of(document: str) -> dict[str, Any]:
    made = json.loads(document)
    assert [error.message for error in validator().iter_errors(made)] == []
    assert made["version"] == "2.1.0"
    (run,) = made["runs"]
    assert isinstance(run, dict)
    return run


def span(words: str, text: str = TREE, path: str = "trees/slow fill.tree") -> Span:
    start = text.index(words)
    return Span(Source(path, text), start, start + len(words))


def finding(words: str = "delivery", **more: Any) -> Finding:
    return Finding("gap", Level.FAULT, "no answer fits 2 bar", span(words), **more)


# ---- the document as a whole ------------------------------------------------------------------


def test_the_schema_refuses_what_is_wrong() -> None:
    made = json.loads(render([finding()], rule_texts()))
    made["runs"][0]["results"][0]["level"] = "fault"
    assert not validator().is_valid(made)
    del made["runs"][0]["tool"]
    assert len(list(validator().iter_errors(made))) == 2


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_case_is_sound_sarif_and_says_what_was_found(path: Path) -> None:
    found = review_all([path])
    run = run_of(render(found.findings, rule_texts(), found.waived))
    results = run["results"]
    assert len(results) == len(found.findings) + len(found.waived)
    rules = run["tool"]["driver"]["rules"]
    for result, one in zip(results, found.findings, strict=False):
        assert result["ruleId"] == one.rule
        if one.rule == "syntax":  # no rule of the linter
            assert "ruleIndex" not in result
        else:
            assert rules[result["ruleIndex"]]["id"] == one.rule
        (place,) = result["locations"]
        assert words_at(place["physicalLocation"], one.span.source) == one.span.text


def words_at(place: dict[str, Any], source: Source) -> str:
    """The words of a region, its columns counted in UTF-16 code units."""
    region = place["region"]
    lines = [line.encode("utf-16-le") for line in source.text.split("\n")]
    first, last = region["startLine"] - 1, region["endLine"] - 1
    start, end = 2 * (region["startColumn"] - 1), 2 * (region["endColumn"] - 1)
    if first == last:
        return lines[first][start:end].decode("utf-16-le")
    newline = "\n".encode("utf-16-le")
    parts = [lines[first][start:], *lines[first + 1 : last], lines[last][:end]]
    return newline.join(parts).decode("utf-16-le")


def test_the_same_findings_give_the_same_bytes() -> None:
    found = lint_all(CASES[:6])
    assert render(found, rule_texts()) == render(list(found), rule_texts())
    assert render(found, rule_texts()).isascii()


def test_nothing_found_is_a_document_too() -> None:
    run = run_of(render([], []))
    assert run["results"] == []
    assert run["columnKind"] == "utf16CodeUnits"
    assert run["tool"]["driver"]["rules"] == []


# ---- rules ------------------------------------------------------------------------------------


def test_rules_carry_their_text() -> None:
    run = run_of(render([], [RuleText("gap", Level.DOUBT, "no box", "Looks for {gaps}.", "Mend")]))
    assert run["tool"]["driver"] == {
        "name": "Treewright",
        "rules": [
            {
                "id": "gap",
                "shortDescription": {"text": "No box."},
                "fullDescription": {"text": "Looks for {{gaps}}."},
                "help": {"text": "Mend"},
                "defaultConfiguration": {"level": "warning"},
            }
        ],
    }


@pytest.mark.parametrize(
    ("level", "said"),
    [(Level.FAULT, "error"), (Level.DOUBT, "warning"), (Level.WORDING, "note")],
)
def test_levels(level: Level, said: str) -> None:
    one = Finding("gap", level, "no answer fits", span("delivery"))
    (result,) = run_of(render([one], []))["results"]
    assert result["level"] == said
    assert "ruleIndex" not in result  # no text of this rule was handed in


# ---- results ----------------------------------------------------------------------------------


def test_a_full_finding() -> None:
    one = finding(
        "outlet",
        why="the technician finds no answer",
        help="add `if 2 bar: …`",
        labels=(Label(span("below 2 bar"), "it ends here"),),
        way=("symptom slow", "1 delivery: below 2 bar", "F1 worn"),
    )
    (result,) = run_of(render([one], rule_texts()))["results"]
    location = {"uri": "trees/slow%20fill.tree", "uriBaseId": "TREES", "index": 0}
    assert result["message"]["text"] == (
        "No answer fits 2 bar. The technician finds no answer. Add `if 2 bar: …`."
    )
    # The clef before it is one code point and two UTF-16 code units.
    place = {
        "artifactLocation": location,
        "region": {"startLine": 3, "startColumn": 38, "endLine": 3, "endColumn": 44},
    }
    assert result["locations"] == [{"physicalLocation": place}]
    assert result["relatedLocations"] == [
        {
            "id": 1,
            "physicalLocation": {
                "artifactLocation": location,
                "region": {"startLine": 4, "startColumn": 6, "endLine": 4, "endColumn": 17},
            },
            "message": {"text": "It ends here."},
        }
    ]
    (flow,) = result["codeFlows"]
    stops = [stop["location"] for stop in flow["threadFlows"][0]["locations"]]
    assert [stop["message"]["text"] for stop in stops] == list(one.way)
    assert stops[-1]["physicalLocation"] == place


def test_waived_findings_are_suppressed_with_their_reason() -> None:
    waiver = Waiver("gap", "It never stands at 2 bar.", span("waive gap"))
    run = run_of(render([finding()], rule_texts(), [(finding("below 2 bar"), waiver)]))
    open_one, waived = run["results"]
    assert open_one["suppressions"] == []
    assert waived["suppressions"] == [
        {
            "kind": "inSource",
            "justification": "It never stands at 2 bar.",
            "location": {
                "physicalLocation": {
                    "artifactLocation": {
                        "uri": "trees/slow%20fill.tree",
                        "uriBaseId": "TREES",
                        "index": 0,
                    },
                    "region": {"startLine": 6, "startColumn": 3, "endLine": 6, "endColumn": 12},
                }
            },
        }
    ]
    (unknown,) = run_of(render([finding()], rule_texts()))["results"]
    assert "suppressions" not in unknown


@pytest.mark.parametrize(
    ("paths", "uris"),
    [
        (["a.tree"], ["a.tree"]),
        (["./trees/a b.tree", "trees/ä#1?.tree"], ["trees/a%20b.tree", "trees/%C3%A4%231%3F.tree"]),
        (["c:d.tree"], ["c%3Ad.tree"]),
        (["/srv/x/trees/a.tree"], ["a.tree"]),
        (["/srv/x/a.tree", "/srv/x/lib/b.tree", "c.tree"], ["a.tree", "lib/b.tree", "c.tree"]),
        (["../a.tree"], ["../a.tree"]),
        (["100%.tree"], ["100%25.tree"]),
    ],
)
def test_paths_are_relative(paths: list[str], uris: list[str]) -> None:
    found = [Finding("gap", Level.FAULT, "x", Span(Source(path, "tree"), 0, 4)) for path in paths]
    document = render(found, [])
    run = run_of(document)
    assert [artifact["location"]["uri"] for artifact in run["artifacts"]] == uris
    assert "/srv" not in document
    for result, uri in zip(run["results"], uris, strict=True):
        location = result["locations"][0]["physicalLocation"]["artifactLocation"]
        assert location["uri"] == uri
        assert location["index"] == uris.index(uri)
        assert ("uriBaseId" in location) == (not uri.startswith("../"))
    assert all(unquote(uri) for uri in uris)


def test_author_text_is_no_placeholder_and_no_link() -> None:
    said = "`{0}` and `[here](javascript:x)` and [a] and \ud800"
    one = Finding("gap", Level.FAULT, said, span("delivery"))
    (result,) = run_of(render([one], []))["results"]
    # As the standard has it for message strings: braces doubled, the bracket of a link escaped.
    assert result["message"]["text"] == ("`{{0}}` and `\\[here](javascript:x)` and [a] and \ufffd.")


@given(
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r"), max_size=60),
    st.data(),
)
def test_regions_of_any_text(text: str, data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, len(text)))
    source = Source("a.tree", text)
    one = Finding("gap", Level.FAULT, text or "x", Span(source, start, end))
    (result,) = run_of(render([one], []))["results"]
    assert words_at(result["locations"][0]["physicalLocation"], source) == text[start:end]
