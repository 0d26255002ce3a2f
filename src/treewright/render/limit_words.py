"""The words of limits in another language: "at least 2.8 bar" is "mindestens 2.8 bar".

Limits are written by this program from a closed set of words, so each word can be replaced for
itself; numbers, units, names of models stay as they are. Knows nothing of trees.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from treewright.render.words import FALLBACK, catalogue

START = "limit."
_ALONE = ("limit.below.alone", "limit.above.alone")  # verdicts: no number follows
_NUMBER = re.compile(r"\s*[-−.\d½¼¾⅛⅜⅝⅞⅓⅔]")


class LimitWords:
    """Says limits in one language.

    Args:
        language: BCP 47; one without a catalogue leaves the words as they are.
        places: what places are called, by their names.
    """

    def __init__(self, language: str, places: Mapping[str, str]) -> None:
        plain, other = catalogue(FALLBACK), catalogue(language)
        keys = [key for key in plain.words if key.startswith(START)]
        self.said = {plain.say(key): other.say(key) for key in keys if key not in _ALONE}
        self.said.update(places)
        self.alone = {plain.say(key): other.say(key) for key in _ALONE}
        self.idle = plain.language == other.language and not places
        longest = sorted(map(re.escape, self.said), key=len, reverse=True)
        self.pattern = re.compile(rf"(?<![\w.-])(?:{'|'.join(longest)})(?![\w.-])")

    def say(self, text: str) -> str:
        """A limit, or an answer of a reading, as this program writes it."""
        if self.idle:
            return text
        return self.pattern.sub(self._said, text)

    def _said(self, found: re.Match[str]) -> str:
        word = found[0]
        if word in self.alone and not _NUMBER.match(found.string, found.end()):
            return self.alone[word]
        return self.said[word]
