"""Compiles the model into the outline that every output reads.

Here every number, limit text, set-up and hazard is decided once.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from fractions import Fraction

from treewright.model import nodes as model
from treewright.model.same import same
from treewright.model.translation import translated
from treewright.model.tree import Hazard, Procedure, Tree
from treewright.model.written import Name, Picture, Text
from treewright.reason.setup import Move, Setup, setup
from treewright.render import outline as out
from treewright.render.data import to_data
from treewright.render.limit_words import LimitWords
from treewright.render.limits import Limiter
from treewright.text import quantity

_GRAVITY = ("danger", "warning", "caution", "notice")


def compile_tree(tree: Tree) -> out.Outline:
    """The outline of a tree: the same tree gives the same outline, to the last letter."""
    return _Compiler(tree).run()


def compile_translations(tree: Tree, outline: out.Outline) -> tuple[out.Outline, ...]:
    """The same tree in each other language in which every text of it is there.

    Args:
        tree: the tree.
        outline: what it compiles to in its own language; the edition mark is the same in all.
    """
    return tuple(
        replace(
            compile_tree(translated(tree, one)),
            fingerprint=outline.fingerprint,
            mark=outline.mark,
        )
        for one in tree.translations
        if one.whole
    )


def _fingerprint(outline: out.Outline) -> str:
    """All that an outline says, in eight letters."""
    data = to_data(outline)
    for node in data["nodes"]:
        for later in ("before", "same"):  # without them the cards on the wall keep their mark
            if not node[later]:
                del node[later]
    content = json.dumps(data, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(content.encode()).hexdigest()[:8]


def mark_of(outline: out.Outline, fingerprint: str) -> str:
    """The edition mark that every output carries."""
    parts = [outline.name]
    if outline.edition is not None:
        parts.append(f"edition {outline.edition}")
    if outline.date:
        parts.append(outline.date)
    return " · ".join([*parts, fingerprint])


class _Compiler:
    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.setup: Setup = setup(tree)
        self.same = same(tree.nodes)
        self.limiter = Limiter(tree)
        self.words = LimitWords(tree.language, tree.place_titles)
        self.at: dict[str, list[Hazard]] = {}
        self.whilst: dict[str, list[Hazard]] = {}
        for hazard in tree.hazards.values():
            for name in hazard.at:
                self.at.setdefault(name.name, []).append(hazard)
            for name in hazard.whilst:
                self.whilst.setdefault(name.name, []).append(hazard)

    def run(self) -> out.Outline:
        tree = self.tree
        made = out.Outline(
            name=tree.name,
            title=tree.title.text,
            machine=_text(tree.machine),
            models=tree.models,
            edition=tree.edition,
            date=tree.date,
            fingerprint="",
            mark="",
            language=tree.language,
            units=tree.units,
            also=tree.also,
            after_remedy=tree.after_remedy,
            access=tree.access,
            about=_text(tree.about),
            symptoms=tuple(
                out.Symptom(s.name, s.number, s.title.text, _text(s.about),
                            s.start.name if s.start else "", s.models)
                for s in tree.symptoms.values()
            ),
            stages=tuple(
                out.Stage(s.name, s.title.text, _text(s.about), s.models)
                for s in tree.stages.values()
            ),
            nodes=tuple(self.node(node) for node in tree.nodes.values()),
            conditions=tuple(
                out.Condition(c.name, c.title.text, _text(c.about), _name(c.set_up_by),
                              _name(c.undo_by), _names(c.excludes))
                for c in tree.conditions.values()
            ),
            procedures=tuple(self.procedure(p) for p in tree.procedures.values()),
            hazards=tuple(
                out.Hazard(h.name, h.signal, h.title.text, _text(h.harm), _text(h.avoid),
                           _names(h.at), _names(h.whilst), h.models)
                for h in sorted(tree.hazards.values(), key=lambda h: _GRAVITY.index(h.signal))
            ),
            cases=tuple(
                out.Case(c.name, c.title.text, _name(c.symptom) or "", c.model,
                         tuple(out.CaseEntry(e.node.name, e.text) for e in c.read),
                         _name(c.ends) or "")
                for c in tree.cases.values()
            ),
        )  # fmt: skip
        fingerprint = _fingerprint(made)
        return replace(made, fingerprint=fingerprint, mark=mark_of(made, fingerprint))

    def node(self, node: model.Node) -> out.Node:
        is_end = isinstance(node, model.Fault | model.Done | model.Handoff)
        undo: tuple[out.Setup, ...] = ()
        if is_end and node.name in self.setup.leaving:
            held = self.setup.leaving[node.name]
            undo = tuple(
                self.move(Move(name, True, name in held.surely))
                for name in reversed(self.tree.conditions)
                if name in held.maybe and self.tree.conditions[name].undo_by is not None
            )
        made = out.Node(
            name=node.name,
            kind=_KINDS[type(node)],
            number=node.number,
            title=node.title.text,
            how=_text(node.how),
            stage=node.stage,
            models=node.models,
            cost=_cost(node.cost),
            picture=_picture(node.picture),
            needs=_names(node.needs),
            sets=_names(node.sets) if isinstance(node, model.Step) else (),
            clears=_names(node.clears) if isinstance(node, model.Step) else (),
            setup=tuple(self.move(move) for move in self.setup.moves.get(node.name, ())),
            before=_names(node.before) if isinstance(node, model.Check | model.Reading) else (),
            first=tuple(
                name
                for name in self.tree.conditions
                if name in self.setup.first.get(node.name, frozenset())
            ),
            hazards=self.hazards(node),
            undo=undo,
        )
        match node:
            case model.Check():
                return replace(made, outcomes=self.outcomes(node), same=self.alike(node))
            case model.Reading():
                return replace(
                    made,
                    outcomes=self.outcomes(node),
                    same=self.alike(node),
                    places=node.places,
                    place_titles=tuple(
                        self.tree.place_titles.get(name, name) for name in node.places
                    ),
                    units=self.limiter.units(node),
                    specs=tuple(
                        replace(one, text=self.words.say(one.text), also=self.words.say(one.also))
                        for one in self.limiter.specs(node)
                    ),
                )
            case model.Step():
                doubts = None if node.doubts is None else _names(node.doubts)
                return replace(made, exit=_exit(node.way) if node.way else None, doubts=doubts)
            case model.Fault():
                doubts = None if node.doubts is None else _names(node.doubts)
                return replace(
                    made,
                    share=_number(node.share),
                    shows=tuple(
                        out.Shown(s.node.name, s.outcome, s.maybe)
                        for s in node.shows
                        if s.outcome is not None
                    ),
                    remedy=_text(node.remedy),
                    retest=_name(node.retest),
                    takedown=tuple(
                        self.move(move) for move in self.setup.takedown.get(node.name, ())
                    ),
                    doubts=doubts,
                )
            case model.Handoff():
                return replace(made, to=_text(node.to))
            case _:
                return made

    def outcomes(self, node: model.Check | model.Reading) -> tuple[out.Outcome, ...]:
        return tuple(
            out.Outcome(
                label=self.label(node, outcome),
                detail=self.words.say(self.limiter.detail(node, outcome)),
                details=tuple(
                    (name, self.words.say(text))
                    for name, text in self.limiter.details(node, outcome)
                ),
                test=self.limiter.test(node, outcome),
                exit=_exit(outcome.way),
                normal=index in node.normal,
            )
            for index, outcome in enumerate(node.outcomes)
        )

    def alike(self, node: model.Node) -> tuple[out.Same, ...]:
        return tuple(out.Same(one.node, one.answers) for one in self.same.get(node.name, ()))

    def label(self, node: model.Check | model.Reading, outcome: model.Outcome) -> str:
        """The words of a check are its author's; those of a reading are this program's."""
        label = self.limiter.label(node, outcome)
        return label if isinstance(node, model.Check) else self.words.say(label)

    def move(self, move: Move) -> out.Setup:
        condition = self.tree.conditions[move.condition]
        by = condition.undo_by if move.undo else condition.set_up_by
        return out.Setup(move.condition, _name(by), move.undo, move.always)

    def hazards(self, node: model.Node) -> tuple[str, ...]:
        """All hazards that must show in front of a node, the gravest first."""
        held = self.setup.during.get(node.name)
        return self._gravest(node.name, set(held.maybe if held else _names(node.needs)))

    def procedure(self, procedure: Procedure) -> out.Procedure:
        """A procedure, with the hazards of the conditions that it sets up or undoes."""
        held = {
            c.name
            for c in self.tree.conditions.values()
            if procedure.name in (_name(c.set_up_by), _name(c.undo_by))
        }
        return out.Procedure(
            procedure.name, procedure.number, procedure.title.text, _text(procedure.how),
            tuple(item.text for item in procedure.items), _cost(procedure.cost),
            _picture(procedure.picture), self._gravest(procedure.name, held),
            procedure.models,
        )  # fmt: skip

    def _gravest(self, name: str, held: set[str]) -> tuple[str, ...]:
        found = {h.name: h for h in self.at.get(name, [])}
        for condition in held:
            found.update({h.name: h for h in self.whilst.get(condition, [])})
        order = list(self.tree.hazards)
        return tuple(
            sorted(found, key=lambda n: (_GRAVITY.index(found[n].signal), order.index(n)))
        )


_KINDS: dict[type[model.Node], out.NodeKind] = {
    model.Check: "check",
    model.Reading: "reading",
    model.Step: "step",
    model.Fault: "fault",
    model.Handoff: "handoff",
    model.Done: "done",
}


def _text(text: Text | None) -> str:
    return text.text if text else ""


def _name(name: Name | None) -> str | None:
    return name.name if name else None


def _names(names: tuple[Name, ...]) -> tuple[str, ...]:
    return tuple(name.name for name in names)


def _number(value: Fraction | None) -> str | None:
    return None if value is None else str(value)


def _exit(way: model.Way) -> out.Exit:
    assert way.kind != "open"  # then the tree has a dead end, and is not built
    return out.Exit(
        way.kind,
        _names(way.does),
        _name(way.target),
        tuple((name, _name(target)) for name, target in way.by_model),
    )


def _cost(cost: model.Cost) -> out.Cost:
    return out.Cost(
        minutes=_number(cost.minutes),
        minutes_text=quantity.minutes_text(cost.minutes) if cost.minutes is not None else "",
        people=cost.people,
        tools=tuple(text.text for text in cost.tools),
        parts=tuple(text.text for text in cost.parts),
        licence=_text(cost.licence),
        access=cost.access.name if cost.access else "",
    )


def _picture(picture: Picture | None) -> out.Picture | None:
    return None if picture is None else out.Picture(picture.path, picture.caption)
