"""Reads a whole file: blocks and lines, and everything that was wrong with them.

Never raises on what a file says. A broken line is left out and its block marked; a broken
head is read as what it was most likely meant to be, so that one slip gives one finding and
the rest of the file is still read.
"""

from __future__ import annotations

from treewright.syntax import ast, errors, grammar
from treewright.syntax.lines import LogicalLine, Misplaced, RawBlock, blocks, dedent, visible
from treewright.syntax.values import Reader, Trouble
from treewright.text.diagnostic import Finding
from treewright.text.source import Source, Span

# Words of the grammar's rules and the keys they stand for, where the two differ.
_KEYS = {
    "only_for": "only for", "of_model": "model", "of_symptom": "symptom", "ladder": "access",
    "set_up": "set up by", "undo": "undo by", "places": "at", "whilst": "while",
    "start_at": "start at", "as_in": "as in", "answer": "if", "judged": "if",
    "after": "after remedy",
}  # fmt: skip

_REPEATED = ("if", "spec", "waive", "item", "entry")  # lines a block may have more than once
_LONGEST = 20_000  # letters of a line that is no prose; longer ones are no tree's


def parse(source: Source) -> tuple[ast.File, list[Finding]]:
    """Reads a file.

    Args:
        source: its text.

    Returns:
        what could be read, and findings of the rule `syntax` for what could not.
    """
    raw, misplaced = blocks(source)
    findings = [_outer(trouble) for trouble in misplaced]
    uneven = {id(t.block) for t in misplaced if t.block is not None}
    read: list[ast.Block] = []
    uses: list[ast.Use] = []
    for block in raw:
        text = visible(block.head.text)
        if text == "use" or text.startswith(("use ", "use\t")):
            _use(source, block, text, uses, findings)
            continue
        made = _block(source, block, text, id(block) in uneven, findings)
        if made is not None:
            read.append(made)
    return ast.File(source, tuple(read), tuple(uses)), findings


def _span(source: Source, line: LogicalLine) -> Span:
    return Span(source, line.start, line.start + max(1, len(line.text)))


def _outer(trouble: Misplaced) -> Finding:
    if trouble.kind == "tab":
        return errors.syntax(
            "this line is indented with a tab", trouble.span,
            "indent with spaces, two for each block; a tab is wide on one screen and narrow on "
            "another",
        )  # fmt: skip
    if trouble.kind == "orphan":
        return errors.syntax(
            "this line is indented but belongs to no block", trouble.span,
            "start the file with `tree NAME: TITLE` at the left edge",
        )  # fmt: skip
    return errors.syntax(
        "this line is indented less than the lines above it in the same block", trouble.span,
        "indent all lines of a block alike",
    )  # fmt: skip


def _use(
    source: Source, block: RawBlock, text: str, uses: list[ast.Use], findings: list[Finding]
) -> None:
    span = _span(source, block.head)
    tree = grammar.read("use", text)
    if isinstance(tree, grammar.Unread):
        help = "write one file below this folder, like `use lib/isolation.tree`"
        findings.append(errors.syntax("this `use` line names no file", span, help))
        return
    uses.append(ast.Use(Reader(source, block.head.start, block.head.text).word(tree.children[0])))  # type: ignore[arg-type]
    for line in block.lines:
        help = "start a block first, like `check oil-level: Is there oil?`"
        findings.append(
            errors.syntax("a `use` line has no lines of its own", _span(source, line), help)
        )


def _block(
    source: Source, block: RawBlock, text: str, broken: bool, findings: list[Finding]
) -> ast.Block | None:
    head = block.head
    span = _span(source, head)
    tree = grammar.read("head", text) if len(text) <= _LONGEST else None
    if tree is None or isinstance(tree, grammar.Unread):
        finding, kind, name, title = errors.bad_head(text, span)
        findings.append(finding)
        if not kind or not name:
            return None
        broken = True
        name_word = ast.Word(name, finding.span)
        title_prose = ast.Prose(title, span)
    else:
        reader = Reader(source, head.start, head.text)
        kind = str(tree.children[0])
        name_word = reader.word(tree.children[1])  # type: ignore[arg-type]
        title_prose = reader.prose(tree.children[2])  # type: ignore[arg-type]
        if "." in name_word.text:
            plain = errors.name_like(name_word.text)
            findings.append(
                errors.syntax(
                    f"`{name_word.text}` has a point in it, which parts a library from its names",
                    name_word.span,
                    f"write `{kind} {plain}: …`",
                )
            )
            name_word, broken = ast.Word(plain, name_word.span), True
    lines: list[ast.Line] = []
    once: set[str] = set()
    for line in block.lines:
        made = _line(source, kind, line, findings)
        if made is None:
            broken = True
            continue
        if made.key in once:
            findings.append(
                errors.syntax(
                    f"this {kind} has two `{made.key}` lines", made.span, "join them in one line"
                )
            )
            broken = True
            continue
        if made.key not in _REPEATED:
            once.add(made.key)
        lines.append(made)
    whole = Span(source, head.start, (block.lines[-1] if block.lines else head).end)
    return ast.Block(kind, name_word, title_prose, tuple(lines), whole, broken)


def _line(
    source: Source, kind: str, line: LogicalLine, findings: list[Finding]
) -> ast.Line | None:
    text = visible(line.text)
    span = _span(source, line)
    key = errors.key_of(kind, text)
    if len(text) > _LONGEST and not _is_prose(key):
        first = Span(source, span.start, span.start + 40)
        help = "a line of a tree is a sentence or two; part it"
        findings.append(errors.syntax("this line is far too long to be read", first, help))
        return None
    swallowed = _swallowed(source, kind, line)
    if swallowed is not None:
        findings.append(swallowed)
        return None
    tree = grammar.read(grammar.line_rule(kind), text)
    if isinstance(tree, grammar.Unread):
        findings.append(errors.bad_line(kind, text, span, tree))
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
        findings.append(errors.syntax(wrong.message, wrong.span, wrong.help))
        return None
    return ast.Line(_KEYS.get(rule, rule), value, span)


def _is_prose(key: str | None) -> bool:
    return key in ("machine", "about", "how", "harm", "avoid", "remedy", "to", "licence")


def _entry(reader: Reader, text: str, inside: grammar.Node) -> ast.Entry:
    node, value = (reader.word(token) for token in inside.children)  # type: ignore[arg-type]
    start = value.span.start - reader.base
    tree = grammar.read("measured", text[start:])
    if isinstance(tree, grammar.Unread):
        return ast.Entry(node, value, ())
    piece = Reader(reader.source, value.span.start, reader.raw[start:])
    return ast.Entry(node, value, piece.measured(tree))


def _swallowed(source: Source, kind: str, line: LogicalLine) -> Finding | None:
    """A line of its own that is indented so deep that it reads as part of the one above."""
    if line.rows == 1:
        return None
    at = 0
    for row in line.text.split("\n"):
        body = row.lstrip(" ")
        key = errors.key_of(kind, body) if at and ":" in body and "\x00" not in row else None
        if key is not None and dedent(body)[len(key) :].lstrip().startswith(":"):
            start = line.start + at + len(row) - len(body)
            return errors.syntax(
                f"this `{key}` line is indented as if it went on from the line above",
                Span(source, start, start + len(key)),
                f"indent it like the first line of the {kind}",
            )
        at += len(row) + 1
    return None
