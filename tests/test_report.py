"""Findings as they are shown: to people at a terminal, to programs, and the rules' own pages."""

from __future__ import annotations

import json as standard_json
import re
from html.parser import HTMLParser

import pytest

from treewright.lint.rule import HEADINGS
from treewright.lint.rules import RULES
from treewright.report import explain, json, terminal
from treewright.text.diagnostic import Finding, Label, Level
from treewright.text.source import Source, Span


def finding(text: str, words: str, level: Level = Level.FAULT, path: str = "a.tree") -> Finding:
    """A finding about the first place where these words stand."""
    start = text.index(words)
    span = Span(Source(path, text), start, start + len(words))
    return Finding("gap", level, "no answer fits 2 bar", span)


TREE = """\
tree slow: Fills slowly

reading delivery: Pressure at the outlet
  if below 2 bar: found worn
  if above 2 bar: stop workshop
"""

SHOWN = """\
fault gap  slow.tree:3:9
  no answer fits 2 bar
      3 | reading delivery: Pressure at the outlet
        |         ^^^^^^^^
  it ends here (line 4):
      4 |   if below 2 bar: found worn
        |      ^^^^^^^^^^^
  why: the technician finds no answer
  help: add `if 2 bar: …`
  way: symptom slow → 1 delivery

doubt gap  slow.tree:4:25
  no answer fits 2 bar
      4 |   if below 2 bar: found worn
        |                         ^^^^

1 fault, 1 doubt in 1 of 4 trees
"""


def test_a_finding_for_people() -> None:
    source = Source("slow.tree", TREE)

    def span(words: str) -> Span:
        start = TREE.index(words)
        return Span(source, start, start + len(words))

    full = Finding(
        "gap",
        Level.FAULT,
        "no answer fits 2 bar",
        span("delivery"),
        "the technician finds no answer",
        "add `if 2 bar: …`",
        (Label(span("below 2 bar"), "it ends here"),),
        ("symptom slow", "1 delivery"),
    )
    short = Finding("gap", Level.DOUBT, "no answer fits 2 bar", span("worn"))
    shown = terminal.render([full, short], trees=4)
    # The gutter of the underline is shown empty; its bar is only drawn above for the eye.
    assert shown == SHOWN.replace("        |", "         ")


@pytest.mark.parametrize(
    ("levels", "trees", "said"),
    [
        ([], 3, "nothing found in 3 trees"),
        ([], 1, "nothing found in 1 tree"),
        ([], None, "nothing found"),
        ([Level.DOUBT], 1, "1 doubt in 1 tree"),
        ([Level.WORDING, Level.FAULT, Level.FAULT], None, "2 faults, 1 wording in 1 tree"),
        ([Level.FAULT], 4, "1 fault in 1 of 4 trees"),
    ],
)
def test_the_closing_line(levels: list[Level], trees: int | None, said: str) -> None:
    findings = [finding(TREE, "delivery", level) for level in levels]
    assert terminal.summary(findings, trees) == said


def underlined(text: str, words: str, width: int = 80) -> tuple[str, str]:
    """The excerpt of a finding, without its margin."""
    lines = terminal.render([finding(text, words)], width=width).splitlines()
    at = next(number for number, line in enumerate(lines) if " | " in line)
    margin = lines[at].index("|") + 2
    return lines[at][margin:], lines[at + 1][margin:]


def test_wide_and_combining_characters_are_counted_as_they_are_shown() -> None:
    # A wide character takes two columns and a combining mark none (Unicode UAX 11).
    assert underlined("  if 油: go next", "go")[1] == " " * 9 + "^^"
    assert underlined("  if 油: go next", "油")[1] == " " * 5 + "^^"
    assert underlined("  if e\u0301: go next", "go")[1] == " " * 8 + "^^"


def test_a_long_line_is_cut_around_the_words() -> None:
    text = "x" * 3_000_000 + " here " + "y" * 3_000_000
    shown, marks = underlined(text, "here")
    assert len(shown) <= 70
    assert shown[0] == shown[-1] == "…"
    at = marks.index("^")
    assert shown[at : at + 4] == "here"
    assert marks.count("^") == 4


def test_words_longer_than_the_line_are_cut() -> None:
    shown, marks = underlined("if " + "z" * 500_000, "z" * 500_000)
    assert len(shown) <= 70
    assert shown.endswith("…")
    assert marks.rstrip().endswith("^")
    assert len(marks) <= len(shown)


def test_words_over_several_lines_are_underlined_on_the_first() -> None:
    assert underlined("  how: one\n    two\n", "one\n    two") == ("  how: one", "       ^^^")


def test_a_place_at_the_very_end() -> None:
    source = Source("a.tree", "tree")
    shown = terminal.render([Finding("syntax", Level.FAULT, "it ends here", Span(source, 4, 4))])
    assert "a.tree:1:5" in shown
    empty = Finding("file", Level.FAULT, "it is empty", Span(Source("a.tree", ""), 0, 0))
    assert "a.tree:1:1" in terminal.render([empty])


STEERING = "\x1b[31m\x9b2J\x07\u202e\u2028\u2066\r\x7f"


@pytest.mark.parametrize("colour", [False, True])
def test_author_text_cannot_steer_the_terminal(colour: bool) -> None:
    text = f"check oil{STEERING}: go"
    made = Finding(
        f"gap{STEERING}",
        Level.FAULT,
        f"message{STEERING}",
        Span(Source(f"a{STEERING}.tree", text), 6, 12),
        f"why{STEERING}",
        f"help{STEERING}",
        (Label(Span(Source(f"b{STEERING}.tree", text), 6, 9), f"label{STEERING}"),),
        (f"symptom{STEERING}",),
    )
    shown = terminal.render([made], colour)
    if colour:
        shown = re.sub(r"\x1b\[[0-9;]*m", "", shown)
    assert not set(STEERING) - {*"[312mJ"} & set(shown)
    assert "␛" in shown


def test_a_long_message_is_cut() -> None:
    made = Finding("gap", Level.FAULT, "word " * 100_000, Span(Source("a.tree", "tree"), 0, 4))
    assert len(terminal.render([made])) < 4000


def test_colour_only_where_asked() -> None:
    made = finding(TREE, "delivery")
    plain = terminal.render([made])
    coloured = terminal.render([made], colour=True)
    assert "\x1b" not in plain
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain


# ---- JSON ------------------------------------------------------------------------------------


def test_a_finding_for_programs() -> None:
    source = Source("slow.tree", "tree öl: Fills\n  slowly\n")
    made = Finding(
        "gap", Level.DOUBT, "no answer", Span(source, 9, 23), "why", "help", way=("symptom a", "b")
    )
    assert standard_json.loads(json.render([made])) == {
        "version": 1,
        "findings": [
            {
                "rule": "gap",
                "level": "doubt",
                "path": "slow.tree",
                "line": 1,
                "column": 10,
                "end_line": 2,
                "end_column": 9,
                "message": "no answer",
                "why": "why",
                "help": "help",
                "way": ["symptom a", "b"],
            }
        ],
    }
    assert json.render([made]).isascii()
    assert standard_json.loads(json.render([])) == {"version": 1, "findings": []}


# ---- the rules' own text ---------------------------------------------------------------------


def test_every_rule_is_explained() -> None:
    assert explain.names() == tuple(sorted(rule.name for rule in RULES))
    for name in explain.names():
        text = explain.explain(name)
        assert all(f"\n{heading}\n" in text for heading in HEADINGS)
        # Examples stand as their author wrote them, on lines as long as that takes.
        assert max(len(line) for line in text.splitlines() if line[:4].strip()) <= 100


class Words(HTMLParser):
    """Collects the text of a page and the tags that are open at its end."""

    def __init__(self) -> None:
        super().__init__()
        self.text = ""
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


def test_every_rule_has_a_page() -> None:
    for rule in RULES:
        words = Words()
        words.feed(explain.page(rule.name))
        assert words.open == []
        for heading, text in rule.parts().items():
            assert heading in words.text
            for line in text.splitlines():
                assert " ".join(line.split()) in " ".join(words.text.split())


def test_an_unknown_rule_is_answered_with_those_that_look_like_it() -> None:
    with pytest.raises(explain.UnknownRule, match="did you mean overlap"):
        explain.explain("overlaps")
    with pytest.raises(LookupError, match="the rules are "):
        explain.page("zzz")
