"""Binds PDFs that render/paper made into one: pages, bookmarks, links and tags stay.

Every PDF of ours is plain: objects one after the other, a table of where each begins, nothing
packed but streams. So objects are copied as they are and numbered anew; joined are the trees of
pages, of bookmarks and of tags, each document's tags as one part of the whole. Knows nothing of
what the pages show. No part of this reads a PDF that somebody else made.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Callable, Sequence
from hashlib import sha256

from treewright.render.paper import PaperError

LINK = "page:"
"""A link to the address "page:27" becomes one to page 27 of what is bound."""

_REF = re.compile(rb"(\d+) 0 R\b")
_KEY = re.compile(rb"/(StructParents?) (\d+)")
_LINK = re.compile(rb"/A<</Type/Action/S/URI/URI\(page:(\d+)\)>>")
_HEAD = b"%PDF-1.7\n%\x80\x80\x80\x80\n\n"
_LARGE = b"/XYZ 0 100000 0"  # the top of a page, however high it is


def bind(documents: Sequence[bytes], stamps: bytes | None = None) -> bytes:
    """One PDF of several: title, language and date are those of the first.

    Args:
        documents: what is bound, in this order; at least one.
        stamps: a PDF with as many pages; each is laid over the page it belongs to.

    Raises:
        PaperError: one of them was not made by render/paper.
    """
    return _Binding(documents, stamps).bound()


class _Document:
    """The objects of one PDF, by number; each as its bytes."""

    def __init__(self, pdf: bytes) -> None:
        try:
            table = int(pdf[pdf.rindex(b"startxref") :].split()[1])
            trailer = pdf.index(b"trailer", table)
            rows = pdf[table:trailer].splitlines()[2:]
            starts = {n: int(row[:10]) for n, row in enumerate(rows) if row[17:18] == b"n"}
            ends = [*sorted(starts.values())[1:], table]
            following = dict(zip(sorted(starts.values()), ends, strict=True))
            self.objects = {
                number: _body(pdf[start : following[start]]) for number, start in starts.items()
            }
            self.root = _number(pdf[trailer:], b"Root")
            self.info = _number(pdf[trailer:], b"Info")
        except (ValueError, IndexError) as wrong:
            raise PaperError("these bytes are no PDF made by compile_pdf") from wrong

    def moved(self, numbers: int, keys: int) -> None:
        """Numbers all objects and all keys of the tree of tags from here on."""

        def code(part: bytes) -> bytes:
            part = _REF.sub(lambda found: b"%d 0 R" % (int(found[1]) + numbers), part)
            return _KEY.sub(lambda found: b"/%s %d" % (found[1], int(found[2]) + keys), part)

        self.objects = {n + numbers: _in_code(body, code) for n, body in self.objects.items()}
        self.root += numbers
        self.info += numbers

    def pages(self) -> list[int]:
        return _numbers(self.objects[self.part(b"Pages")], b"Kids")

    def part(self, key: bytes) -> int:
        """The number of what the root names by this key."""
        return _number(self.objects[self.root], key)

    def has(self, key: bytes) -> bool:
        return b"/%s " % key in self.objects[self.root]


class _Binding:
    def __init__(self, documents: Sequence[bytes], stamps: bytes | None) -> None:
        self.documents: list[_Document] = []
        self.objects: dict[int, bytes] = {}
        numbers, keys = 10, 0  # below, room for the roots of the joined trees
        self.keys: list[int] = []
        for pdf in [*documents, *([stamps] if stamps else [])]:
            document = _Document(pdf)
            document.moved(numbers, keys)
            self.keys.append(keys)
            self.objects.update(document.objects)
            numbers = max(document.objects) + 1
            keys += len(re.findall(_KEY, b"".join(map(_code_of, document.objects.values()))))
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
            root = _with_ref(root, key, number)
        self.objects[5] = re.sub(rb"/Names<<.*>>(?=>>$)", b"", root, flags=re.S)
        self.objects[6] = self.objects[first.info]
        metadata = _number(self.objects[5], b"Metadata")
        return self._written(metadata)

    def _add(self, body: bytes) -> int:
        self.next += 1
        self.objects[self.next] = body
        return self.next

    # the trees that are joined

    def _join_pages(self) -> None:
        kids = [one.part(b"Pages") for one in self.documents]
        for number in kids:
            self.objects[number] = _with_ref(self.objects[number], b"Parent", 1)
        self.objects[1] = b"<</Type/Pages/Count %d/Kids[%s]>>" % (
            len(self.page_numbers), _refs(kids),
        )  # fmt: skip

    def _join_bookmarks(self) -> None:
        tops: list[int] = []
        for one in self.documents:
            if not one.has(b"Outlines"):
                continue
            outlines = self.objects[one.part(b"Outlines")]
            number: int | None = _number(outlines, b"First")
            while number is not None:
                tops.append(number)
                number = _maybe_number(self.objects[number], b"Next")
        for at, number in enumerate(tops):
            body = _with_ref(self.objects[number], b"Parent", 2)
            if at > 0:
                body = _with_ref(body, b"Prev", tops[at - 1])
            if at < len(tops) - 1:
                body = _with_ref(body, b"Next", tops[at + 1])
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
            roles = max(roles, _between(body, b"/RoleMap<<", b">>"), key=len)
            for key, target in re.findall(rb"(\d+) (\d+ 0 R)", _between(body, b"/Nums[", b"]")):
                keyed.append(b"%d %s" % (int(key) + base, target))
            for part in _numbers(body, b"K"):
                parts.append(part)
                elem = _with_ref(self.objects[part], b"P", 4)
                self.objects[part] = elem.replace(b"/S/Document", b"/S/Part", 1)
        self.objects[4] = b"<</Type/StructElem/S/Document/P 3 0 R/K[%s]>>" % _refs(parts)
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

    def _lay_over(self, stamps: _Document) -> None:
        """Draws each page of the stamps on top of the page it belongs to, in its own colours."""
        before, after = self._add(_stream(b"q\n")), self._add(_stream(b"\nQ\nq /Stamp Do Q\n"))
        for page, stamp in zip(self.page_numbers, stamps.pages(), strict=True):
            over = self.objects[stamp]
            content = self.objects[_number(over, b"Contents")]
            box = _between(over, b"/MediaBox[", b"]")
            shape = self._add(content.replace(
                b"<<",
                b"<</Type/XObject/Subtype/Form/BBox[%s]/Resources %d 0 R"
                % (box, _number(over, b"Resources")),
                1,
            ))  # fmt: skip
            body = self.objects[page]
            held = self.objects[_number(body, b"Resources")]
            entry = b"/Stamp %d 0 R" % shape
            if b"/XObject<<" in held:
                held = held.replace(b"/XObject<<", b"/XObject<<" + entry, 1)
            else:
                held = held.replace(b"<<", b"<</XObject<<%s>>" % entry, 1)
            body = _with_ref(body, b"Resources", self._add(held))
            shown = b"/Contents[%d 0 R %d 0 R %d 0 R]" % (before, _number(body, b"Contents"), after)
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
            body = _in_code(body, lambda part: _REF.sub(
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
            code = _code_of(self.objects[waiting.pop()])
            for number in map(int, _REF.findall(code)):
                if number not in found:
                    if number not in self.objects:
                        raise PaperError("a PDF to be bound names what it does not have")
                    found[number] = None
                    waiting.append(number)
        return sorted(found)


# ---- objects as bytes ----------------------------------------------------------------------


def _body(chunk: bytes) -> bytes:
    """An object without its number and end."""
    start = chunk.index(b" obj") + 4
    return chunk[start : chunk.rindex(b"endobj")].strip(b"\r\n")


def _parts(body: bytes) -> list[bytes]:
    """By turns code and what is none: strings, and a stream's content."""
    if body.endswith(b"endstream"):  # such a dictionary of ours holds no string
        at = body.index(b"stream")
        return [body[:at], body[at:]]
    if b"(" not in body:
        return [body]
    parts, start, at, deep = [], 0, 0, 0
    while at < len(body):
        sign = body[at]
        if sign == 0x5C and deep:  # a backslash: the next byte stands for itself
            at += 1
        elif sign == 0x28:
            if deep == 0:
                parts.append(body[start:at])
                start = at
            deep += 1
        elif sign == 0x29 and deep:
            deep -= 1
            if deep == 0:
                parts.append(body[start : at + 1])
                start = at + 1
        at += 1
    return [*parts, body[start:]]


def _in_code(body: bytes, change: Callable[[bytes], bytes]) -> bytes:
    """An object with its code changed, and its strings and content left as they are."""
    parts = _parts(body)
    parts[::2] = map(change, parts[::2])
    return b"".join(parts)


def _code_of(body: bytes) -> bytes:
    return b"()".join(_parts(body)[::2])


def _number(body: bytes, key: bytes) -> int:
    found = _maybe_number(body, key)
    if found is None:
        raise PaperError(f"a PDF to be bound lacks its {key.decode()}")
    return found


def _maybe_number(body: bytes, key: bytes) -> int | None:
    found = re.search(rb"/%s (\d+) 0 R\b" % key, _code_of(body))
    return int(found[1]) if found else None


def _numbers(body: bytes, key: bytes) -> list[int]:
    """The objects of a list, or the only one."""
    code = _code_of(body)
    inside = _between(code, b"/%s[" % key, b"]")
    return [int(n) for n in _REF.findall(inside)] or [_number(body, key)]


def _between(body: bytes, start: bytes, end: bytes) -> bytes:
    at = body.find(start)
    if at < 0:
        return b""
    at += len(start)
    return body[at : body.index(end, at)]


def _refs(numbers: Sequence[int]) -> bytes:
    return b" ".join(b"%d 0 R" % number for number in numbers)


def _with_ref(body: bytes, key: bytes, number: int) -> bytes:
    """A dictionary with this key leading to that object."""
    entry = b"/%s %d 0 R" % (key, number)
    if _maybe_number(body, key) is None:
        return body.replace(b"<<", b"<<" + entry, 1)
    return _in_code(body, lambda part: re.sub(rb"/%s \d+ 0 R\b" % key, entry, part, count=1))


def _stream(content: bytes) -> bytes:
    return b"<</Length %d>>\nstream\n%s\nendstream" % (len(content), content)


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
