"""What is looked for
    Looks for checks whose answers do not answer the question as it is asked. A question that
    begins with "is", "does", "has", "can" and their like wants yes and no. It may have more
    answers besides, or words that count ("both", "none", "only one"); a question with an "or"
    in it may be answered by its own alternatives. A question that begins with "what", "which",
    "where", "when", "who", "why" or "how" cannot be answered by yes or no.

    Only for trees in English.

Why it matters at the machine
    The technician has the answer to the question in his head and finds none of the boxes for
    it, so he ticks the one that looks nearest.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil

    check oil: Where does the oil stand in the sight glass?
      if yes: stop look-further
      if no: found low-oil

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    handoff look-further: It is not the oil
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil

    check oil: Where does the oil stand in the sight glass?
      if between the marks: stop look-further
      if below the lower mark: found low-oil

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    handoff look-further: It is not the oil
      to: the workshop
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

from treewright.lint import trade
from treewright.lint.rule import Context, Rule
from treewright.lint.words import listed, shown
from treewright.model.nodes import Check, Outcome, Words
from treewright.text.diagnostic import Finding, Level

_AUXILIARY = (
    r"(?:is|are|was|were|am|does|do|did|has|have|had|can|could|will|would|may|might|must|should|"
    r"shall)(?:n['’]t)?"
)
_OPEN = r"(?:what|which|where|when|who|whose|whom|why|how)"
_PREPOSITION = (
    r"(?:in|on|at|to|by|from|of|with|for|into|under|through|after|before|near|over|above|below)"
)
_WANTS_YES = re.compile(rf"{_AUXILIARY}\b(?!:)", re.IGNORECASE)
_WANTS_WORDS = re.compile(rf"(?:{_PREPOSITION}\s+)?{_OPEN}\b", re.IGNORECASE)
_YES_OR_NO = re.compile(r"(?:yes|no)(?=$|[,.;:])", re.IGNORECASE)
# They say how far a yes or a no holds.
_HOW_FAR = re.compile(
    r"(?:yes|no|not|none|never|neither|nowhere|nothing|both|all|each|every|any|some|only|one|two|"
    r"three|always|sometimes|often|rarely|partly|mostly|hardly|almost|nearly|just|at first)\b",
    re.IGNORECASE,
)
_SMALL = frozenset(
    ("a", "an", "the", "is", "are", "it", "its", "of", "to", "and", "in", "on", "at")
)


def check(context: Context) -> Iterable[Finding]:
    tree = context.tree
    if not trade.speaks_english(tree):
        return
    for node in tree.nodes.values():
        if not isinstance(node, Check):
            continue
        question = trade.plain(node.title.text)
        answers = [outcome for outcome in node.outcomes if isinstance(outcome.test, Words)]
        wrong = _unanswered(question, answers)
        if wrong:
            yield RULE.finding(
                wrong[0],
                answers[0].span if len(answers) == len(wrong[1]) else wrong[1][0].span,
                help=wrong[2],
                way=context.way_to(node.name),
            )


def _unanswered(question: str, answers: list[Outcome]) -> tuple[str, list[Outcome], str] | None:
    """What is wrong, with which answers, and what to write; None where they answer it."""
    if not answers:
        return None
    wants, word = _asked(question)
    match wants:
        case "yes or no":
            if any(map(_answers_yes_or_no, answers)) or _alternatives(question, answers):
                return None
            said = listed(shown(outcome.label) for outcome in answers)
            return (
                f'a question that asks "{word} …" wants yes or no, and here it gets {said}',
                answers,
                "answer `yes` and `no`, or ask what, where or how it is",
            )
        case "words":
            wrong = [outcome for outcome in answers if _YES_OR_NO.match(outcome.label)]
            if not wrong:
                return None
            said = listed(shown(outcome.label) for outcome in wrong)
            return (
                f"{said} {'do' if len(wrong) > 1 else 'does'} not answer a question that asks "
                f'"{word} …"',
                wrong,
                "answer in the words that the question asks for, or ask so that yes and no fit",
            )
        case None:
            return None


def _asked(question: str) -> tuple[Literal["yes or no", "words"] | None, str]:
    """What a question wants, by its first word or that of the clause behind a comma."""
    clauses = [clause.strip() for clause in question.split(",")]
    for clause in (clauses[0], *reversed(clauses[1:])):
        if found := _WANTS_WORDS.match(clause):
            # "When the motor runs, is …": the first clause only says when.
            if clause is clauses[0] and any(map(_asks, clauses[1:])):
                continue
            return "words", found[0].lower()
        if (found := _WANTS_YES.match(clause)) and "?" in question:
            return "yes or no", found[0].lower()
    return None, ""


def _asks(clause: str) -> bool:
    return bool(_WANTS_YES.match(clause) or _WANTS_WORDS.match(clause))


def _answers_yes_or_no(outcome: Outcome) -> bool:
    return bool(_HOW_FAR.match(outcome.label))


def _alternatives(question: str, answers: list[Outcome]) -> bool:
    """Whether the question offers alternatives and an answer is one of them."""
    if not re.search(r"\bor\b", question, re.IGNORECASE):
        return False
    asked = set(re.findall(r"[\w-]+", question.lower()))
    return any(
        words <= asked
        for outcome in answers
        if (words := set(re.findall(r"[\w-]+", outcome.label.lower())) - _SMALL)
    )


RULE = Rule(
    name="yes-no-words",
    level=Level.WORDING,
    why="the answer that the question calls for has no box, so another one is ticked",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
