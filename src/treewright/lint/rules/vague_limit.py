"""What is looked for
    Looks for limits in words that give none: "normal", "excessive", "proper", "enough", "too
    high", "about 18". It looks at the question of a check, at its answers, and at sentences
    of a reading's `how:` that say what should be read.

    A question is left alone where its own words or its `how:` give the limit: a number, or a
    mark to read against ("more than 10 mm counts as yes"). So are names of parts, like a
    normally open contact. Only for trees in English.

Why it matters at the machine
    What is normal to one technician is excessive to the next. They answer differently at the
    same machine, and the tree sends them different ways.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Is the play of the drive belt excessive?
      normal: no
      if yes: found slack-belt
      if no: stop look-further

    fault slack-belt: Drive belt slack
      remedy: Tighten the belt.

    handoff look-further: The belt is tight
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Can the drive belt be pushed in by more than 10 mm?
      normal: no
      if yes: found slack-belt
      if no: stop look-further

    fault slack-belt: Drive belt slack
      remedy: Tighten the belt.

    handoff look-further: The belt is tight
      to: the workshop
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache

from treewright.lint import trade
from treewright.lint.place import find_words
from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown
from treewright.model.nodes import Check, Reading
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Span

_ABOUT = re.compile(
    r"\b(?:about|around|approximately|approx\.?|roughly|circa|ca\.|some|near|nearly|close to)"
    r"\s+\d[\w.,/]*(?:\s?(?:°\w|%|[^\W\d_]{1,4}\b))?",
    re.IGNORECASE,
)
_RANGE = re.compile(r"±|\+-|\bplus or minus\b|\d\s*(?:to|–|-)\s*\d", re.IGNORECASE)
# The number of a limit: with what is counted or measured behind it, as figures or as a word.
_NUMBER = re.compile(
    r"(?<![\w.-])\d+(?:[.,/]\d+)?\s?(?:°|%|[^\W\d_])|\b(?:one|two|three|four|five|six|seven|eight|"
    r"nine|ten|twelve|fifteen|twenty|thirty|half)\s+(?:a |an )?(?:turn|second|minute|hour|stroke|"
    r"thread|inch|finger|drop|time|tooth|teeth|bar|layer|millimet|centimet)\w*",
    re.IGNORECASE,
)
_SHOULD = re.compile(
    r"\b(?:should|must|ought to|has to|have to|is to|are to|needs? to)\s+(?:not\s+)?"
    r"(?:be|read|show|stay|stand|remain|lie|give|come|sound|look|feel)\b",
    re.IGNORECASE,
)


def check(context: Context) -> Iterable[Finding]:
    tree = context.tree
    if not trade.speaks_english(tree):
        return
    for node in tree.nodes.values():
        if isinstance(node, Check):
            found = _in_check(node)
        elif isinstance(node, Reading):
            found = _in_reading(node)
        else:
            continue
        for words, span in found:
            yield RULE.finding(
                f"{shown(words)} gives no limit",
                span,
                help=_HELP_ABOUT if any(map(str.isdigit, words)) else _HELP,
                way=context.way_to(node.name),
            )


_HELP = "write the figure that parts good from bad, or a mark to read against"
_HELP_ABOUT = "write from where to where it is good, like `17 to 19` or `18 ± 1`"


def _in_check(node: Check) -> Iterator[tuple[str, Span]]:
    """The first vague limit of the question, and of each answer."""
    if not any(map(_vague, (node.title.text, *(outcome.label for outcome in node.outcomes)))):
        return
    how = trade.plain(node.how.text) if node.how else ""
    settled = _gives_a_limit(how)
    question = trade.plain(node.title.text)
    words = _vague(question)
    if words and not settled and not (_gives_a_limit(question) and not _ABOUT.search(words)):
        yield words, find_words(node.title, words)
    if settled or _gives_a_limit(question):
        return
    for outcome in node.outcomes:
        words = _vague(outcome.label)
        if words and not (_gives_a_limit(outcome.label) and not _ABOUT.search(words)):
            yield words, outcome.span


def _in_reading(node: Reading) -> Iterator[tuple[str, Span]]:
    """The first vague limit in what says what should be read."""
    if node.how is None:
        return
    for sentence in trade.sentences(node.how.text):
        should = _SHOULD.search(sentence)
        words = _vague(sentence[should.start() :]) if should else None
        if words and not (_gives_a_limit(sentence) and not _ABOUT.search(words)):
            yield words, find_words(node.how, words)
            return


def _vague(text: str) -> str | None:
    """The words of a text that stand where a limit should be."""
    if _keys().isdisjoint(trade.words_of(text)):
        return None
    found = _ABOUT.search(text)
    if found and not _RANGE.search(text):
        return found[0]
    named = [match.span() for match in trade.pattern("vague", "names").finditer(text)]
    for match in _words().finditer(text):
        if not any(start <= match.start() < end for start, end in named):
            return match[0]
    return None


@cache
def _keys() -> frozenset[str]:
    """Words of which one stands in every vague limit."""
    degrees = ("too", "very", "quite", "rather", "fairly", "unduly", "overly", "enough")
    about = ("about", "around", "approximately", "approx", "roughly", "circa", "ca", "some")
    near = ("near", "nearly", "close")
    return trade.first_words((*trade.entries("vague", "words"), *degrees, *about, *near))


@cache
def _words() -> re.Pattern[str]:
    words = trade.alternatives(trade.entries("vague", "words"))
    degrees = trade.alternatives(trade.entries("vague", "degrees"))
    return re.compile(
        rf"\b(?:(?:too|very|quite|rather|fairly|unduly|overly)\s+(?:{degrees})"
        rf"|(?:{degrees})\s+enough|{words})\b",
        re.IGNORECASE,
    )


def _gives_a_limit(text: str) -> bool:
    """Whether a text has a number to hold against, that is not itself vague, or a mark."""
    rest = _ABOUT.sub(" ", text) if not _RANGE.search(text) else text
    return bool(_NUMBER.search(rest) or trade.pattern("vague", "marks").search(text))


RULE = Rule(
    name="vague-limit",
    level=Level.WORDING,
    why="two technicians answer differently at the same machine, and go different ways",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
