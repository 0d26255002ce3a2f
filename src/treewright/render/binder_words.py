"""The words before the checklists of a binder: contents, hazards, symptoms, tools, by page.

Puts the outlines of a folder into the order of typst/binder.typ. Knows nothing of files, and of
pages only the numbers it is given.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from treewright.render import prose
from treewright.render.outline import Hazard, Node, Outline, Procedure
from treewright.render.sheet_phrases import GRAVITY, Piece, blocks, rich
from treewright.render.sheet_words import shortened

_SHORT = 44  # letters of a tree's title where it is only named
_LONG = 1500  # letters of a hazard from which on it may go over a page


def words(
    outlines: Sequence[Outline],
    starts: Sequence[int],
    steps: Sequence[Mapping[str, int]],
    changes: Sequence[Piece],
) -> dict[str, Any]:
    """What stands before the checklists, but for where its own parts come to stand.

    Args:
        outlines: the trees in their order.
        starts: the page on which the checklist of each begins; more do not matter.
        steps: for each the page of its steps, by their numbers.
        changes: the change sheets of those that changed.
    """
    pages = {outline.name: page for outline, page in zip(outlines, starts, strict=False)}
    return {
        "trees": [
            _tree(outline, letter(at), pages[outline.name]) for at, outline in enumerate(outlines)
        ],
        "changes": list(changes),
        "hazards": _hazards(outlines, pages),
        "symptoms": _symptoms(outlines, pages, steps),
        "tools": _wanted(outlines, "tools"),
        "parts": _wanted(outlines, "parts"),
    }


def letter(at: int) -> str:
    """What a tree is called for short: A to Z, then AA, AB and on."""
    ahead, last = divmod(at, 26)
    return (letter(ahead - 1) if ahead else "") + chr(ord("A") + last)


def _tree(outline: Outline, letter: str, page: int) -> Piece:
    return {
        "letter": letter,
        "machine": prose.plain(outline.machine),
        "title": rich(outline.title),
        "models": outline.models,
        "mark": outline.mark,
        "page": page,
        "symptoms": [{"number": s.number, "title": rich(s.title)} for s in outline.symptoms],
    }


def _named(outline: Outline, page: int) -> Piece:
    return {"title": shortened(prose.plain(outline.title), _SHORT), "page": page}


def _hazards(outlines: Sequence[Outline], pages: dict[str, int]) -> list[Piece]:
    """Every hazard, those that are the same in every word once, the gravest first."""
    found: dict[Hazard, list[Piece]] = {}
    for outline in outlines:
        for hazard in outline.hazards:
            alike = Hazard("", hazard.signal, hazard.title, hazard.harm, hazard.avoid, (), (), ())
            only = f" (only {', '.join(hazard.models)})" if hazard.models else ""
            named = _named(outline, pages[outline.name])
            found.setdefault(alike, []).append(named | {"title": named["title"] + only})
    return [
        {
            "signal": hazard.signal,
            "title": rich(hazard.title),
            "harm": blocks(hazard.harm),
            "avoid": blocks(hazard.avoid),
            "long": len(hazard.title + hazard.harm + hazard.avoid) > _LONG,
            "trees": trees,
        }
        for hazard, trees in sorted(found.items(), key=lambda item: GRAVITY.index(item[0].signal))
    ]


def _symptoms(
    outlines: Sequence[Outline], pages: dict[str, int], steps: Sequence[Mapping[str, int]]
) -> list[Piece]:
    """By the alphabet: the step to begin with and its page, and where the hazards before it are."""
    found = []
    for outline, at in zip(outlines, steps, strict=True):
        numbers = {node.name: node.number for node in outline.nodes}
        for symptom in outline.symptoms:
            begins = pages[outline.name]
            start = numbers.get(symptom.start, symptom.start)
            entry = {
                "title": rich(symptom.title),
                "machine": prose.plain(outline.machine),
                "only": ", ".join(symptom.models),
                "number": symptom.number,
                "start": start,
                "page": at.get(start, begins),
                "begins": begins,
            }
            key = (prose.plain(symptom.title).casefold(), begins, symptom.number)
            found.append((key, entry))
    return [entry for _, entry in sorted(found, key=lambda one: one[0])]


def _wanted(outlines: Sequence[Outline], what: str) -> list[Piece]:
    """Tools or parts by the alphabet, and the numbers of what needs each, tree by tree."""
    found: dict[str, dict[str, list[str]]] = {}
    for at, outline in enumerate(outlines):
        for entry in _costly(outline):
            for name in dict.fromkeys(getattr(entry.cost, what)):
                found.setdefault(name, {}).setdefault(letter(at), []).append(entry.number)
    return [
        {
            "name": name,
            "trees": [
                {"letter": tree, "at": ", ".join(numbers)} for tree, numbers in found[name].items()
            ],
        }
        for name in sorted(found, key=lambda name: (name.casefold(), name))
    ]


def _costly(outline: Outline) -> Iterator[Node | Procedure]:
    yield from outline.nodes
    yield from outline.procedures
