"""What differs in the tree as a whole and in everything but its nodes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from treewright.render.editions.changes import Change, Topic
from treewright.render.editions.found import At, Files, quoted
from treewright.render.editions.words import Sayer, head
from treewright.render.outline import (
    Case,
    Condition,
    Hazard,
    Outline,
    Procedure,
    Stage,
    Symptom,
)

Block = TypeVar("Block", Symptom, Stage, Condition, Procedure, Hazard, Case)


def block_changes(old: Outline, new: Outline, files: Files) -> list[Change]:
    """The changes of the tree as a whole, its symptoms, stages, states, procedures, hazards and
    cases.

    Args:
        old, new: with the same names for the same blocks.
        files: the pictures of each.
    """
    return _Blocks(old, new, files).run()


class _Blocks:
    def __init__(self, old: Outline, new: Outline, files: Files) -> None:
        self.old, self.new, self.files = old, new, files
        self.was, self.now = Sayer(old), Sayer(new)
        self.refs = (self.was.refs, self.now.refs)
        self.ref = (self.was.ref, self.now.ref)
        self.states = (self.was.states, self.now.states)
        self.changes: list[Change] = []

    def run(self) -> list[Change]:
        old, new = self.old, self.new
        self.tree()
        for hazard in self.both("hazard", old.hazards, new.hazards):
            self.hazard(*hazard)
        for symptom in self.both("way", old.symptoms, new.symptoms):
            self.symptom(*symptom)
        for stage in self.both("words", old.stages, new.stages, meaning=False):
            self.stage(*stage)
        for condition in self.both("set-up", old.conditions, new.conditions):
            self.condition(*condition)
        for procedure in self.both("set-up", old.procedures, new.procedures):
            self.procedure(*procedure)
        for case in self.both("case", old.cases, new.cases):
            self.case(*case)
        return self.changes

    def both(
        self, topic: Topic, old: Sequence[Block], new: Sequence[Block], meaning: bool = True
    ) -> list[tuple[At, Block, Block]]:
        """The blocks that both editions have; those that are gone or new are noted."""
        before, after = {b.name: b for b in old}, {b.name: b for b in new}
        for name, block in before.items():
            if name not in after:
                thing, number, title = head(block, self.old)
                self.changes.append(
                    Change(topic, "gone", thing, name, (number, ""), title, meaning=meaning)
                )
        for name, block in after.items():
            if name not in before:
                thing, number, title = head(block, self.new)
                self.changes.append(
                    Change(topic, "added", thing, name, ("", number), title, meaning=meaning)
                )
        found = []
        for name, block in after.items():
            if name in before:
                thing, number, title = head(block, self.new)
                numbers = (head(before[name], self.old)[1], number)
                found.append((At(thing, name, numbers, title, self.changes), before[name], block))
        return found

    def tree(self) -> None:
        old, new = self.old, self.new
        at = At("tree", new.name, ("", ""), "", self.changes)
        at.value("tree", "name", old.name, new.name)
        at.text("tree", "title", old.title, new.title)
        at.text("tree", "machine", old.machine, new.machine)
        at.text("tree", "about", old.about, new.about)
        at.listed("model", "models", old.models, new.models)
        at.value("tree", "language", old.language, new.language, meaning=False)
        at.value("limit", "units", _units(old), _units(new))
        at.value("way", "after remedy", old.after_remedy, new.after_remedy)
        at.value("means", "access", old.access, new.access, (", ".join, ", ".join))

    def hazard(self, at: At, old: Hazard, new: Hazard) -> None:
        at.value("hazard", "signal word", old.signal.upper(), new.signal.upper())
        at.text("hazard", "title", old.title, new.title, strict=True)
        at.text("hazard", "harm", old.harm, new.harm, strict=True)
        at.text("hazard", "avoid", old.avoid, new.avoid, strict=True)
        at.named("hazard", "at", old.at, new.at, self.refs)
        at.named("hazard", "while", old.whilst, new.whilst, self.states)
        at.listed("model", "only for", old.models, new.models)

    def symptom(self, at: At, old: Symptom, new: Symptom) -> None:
        at.number()
        at.text("way", "title", old.title, new.title)
        at.text("way", "about", old.about, new.about)
        at.value("way", "starts at", old.start, new.start, self.ref)
        at.listed("model", "only for", old.models, new.models)

    def stage(self, at: At, old: Stage, new: Stage) -> None:
        at.text("check", "title", old.title, new.title)
        at.text("check", "about", old.about, new.about)
        at.listed("model", "only for", old.models, new.models)

    def condition(self, at: At, old: Condition, new: Condition) -> None:
        at.text("set-up", "title", old.title, new.title)
        at.text("set-up", "about", old.about, new.about)
        at.value("set-up", "set up by", old.set_up_by or "", new.set_up_by or "", self.ref)
        at.value("set-up", "undo by", old.undo_by or "", new.undo_by or "", self.ref)
        at.named("set-up", "excludes", old.excludes, new.excludes, self.states)

    def procedure(self, at: At, old: Procedure, new: Procedure) -> None:
        at.number()
        at.text("set-up", "title", old.title, new.title)
        at.text("set-up", "how", old.how, new.how)
        self.items(at, old.items, new.items)
        at.cost(old.cost, new.cost)
        at.picture(old.picture, new.picture, self.files)
        at.value("hazard", "hazards before it", old.hazards, new.hazards,
                 (self.was.warnings, self.now.warnings), follows=True)  # fmt: skip
        at.listed("model", "only for", old.models, new.models)

    def items(self, at: At, old: Sequence[str], new: Sequence[str]) -> None:
        """The lines of a procedure: what is left of them when those that are alike are paired."""
        if len(old) == len(new):
            for count, (before, after) in enumerate(zip(old, new, strict=True), 1):
                at.text("set-up", f"line {count}", before, after, strict=True)
            return
        start = 0
        while start < min(len(old), len(new)) and old[start] == new[start]:
            start += 1
        end = 0
        while end < min(len(old), len(new)) - start and old[-1 - end] == new[-1 - end]:
            end += 1
        gone, added = old[start : len(old) - end], new[start : len(new) - end]
        at.note("set-up", f"lines from {start + 1} on", _lines(gone), _lines(added))

    def case(self, at: At, old: Case, new: Case) -> None:
        at.text("case", "title", old.title, new.title)
        at.value("case", "symptom", old.symptom, new.symptom)
        at.value("case", "model", old.model or "", new.model or "")
        for what, before, after in _read(old, new):
            at.value("case", f"read at {self.now.ref(what)}", before, after)
        at.value("case", "ends", old.ends, new.ends, self.ref)


def _units(outline: Outline) -> str:
    return f"{outline.units}, also {outline.also}" if outline.also else outline.units


def _lines(some: Sequence[str]) -> str:
    return " / ".join(map(quoted, some))


def _read(old: Case, new: Case) -> list[tuple[str, str, str]]:
    """What was read at each node in the two; a node may be read more than once."""
    before: dict[str, list[str]] = {}
    after: dict[str, list[str]] = {}
    for case, found in ((old, before), (new, after)):
        for entry in case.read:
            found.setdefault(entry.node, []).append(entry.text)
    return [
        (node, ", then ".join(before.get(node, ())), ", then ".join(after.get(node, ())))
        for node in dict.fromkeys((*before, *after))
    ]
