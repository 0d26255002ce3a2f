"""A plan while it is made: the symbols and arrows so far, each with a name of its own.

Knows nothing of what they say.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from treewright.render.chart.symbols import Arrow, Band, Form, Symbol
from treewright.render.chart.type import plain_words
from treewright.render.outline import Stage


@dataclass(slots=True)
class Draft:
    """Symbols and arrows in the order they were added.

    Attributes:
        ids: how often each id was asked for.
    """

    symbols: list[Symbol] = field(default_factory=list)
    arrows: list[Arrow] = field(default_factory=list)
    ids: dict[str, int] = field(default_factory=dict)

    def add(self, form: Form, **fields: object) -> str:
        """A new symbol; gives its key."""
        key = f"n{len(self.symbols) + 1}"
        self.symbols.append(Symbol(key=key, form=form, **fields))  # type: ignore[arg-type]
        return key

    def id(self, wanted: str) -> str:
        """The id itself where it is free, otherwise with the next number."""
        self.ids[wanted] = self.ids.get(wanted, 0) + 1
        if self.ids[wanted] == 1:
            return wanted
        while True:
            tried = f"{wanted}-{self.ids[wanted]}"
            if tried not in self.ids:
                self.ids[tried] = 1
                return tried
            self.ids[wanted] += 1

    def arrow(self, tail: str, head: str, source: str, target: str, **fields: object) -> None:
        """A new arrow between two symbols, named after the entries it leads between."""
        at = self._edge_id(source, target)
        self.arrows.append(Arrow(tail, head, id=at, **fields))  # type: ignore[arg-type]

    def _edge_id(self, source: str, target: str) -> str:
        stem = f"edge-{source}-{target}"
        self.ids[stem] = self.ids.get(stem, 0) + 1
        return f"{stem}-{self.ids[stem]}"

    def bands(self, stages: tuple[Stage, ...]) -> tuple[Band, ...]:
        """Each stage with what stands in it."""
        return tuple(
            Band(plain_words(stage.title), keys)
            for stage in stages
            if (keys := tuple(s.key for s in self.symbols if s.stage == stage.name))
        )
