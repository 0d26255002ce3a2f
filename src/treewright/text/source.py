"""Source text and places in it.

Offsets count code points from the start of the file. Lines and columns appear only at the
edge, when a place is shown to a person or written to a report; both start at 1 there.
Knows nothing of the language.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from pathlib import Path

from treewright.record import record


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """One file's text. `path` is as the user gave it, with `/`; text has `\\n` line ends only."""

    path: str
    text: str
    line_starts: tuple[int, ...] = field(init=False)

    def __post_init__(self) -> None:
        starts = [0]
        find = self.text.find
        at = find("\n")
        while at != -1:
            starts.append(at + 1)
            at = find("\n", at + 1)
        object.__setattr__(self, "line_starts", tuple(starts))

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset, both from 1, columns in code points."""
        line = bisect_right(self.line_starts, offset)
        return line, offset - self.line_starts[line - 1] + 1

    def line(self, number: int) -> str:
        """The text of a line (from 1), without its end."""
        start = self.line_starts[number - 1]
        end = self.line_starts[number] - 1 if number < len(self.line_starts) else len(self.text)
        return self.text[start:end]


@record
class Span:
    """A stretch of a source: `start` included, `end` not."""

    source: Source
    start: int
    end: int

    @property
    def text(self) -> str:
        return self.source.text[self.start : self.end]

    @property
    def line(self) -> int:
        """The line it starts on, from 1."""
        return self.source.position(self.start)[0]


class Unreadable(Exception):
    """A file that cannot be read: what is wrong, in the trainer's words, and what to do."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.message, self.help = message, help


def read(path: Path, shown: str | None = None, named: str | None = None) -> Source:
    """Reads a file as UTF-8; a byte order mark and Windows line ends are taken off.

    Args:
        path: the file.
        shown: the path as findings name it; the path itself where left out.
        named: the path as it was asked for, for what is raised; `shown` where left out.

    Raises:
        Unreadable: it is not there, is a folder, may not be read, or is not UTF-8.
    """
    shown = shown if shown is not None else path.as_posix()
    name = named if named is not None else shown
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        help = "check the spelling and the folder"
        raise Unreadable(f"there is no file `{name}`", help) from None
    except IsADirectoryError:
        raise Unreadable(f"`{name}` is a folder", "name a file in it") from None
    except (OSError, ValueError):
        raise Unreadable(f"`{name}` cannot be read", "check that you may open it") from None
    return decoded(data, shown, name)


def decoded(data: bytes, shown: str, named: str) -> Source:
    """The source that a file with this content is.

    Args:
        data: the content.
        shown: the path as findings name it.
        named: the path as it was asked for, for what is raised.

    Raises:
        Unreadable: it is not UTF-8.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = data[: wrong.start].count(b"\n") + 1
        wide = data.startswith((b"\xff\xfe", b"\xfe\xff"))
        found = "is saved as UTF-16" if wide else f"is not saved as UTF-8 (see line {line})"
        help = "save it in your editor with the encoding UTF-8"
        raise Unreadable(f"`{named}` {found}", help) from None
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\x00", "\ufffd")
    return Source(shown, text)
