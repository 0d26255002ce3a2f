"""Prose is data: whatever is written, only harmless markup and the same words come out."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sample_outline import HOSTILE

from treewright.render import prose

TAGS = {"p", "strong", "em", "code", "pre", "a", "br", "ul", "ol", "li", "blockquote", "hr"}
KINDS = {
    "paragraph": {"kind", "content"},
    "heading": {"kind", "level", "content"},
    "list": {"kind", "ordered", "start", "items"},
    "quote": {"kind", "blocks"},
    "rule": {"kind"},
    "text": {"kind", "text"},
    "code": {"kind", "text"},
    "strong": {"kind", "content"},
    "emph": {"kind", "content"},
    "link": {"kind", "href", "content"},
    "break": {"kind"},
}


class Reader(HTMLParser):
    """Collects the words of HTML, and fails on markup that prose must not give."""

    def __init__(self, source: str) -> None:
        super().__init__(convert_charrefs=True)
        self.words: list[str] = []
        self.hrefs: list[str] = []
        self.feed(source)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in TAGS
        for name, value in attrs:
            assert name in {"href", "rel"} if tag == "a" else name == "start"
            if name == "href":
                assert value
                self.hrefs.append(value)

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    def handle_decl(self, decl: str) -> None:
        raise AssertionError(f"a declaration: {decl}")

    def handle_pi(self, data: str) -> None:
        raise AssertionError(f"an instruction: {data}")

    @property
    def text(self) -> str:
        return "".join("".join(self.words).split())


def words_of(pieces: list[prose.Piece]) -> str:
    """All text in blocks, without white space; fails on a piece of an unknown form."""
    found = ""
    for piece in pieces:
        assert set(piece) == KINDS[piece["kind"]]
        if piece["kind"] == "link":
            assert piece["href"].lower().startswith(("https://", "http://", "mailto:", "tel:", "#"))
        found += piece.get("text", "")
        for part in ("content", "blocks"):
            found += words_of(piece.get(part, []))
        for item in piece.get("items", []):
            found += words_of(item)
    return "".join(found.split())


@pytest.mark.parametrize(
    "address",
    [
        "https://example.invalid/a?b=c#d",
        "http://example.invalid",
        "mailto:desk@example.invalid",
        "tel:+4955501",
        "#step-float",
        "HTTPS://EXAMPLE.invalid/",
    ],
)
def test_harmless_addresses_become_links(address: str) -> None:
    assert len(Reader(prose.html(f"[see]({address})")).hrefs) == 1


@pytest.mark.parametrize(
    "address",
    [
        "javascript:alert(1)",
        "JaVaScRiPt:alert(1)",
        "&#106;avascript:alert(1)",
        "java%0ascript:alert(1)",
        "data:text/html,x",
        "data:image/png;base64,iVBORw0KGgo=",
        "vbscript:x",
        "file:///etc/passwd",
        "blob:https://example.invalid/1",
        "filesystem:https://example.invalid/t",
        "//example.invalid/a",
        "/etc",
        "other.html",
        "../up",
        "http:///x",
        "https:example.invalid",
    ],
)
def test_other_addresses_stay_words(address: str) -> None:
    for written in (f"[see]({address})", f"<{address}>", f"[see]\n\n[see]: {address}"):
        assert Reader(prose.html(written)).hrefs == []
        assert "link" not in json.dumps(prose.blocks(written))


def test_pictures_in_prose_leave_their_words() -> None:
    written = "look ![the *left* port](https://example.invalid/p.png) here"
    assert prose.html(written) == "<p>look the left port here</p>"
    assert prose.plain(written) == "look the left port here"
    assert words_of(prose.blocks(written)) == "looktheleftporthere"


def test_html_shows_as_typed() -> None:
    assert prose.html("a <b>c</b> &amp; d") == "<p>a &lt;b&gt;c&lt;/b&gt; &amp; d</p>"
    assert prose.plain("a <b>c</b>") == "a <b>c</b>"


def test_blocks_hold_the_structure() -> None:
    written = (
        "# Head\n\nOne *two* **three** `four`  \nfive\n\n3. a\n   - b\n4. c\n\n> q\n\n---\n\n    x"
    )
    assert [(b["kind"]) for b in prose.blocks(written)] == [
        "heading",
        "paragraph",
        "list",
        "quote",
        "rule",
        "code",
    ]
    numbered = prose.blocks(written)[2]
    assert numbered["ordered"] and numbered["start"] == 3 and len(numbered["items"]) == 2
    assert [b["kind"] for b in numbered["items"][0]] == ["paragraph", "list"]
    kinds = [piece["kind"] for piece in prose.blocks(written)[1]["content"]]
    assert kinds == ["text", "emph", "text", "strong", "text", "code", "break", "text"]


def test_titles_have_no_blocks() -> None:
    assert prose.inline_html("1. Is it *on*?") == "1. Is it <em>on</em>?"
    assert [piece["kind"] for piece in prose.inlines("# a **b**")] == ["text", "strong"]


def test_nothing_gives_nothing() -> None:
    assert (prose.plain(""), prose.html(""), prose.inline_html("")) == ("", "", "")
    assert prose.blocks("") == prose.inlines("") == []


def test_control_characters_go() -> None:
    assert prose.html("a\x00b\x1b[31mc\x7f\u0085") == "<p>ab[31mc</p>"


@given(
    st.one_of(st.text(), st.text(alphabet="<>[]()!*_`#&;:/\\ \n-1.ajs\"'{}$|~="), st.just(HOSTILE))
)
@settings(max_examples=400, deadline=None)
def test_every_form_is_harmless_and_says_the_same(written: str) -> None:
    read = Reader(prose.html(written))
    Reader(prose.inline_html(written))
    json.dumps(prose.blocks(written))
    assert "\n" not in prose.plain(written)
    assert words_of(prose.blocks(written)) == read.text == "".join(prose.plain(written).split())


BARE = st.text(alphabet="aaZé1 .,;:!?#+-=~|()'\"{}$%/\u00a0\u2028\n\n")


@given(st.builds("a{}".format, BARE) | BARE | st.text())
@settings(max_examples=1000, deadline=None)
def test_what_needs_no_parser_says_what_the_parser_says(written: str) -> None:
    forms = (prose.plain, prose.html, prose.inline_html, prose.blocks, prose.inlines)
    quick = [form(written) for form in forms]
    with pytest.MonkeyPatch.context() as never:
        never.setattr(prose, "_BARE", re.compile(r"(?!)"))
        assert quick == [form(written) for form in forms]
