"""A table of causes as a tree without ways: what `draft` then puts in order.

What stands in a cell is data: it is shown as it stands there, whatever marks it has.
"""

from __future__ import annotations

import re
import unicodedata

from treewright.draft.names import free
from treewright.draft.table import Cause, Column, Table
from treewright.syntax.errors import name_like
from treewright.text.quantity import minutes_text, number_text

_SMALL = frozenset({
    "a", "an", "and", "are", "at", "be", "by", "can", "do", "does", "for", "from", "has", "have",
    "how", "in", "is", "it", "its", "of", "on", "or", "that", "the", "there", "this", "to", "too",
    "what", "when", "which", "while", "with",
})  # fmt: skip
_MOST = 4  # words of a name
_MARKS = re.compile(r"[\\`*\[\]<&]|(?<!\w)_|_(?!\w)")
_START = re.compile(r"^(?:[#>+=~-]|\d{1,9}(?=[.)]))")


def name_of(text: str, otherwise: str) -> str:
    """A name made of the words of a text that carry its meaning."""
    spelt = text.replace("ß", "ss").replace("ø", "o").replace("æ", "ae").replace("ł", "l")
    plain = unicodedata.normalize("NFKD", spelt).encode("ascii", "ignore").decode()
    words = name_like(plain).split("-")
    telling = [word for word in words if word not in _SMALL] or words
    name = "-".join(telling[:_MOST])
    return name if re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", name) else otherwise


def prose(text: str) -> str:
    """A text so that CommonMark shows it as it stands."""
    shown = _MARKS.sub(lambda mark: f"\\{mark.group()}", text)
    start = _START.match(shown)
    if start is None:
        return shown
    at = 0 if not start.group()[0].isdigit() else start.end()
    return f"{shown[:at]}\\{shown[at:]}"


def tree_text(table: Table, stem: str) -> tuple[str, list[str]]:
    """The text of a tree without ways, and what the trainer should know of how it was made.

    Args:
        table: the table.
        stem: the file's name without its ending: the tree is called so.
    """
    title = " ".join(re.sub(r"[-_.]+", " ", stem).split()) or "Table of causes"
    out = [f"tree {name_of(stem, 'table-of-causes')}: {prose(title[:1].upper() + title[1:])}"]
    out += ["  # machine: to be filled in", "  units: metric"]
    rungs = _rungs(table)
    if len(rungs) > 1:
        out.append(f"  access: {', '.join(rungs.values())}")
    symptoms = _symptoms(table)
    for text, name in symptoms.values():
        out += ["", f"symptom {name}: {prose(text)}"]
    taken: set[str] = set()
    checks = [free(name_of(check.question, "check"), taken) for check in table.checks]
    for name, check in zip(checks, table.checks, strict=True):
        out += ["", *_check(name, check, rungs)]
    said: list[str] = []
    for title, causes in _by_title(table).items():
        alike = _alike(causes)
        if len(alike) > 1:
            said.append(f"row {causes[0].row}: `{causes[0].title}` has other answers, another"
                        " share or another remedy under each symptom: written as"
                        f" {len(alike)} faults")  # fmt: skip
        for same in alike:
            name = free(name_of(title, "fault"), taken)
            named = [symptoms[cause.symptom.casefold()][1] for cause in same]
            out += ["", *_fault(name, same[0], named, checks, table)]
    return "\n".join(out) + "\n", said


def _rungs(table: Table) -> dict[int, str]:
    """The access ladder: by number, the word that is first beside it."""
    words: dict[int, str] = {}
    for check in table.checks:
        if check.access is not None:
            number, word = check.access
            words[number] = words.get(number) or word
    taken: set[str] = set()
    return {
        number: free(name_of(word, f"level-{number}"), taken)
        for number, word in sorted(words.items())
    }


def _symptoms(table: Table) -> dict[str, tuple[str, str]]:
    """The symptoms: as they are written first, and their names."""
    taken: set[str] = set()
    found: dict[str, tuple[str, str]] = {}
    for cause in table.causes:
        key = cause.symptom.casefold()
        if key not in found:
            found[key] = cause.symptom, free(name_of(cause.symptom, "symptom"), taken)
    return found


def _by_title(table: Table) -> dict[str, list[Cause]]:
    found: dict[str, list[Cause]] = {}
    for cause in table.causes:
        found.setdefault(cause.title.casefold(), []).append(cause)
    return found


def _alike(causes: list[Cause]) -> list[list[Cause]]:
    """The rows of a cause, those together that say the same of it."""
    found: dict[object, list[Cause]] = {}
    for cause in causes:
        found.setdefault((cause.share, cause.remedy, cause.shows), []).append(cause)
    return list(found.values())


def _check(name: str, check: Column, rungs: dict[int, str]) -> list[str]:
    out = [f"check {name}: {prose(check.question)}"]
    if check.minutes is not None:
        out.append(f"  time: {minutes_text(check.minutes)}")
    if check.access is not None and len(rungs) > 1:
        out.append(f"  access: {rungs[check.access[0]]}")
    return [*out, f"  answers: {', '.join(check.answers)}"]


def _fault(
    name: str, cause: Cause, symptoms: list[str], checks: list[str], table: Table
) -> list[str]:
    out = [f"fault {name}: {prose(cause.title)}"]
    if cause.share is not None:
        out.append(f"  share: {number_text(cause.share)}")
    out.append(f"  symptoms: {', '.join(symptoms)}")
    shows = []
    for at, answers, maybe in cause.shows:
        normal = table.checks[at].answers[0]
        other = [answer for answer in answers if answer.casefold() != normal.casefold()]
        unsure = "maybe " if maybe or len(answers) > 1 else ""
        shows += [f"{unsure}{checks[at]} {answer}" for answer in other]
    if shows:
        out.append(f"  shows: {', '.join(shows)}")
    if cause.remedy:
        out.append(f"  remedy: {prose(cause.remedy)}")
    return out
