"""A PDF that render/paper made, as its objects: read, looked at, numbered anew.

Every PDF of ours is plain: objects one after the other, a table of where each begins, nothing
packed but streams. So objects are bytes in which only the code, not strings and contents, is ever
changed. No part of this reads a PDF that somebody else made.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from treewright.render.paper import PaperError

REF = re.compile(rb"(\d+) 0 R\b")
KEY = re.compile(rb"/(StructParents?) (\d+)")
_BOX = re.compile(rb"/MediaBox\[0 0 ([\d.]+) ([\d.]+)\]")
_LABEL = re.compile(rb"\(([^()\\]*)\)(\d+) 0 R")


class Document:
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
            self.root = number_at(pdf[trailer:], b"Root")
            self.info = number_at(pdf[trailer:], b"Info")
        except (ValueError, IndexError) as wrong:
            raise PaperError("these bytes are no PDF made by compile_pdf") from wrong

    def moved(self, numbers: int, keys: int) -> None:
        """Numbers all objects and all keys of the tree of tags from here on."""

        def code(part: bytes) -> bytes:
            part = REF.sub(lambda found: b"%d 0 R" % (int(found[1]) + numbers), part)
            return KEY.sub(lambda found: b"/%s %d" % (found[1], int(found[2]) + keys), part)

        self.objects = {n + numbers: in_code(body, code) for n, body in self.objects.items()}
        self.root += numbers
        self.info += numbers

    def pages(self) -> list[int]:
        return numbers_at(self.objects[self.part(b"Pages")], b"Kids")

    def part(self, key: bytes) -> int:
        """The number of what the root names by this key."""
        return number_at(self.objects[self.root], key)

    def has(self, key: bytes) -> bool:
        return b"/%s " % key in self.objects[self.root]

    def sizes(self) -> list[tuple[float, float]]:
        """Width and height of each page in points."""
        found = (_BOX.search(self.objects[page]) for page in self.pages())
        return [(float(box[1]), float(box[2])) if box else (0.0, 0.0) for box in found]

    def labels(self) -> dict[str, int]:
        """The page, from 1 on, on which each label of the template stands."""
        at = {page: number for number, page in enumerate(self.pages(), 1)}
        named = between(self.objects[self.root], b"/Dests<</Names[", b"]")
        found = {}
        for label, place in _LABEL.findall(named):
            page = REF.search(self.objects[int(place)])
            if page is not None and int(page[1]) in at:
                found[label.decode()] = at[int(page[1])]
        return found


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


def in_code(body: bytes, change: Callable[[bytes], bytes]) -> bytes:
    """An object with its code changed, and its strings and content left as they are."""
    parts = _parts(body)
    parts[::2] = map(change, parts[::2])
    return b"".join(parts)


def code_of(body: bytes) -> bytes:
    return b"()".join(_parts(body)[::2])


def number_at(body: bytes, key: bytes) -> int:
    found = maybe_number_at(body, key)
    if found is None:
        raise PaperError(f"a PDF to be bound lacks its {key.decode()}")
    return found


def maybe_number_at(body: bytes, key: bytes) -> int | None:
    found = re.search(rb"/%s (\d+) 0 R\b" % key, code_of(body))
    return int(found[1]) if found else None


def numbers_at(body: bytes, key: bytes) -> list[int]:
    """The objects of a list, or the only one."""
    code = code_of(body)
    inside = between(code, b"/%s[" % key, b"]")
    return [int(n) for n in REF.findall(inside)] or [number_at(body, key)]


def between(body: bytes, start: bytes, end: bytes) -> bytes:
    at = body.find(start)
    if at < 0:
        return b""
    at += len(start)
    return body[at : body.index(end, at)]


def refs(numbers: Sequence[int]) -> bytes:
    return b" ".join(b"%d 0 R" % number for number in numbers)


def with_ref(body: bytes, key: bytes, number: int) -> bytes:
    """A dictionary with this key leading to that object."""
    entry = b"/%s %d 0 R" % (key, number)
    if maybe_number_at(body, key) is None:
        return body.replace(b"<<", b"<<" + entry, 1)
    return in_code(body, lambda part: re.sub(rb"/%s \d+ 0 R\b" % key, entry, part, count=1))


def stream(content: bytes) -> bytes:
    return b"<</Length %d>>\nstream\n%s\nendstream" % (len(content), content)


def with_text(body: bytes, key: bytes, text: str) -> bytes:
    """A dictionary with other words, of any letters, under a key that it has words under."""
    shown = b"<" + ("\ufeff" + text).encode("utf-16-be", "replace").hex().upper().encode() + b">"
    parts = _parts(body)
    for at in range(1, len(parts), 2):
        if parts[at - 1].endswith(b"/" + key):
            parts[at] = shown
    return b"".join(parts)
