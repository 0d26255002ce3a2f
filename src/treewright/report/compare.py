"""What `treewright compare` says for people: what changed, and which cards are out of date."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from treewright.render.editions import Comparison
from treewright.render.editions.listing import Group, cards, following, meant, worded
from treewright.render.outline import Outline
from treewright.report.terminal import harmless


def text(comparison: Comparison, width: int = 100) -> str:
    """One tree in two editions.

    Args:
        comparison: of the two.
        width: columns of the terminal; at least 40 are taken.
    """
    return "\n".join(_lines(comparison, max(width, 40))) + "\n"


def alone(old: Outline | None, new: Outline | None) -> str:
    """A tree of which there is one edition only."""
    said = [f"{harmless(old.mark)}\n  this tree is gone: take its cards down\n"] if old else []
    return "".join(said + ([f"{harmless(new.mark)}\n  a new tree\n"] if new else []))


def _lines(comparison: Comparison, width: int) -> Iterator[str]:
    old, new = comparison.old, comparison.new
    yield harmless(old.mark)
    yield f"→ {harmless(new.mark)}"
    if not comparison.changes:
        yield "  nothing has changed"
        return
    if not comparison.meant:
        yield "  nothing has changed in meaning"
    if comparison.mark_trouble:
        yield from _wrapped(comparison.mark_trouble, "  mark: ", 8, width)
    yield from _section("changed in meaning", meant(comparison), width)
    yield from _section("which changes, besides", following(comparison), width)
    yield from _section("changed in wording alone", worded(comparison), width)
    yield ""
    yield f"cards on the wall that are marked `{harmless(old.mark)}`"
    for group in cards(comparison.cards):
        yield f"  {group.heading}"
        for line in group.lines:
            yield from _wrapped(line, "    [ ] " if group.state != "same" else "    ", 8, width)


def _section(heading: str, groups: Sequence[Group], width: int) -> Iterator[str]:
    if not groups:
        return
    yield ""
    yield heading
    for group in groups:
        yield f"  {group.heading}"
        for entry in group.entries:
            if entry.place:
                yield from _wrapped(entry.place, "    ", 6, width)
            for sentence in entry.sentences:
                yield from _wrapped(sentence, "      - ", 8, width)


def _wrapped(text: str, lead: str, indent: int, width: int) -> list[str]:
    return textwrap.wrap(
        harmless(text), width, initial_indent=lead, subsequent_indent=" " * indent,
        break_on_hyphens=False,
    )  # fmt: skip
