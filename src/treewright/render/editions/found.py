"""Notes what differs in one block: the shared hand of everything that compares."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias, TypeVar

from treewright.render import prose
from treewright.render.editions.changes import Change, Thing, Topic
from treewright.render.editions.telling import told
from treewright.render.outline import Cost, Outline, Picture

Value = TypeVar("Value")
Files: TypeAlias = tuple[Mapping[str, bytes], Mapping[str, bytes]]
"""The pictures of the old and the new edition."""


@dataclass(slots=True)
class At:
    """Compares particulars of one block, and keeps what differs.

    Attributes:
        thing, name, numbers, title: as in `Change`.
        changes: what was found so far, of this and other blocks.
    """

    thing: Thing
    name: str
    numbers: tuple[str, str]
    title: str
    changes: list[Change]

    def note(
        self,
        topic: Topic,
        what: str,
        old: str,
        new: str,
        meaning: bool = True,
        follows: bool = False,
    ) -> None:
        """A change, whatever it says."""
        self.changes.append(
            Change(topic, "changed", self.thing, self.name, self.numbers, self.title, what, old,
                   new, meaning, follows)
        )  # fmt: skip

    def value(
        self,
        topic: Topic,
        what: str,
        old: Value,
        new: Value,
        said: tuple[Callable[[Value], str], Callable[[Value], str]] | None = None,
        meaning: bool = True,
        follows: bool = False,
    ) -> None:
        """A change where two values differ; `said` puts the old and the new one into words."""
        if old != new:
            of_old, of_new = said or (_word, _word)
            self.note(topic, what, of_old(old), of_new(new), meaning, follows)

    def text(self, topic: Topic, what: str, old: str, new: str, strict: bool = False) -> None:
        """A change where two texts differ; one of wording stands among the words."""
        match told(old, new, strict):
            case "meaning":
                self.note(topic, what, quoted(old), quoted(new))
            case "wording":
                self.note("words", what, quoted(old), quoted(new), meaning=False)
            case "same":
                pass

    def listed(self, topic: Topic, what: str, old: Sequence[str], new: Sequence[str]) -> None:
        """A change of a list whose order says nothing."""
        self.value(topic, what, sorted(old), sorted(new), ("; ".join, "; ".join))

    def named(
        self,
        topic: Topic,
        what: str,
        old: Sequence[str],
        new: Sequence[str],
        said: tuple[Callable[[Sequence[str]], str], Callable[[Sequence[str]], str]],
    ) -> None:
        """A change of the names in a list whose order says nothing."""
        if set(old) != set(new):
            self.note(topic, what, said[0](old), said[1](new))

    def number(self) -> None:
        """A change of the block's own number."""
        old, new = self.numbers
        self.value("number", "number", old, new, follows=True)

    def cost(self, old: Cost, new: Cost) -> None:
        self.value("means", "time", old.minutes_text, new.minutes_text)
        self.value("means", "people", old.people or 1, new.people or 1)
        self.listed("means", "tools", old.tools, new.tools)
        self.listed("means", "parts", old.parts, new.parts)
        self.text("means", "licence", old.licence, new.licence, strict=True)
        self.value("means", "access", old.access, new.access)

    def picture(self, old: Picture | None, new: Picture | None, files: Files) -> None:
        before, after = (one.file if one else "" for one in (old, new))
        if not (before and after):
            self.value("check", "picture", before, after)
        elif before in files[0] and after in files[1]:
            if files[0][before] != files[1][after]:
                self.note("check", "picture", before, f"another picture, {after}")
        else:
            self.value("check", "picture", before, after)
        if old and new:
            self.text("check", "words below the picture", old.caption, new.caption)


def _word(value: object) -> str:
    return "" if value is None else str(value)


def quoted(text: str) -> str:
    """Author's words as one line between quotation marks; "" for none."""
    words = prose.plain(text)
    return f"“{words}”" if words else ""


def models_of(old: Outline, new: Outline) -> tuple[str, ...]:
    """The models on which two editions can be compared; "*" where neither names any."""
    both = tuple(model for model in new.models if model in old.models)
    return both or (*new.models, *old.models) or ("*",)
