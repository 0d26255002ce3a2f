"""Parts rows that are too long, and leaves those that fit as their author broke them.

What does not fit on a row goes in front of the next row of the same paragraph, so that the
rest of a text moves as little as it can. Looks at marks of CommonMark only to keep away from
them: that the text still means the same is proven by whoever asks.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Sequence
from itertools import chain

from treewright.syntax.forms import key_of

WIDTH = 96  # columns of a row; common practice for text that is printed beside its margin
INDENT = 4  # of a row that goes on from the one above

_ITEM = re.compile(r" *(?:(?:[-+*]|\d{1,9}[.)]) +)*")
_FENCE = re.compile(_ITEM.pattern + r"(`{3,}|~{3,})")
_BLOCK = re.compile(r"(?:[-+*]|\d{1,9}[.)])(?: |$)|>|`{3}|~{3}|[-=*_](?: *[-=*_])*$")
_NO_START = re.compile(r"#|>|```|~~~|(?:[-+*]+|[-=*_]+|\d{1,9}[.)])(?: |$)")
_TOGETHER = re.compile(r"(?:^| )(?:at|plus|or|\d+)$")  # `at least`, `plus or minus`, `1 1/2`
_AHEAD = 200  # letters behind a blank that are looked at


def starts_block(row: str) -> bool:
    """Whether a row of prose begins a list, a quote, code or a rule, or draws a line under the
    row above."""
    return _BLOCK.match(row.lstrip(" ")) is not None


def wrap_prose(kind: str, rows: Sequence[str], lead: int) -> list[str]:
    """Rows of CommonMark, none longer than it must be, and blank ones single but in code.

    Args:
        kind: the kind of block, whose keys no row may begin with.
        rows: indented only as far as the shape of the text needs it; comments among them.
        lead: the column at which the first row begins; the others begin at `INDENT`.
    """
    todo = deque(rows)
    done: list[str] = []
    fence = ""
    while todo:
        row = todo.popleft()
        if not row and not fence and done and not done[-1]:
            continue
        mark = _FENCE.match(row)
        if mark and (not fence or mark[1].startswith(fence)):
            fence = "" if fence else mark[1]
        item = _item(row)
        fixed = fence or mark or row.startswith("#") or row[len(item) :].startswith(">")
        room = WIDTH - (INDENT if done else lead)
        at = None if fixed or len(row) <= room else _last_break(kind, row, len(item), room, True)
        if at is None:
            done.append(row)
            continue
        done.append(row[:at])
        rest = row[at + 1 :]
        next_row = todo[0] if todo else ""
        plain = next_row.strip() and not next_row.startswith("#") and not starts_block(next_row)
        if plain and not row.endswith("\\"):
            words = next_row.lstrip(" ")
            todo[0] = f"{next_row[: len(next_row) - len(words)]}{rest} {words}"
        else:
            todo.appendleft(" " * len(item) + rest)
    return done


def wrap_list(kind: str, rows: Sequence[str], lead: int) -> list[str]:
    """Rows of a line that is no prose: parted behind a comma where there is one.

    Args:
        kind: the kind of block.
        rows: without indentation; comments among them.
        lead: the column at which the first row begins.
    """
    todo = deque(rows)
    done: list[str] = []
    while todo:
        row = todo.popleft()
        room = WIDTH - (INDENT if done else lead)
        fits = row.startswith("#") or len(row) <= room
        at = None if fits else _last_break(kind, row, 0, room, False)
        if at is None:
            done.append(row)
            continue
        done.append(row[:at])
        rest = row[at + 1 :]
        if todo and not todo[0].startswith("#"):
            todo[0] = f"{rest} {todo[0]}"
        else:
            todo.appendleft(rest)
    return done


def _item(row: str) -> str:
    """The indentation of a row and its marks of a list."""
    found = _ITEM.match(row)
    return found.group() if found else ""


def _last_break(kind: str, row: str, start: int, room: int, prose: bool) -> int | None:
    """The last blank at which a row can be parted and fit; else the first behind that."""
    last = len(row) - 1
    fitting = [at for at in range(min(room, last - 1), start, -1) if row[at] == " "]
    behind = (at for at in range(max(room, start) + 1, last) if row[at] == " ")
    if not prose:  # a comma first, a blank where there is none
        fitting.sort(key=lambda at: row[at - 1] != ",")
    return next((at for at in chain(fitting, behind) if _may_part(kind, row, at, prose)), None)


def _may_part(kind: str, row: str, at: int, prose: bool) -> bool:
    if row[at - 1] == "\\" or row[at - 1].isspace() or row[at + 1].isspace():
        return False
    rest = row[at + 1 : at + _AHEAD]
    if _NO_START.match(rest) or (not prose and _TOGETHER.search(row[max(0, at - 12) : at])):
        return False
    key = key_of(kind, rest)
    if key is None:
        return True
    behind = rest[len(key) :]
    return not behind.lstrip().startswith(":") if prose else ":" not in row[at:]
