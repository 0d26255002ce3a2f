"""Where words of a text stand in the file, for a finding that is about these words alone."""

from __future__ import annotations

import re

from treewright.model.written import Text
from treewright.text.source import Span


def find_words(text: Text, words: str) -> Span:
    """The place of the words; of the whole text where marks of emphasis part them."""
    span = text.span
    found = re.search(r"\s+".join(map(re.escape, words.split())), span.text, re.IGNORECASE)
    if found is None:
        return span
    return Span(span.source, span.start + found.start(), span.start + found.end())
