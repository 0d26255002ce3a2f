"""Author's prose (CommonMark source) turned into what each output can take.

Prose is data: nothing an author writes becomes markup, script, a picture or a file's path.
Raw HTML shows as the characters that were typed; a link survives only where its address is of
a harmless kind; a Markdown image leaves its alternative text (pictures have a line of their
own in the language). Tables and struck-out text are no part of CommonMark and stay text.
Knows nothing of trees, pages or sheets.
"""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from markdown_it import MarkdownIt
    from markdown_it.renderer import RendererProtocol
    from markdown_it.token import Token
    from markdown_it.tree import SyntaxTreeNode
    from markdown_it.utils import EnvType, OptionsDict

Piece: TypeAlias = dict[str, Any]
"""A block or inline piece of prose, made of JSON types only."""

_HARMLESS = re.compile(r"(?:https?://[^/]|mailto:|tel:|#)", re.IGNORECASE)
_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")
# Lines that begin with a word and hold no sign that CommonMark has a use for: most of what is
# written, and the same words in every form, without the parser.
_WORDS = r"""(?:[^\W\d_]|[("'“‘]|\d+(?![\d.)]))[^\\`*_\[\]<>&\x00-\x1f\x7f-\x9f]*(?<!\s)"""
_BARE = re.compile(rf"{_WORDS}(?:\n{_WORDS})*")


def plain(text: str) -> str:
    """The words alone, as one line: for a chart, a page title, an aria label.

    Args:
        text: CommonMark source; may be "".
    """
    if _BARE.fullmatch(text):
        return " ".join(text.split())
    tokens = _parser().parse(_clean(text))
    return " ".join(" ".join(_words(tokens)).split())


def html(text: str) -> str:
    """Block HTML, safe to place into a page: paragraphs, lists, code; headings become bold.

    Args:
        text: CommonMark source; may be "".
    """
    if _BARE.fullmatch(text):
        return f"<p>{_quoted(text)}</p>"
    return str(_parser().render(_clean(text))).strip()


def inline_html(text: str) -> str:
    """Inline HTML without a paragraph around it, for titles, questions and answers.

    Args:
        text: one run of CommonMark source; marks of blocks ("1.", "#") stay as typed.
    """
    if _BARE.fullmatch(text):
        return _quoted(text)
    return str(_parser().renderInline(_clean(text))).strip()


def blocks(text: str) -> list[Piece]:
    """Prose as nested plain data, for an output that has no use for HTML.

    Args:
        text: CommonMark source; may be "".

    Returns:
        Block pieces. Each has a "kind": "paragraph" (content), "heading" (level 1 to 6,
        content), "list" (ordered, start, items: a list of blocks each), "code" (text),
        "quote" (blocks), "rule". A content is a list of inline pieces: "text" (text), "code"
        (text), "strong" (content), "emph" (content), "link" (href, content), "break".
    """
    if _BARE.fullmatch(text):
        return [{"kind": "paragraph", "content": inlines(text)}]
    from markdown_it.tree import SyntaxTreeNode

    return _blocks(SyntaxTreeNode(_parser().parse(_clean(text))).children)


def inlines(text: str) -> list[Piece]:
    """The inline pieces of a title, question or answer; kinds as in `blocks`."""
    if _BARE.fullmatch(text):
        pieces: list[Piece] = []
        for line in text.split("\n"):
            space = [{"kind": "text", "text": " "}] if pieces else []
            pieces += [*space, {"kind": "text", "text": line}]
        return pieces
    from markdown_it.tree import SyntaxTreeNode

    root = SyntaxTreeNode(_parser().parseInline(_clean(text)))
    return [piece for inline in root.children for piece in _inlines(inline.children)]


def _quoted(bare: str) -> str:
    return bare.replace('"', "&quot;")


def _clean(text: str) -> str:
    """Without control characters, which no page and no sheet may hold."""
    return _CONTROLS.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))


@cache
def _parser() -> MarkdownIt:
    from markdown_it import MarkdownIt

    options = {"html": False, "linkify": False, "typographer": False}
    parser = MarkdownIt("js-default", options).disable(["table", "strikethrough"])
    parser.validateLink = _is_harmless  # type: ignore[assignment, method-assign]
    for name, rule in (
        ("image", _image_as_words),
        ("heading_open", _heading_open),
        ("heading_close", _heading_close),
        ("link_open", _link_open),
        ("fence", _fence),
    ):
        parser.add_render_rule(name, rule)
    return parser


def _is_harmless(address: str) -> bool:
    return _HARMLESS.match(address) is not None


def _words(tokens: Iterable[Token]) -> Iterable[str]:
    """The text of each block, in order."""
    for token in tokens:
        if token.type in ("fence", "code_block"):
            yield token.content
        elif token.type == "inline":
            yield _inline_words(token.children or ())


def _inline_words(tokens: Iterable[Token]) -> str:
    words = []
    for token in tokens:
        if token.type == "image":
            words.append(_inline_words(token.children or ()))
        elif token.type in ("softbreak", "hardbreak"):
            words.append(" ")
        else:
            words.append(token.content)
    return "".join(words)


def _blocks(nodes: Sequence[SyntaxTreeNode]) -> list[Piece]:
    pieces: list[Piece] = []
    for node in nodes:
        match node.type:
            case "paragraph":
                pieces.append({"kind": "paragraph", "content": _content(node)})
            case "heading":
                level = int(node.tag[1:])
                pieces.append({"kind": "heading", "level": level, "content": _content(node)})
            case "bullet_list" | "ordered_list":
                pieces.append(
                    {
                        "kind": "list",
                        "ordered": node.type == "ordered_list",
                        "start": int(node.attrs.get("start", 1)),
                        "items": [_blocks(item.children) for item in node.children],
                    }
                )
            case "fence" | "code_block":
                pieces.append({"kind": "code", "text": node.content.rstrip("\n")})
            case "blockquote":
                pieces.append({"kind": "quote", "blocks": _blocks(node.children)})
            case "hr":
                pieces.append({"kind": "rule"})
            case other:
                raise AssertionError(f"no form for a {other} of CommonMark")
    return pieces


def _content(node: SyntaxTreeNode) -> list[Piece]:
    return [piece for inline in node.children for piece in _inlines(inline.children)]


def _inlines(nodes: Sequence[SyntaxTreeNode]) -> list[Piece]:
    pieces: list[Piece] = []
    for node in nodes:
        match node.type:
            case "text" | "text_special" if not node.content:
                pass  # left behind where marks of emphasis meet
            case "text" | "text_special":
                pieces.append({"kind": "text", "text": node.content})
            case "softbreak":
                pieces.append({"kind": "text", "text": " "})
            case "hardbreak":
                pieces.append({"kind": "break"})
            case "code_inline":
                pieces.append({"kind": "code", "text": node.content})
            case "strong" | "em":
                kind = "strong" if node.type == "strong" else "emph"
                pieces.append({"kind": kind, "content": _inlines(node.children)})
            case "link":
                href = str(node.attrs.get("href", ""))
                pieces.append({"kind": "link", "href": href, "content": _inlines(node.children)})
            case "image":
                pieces.extend(_inlines(node.children))
            case other:
                raise AssertionError(f"no form for a {other} of CommonMark")
    return pieces


def _image_as_words(
    self: RendererProtocol,
    tokens: Sequence[Token],
    idx: int,
    options: OptionsDict,
    env: EnvType,
) -> str:
    from markdown_it.common.utils import escapeHtml

    return escapeHtml(_inline_words(tokens[idx].children or ()))


def _heading_open(*_: object) -> str:
    """Bold words: the headings of a page are its own."""
    return "<p><strong>"


def _heading_close(*_: object) -> str:
    return "</strong></p>\n"


def _link_open(
    self: RendererProtocol,
    tokens: Sequence[Token],
    idx: int,
    options: OptionsDict,
    env: EnvType,
) -> str:
    from markdown_it.common.utils import escapeHtml

    href = escapeHtml(str(tokens[idx].attrs.get("href", "")))
    return f'<a href="{href}" rel="noreferrer">'


def _fence(
    self: RendererProtocol,
    tokens: Sequence[Token],
    idx: int,
    options: OptionsDict,
    env: EnvType,
) -> str:
    """Code without its language, which would be author text in a class name."""
    from markdown_it.common.utils import escapeHtml

    return f"<pre><code>{escapeHtml(tokens[idx].content)}</code></pre>\n"
