"""Reads a translation: the texts of a tree in another language, in a file beside it.

It has the form of a tree (heads at the left edge, lines indented below) and only lines that
hold text: never a limit, a way or a name that decides, so that no translation can mean
something else than its tree. Never raises on what a file says. What the texts belong to is
for the model to say.
"""

from __future__ import annotations

import re

from treewright.record import record
from treewright.syntax import ast
from treewright.syntax.bad_indent import bad_indent
from treewright.syntax.errors import article, listed, near, short, syntax
from treewright.syntax.lines import LogicalLine, RawBlock, blocks, dedent, visible
from treewright.text.diagnostic import Finding
from treewright.text.source import Source, Span

HEAD = "translation"

_COST = ("tools", "parts", "licence")
_HAZARD = ("harm", "avoid")
KEYS: dict[str, tuple[str, ...]] = {
    HEAD: ("edition", "machine", "about", "access"),
    "condition": ("about",),
    "procedure": ("item", "how", "caption", *_COST),
    "danger": _HAZARD,
    "warning": _HAZARD,
    "caution": _HAZARD,
    "notice": _HAZARD,
    "symptom": ("about",),
    "stage": ("about",),
    "check": ("how", "if", "caption", *_COST),
    "reading": ("how", "place", "caption", *_COST),
    "step": ("how", "caption", *_COST),
    "fault": ("how", "remedy", "caption", *_COST),
    "handoff": ("to", "how", "caption", *_COST),
    "done": ("how", "caption"),
}
"""The lines that each kind of block may have."""

_LIST = ("tools", "parts")

_HEAD = re.compile(r"([a-z]+)[ \t]+([a-z][a-z0-9-]*)[ \t]*:[ \t]*(\S[^\n]*)")
_LINE = re.compile(
    r"(if|place|access)[ \t]+([^\s:][^:\n]*?)[ \t]*:\s*(?=\S)"
    r"|([a-z]+)[ \t]*:\s*(?=\S)|-[ \t]+(?=\S)"
)


@record
class Line:
    """`of`: the answer, place or rung that it translates; None for other lines."""

    key: str
    of: ast.Word | None
    texts: tuple[ast.Prose, ...]  # one, or the phrases of a list
    span: Span


@record
class Block:
    kind: str
    name: ast.Word
    title: ast.Prose
    lines: tuple[Line, ...]


@record
class File:
    """`head`: the block that says of what tree or library it is; None where there is none."""

    source: Source
    head: Block | None
    blocks: tuple[Block, ...]


def parse(source: Source) -> tuple[File, list[Finding]]:
    """Reads a translation.

    Returns:
        what could be read, and findings of the rule `syntax` for what could not.
    """
    raw, misplaced = blocks(source)
    findings = [bad_indent(source, trouble) for trouble in misplaced]
    made = [block for one in raw if (block := _block(source, one, findings)) is not None]
    head = next((block for block in made if block.kind == HEAD), None)
    rest = tuple(block for block in made if block is not head)
    for extra in [block for block in rest if block.kind == HEAD]:
        findings.append(
            syntax(f"a second `{HEAD}` head stands here", extra.name.span,
                   "one file translates one tree or library")
        )  # fmt: skip
    rest = tuple(block for block in rest if block.kind != HEAD)
    return File(source, head, rest), findings


def _span(source: Source, line: LogicalLine) -> Span:
    row = line.text.split("\n", 1)[0].rstrip()
    return Span(source, line.start, line.start + max(1, len(row)))


def _block(source: Source, raw: RawBlock, findings: list[Finding]) -> Block | None:
    text = visible(raw.head.text)
    found = _HEAD.match(text)
    span = _span(source, raw.head)
    first = re.match(r"[\w-]*", text)
    kind = found[1] if found else (first[0] if first else "")
    if kind not in KEYS:
        meant = near(kind.lower(), KEYS)
        help = f"did you mean `{meant}`?" if meant else (
            "a block of a translation starts as the block of the tree does that it translates"
        )
        message = f"no block of a translation starts with `{short(kind)}`"
        findings.append(syntax(message, span, help))
        return None
    if found is None or "\n" in text:
        findings.append(
            syntax("this head has no name and title", span,
                   f"write it as `{kind} NAME: TITLE`, with the name that the tree has")
        )  # fmt: skip
        return None
    at = raw.head.start
    name = ast.Word(found[2], Span(source, at + found.start(2), at + found.end(2)))
    title = ast.Prose(found[3].rstrip(), Span(source, at + found.start(3), at + found.end(3)))
    lines: list[Line] = []
    taken: set[str] = set()
    for one in raw.lines:
        line = _line(source, kind, one, findings)
        if line is None:
            continue
        written = f"{line.key} {line.of.text}" if line.of else line.key
        if line.key != "item" and written in taken:
            findings.append(syntax(f"`{written}` stands here twice", line.span, "take one out"))
            continue
        taken.add(written)
        lines.append(line)
    return Block(kind, name, title, tuple(lines))


def _line(source: Source, kind: str, raw: LogicalLine, findings: list[Finding]) -> Line | None:
    text = visible(raw.text)
    found = _LINE.match(text)
    span = _span(source, raw)
    key = (found[1] or found[3] or "item") if found else ""
    keys = KEYS[kind]
    if not found or key not in keys:
        written = (re.match(r"[^:\n]*", text) or [""])[0].strip()
        words = listed([f"`{'-' if one == 'item' else one}`" for one in keys], "and")
        help = f"it may have {words}; limits, ways and numbers stay in the tree"
        meant = near(key or written.split(" ")[0].lower(), keys)
        if meant:
            help = f"did you mean `{meant}`? {help}"
        what = "the head of a translation"
        if kind != HEAD:
            what = f"the translation of {article(kind)}"
        message = f"{what} has no line `{short(written)}`" if written else "this line says nothing"
        findings.append(syntax(message, span, help))
        return None
    at = raw.start
    of = None
    if found[1]:
        words = " ".join(found[2].split())
        of = ast.Word(words, Span(source, at + found.start(2), at + found.end(2)))
    body = found.end()
    if key in _LIST:
        texts = tuple(
            ast.Prose(" ".join(piece[0].split()),
                      Span(source, at + body + piece.start(), at + body + piece.end()))
            for piece in re.finditer(r"[^\s,][^,]*", text[body:])
        )  # fmt: skip
    else:
        texts = (ast.Prose(dedent(raw.text[body:]), Span(source, at + body, raw.end)),)
    return Line(key, of, texts, span)

