"""The documentation of a rule, for the terminal and as a page, made from the rule's own text."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from treewright.lint.rule import HEADINGS, Rule
from treewright.lint.rules import RULES
from treewright.report.listing import Files, Listing
from treewright.report.sarif import RuleText
from treewright.text.diagnostic import Level, in_order
from treewright.text.source import Source, Span, Unreadable

if TYPE_CHECKING:
    from treewright.syntax import ast

_SAMPLES = HEADINGS[2:]  # trees, shown as they are; the first two parts are prose
_COLUMNS = 88
_SHEETS = ("base.css", "review.css")

_GRAVE = {
    Level.FAULT: "the tree must not be printed",
    Level.DOUBT: "a reviewer decides",
    Level.WORDING: "it could be said better",
}


class UnknownRule(LookupError):
    """No rule has this name; the message says which ones look like it."""


def names() -> tuple[str, ...]:
    """The names of all rules, in alphabetical order."""
    return tuple(sorted(rule.name for rule in RULES))


def explain(rule: str) -> str:
    """What a rule does and why, with its example, for the terminal.

    Raises:
        UnknownRule: there is none of that name.
    """
    found = _rule(rule)
    lines = [f"{found.name} ({found.level.value})"]
    for heading, text in found.parts().items():
        lines += ["", heading]
        if heading in _SAMPLES:
            lines.append(textwrap.indent(text, "    "))
            continue
        for at, paragraph in enumerate(_paragraphs(text)):
            lines += [""] if at else []
            lines += textwrap.wrap(paragraph, _COLUMNS, initial_indent="  ", subsequent_indent="  ")
    return "\n".join(lines) + "\n"


def page(rule: str) -> str:
    """The same as an HTML page, with what the linter finds in the example beside its lines.

    Raises:
        UnknownRule: there is none of that name.
    """
    from treewright.render import web

    found = _rule(rule)
    parts = found.parts()
    prose = [
        (heading, list(_paragraphs(text)))
        for heading, text in parts.items()
        if heading not in _SAMPLES
    ]
    example, mended = (parts[heading] for heading in _SAMPLES)
    return web.static_page(
        "rule.html",
        _SHEETS,
        name=found.name,
        level=found.level.value,
        grave=_GRAVE[found.level],
        prose=prose,
        samples=zip(_SAMPLES, (_faulty(example), _mended(mended, example)), strict=True),
    )


def index() -> str:
    """A page that lists all rules by their level, and leads to the page of each."""
    from treewright.render import web

    return web.static_page(
        "rules.html",
        _SHEETS,
        levels=[
            (level.value, _GRAVE[level], [(rule.name, _gist(rule)) for rule in rules])
            for level in Level
            if (rules := sorted(_of(level), key=lambda rule: rule.name))
        ],
    )


def pages() -> Iterator[tuple[str, str]]:
    """The pages of all rules and the list of them: file names and texts."""
    yield "rules.html", index()
    for name in names():
        yield f"rule-{name}.html", page(name)


def rule_texts() -> tuple[RuleText, ...]:
    """What is said of each rule, in the order in which they are run: for SARIF."""
    found = []
    for rule in RULES:
        what, why, *samples = rule.parts().values()
        full = f"{what}\n\n{why}"
        found.append(RuleText(rule.name, rule.level, rule.why, full, "\n\n".join(samples)))
    return tuple(found)


def _of(level: Level) -> list[Rule]:
    return [rule for rule in RULES if rule.level is level]


def _gist(rule: Rule) -> str:
    """The first sentence of what it does."""
    text = next(_paragraphs(rule.parts()[HEADINGS[0]]))
    end = text.find(". ")
    return text if end < 0 else text[: end + 1]


def _faulty(example: str) -> Listing:
    """The example with its findings; a translation of it may stand behind it."""
    from treewright.lint.run import lint
    from treewright.model.build import build
    from treewright.model.translation import with_translation
    from treewright.syntax.parse import parse

    source = Source("example.tree", example + "\n")
    own, head, other = source.text.partition("\ntranslation ")
    file, slips = parse(Source(source.path, own))
    tree, more = build(file, _no_library)
    if head:
        beside = Source("example.de.tree", head.lstrip() + other)
        tree = with_translation(tree, file, "de", beside)
    files, known = Files([source]), frozenset(names())
    findings = [
        replace(one, span=Span(source, one.span.start, one.span.end))
        for one in in_order([*slips, *more, *lint(tree)])
    ]
    found = {n: (f, files.shown(f, n, known)) for n, f in enumerate(findings, 1)}
    return _unfolded(files.listing(source, found))


def _no_library(path: str) -> ast.File:
    raise Unreadable(f"there is no file `{path}`", "")


def _mended(mended: str, example: str) -> Listing:
    """What to write instead, with the lines that are new in it."""
    from difflib import SequenceMatcher

    source = Source("mended.tree", mended + "\n")
    plain = Files([source], 2).listing(source, {})
    matcher = SequenceMatcher(None, example.splitlines(), mended.splitlines(), False)
    fresh = {
        line
        for kind, _, _, first, last in matcher.get_opcodes()
        if kind in ("insert", "replace")
        for line in range(first + 1, last + 1)
    }
    marked = tuple(
        replace(run, rows=tuple(
            replace(row, kind=f"{row.kind} new".strip()) if row.number in fresh else row
            for row in run.rows
        ))
        for run in plain.runs
    )  # fmt: skip
    return _unfolded(replace(plain, runs=marked))


def _unfolded(listing: Listing) -> Listing:
    """An example is short: all of its lines are shown."""
    return replace(listing, runs=tuple(replace(run, quiet=False) for run in listing.runs))


def _paragraphs(text: str) -> Iterator[str]:
    for paragraph in text.split("\n\n"):
        yield " ".join(paragraph.split())


def _rule(name: str) -> Rule:
    for rule in RULES:
        if rule.name == name:
            return rule
    import difflib

    near = difflib.get_close_matches(name, names(), 3, 0.6)
    hint = f"did you mean {' or '.join(near)}?" if near else f"the rules are {', '.join(names())}"
    raise UnknownRule(f"no rule is called `{name}`; {hint}")
