"""What is looked for
    Looks for work on refrigerant, fuel gas, mains wiring and pressure vessels in what a
    check, reading, step, remedy or procedure asks for, where it has no `licence:` line.
    Words that name such work are in one list of the linter: a verb with the thing it is done
    to ("fit a new contactor", "recover the refrigerant"), a part that is to be fitted, a
    tool that serves for nothing else.

    Looking, listening and measuring with the covers on are not such work, nor is what a
    sentence forbids or leaves to somebody licensed. Hand-offs are left alone. What the law
    of the place asks for, the list cannot know.

Why it matters at the machine
    Somebody without the licence starts the work. It is against the law in most places, and
    what goes wrong there kills.

Not so
    tree no-cold: Cooler does not cool
      machine: Tarn 2 cabinet cooler

    danger mains: Mains voltage behind the cover
      harm: It kills.
      avoid: Supply locked out and proved dead.
      at: burnt-contactor

    symptom warm: Cabinet is warm
      start at: hum

    check hum: Does the compressor hum?
      if yes: stop look-further
      if no: found burnt-contactor

    fault burnt-contactor: Contactor burnt
      remedy: Fit a new contactor of the same rating.

    handoff look-further: The compressor runs
      to: a refrigeration technician licensed for the gas

But so
    tree no-cold: Cooler does not cool
      machine: Tarn 2 cabinet cooler

    danger mains: Mains voltage behind the cover
      harm: It kills.
      avoid: Supply locked out and proved dead.
      at: burnt-contactor

    symptom warm: Cabinet is warm
      start at: hum

    check hum: Does the compressor hum?
      if yes: stop look-further
      if no: found burnt-contactor

    fault burnt-contactor: Contactor burnt
      remedy: Fit a new contactor of the same rating.
      licence: a licensed electrician

    handoff look-further: The compressor runs
      to: a refrigeration technician licensed for the gas
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import chain

from treewright.lint import trade
from treewright.lint.place import find_words
from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown
from treewright.model.nodes import Done, Fault, Handoff, Node, Step
from treewright.model.tree import Procedure, Tree
from treewright.model.written import Text
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Span


def check(context: Context) -> Iterable[Finding]:
    tree = context.tree
    if not trade.speaks_english(tree):
        return
    signed: dict[re.Pattern[str], bool] = {}

    def may_be(kind: trade.Licensed) -> bool:
        """Whether the tree shows that such things are what they may be there."""
        if kind.signs is None:
            return True
        if kind.signs not in signed:
            signed[kind.signs] = any(kind.signs.search(text) for text in _all_text(tree))
        return signed[kind.signs]

    for block in chain(tree.nodes.values(), tree.procedures.values()):
        if isinstance(block, Done | Handoff) or block.cost.licence is not None:
            continue
        for kind, words, span in _licensed_work(block):
            if may_be(kind):
                is_node = not isinstance(block, Procedure)
                yield RULE.finding(
                    f"{shown(words)} is work on {kind.kind}, and `{block.name}` names no licence",
                    span,
                    help=f"add a line such as `licence: {kind.who}`, or waive this with the "
                    "reason why anybody may do it",
                    way=context.way_to(block.name) if is_node else (),
                )
                break  # one line mends it


def _licensed_work(block: Node | Procedure) -> Iterator[tuple[trade.Licensed, str, Span]]:
    """The words that name licensed work, with their place."""
    keys = trade.licensed_words()
    for text in _asked_for(block):
        if keys.isdisjoint(trade.words_of(text.text)):
            continue
        for sentence in trade.sentences(text.text):
            said = trade.words_of(sentence)
            for kind in trade.licensed():
                if not kind.keys.isdisjoint(said) and (words := _deed(kind, sentence, said)):
                    yield kind, words, find_words(text, words)
    for part in block.cost.parts:
        name = trade.without_figures(trade.plain(part.text))
        for kind in _named_in(part):
            if kind.thing.fullmatch(name):
                yield kind, part.text, part.span
    for tool in block.cost.tools:
        for kind in _named_in(tool):
            if kind.phrase.search(tool.text):
                yield kind, tool.text, tool.span


def _named_in(text: Text) -> Iterator[trade.Licensed]:
    """The kinds of work of which a text can speak at all."""
    said = trade.words_of(text.text)
    if not trade.licensed_words().isdisjoint(said):
        yield from (kind for kind in trade.licensed() if not kind.keys.isdisjoint(said))


def _deed(kind: trade.Licensed, sentence: str, said: set[str]) -> str | None:
    """The words of a sentence that ask for such work."""
    if not (kind.thing.search(sentence) or kind.phrase.search(sentence)):
        return None
    sentence = kind.but.sub("…", sentence)
    found = None
    if not kind.verbs.isdisjoint(said) and kind.thing.search(sentence):
        found = kind.deed.search(sentence)
    found = found or kind.phrase.search(sentence)
    if found is None or trade.pattern("handed-over", "others").search(sentence):
        return None
    forbidden = trade.pattern("handed-over", "forbidden").search(sentence, 0, found.start())
    return None if forbidden else found[0]


def _asked_for(block: Node | Procedure) -> Iterator[Text]:
    """The texts that tell somebody what to do; a title only where it is the thing to do."""
    if isinstance(block, Step | Procedure):
        yield block.title
    if isinstance(block, Procedure):
        yield from block.items
    if block.how:
        yield block.how
    if isinstance(block, Fault) and block.remedy:
        yield block.remedy


def _all_text(tree: Tree) -> Iterator[str]:
    """What the tree says of the machine; of a library only what the tree uses."""
    texts: list[Text | None] = [tree.title, tree.machine, tree.about]
    for node in tree.nodes.values():
        texts += [node.title, node.how, node.cost.licence]
        if isinstance(node, Fault):
            texts.append(node.remedy)
        elif isinstance(node, Handoff):
            texts.append(node.to)
    for procedure in tree.procedures.values():
        texts += [procedure.title, *procedure.items]
    for hazard in tree.hazards.values():
        texts += [hazard.title, hazard.harm, hazard.avoid]
    for condition in tree.conditions.values():
        texts += [condition.title, condition.about]
    return (text.text for text in texts if text)


RULE = Rule(
    name="licence-missing",
    level=Level.DOUBT,
    why="somebody without the licence starts work that kills when it goes wrong",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
