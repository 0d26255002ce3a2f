"""From a file without ways to a drafted tree: read, order, write, tidy, and look at the outcome."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from treewright.lint.words import listed
from treewright.project import SUFFIX, Loaded, Project, lint_loaded
from treewright.record import record
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Source
from treewright.usage import UsageError

if TYPE_CHECKING:
    from treewright.model.tree import Tree
    from treewright.reason.draft import Draft

_NAMES = ("missing-name", "duplicate-name")


@record
class Drafted:
    """What came of it.

    Attributes:
        text: the tree in its settled form; "" where the file cannot be drafted yet.
        said: for each symptom what its order takes, and what was left out.
        findings: what the linter says of the draft; where there is none, of the file.
        ways: the ways of it.
    """

    text: str
    said: tuple[str, ...]
    findings: tuple[Finding, ...]
    ways: Draft | None = None


def make_of_table(path: Path, shown: Callable[[str], object]) -> Drafted:
    """Drafts a tree from a table of causes.

    Args:
        path: the table; the tree is called like it.
        shown: as for `make`.

    Raises:
        UsageError: the table cannot be read; row and column are named.
    """
    from treewright.draft.from_table import tree_text
    from treewright.draft.table import BadTable, read_table

    try:
        content = path.read_bytes()
        table = read_table(content)
    except OSError as wrong:
        raise UsageError(f"`{path.as_posix()}` cannot be read: {wrong.strerror}") from None
    except BadTable as wrong:
        raise UsageError(f"`{path.as_posix()}`, {wrong}") from None
    text, said = tree_text(table, path.stem)
    tree = path.with_suffix(SUFFIX)
    drafted = make(tree, shown, Source(tree.as_posix(), text))
    return Drafted(drafted.text, (*said, *drafted.said), drafted.findings, drafted.ways)


def make(path: Path, shown: Callable[[str], object], source: Source | None = None) -> Drafted:
    """Drafts a tree.

    Args:
        path: the file; its libraries and pictures lie in its folder.
        shown: what outputs make of prose (see `syntax.tidy`).
        source: its text, where it is not the one written there.

    Raises:
        UsageError: there is nothing to order, or the file cannot be ordered.
    """
    from treewright.draft.write import write
    from treewright.model.graph import graph
    from treewright.model.nodes import Fault
    from treewright.reason.draft import NothingToFind, draft
    from treewright.syntax.tidy import Unproven, tidy

    project = Project()
    if source is not None:
        project.take(path, source)
    loaded = project.load(path)
    tree = loaded.tree
    if tree is None or not loaded.sound:
        return Drafted("", (), loaded.findings)
    if tree.missing or tree.twice:
        findings = [one for one in lint_loaded(loaded) if one.rule in _NAMES]
        return Drafted("", (), tuple(findings))
    _look(loaded)
    if limited := tuple(_limited(tree)):
        return Drafted("", (), limited)
    try:
        ways = draft(tree, graph(tree))
    except NothingToFind as wrong:
        raise UsageError(
            f"no fault belongs to the symptom `{wrong}`: name it in a fault's `symptoms:` line, or"
            " take it out"
        ) from None
    file, _ = project.parse(path, path.as_posix())
    text, names = write(file, tree, ways)
    try:
        text, findings = tidy(Source(path.as_posix(), text), shown)
    except Unproven as wrong:
        raise UsageError(f"`{path.as_posix()}` cannot be drafted: {wrong}") from None
    if findings:
        raise UsageError(f"`{path.as_posix()}` cannot be drafted: {findings[0].message}")
    project.take(path, Source(path.as_posix(), text))
    said = [_begun(one.symptom, one.expected, one.at_least, one.proven) for one in ways.begun]
    for name in ways.begun[0].no_time:
        said.append(f"`{name}` has no time; it counts as the median check, a condition as nothing")
    for fault in tree.nodes.values():
        if isinstance(fault, Fault) and not fault.shows:
            said.append(f"`{fault.name}` shows nothing: with it every check is taken to be normal")
    if names.left_out:
        said.append(f"left out, as comments at the end: {', '.join(sorted(names.left_out))}")
    return Drafted(text, tuple(said), tuple(lint_loaded(project.load(path))), ways)


def _begun(symptom: str, expected: Fraction, at_least: Fraction, proven: bool) -> str:
    took = f"{symptom}: {_minutes(expected)} min on average to the last answer"
    if proven:
        return f"{took}, proven the best order"
    return f"{took}; not proven, at least {_minutes(at_least)} min"


def _minutes(value: Fraction) -> str:
    return f"{float(value):.1f}".removesuffix(".0")


def _look(loaded: Loaded) -> None:
    """Says what keeps a tree from being drafted."""
    from treewright.model.nodes import Check, Fault, Reading

    tree = loaded.tree
    assert tree is not None
    if tree.library:
        raise UsageError(f"`{tree.name}` is a library: only a tree can be drafted")
    faults = [node for node in tree.nodes.values() if isinstance(node, Fault)]
    checks = [node for node in tree.nodes.values() if isinstance(node, Check | Reading)]
    if not faults:
        raise UsageError("there is no fault in this tree: write the faults and what each `shows`")
    if not tree.symptoms:
        raise UsageError("there is no symptom in this tree: write `symptom NAME: TITLE` with what"
                         " the operator complains of")  # fmt: skip
    for node in checks:
        if not node.outcomes:
            raise UsageError(f"`{node.name}` has no answers: add them, like `answers: yes, no`")
        if "." in node.name:
            raise UsageError(f"`{node.name}` is a library's: write a check of your own with"
                             f" `as in: {node.name}`, which can have ways on")  # fmt: skip


def _limited(tree: Tree) -> Iterator[Finding]:
    """The blocks that are not there on every model: an order is one for all of them."""
    from treewright.model.nodes import Check, Fault, Reading

    asked = [node for node in tree.nodes.values() if isinstance(node, Check | Reading | Fault)]
    for block in (*tree.symptoms.values(), *asked):
        lacking = [model for model in tree.models if model not in block.models]
        if block.models and lacking:
            model = block.models[0]
            yield Finding(
                "draft", Level.FAULT,
                f"`{block.name}` is only for {listed(block.models)}, and a draft is one order for"
                " all models",
                block.span,
                f"on {listed(lacking)} its ways would lead to what is not there",
                f"copy the file for each model; in that for {model} write `models: {model}`, keep"
                f" what is there on {model} and take out its `only for` lines",
            )  # fmt: skip
