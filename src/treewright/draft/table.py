"""Reads a table of causes, as a spreadsheet saves it: what stands in it, or which cell is wrong.

The first row names the columns: `symptom`, `cause`, `share`, perhaps `remedy`; every other one is
a check, headed by its question. Rows that begin with `minutes`, `access` or `normal` say that of
the checks. All others are a cause under a symptom, with what each check would answer; blank is the
normal answer. Knows nothing of trees.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from fractions import Fraction

from treewright.record import record
from treewright.syntax.errors import listed, short, slip_of

NEEDED = ("symptom", "cause", "share")
KNOWN = (*NEEDED, "remedy")
OF_CHECKS = ("minutes", "access", "normal")
_OPPOSITE = {"no": "yes", "yes": "no"}


class BadTable(Exception):
    """What is wrong with a table: row and column, and in words."""


@record
class Column:
    """A check: its question, what it takes, how deep it goes ("1 outside"), its answers."""

    question: str
    minutes: Fraction | None
    access: tuple[int, str] | None
    answers: tuple[str, ...]  # the normal one first


@record
class Cause:
    """A cause under one symptom.

    `shows`: by check, the answers it may give; with more than one, or `maybe`, not surely.
    """

    row: int
    symptom: str
    title: str
    share: Fraction | None
    remedy: str
    shows: tuple[tuple[int, tuple[str, ...], bool], ...]


@record
class Table:
    checks: tuple[Column, ...]
    causes: tuple[Cause, ...]


def read_table(content: bytes) -> Table:
    """Reads a table.

    Args:
        content: UTF-8, its cells parted by commas, semicolons or tabs.

    Raises:
        BadTable: it cannot be read, or a cell makes no sense.
    """
    rows = _rows(_text(content))
    if not rows:
        raise BadTable(
            "the table is empty: its first row names the columns, `symptom`, `cause` and `share`,"
            " and the checks"
        )
    return _Reader(rows).table()


def _text(content: bytes) -> str:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        row = content[: wrong.start].count(b"\n") + 1
        what = "this is not UTF-8 text; save the table as `CSV UTF-8`"
        raise BadTable(f"line {row}: {what}") from None
    if "\x00" in text:
        raise BadTable("this is no table of text; save the table as `CSV UTF-8`")
    return text


_Row = tuple[int, list[str]]


def _rows(text: str) -> list[_Row]:
    """The rows that are not blank with their numbers, by the mark that parts the header best."""
    if not text.strip(' \t\r\n,;"'):
        return []
    fitting, chosen = -1, ","
    for mark in (",", ";", "\t"):
        first = next(iter(_records(text, mark, 1)), (0, []))[1]
        named = [cell.strip().casefold() for cell in first]
        fits = 100 * len(set(named) & set(KNOWN)) + len(first)
        if fits > fitting:
            fitting, chosen = fits, mark
    return list(_records(text, chosen))


def _records(text: str, mark: str, most: int | None = None) -> Iterator[_Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    number = count = 0
    while most is None or count < most:
        number += 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as wrong:
            if most is not None:  # this mark is not the one, or the table is told of later
                return
            far = "field larger" in str(wrong)
            what = "a cell is far too long" if far else "a quotation mark is not closed, or text"
            more = "" if far else " stands behind one"
            raise BadTable(f"row {number}: {what}{more}") from None
        cells = [_plain(cell) for cell in cells]
        if any(cells):
            count += 1
            yield number, cells


def _plain(cell: str) -> str:
    """A cell on one row, with single blanks and no characters that cannot be seen."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in cell).split())


def _letter(at: int) -> str:
    """What a spreadsheet calls a column."""
    name = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


class _Reader:
    def __init__(self, rows: Sequence[_Row]) -> None:
        self.number, self.header = rows[0]
        self.rows = rows[1:]
        self.place: dict[str, int] = {}
        self.checks: list[int] = []
        self._look_at_header()

    def where(self, row: int, at: int) -> str:
        head = self.header[at] if at < len(self.header) else ""
        return f"row {row}, column {_letter(at)}" + (f" (`{short(head)}`)" if head else "")

    def _look_at_header(self) -> None:
        seen: dict[str, int] = {}
        for at, head in enumerate(self.header):
            name = head.casefold()
            if not name:
                continue
            if name in seen:
                raise BadTable(f"{self.where(self.number, at)}: column {_letter(seen[name])} is"
                               " called the same")  # fmt: skip
            seen[name] = at
            if name in KNOWN:
                self.place[name] = at
            else:
                self.checks.append(at)
        lacking = [name for name in NEEDED if name not in self.place]
        for at in self.checks:
            name = self.header[at].casefold()
            meant = next((one for one in KNOWN if name in (f"{one}s", f"{one}:")), "")
            meant = meant or slip_of(name, KNOWN)
            if meant and meant not in self.place:
                raise BadTable(f"{self.where(self.number, at)}: did you mean `{meant}`?")
        if lacking:
            names = listed([f"`{name}`" for name in lacking], "and")
            raise BadTable(f"row {self.number}: the header names no column {names}")
        if not self.checks:
            raise BadTable(f"row {self.number}: the header names no check: each check is a column,"
                           " headed by its question")  # fmt: skip

    def table(self) -> Table:
        said: dict[str, dict[int, str]] = {}
        causes: list[tuple[int, list[str]]] = []
        for number, cells in self.rows:
            self._look_at_row(number, cells)
            label = cells[0].casefold().rstrip(":")
            if label in OF_CHECKS:
                if label in said:
                    raise BadTable(f"row {number}: a second row `{label}`")
                said[label] = {at: cells[at] for at in self.checks if cells[at]}
                self._look_at_words(label, number, cells)
            else:
                causes.append((number, cells))
        if not causes:
            raise BadTable("the table has no cause: each row below the header is one")
        made = self._causes(causes)
        rows_of = {label: number for number, cells in self.rows
                   if (label := cells[0].casefold().rstrip(":")) in OF_CHECKS}  # fmt: skip
        columns = []
        for place, at in enumerate(self.checks):
            minutes, access = said.get("minutes", {}).get(at), said.get("access", {}).get(at)
            columns.append(
                Column(
                    self.header[at],
                    self.amount(rows_of["minutes"], at, minutes) if minutes else None,
                    self._rung(rows_of["access"], at, access) if access else None,
                    self._answers(place, at, said.get("normal", {}).get(at, ""), made),
                )
            )
        return Table(tuple(columns), tuple(made))

    def _look_at_row(self, number: int, cells: list[str]) -> None:
        width = len(self.header)
        if len(cells) < width:
            raise BadTable(f"row {number}: it has {len(cells)} cells, and the header has {width}")
        for at, cell in enumerate(cells):
            if cell and (at >= width or not self.header[at]):
                raise BadTable(f"{self.where(number, at)}: `{short(cell)}` stands under no check")

    def _look_at_words(self, label: str, number: int, cells: list[str]) -> None:
        for name in KNOWN:
            at = self.place.get(name)
            if at and cells[at]:
                raise BadTable(f"{self.where(number, at)}: a row `{label}` says something of the"
                               " checks alone")  # fmt: skip

    def _causes(self, rows: list[tuple[int, list[str]]]) -> list[Cause]:
        made: list[Cause] = []
        first: dict[tuple[str, str], int] = {}
        symptom = ""
        for number, cells in rows:
            symptom = cells[self.place["symptom"]] or symptom
            title = cells[self.place["cause"]]
            if not symptom:
                raise BadTable(f"{self.where(number, self.place['symptom'])}: no symptom is named"
                               " here or above")  # fmt: skip
            if not title:
                raise BadTable(f"{self.where(number, self.place['cause'])}: no cause is named")
            key = symptom.casefold(), title.casefold()
            if key in first:
                raise BadTable(
                    f"row {number}: the cause `{short(title)}` stands under `{short(symptom)}` in"
                    f" row {first[key]} as well"
                )
            first[key] = number
            share = cells[self.place["share"]]
            remedy = cells[self.place["remedy"]] if "remedy" in self.place else ""
            shows = []
            for place, at in enumerate(self.checks):
                if cells[at]:
                    shows.append((place, *self._shown(number, at, cells[at])))
            made.append(
                Cause(number, symptom, title,
                      self.amount(number, self.place["share"], share) if share else None,
                      remedy, tuple(shows))
            )  # fmt: skip
        return made

    def _shown(self, row: int, at: int, cell: str) -> tuple[tuple[str, ...], bool]:
        """The answers in a cell, and whether they are only perhaps given."""
        words = re.sub(r"(?i)^maybe\b\s*", "", cell)
        parts = tuple(dict.fromkeys(part for part in re.split(r"(?i)\s+or\s+", words)))
        for part in parts:
            self._look_at_answer(row, at, part)
        return parts, words != cell

    def _look_at_answer(self, row: int, at: int, answer: str) -> None:
        if not answer:
            raise BadTable(f"{self.where(row, at)}: no answer stands behind `maybe`")
        for mark, name in ((",", "comma"), (":", "colon")):
            if mark in answer:
                raise BadTable(
                    f"{self.where(row, at)}: the answer `{short(answer)}` has a {name} in it;"
                    " write it without"
                )

    def _answers(self, place: int, at: int, normal: str, causes: list[Cause]) -> tuple[str, ...]:
        """The answers of a check, the normal one first, each in the words it has first."""
        found: dict[str, str] = {}
        for cause in causes:
            for check, answers, _ in cause.shows:
                if check == place:
                    for answer in answers:
                        found.setdefault(answer.casefold(), answer)
        where = self.where(self.number, at)
        if not found:
            raise BadTable(f"{where}: no cause gives an answer here: take the column out")
        if normal:
            self._look_at_answer(self.number, at, normal)
        elif len(found) == 1:
            normal = _OPPOSITE.get(next(iter(found)), "")
        if not normal:
            raise BadTable(f"{where}: nothing says what the normal answer is: add a row `normal`"
                           " with it")  # fmt: skip
        return (normal, *(answer for key, answer in found.items() if key != normal.casefold()))

    def amount(self, row: int, at: int, cell: str) -> Fraction:
        """A number, with a point or a comma, perhaps with a percent sign or `min`."""
        found = re.fullmatch(r"(\d{1,9}(?:[.,]\d{1,9})?)\s*(?:%|min)?", cell)
        if found is None:
            raise BadTable(f"{self.where(row, at)}: `{short(cell)}` is no number")
        return Fraction(found[1].replace(",", "."))

    def _rung(self, row: int, at: int, cell: str) -> tuple[int, str]:
        found = re.fullmatch(r"(\d{1,2})\b\s*(.*)", cell)
        if found is None:
            raise BadTable(f"{self.where(row, at)}: write how deep it goes as a number, 1 for the"
                           " least teardown, with a word where you like: `1 outside`")  # fmt: skip
        return int(found[1]), found[2]
