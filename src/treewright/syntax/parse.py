"""Reads a whole file: blocks and lines, and everything that was wrong with them.

Never raises on what a file says. A broken line is left out and its block marked; a broken
head is read as what it was most likely meant to be, so that one slip gives one finding and
the rest of the file is still read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from treewright.syntax import ast, errors, grammar
from treewright.syntax.bad_head import bad_head, bad_use
from treewright.syntax.bad_indent import bad_indent, swallowed
from treewright.syntax.bad_line import bad_line
from treewright.syntax.forms import key_of, key_of_any
from treewright.syntax.lines import LogicalLine, RawBlock, blocks, visible
from treewright.syntax.values import Reader, Trouble
from treewright.text.diagnostic import Finding
from treewright.text.source import Source, Span

# Words of the grammar's rules and the keys they stand for, where the two differ.
_KEYS = {
    "only_for": "only for", "of_model": "model", "of_symptom": "symptom", "ladder": "access",
    "set_up": "set up by", "undo": "undo by", "places": "at", "whilst": "while",
    "start_at": "start at", "as_in": "as in", "same_as": "same as", "answer": "if", "judged": "if",
    "judgements": "answers", "of_symptoms": "symptoms", "after": "after remedy",
}  # fmt: skip

_REPEATED = ("if", "spec", "waive", "item", "entry")  # lines a block may have more than once
_PROSE = ("machine", "about", "how", "harm", "avoid", "remedy", "to", "licence")
_LONGEST = 20_000  # letters of a line that is no prose; longer ones are no tree's


@dataclass(slots=True)
class _Head:
    """A block whose head is read, or guessed, and whose lines are not read yet."""

    kind: str
    name: ast.Word
    title: ast.Prose
    start: int
    lines: list[LogicalLine]
    broken: bool
    named: bool = True  # whether the name is written there


def parse(source: Source) -> tuple[ast.File, list[Finding]]:
    """Reads a file.

    Args:
        source: its text.

    Returns:
        what could be read, and findings of the rule `syntax` for what could not.
    """
    raw, misplaced = blocks(source)
    findings = [bad_indent(source, trouble) for trouble in misplaced]
    uneven = {id(t.block) for t in misplaced}
    heads: list[_Head] = []
    uses: list[ast.Use] = []
    into: list[LogicalLine] | None = None  # lines of a head that is none go to the block above
    broken = nameless = False
    for block in raw:
        text = visible(block.head.text)
        if text == "use" or text.startswith(("use ", "use\t")):
            nameless = not _use(source, block, text, uses, findings) or nameless
            continue
        read = _head(source, block, text, id(block) in uneven)
        if isinstance(read, _Head):
            heads.append(read)
            into = None
            continue
        finding, head = read
        if head is not None or into is None:  # of several that are none only the first is said
            findings.append(finding)
        broken = True
        nameless = nameless or not (key_of_any(text) if head is None else head.kind and head.named)
        if head is not None:
            heads += [head] if head.kind else []
            into = None
        elif heads:
            heads[-1].broken = True
            into = heads[-1].lines
            into += [line for line in block.lines if key_of(heads[-1].kind, line.text)]
        else:
            into = []
    names = {head.name.text: head.kind for head in sorted(heads, key=_is_node)}
    made = tuple(_block(source, head, names, findings) for head in heads)
    return ast.File(source, made, tuple(uses), broken, nameless), findings


def _is_node(head: _Head) -> bool:
    """Whether a way can lead there: of two blocks of one name that is the one it means."""
    return head.kind in ("check", "reading", "step", "fault", "handoff", "done")


def _span(source: Source, line: LogicalLine) -> Span:
    return Span(source, line.start, line.start + max(1, len(line.text)))


def _use(
    source: Source, block: RawBlock, text: str, uses: list[ast.Use], findings: list[Finding]
) -> bool:
    """Reads which library is used; says whether that can be told."""
    span = _span(source, block.head)
    tree = grammar.read("use", text)
    if isinstance(tree, grammar.Unread):
        findings.append(bad_use(text, span))
        return False
    uses.append(ast.Use(Reader(source, block.head.start, block.head.text).word(tree.children[0])))  # type: ignore[arg-type]
    for line in block.lines:
        help = "start a block first, like `check oil-level: Is there oil?`"
        findings.append(
            errors.syntax("a `use` line has no lines of its own", _span(source, line), help)
        )
    return True


def _head(
    source: Source, block: RawBlock, text: str, broken: bool
) -> _Head | tuple[Finding, _Head | None]:
    """A head; or what is wrong with it and, where it can be told, what it was meant to be."""
    start = block.head.start
    span = _span(source, block.head)
    row = text.find("\n") if "\n" in text else len(text)
    if row > _LONGEST:
        return _too_long(source, start), None
    tree = grammar.read("head", text)
    if isinstance(tree, grammar.Unread):
        finding, meant = bad_head(text, span)
        if not meant.kind:
            return finding, None
        kind = "" if meant.kind == "?" else meant.kind
        name = ast.Word(meant.name or errors.name_like(meant.title) or "nameless", finding.span)
        title = ast.Prose(meant.title, span)
        return finding, _Head(kind, name, title, start, block.lines, True, bool(meant.name))
    reader = Reader(source, start, block.head.text)
    kind = str(tree.children[0])
    name = reader.word(tree.children[1])  # type: ignore[arg-type]
    title = reader.prose(tree.children[2])  # type: ignore[arg-type]
    head = _Head(kind, name, title, start, block.lines, broken)
    if "." not in name.text:
        return head
    head.name, head.broken = ast.Word(errors.name_like(name.text), name.span), True
    return errors.syntax(
        f"`{name.text}` has a point in it, which parts a library from its names", name.span,
        f"write `{kind} {head.name.text}: …`",
    ), head  # fmt: skip


def _block(
    source: Source, head: _Head, names: Mapping[str, str], findings: list[Finding]
) -> ast.Block:
    kind, broken = head.kind, head.broken
    lines: list[ast.Line] = []
    once: set[str] = set()
    for line in head.lines:
        made = _line(source, kind, line, names, findings)
        if made is None:
            broken = True
        elif made.key in once:
            findings.append(_twice(kind, made))
            broken = True
        else:
            if made.key not in _REPEATED:
                once.add(made.key)
            lines.append(made)
    end = max((line.end for line in head.lines), default=head.title.span.end)
    whole = Span(source, head.start, end)
    return ast.Block(kind, head.name, head.title, tuple(lines), whole, broken)


def _twice(kind: str, line: ast.Line) -> Finding:
    key = line.key
    key_span = Span(line.span.source, line.span.start, line.span.start + len(key))
    one = key in ("then", "otherwise", "symptom", "ends", "model", "retest", "start at", "normal",
                  "same as")
    help = "take one of the two out" if one else "join them in one line"
    return errors.syntax(f"this {kind} has two `{key}` lines", key_span, help)


def _too_long(source: Source, start: int) -> Finding:
    return errors.syntax(
        "this line is far too long to be read", Span(source, start, start + 40),
        "a line of a tree is a sentence or two; part it",
    )  # fmt: skip


def _line(
    source: Source, kind: str, line: LogicalLine, names: Mapping[str, str], findings: list[Finding]
) -> ast.Line | None:
    text = visible(line.text)
    span = _span(source, line)
    key = key_of(kind, text)
    prose = key in _PROSE or text.startswith("-")
    if len(text) > _LONGEST and not prose:
        findings.append(_too_long(source, span.start))
        return None
    deep = swallowed(source, kind, line, prose)
    if deep is not None:
        findings.append(deep)
        return None
    tree: grammar.Node | grammar.Unread = grammar.Unread(0, len(text))
    if key is not None or kind == "case" or text.startswith("-"):  # `iff` is no `if`
        tree = grammar.read(grammar.line_rule(kind), text)
    if isinstance(tree, grammar.Unread):
        findings.append(bad_line(kind, text, span, tree, names))
        return None
    inside = tree.children[0]
    rule = str(inside.data)  # type: ignore[union-attr]
    reader = Reader(source, line.start, line.text)
    try:
        if rule == "entry":
            value: ast.Value = _entry(reader, text, inside)  # type: ignore[arg-type]
        else:
            value = reader.line(inside)  # type: ignore[arg-type]
    except Trouble as wrong:
        findings.append(errors.syntax(wrong.message, wrong.span, wrong.help, wrong.fix))
        return None
    return ast.Line(_KEYS.get(rule, rule), value, span)


def _entry(reader: Reader, text: str, inside: grammar.Node) -> ast.Entry:
    node, value = (reader.word(token) for token in inside.children)  # type: ignore[arg-type]
    start = value.span.start - reader.base
    tree = grammar.read("measured", text[start:])
    if isinstance(tree, grammar.Unread):
        return ast.Entry(node, value, ())
    piece = Reader(reader.source, value.span.start, reader.raw[start:])
    return ast.Entry(node, value, piece.measured(tree))
