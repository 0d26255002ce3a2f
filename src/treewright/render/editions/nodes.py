"""What differs in checks, readings, steps, faults and ends."""

from __future__ import annotations

from collections.abc import Callable

from treewright.render.editions.answers import answer_changes, pairs_of, way_changes
from treewright.render.editions.changes import Change, Thing, Topic
from treewright.render.editions.found import At, Files, models_of
from treewright.render.editions.words import Sayer, head
from treewright.render.outline import Node, Outline


def node_changes(old: Outline, new: Outline, files: Files) -> list[Change]:
    """The changes of the nodes.

    Args:
        old, new: with the same names for the same blocks.
        files: the pictures of each.
    """
    return _Nodes(old, new, files).run()


class _Nodes:
    def __init__(self, old: Outline, new: Outline, files: Files) -> None:
        self.old, self.new, self.files = old, new, files
        self.was, self.now = Sayer(old), Sayer(new)
        self.models = models_of(old, new)
        self.before = {node.name: node for node in old.nodes}
        self.after = {node.name: node for node in new.nodes}
        self.changes: list[Change] = []

    def run(self) -> list[Change]:
        for node in self.old.nodes:
            if node.name not in self.after:
                thing, number, title = head(node, self.old)
                self.changes.append(
                    Change(_topic(thing), "gone", thing, node.name, (number, ""), title)
                )
        for node in self.new.nodes:
            thing, number, title = head(node, self.new)
            before = self.before.get(node.name)
            if before is None:
                self.changes.append(
                    Change(_topic(thing), "added", thing, node.name, ("", number), title)
                )
            else:
                at = At(thing, node.name, (before.number, number), title, self.changes)
                self.node(at, before, node)
        return self.changes

    def node(self, at: At, old: Node, new: Node) -> None:
        was, now = self.was, self.now
        topic = _topic(at.thing)
        states = (was.states, now.states)
        at.number()
        at.value(topic, "kind", old.kind, new.kind)
        at.text(topic, "title", old.title, new.title)
        at.text(topic, "how", old.how, new.how)
        at.value("words", "stage", old.stage, new.stage,
                 (lambda name: was.stages.get(name or "", name or ""),
                  lambda name: now.stages.get(name or "", name or "")), meaning=False)  # fmt: skip
        at.listed("model", "only for", old.models, new.models)
        at.cost(old.cost, new.cost)
        at.picture(old.picture, new.picture, self.files)
        at.named("set-up", "needs", old.needs, new.needs, states)
        at.named("set-up", "sets", old.sets, new.sets, states)
        at.named("set-up", "clears", old.clears, new.clears, states)
        at.named("way", "comes before", old.before, new.before, (was.refs, now.refs))
        was_same, is_same = (tuple(one.node for one in node.same) for node in (old, new))
        at.named("check", "same as", was_same, is_same, (was.refs, now.refs))
        at.value("limit", "read at", old.places, new.places, (", ".join, ", ".join))
        if old.units and new.units:
            at.value("limit", "unit", old.units[0].symbol, new.units[0].symbol)
        answer_changes(at, old, new, self.models, was, now)
        if "step" in (old.kind, new.kind):
            way_changes(at, "way on", old.exit, new.exit, self.models, (was, now))
        self.fault(at, topic, old, new)
        self.derived(at, old, new)

    def fault(self, at: At, topic: Topic, old: Node, new: Node) -> None:
        was, now = self.was, self.now
        at.value(topic, "share", old.share, new.share)
        at.text(topic, "remedy", old.remedy, new.remedy, strict=True)
        at.text(topic, "hand over to", old.to, new.to, strict=True)
        before, after = self.shows(old, self.before, True), self.shows(new, self.after, False)
        if before != after:
            at.note("finding", "shows", _shown(before, was), _shown(after, now))
        at.value(topic, "retest", old.retest, new.retest,
                 (_retest(was), _retest(now)))  # fmt: skip
        again = (_doubts(was, old), _doubts(now, new))
        at.value(topic, "takes again", old.doubts, new.doubts, again)

    def derived(self, at: At, old: Node, new: Node) -> None:
        """What is asked for by all ways here together. (`first` is not: it is never printed, and
        never differs alone.)"""
        was, now = self.was, self.now
        setups = (was.setup, now.setup)
        at.value("hazard", "hazards before it", old.hazards, new.hazards,
                 (was.warnings, now.warnings), follows=True)  # fmt: skip
        at.value("set-up", "set-up before it", old.setup, new.setup, setups, follows=True)
        at.value("set-up", "undone before the retest", old.takedown, new.takedown, setups,
                 follows=True)  # fmt: skip
        at.value("set-up", "undone at the end", old.undo, new.undo, setups, follows=True)

    def shows(self, node: Node, nodes: dict[str, Node], old: bool) -> list[tuple[str, str, bool]]:
        """What a fault shows, each answer in the new edition's words."""
        found = []
        for shown in node.shows:
            check = nodes.get(shown.node)
            if check is None:
                continue
            label = check.outcomes[shown.outcome].label
            if old and shown.node in self.after:
                pairs = pairs_of(check, self.after[shown.node], self.models)
                label = next((b.label for a, b in pairs if a and b and a.label == label), label)
            found.append((shown.node, label, shown.maybe))
        return sorted(found)


def _topic(thing: Thing) -> Topic:
    return "finding" if thing == "fault" else "check"


def _shown(shows: list[tuple[str, str, bool]], say: Sayer) -> str:
    return "; ".join(
        f"{'maybe ' if maybe else ''}“{label}” at {say.ref(node)}" for node, label, maybe in shows
    )


def _retest(say: Sayer) -> Callable[[str | None], str]:
    return lambda name: "the check that led here" if name is None else say.ref(name)


def _doubts(say: Sayer, node: Node) -> Callable[[tuple[str, ...] | None], str]:
    def said(names: tuple[str, ...] | None) -> str:
        if names is None:
            return "all that was read before" if node.kind == "fault" else ""
        return say.refs(names) or "nothing"

    return said
