"""The interface's own words, from the catalogues in site/words: one file a language.

Every catalogue has the same keys and the same places for values; a word that depends on a
count has its plural forms (the categories of Unicode CLDR). Knows nothing of trees or pages.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from typing import TypeAlias

from treewright import resources
from treewright.record import record

FALLBACK = "en"

Word: TypeAlias = str | Mapping[str, str]


@record
class Catalogue:
    """The words of one language. `language`: its primary BCP 47 subtag."""

    language: str
    words: Mapping[str, Word]

    def say(self, key: str, **values: object) -> str:
        """A word with values put in their places.

        Args:
            key: its key; a word with plural forms is not asked for here.
            values: by the name of their place.

        Raises:
            KeyError: there is no such word, or a value for one of its places is missing.
        """
        word = self.words[key]
        assert isinstance(word, str), key
        return word.format(**values)


@cache
def languages() -> tuple[str, ...]:
    """The languages that have a catalogue; English first."""
    found = sorted(path.stem for path in (resources.site() / "words").glob("*.json"))
    return (FALLBACK, *(one for one in found if one != FALLBACK))


@cache
def catalogue(language: str) -> Catalogue:
    """The words in a language.

    Args:
        language: a BCP 47 tag; one that has no catalogue is given the English words.
    """
    primary = language.lower().partition("-")[0]
    if primary not in languages():
        primary = FALLBACK
    text = (resources.site() / "words" / f"{primary}.json").read_text(encoding="utf-8")
    words = {key: word for key, word in json.loads(text).items() if key != "note"}
    return Catalogue(primary, words)
