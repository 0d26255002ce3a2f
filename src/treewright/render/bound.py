"""Binds PDFs that render/paper made into one: pages, bookmarks, links and tags stay.

Objects are copied as they are (plain_pdf) and numbered anew; joined are the trees of pages, of
bookmarks and of tags, each document's tags as one part of the whole. Knows nothing of what the
pages show.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Sequence
from hashlib import sha256
from itertools import zip_longest

from treewright.render.paper import PaperError
from treewright.render.plain_pdf import (
    KEY,
    REF,
    Document,
    between,
    code_of,
    in_code,
    maybe_number_at,
    number_at,
    numbers_at,
    refs,
    stream,
    with_ref,
    with_text,
)

LINK = "page:"
"""A link to the address "page:27" becomes one to page 27 of what is bound."""

_LINK = re.compile(rb"/A<</Type/Action/S/URI/URI\(page:(\d+)\)>>")
_HEAD = b"%PDF-1.7\n%\x80\x80\x80\x80\n\n"
_LARGE = b"/XYZ 0 100000 0"  # the top of a page, however high it is


def bind(
    documents: Sequence[bytes],
    stamps: bytes | None = None,
    names: Sequence[str | None] = (),
) -> bytes:
    """One PDF of several: title, language and date are those of the first.

    Args:
        documents: what is bound, in this order; at least one.
        stamps: a PDF with as many pages; each is laid over the page it belongs to.
        names: for each document what its first bookmark is to be called; None: as it is.

    Raises:
        PaperError: one of them was not made by render/paper.
    """
    return _Binding(documents, stamps, names).bound()


class _Binding:
    def __init__(
        self, documents: Sequence[bytes], stamps: bytes | None, names: Sequence[str | None]
    ) -> None:
        self.names = names
        self.documents: list[Document] = []
        self.objects: dict[int, bytes] = {}
        numbers, keys = 10, 0  # below, room for the roots of the joined trees
        self.keys: list[int] = []
        for pdf in [*documents, *([stamps] if stamps else [])]:
            document = Document(pdf)
            document.moved(numbers, keys)
            self.keys.append(keys)
            self.objects.update(document.objects)
            numbers = max(document.objects) + 1
            keys += len(re.findall(KEY, b"".join(map(code_of, document.objects.values()))))
            self.documents.append(document)
        self.next = numbers
        self.stamps = self.documents.pop() if stamps else None
        self.page_numbers = [page for one in self.documents for page in one.pages()]

    def bound(self) -> bytes:
        first = self.documents[0]
        self._join_pages()
        self._join_bookmarks()
        self._join_tags()
        self._lead_links()
        if self.stamps is not None:
            self._lay_over(self.stamps)
        root = first.objects[first.root]
        for key, number in ((b"Pages", 1), (b"Outlines", 2), (b"StructTreeRoot", 3)):
            root = with_ref(root, key, number)
        self.objects[5] = re.sub(rb"/Names<<.*>>(?=>>$)", b"", root, flags=re.S)
        self.objects[6] = self.objects[first.info]
        metadata = number_at(self.objects[5], b"Metadata")
        return self._written(metadata)

    def _add(self, body: bytes) -> int:
        self.next += 1
        self.objects[self.next] = body
        return self.next

    # the trees that are joined

    def _join_pages(self) -> None:
        kids = [one.part(b"Pages") for one in self.documents]
        for number in kids:
            self.objects[number] = with_ref(self.objects[number], b"Parent", 1)
        self.objects[1] = b"<</Type/Pages/Count %d/Kids[%s]>>" % (
            len(self.page_numbers), refs(kids),
        )  # fmt: skip

    def _join_bookmarks(self) -> None:
        tops: list[int] = []
        for one, name in zip_longest(self.documents, self.names):
            if not one.has(b"Outlines"):
                continue
            outlines = self.objects[one.part(b"Outlines")]
            number: int | None = number_at(outlines, b"First")
            if number is not None and name is not None:
                self.objects[number] = with_text(self.objects[number], b"Title", name)
            while number is not None:
                tops.append(number)
                number = maybe_number_at(self.objects[number], b"Next")
        for at, number in enumerate(tops):
            body = with_ref(self.objects[number], b"Parent", 2)
            if at > 0:
                body = with_ref(body, b"Prev", tops[at - 1])
            if at < len(tops) - 1:
                body = with_ref(body, b"Next", tops[at + 1])
            self.objects[number] = body
        ends = b"/First %d 0 R/Last %d 0 R" % (tops[0], tops[-1]) if tops else b""
        self.objects[2] = b"<</Type/Outlines%s/Count %d>>" % (ends, len(tops))

    def _join_tags(self) -> None:
        """Each document's tags become a part of one document; the keys follow one another."""
        parts: list[int] = []
        keyed: list[bytes] = []
        roles = b""
        for base, one in zip(self.keys, self.documents, strict=False):
            body = self.objects[one.part(b"StructTreeRoot")]
            roles = max(roles, between(body, b"/RoleMap<<", b">>"), key=len)
            for key, target in re.findall(rb"(\d+) (\d+ 0 R)", between(body, b"/Nums[", b"]")):
                keyed.append(b"%d %s" % (int(key) + base, target))
            for part in numbers_at(body, b"K"):
                parts.append(part)
                elem = with_ref(self.objects[part], b"P", 4)
                self.objects[part] = elem.replace(b"/S/Document", b"/S/Part", 1)
        self.objects[4] = b"<</Type/StructElem/S/Document/P 3 0 R/K[%s]>>" % refs(parts)
        self.objects[3] = (
            b"<</Type/StructTreeRoot/RoleMap<<%s>>/K[4 0 R]/ParentTree<</Nums[%s]>>"
            b"/ParentTreeNextKey %d>>" % (roles, b" ".join(keyed), len(keyed))
        )

    def _lead_links(self) -> None:
        def lead(found: re.Match[bytes]) -> bytes:
            page = self.page_numbers[int(found[1]) - 1]
            return b"/Dest[%d 0 R%s]" % (page, _LARGE)

        for number, body in self.objects.items():
            if b"/URI(page:" in body and b"/Subtype/Link" in body:
                self.objects[number] = _LINK.sub(lead, body)

    # what is laid over

    def _lay_over(self, stamps: Document) -> None:
        """Draws each page of the stamps on top of the page it belongs to, in its own colours."""
        before, after = self._add(stream(b"q\n")), self._add(stream(b"\nQ\nq /Stamp Do Q\n"))
        for page, stamp in zip(self.page_numbers, stamps.pages(), strict=True):
            over = self.objects[stamp]
            drawn = self.objects[number_at(over, b"Contents")]
            box = between(over, b"/MediaBox[", b"]")
            shape = self._add(drawn.replace(
                b"<<",
                b"<</Type/XObject/Subtype/Form/BBox[%s]/Resources %d 0 R"
                % (box, number_at(over, b"Resources")),
                1,
            ))  # fmt: skip
            body = self.objects[page]
            held = self.objects[number_at(body, b"Resources")]
            entry = b"/Stamp %d 0 R" % shape
            if b"/XObject<<" in held:
                held = held.replace(b"/XObject<<", b"/XObject<<" + entry, 1)
            else:
                held = held.replace(b"<<", b"<</XObject<<%s>>" % entry, 1)
            body = with_ref(body, b"Resources", self._add(held))
            content = number_at(body, b"Contents")
            shown = b"/Contents[%d 0 R %d 0 R %d 0 R]" % (before, content, after)
            self.objects[page] = re.sub(rb"/Contents \d+ 0 R", shown, body, count=1)

    # the file

    def _written(self, metadata: int) -> bytes:
        """All that can be reached, numbered anew, as a file."""
        order = self._reached()
        new = {old: at for at, old in enumerate(order, 1)}
        bodies = [self.objects[old] for old in order]
        name = b64encode(sha256(b"".join(bodies)).digest()[:16])
        at = new[metadata] - 1
        bodies[at] = _described(bodies[at], len(self.page_numbers), name)
        out = bytearray(_HEAD)
        starts = []
        for number, body in enumerate(bodies, 1):
            starts.append(len(out))
            body = in_code(body, lambda part: REF.sub(
                lambda found: b"%d 0 R" % new[int(found[1])], part
            ))  # fmt: skip
            out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
        table = len(out)
        out += b"xref\n0 %d\n0000000000 65535 f\r\n" % (len(starts) + 1)
        out += b"".join(b"%010d 00000 n\r\n" % start for start in starts)
        out += b"trailer\n<</Size %d/Root %d 0 R/Info %d 0 R/ID[(%s)(%s)]>>\n" % (
            len(starts) + 1, new[5], new[6], name, name,
        )  # fmt: skip
        out += b"startxref\n%d\n%%%%EOF" % table
        return bytes(out)

    def _reached(self) -> list[int]:
        found = {1: None, 5: None, 6: None}
        waiting = [6, 5, 1]
        while waiting:
            code = code_of(self.objects[waiting.pop()])
            for number in map(int, REF.findall(code)):
                if number not in found:
                    if number not in self.objects:
                        raise PaperError("a PDF to be bound names what it does not have")
                    found[number] = None
                    waiting.append(number)
        return sorted(found)


def _described(body: bytes, pages: int, name: bytes) -> bytes:
    """The particulars of the document in XML, with as many pages, and a name of its own."""
    content = re.split(rb"stream\r?\n", body, maxsplit=1)[1].rsplit(b"endstream", 1)[0]
    content = re.sub(rb"(?<=<xmpTPg:NPages>)\d+", b"%d" % pages, content)
    for tag in (b"InstanceID", b"DocumentID"):
        content = re.sub(rb"(?<=<xmpMM:%s>)[^<]*" % tag, name, content)
    content = content.rstrip(b"\r\n")
    return b"<</Length %d/Type/Metadata/Subtype/XML>>\nstream\n%s\nendstream" % (
        len(content), content,
    )  # fmt: skip
