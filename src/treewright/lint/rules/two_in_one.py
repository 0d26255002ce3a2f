"""What is looked for
    Looks for a check whose question asks two things at once: two question marks, a second
    question behind an "and" or "or", two states of one part ("clean and dry"), or two parts
    each with a state of its own ("is the belt tight and the guard on").

    Left alone is an "or" whose two sides are answers of the check, one whose yes leads to a
    fault that has both in its title ("Impeller clogged or broken": found as one, and mended
    as one), and what only looks like two: "between the two marks", "on and off", "the hot
    and cold taps". Two parts with one state ("are plug and socket clean") pass too. Only for
    trees in English.

Why it matters at the machine
    If the belt is tight and the guard is off, neither yes nor no is right. The answer that is
    ticked means one thing to who wrote it and another to who reads it.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Is the belt tight and the filter clean?
      if yes: stop look-further
      if no: found slack-belt

    fault slack-belt: Drive belt slack
      remedy: Tighten the belt.

    handoff look-further: The belt is tight
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Is the belt tight?
      if yes: go next
      if no: found slack-belt

    check filter: Is the filter clean?
      if yes: stop look-further
      if no: found dirty-filter

    fault slack-belt: Drive belt slack
      remedy: Tighten the belt.

    fault dirty-filter: Filter dirty
      remedy: Fit a new filter.

    handoff look-further: Belt and filter are as they should be
      to: the workshop
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from treewright.lint import trade
from treewright.lint.place import find_words
from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown
from treewright.model.nodes import Check
from treewright.model.tree import Tree
from treewright.text.diagnostic import Finding, Level

_ASKS = (
    r"is|are|was|were|does|do|did|has|have|can|could|will|would|what|which|where|when|how|who|why"
)
_ANOTHER = re.compile(rf"\b(?:and|or)\s+(?:{_ASKS})\s+\w[^?]*", re.IGNORECASE)
# "that is", "which has": the second verb may still belong to what the first is about.
_RELATIVE = re.compile(
    r"\b(?:that|which|who|whose|if|whether|what|where|when|how)\b", re.IGNORECASE
)
# With one of these what is said of the part goes on; any other word may be a noun.
_GOES_ON = (
    "all|at|on|in|when|while|with|under|after|before|as|for|from|to|by|if|once|inside|outside|"
    "everywhere|throughout"
)
_QUESTIONS = re.compile(r"\?[\"'”’)]*\s+\S.*\?", re.DOTALL)


def check(context: Context) -> Iterable[Finding]:
    tree = context.tree
    if not trade.speaks_english(tree):
        return
    for node in tree.nodes.values():
        if isinstance(node, Check) and (words := _second(tree, node)):
            yield RULE.finding(
                f"{shown(words)} makes this two questions in one",
                find_words(node.title, words),
                help="ask one thing here, and the other in a check of its own",
                way=context.way_to(node.name),
            )


def _second(tree: Tree, node: Check) -> str | None:
    """The words with which a question asks a second thing."""
    question = trade.plain(node.title.text)
    if _QUESTIONS.search(question):
        return question[question.index("?") + 1 :].lstrip("\"'”’) ")
    if " and " not in question and " or " not in question:
        return None
    another = _ANOTHER.search(question)
    if another and not _RELATIVE.search(question[: another.start()].partition(" ")[2]):
        return another[0].rstrip()
    for states in _two_states().finditer(question):
        words = " ".join(states["pair"].split())
        if not _is_one_thing(tree, node, question, states.start("pair"), words):
            return words
    parts = _two_parts().search(question)
    if parts and not _is_range(question[: parts.start()]):
        return parts["second"].rstrip("? ")
    return None


def _is_one_thing(tree: Tree, node: Check, question: str, at: int, words: str) -> bool:
    lower = words.lower()
    if lower in trade.entries("states", "pairs") or _is_range(question[:at]):
        return True
    if " or " not in lower:
        return False
    sides = [side.strip(" ,") for side in re.split(r",|\bor\b", lower) if side.strip(" ,")]
    answers = " / ".join(outcome.label.lower() for outcome in node.outcomes)
    if any(re.search(rf"\b{re.escape(side)}\b", answers) for side in sides):
        return True
    for outcome in node.outcomes:
        fault = tree.nodes.get(outcome.way.target.name) if outcome.way.target else None
        if fault and all(side in trade.plain(fault.title.text).lower() for side in sides):
            return True
    return False


def _is_range(before: str) -> bool:
    """Whether an "and" belongs to a "between … and …"."""
    return bool(re.search(r"\b(?:between|either)\b[^,?]*$", before, re.IGNORECASE))


def _state() -> str:
    """A word for how a part is found; a participle is known by its end."""
    return rf"(?:{trade.alternatives(trade.entries('states', 'words'))}|[a-z]+[^\We]ed)"


@cache
def _two_states() -> re.Pattern[str]:
    """Two states of one part, at the end of what is said of it and not before a noun."""
    state = _state()
    behind = rf"(?=\s*(?:$|[?,;]|(?:{_GOES_ON})\b))"
    return re.compile(
        rf"\b(?P<pair>{state}(?:,\s+{state})*,?\s+(?:and|or)\s+(?:not\s+)?{state}){behind}",
        re.IGNORECASE,
    )


@cache
def _two_parts() -> re.Pattern[str]:
    """A part with its state, then another part with its own."""
    state = _state()
    return re.compile(
        rf"\b{state},?\s+(?P<second>(?:and|or)\s+(?:the|its|their|all|every|each|both|no|a|an|this|"
        rf"that)\s+(?:[\w'’-]+\s+){{1,5}}?{state})\s*(?:\?|$)",
        re.IGNORECASE,
    )


RULE = Rule(
    name="two-in-one",
    level=Level.WORDING,
    why="where one half is so and the other is not, no answer is right",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
