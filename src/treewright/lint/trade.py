"""The trade's word lists of `trade_words.toml`, ready to be looked for in author text.

Patterns are made once for a run. Which words count for what is the rules' business.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from treewright.model.tree import Tree
from treewright.record import record

_FILE = Path(__file__).with_name("trade_words.toml")
_EMPHASIS = re.compile(r"[*_`]+")
_SENTENCE_END = re.compile(r"(?<=[.!?;])\s+|\n\s*\n|\n\s*[-*]\s|(?<=\w):\s")
_FIGURE = r"\d+(?:[.,/]\d+)?"
_QUANTITY = re.compile(rf"(?<![\w-]){_FIGURE}(?:\s+to\s+{_FIGURE})?(?:\s?[^\W\d_]{{1,4}}\b)?")


@record
class Licensed:
    """Work that only a licensed person may do, and the words that name it.

    Attributes:
        keys: one of them stands in every sentence that names such work.
        verbs: one of them stands in every sentence with such a deed.
        deed, thing, phrase, but: what finds the work and then the thing it is done to; the thing;
            what names the work by itself; other things of a like name. Made when first asked
            for, since most trees speak of few kinds of work.
        signs: what shows that the things are of this kind in a tree, if that is open.
    """

    kind: str
    who: str
    keys: frozenset[str]
    verbs: frozenset[str]
    deeds: str
    things: str
    phrases: str
    others: str
    shown_by: str

    @property
    def deed(self) -> re.Pattern[str]:
        return _whole(self.deeds)

    @property
    def thing(self) -> re.Pattern[str]:
        return _whole(self.things)

    @property
    def phrase(self) -> re.Pattern[str]:
        return _whole(self.phrases)

    @property
    def but(self) -> re.Pattern[str]:
        return _whole(self.others)

    @property
    def signs(self) -> re.Pattern[str] | None:
        return _whole(self.shown_by) if self.shown_by else None


@cache
def _lists() -> dict[str, Any]:
    import tomllib

    return tomllib.loads(_FILE.read_text(encoding="utf-8"))


def entries(part: str, name: str) -> tuple[str, ...]:
    """One list of words as it is written in the file."""
    return tuple(_lists()[part][name])


@cache
def pattern(part: str, name: str) -> re.Pattern[str]:
    """What finds any entry of a list as a whole word, in any case, plurals in "s" as well."""
    return _whole(alternatives(entries(part, name)))


_WORD = re.compile(r"[^\W_]+")


def words_of(text: str) -> set[str]:
    """The words of a text in small letters, to see at once that none of a list can be in it."""
    return set(_WORD.findall(text.lower()))


def first_words(words: Iterable[str]) -> frozenset[str]:
    """The word that each entry of a list begins with, plurals in "s" as well."""
    firsts = {_WORD.findall(entry.lower())[0] for entry in words}
    return frozenset(firsts | {f"{word}s" for word in firsts})


@cache
def licensed_words() -> frozenset[str]:
    """Words of which one stands in every text that can name licensed work."""
    return frozenset().union(*(one.keys for one in licensed()))


def alternatives(words: Iterable[str]) -> str:
    """Entries as the alternatives of a pattern, the longest first."""
    return "|".join(map(_entry, sorted(words, key=len, reverse=True))) or r"(?!)"


def _entry(words: str) -> str:
    parts = (re.escape(word).replace(r"\*", r"\w*") for word in words.split(" "))
    plural = "" if words.endswith("*") else "s?"
    return r"[\s-]+".join(parts) + plural


# Words between the work and the thing that still name the thing: "a new", "the burnt". A
# preposition or an "and" begins something else: "remove the cover and look at the isolator".
_BETWEEN = (
    r"(?:\s+(?!(?:and|or|then|at|on|near|from|to|into|in|by|for|of|before|after|when|while"
    r"|under|behind|until|off|out|look|see)\b)[\w'’-]+){0,4}?\s+"
)


@cache
def licensed() -> tuple[Licensed, ...]:
    """The kinds of licensed work."""
    return tuple(map(_licensed, _lists()["licence"]))


def _licensed(one: dict[str, Any]) -> Licensed:
    things = f"(?:{alternatives(one['things'])})"
    work = alternatives(one["work"])
    taken = rf"take{_BETWEEN}{things}\s+(?:off|out|apart|away)" if "take off" in one["work"] else ""
    deed = rf"(?:{work}){_BETWEEN}{things}" + (f"|{taken}" if taken else "")
    return Licensed(
        one["kind"],
        one["who"],
        first_words((*one["things"], *one["phrases"])),
        first_words(one["work"]),
        deed,
        things,
        alternatives(one["phrases"]),
        alternatives(one["but"]),
        alternatives(one["signs"]) if one["signs"] else "",
    )


@lru_cache(maxsize=2_000)
def _whole(alternatives: str) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{alternatives})\b", re.IGNORECASE)


def speaks_english(tree: Tree) -> bool:
    """Whether the word lists can say anything about a tree's text."""
    return tree.language.lower().partition("-")[0] == "en"


def plain(text: str) -> str:
    """Author text without its marks of emphasis, on one line."""
    return " ".join(_EMPHASIS.sub("", text).split())


def sentences(prose: str) -> list[str]:
    """The sentences of a text, and the items of its lists."""
    return [plain(part) for part in _SENTENCE_END.split(prose) if part.strip()]


def without_figures(tool: str) -> str:
    """What a tool or part is called, without its size: "insulation tester", not "… 500 V"."""
    return " ".join(_QUANTITY.sub(" ", tool.split(" with ")[0]).split())


def phrase(words: str) -> re.Pattern[str]:
    """What finds these very words in a text, in any case, a plural in "s" as well."""
    return _whole(r"\s+".join(re.escape(word) for word in words.split()) + "s?")
