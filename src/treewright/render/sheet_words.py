"""The words of the checklist: an `Outline` put into what typst/sheet.typ lays out.

Everything that is printed is put here into the order in which it is printed; how each thing is
said is decided in sheet_phrases, sizes, lines and places on the page in the template. Knows
nothing of files or of paper.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from typing import Protocol, TypeAlias

from treewright.render import prose
from treewright.render.cut import exits, targets
from treewright.render.outline import Node, Outcome, Outline, Picture, Procedure, Setup
from treewright.render.sheet_phrases import Phrases, Piece, blocks, facts, rich

_TAKEN = ("check", "reading", "step")
_LINE = 50  # letters
_SHORT = 16  # letters of an answer that fit into one line beside its way
_TITLED = 6  # suspects, up to which each is called by its title
_AFTER_REMEDY = "nothing can be said: it is only come to after a remedy"
_NO_FAULT_ALONE = "nothing can be said: none of the findings alone gives the answers that lead here"
_NARROW = 140  # letters of an answer, above which the answers take the whole width


class Known(Protocol):
    """What is known on arrival at a node: names of faults."""

    @property
    def ruled_out(self) -> Sequence[str]: ...

    @property
    def suspect(self) -> Sequence[str]: ...


Standings: TypeAlias = Mapping[str, Known]


class SheetWords:
    """Puts one outline into the order of the sheet.

    Args:
        outline: what is printed.
        pictures: for each picture that can be shown the name the template knows it by.
        standing: for each node what is ruled out and what is still suspect there; None: not
            said.
        short: whether how, tools, minutes and pictures of nodes are left out.
    """

    def __init__(
        self,
        outline: Outline,
        pictures: Mapping[str, str] | None = None,
        standing: Standings | None = None,
        short: bool = False,
    ) -> None:
        self.outline = _without_how(outline) if short else outline
        self.standing = standing
        outline = self.outline
        self.say = Phrases(outline)
        self.pictures = pictures or {}
        self.leads: dict[str, list[Node]] = {}  # by where their ways lead
        for node in outline.nodes:
            for target in {target for way in exits(node) for target in targets(way)}:
                self.leads.setdefault(target, []).append(node)
        self.set_up: dict[str, list[str]] = {}
        self.undone: dict[str, list[str]] = {}
        for condition in outline.conditions:
            if condition.set_up_by:
                self.set_up.setdefault(condition.set_up_by, []).append(condition.name)
            if condition.undo_by:
                self.undone.setdefault(condition.undo_by, []).append(condition.name)

    def data(self) -> Piece:
        o, say = self.outline, self.say
        of_kind = {
            kind: [node for node in o.nodes if node.kind in kinds]
            for kind, kinds in (("finding", ("fault",)), ("end", ("handoff", "done")))
        }
        return {
            "machine": o.machine,
            "title": rich(o.title),
            "about": blocks(o.about),
            "mark": o.mark,
            "models": o.models,
            "symptoms": [
                {
                    "number": s.number,
                    "title": rich(s.title),
                    "about": blocks(s.about),
                    "only": s.models,
                    "start": say.ref(s.start),
                }
                for s in o.symptoms
            ],
            "ready": self.ready(),
            "hazards": [panel | {"long": _letters(panel) > 700} for panel in say.panels()],
            "stages": self.stages(),
            "findings": [_measured(self.finding(node)) for node in of_kind["finding"]],
            "goes_on": o.after_remedy == "go on",
            "ends": [_measured(self.end(node)) for node in of_kind["end"]],
            "procedures": [_measured(self.procedure(procedure)) for procedure in o.procedures],
            "undo": self.undo_list(),
            "record": [
                {"number": node.number, "title": rich(node.title), "only": node.models}
                | {"limits": self.limits(node), "blanks": self.blanks(node)}
                for node in o.nodes
                if node.kind == "reading"
            ],
            "suspects": self.standing is not None,
        }

    # head

    def ready(self) -> Piece:
        costs = [node.cost for node in self.outline.nodes]
        costs += [procedure.cost for procedure in self.outline.procedures]
        called = {s.procedure for n in self.outline.nodes for s in n.setup if s.procedure}
        return {
            "tools": _once(tool for cost in costs for tool in cost.tools),
            "parts": _once(part for cost in costs for part in cost.parts),
            "licences": _once(cost.licence for cost in costs if cost.licence),
            "people": max((cost.people or 1 for cost in costs), default=1),
            "setup": [
                self.say.titled(procedure)
                for procedure in self.outline.procedures
                if procedure.name in called
            ],
        }

    # steps

    def stages(self) -> list[Piece]:
        titles = {stage.name: stage for stage in self.outline.stages}
        taken = [node for node in self.outline.nodes if node.kind in _TAKEN]
        found = []
        for name, members in groupby(taken, key=lambda node: node.stage):
            stage = titles.get(name) if name else None
            found.append(
                {
                    "title": rich(stage.title) if stage else None,
                    "about": blocks(stage.about) if stage else "",
                    "only": stage.models if stage else (),
                    "steps": [_measured(self.step(node)) for node in members],
                }
            )
        return found

    def step(self, node: Node) -> Piece:
        return self.common(node) | {
            "limits": self.limits(node),
            "standing": self.suspects(node),
            "code": None,
            "blanks": self.blanks(node),
            "answers": [self.answer(node, outcome) for outcome in node.outcomes],
            "then": self.say.way(node.exit, node.models) if node.kind == "step" else None,
        }

    def limits(self, node: Node) -> list[Piece]:
        return [{"only": spec.models, "text": spec.text, "also": spec.also} for spec in node.specs]

    def suspects(self, node: Node) -> Piece | None:
        """What is ruled out and what is still suspect on arrival, where that is asked for.

        Where nothing can be said it says why. What is ruled out goes by one fault at a time: where
        no fault alone would lead here, that was not so, and every claim with it.
        """
        if self.standing is None:
            return None
        known = self.standing.get(node.name)
        if known is None:
            return {"why": _AFTER_REMEDY}
        if not known.suspect:
            return {"why": _NO_FAULT_ALONE}
        ruled_out, suspect = (
            [self.say.nodes[name] for name in names if name in self.say.nodes]
            for names in (known.ruled_out, known.suspect)
        )
        if len(suspect) <= _TITLED:
            shown = [{"number": one.number, "title": rich(one.title)} for one in suspect]
        else:
            shown = _in_runs(suspect)
        return {"out": _in_runs(ruled_out), "suspect": shown}

    def answer(self, node: Node, outcome: Outcome) -> Piece:
        label, detail = len(outcome.label), outcome.detail
        rest = detail.removeprefix(f"{outcome.label} ")  # not "below below 8 bar"
        if label + len(rest) <= _SHORT or (not detail and label <= 3 * _SHORT):
            lies, detail = "beside", rest
        else:
            lies = "below" if label <= 2 * _SHORT else "above"
        return {
            "label": outcome.label,
            # Where it differs by model, each on a line.
            "detail": re.split("(?<=;) ", detail) if detail else [],
            "lies": lies,
            "way": self.say.way(outcome.exit, node.models),
        }

    def blanks(self, node: Node) -> list[Piece]:
        """One blank a place for a reading; none for anything else."""
        if node.kind != "reading":
            return []
        unit = node.units[0].symbol if node.units else ""
        return [{"place": place, "unit": unit} for place in node.places or ("",)]

    # findings, ends, procedures

    def finding(self, node: Node) -> Piece:
        retest = self.say.nodes.get(node.retest or "")
        checks = [retest] if retest else self.leading_to(node)
        normal = [
            outcome.label for check in checks[:1] for outcome in check.outcomes if outcome.normal
        ]
        return self.common(node) | {
            "remedy": blocks(node.remedy),
            "takedown": self.say.setups(node.takedown, "retest"),
            "retest": [self.say.ref(check.name) for check in checks],
            "retest_good": " or ".join(normal) if len(checks) == 1 else "",
            "retest_blanks": self.blanks(checks[0]) if len(checks) == 1 else [],
            "undo": self.say.setups(node.undo, "leaving"),
        }

    def leading_to(self, end: Node) -> list[Node]:
        """The checks and readings whose answers find this fault, over steps between as well."""
        found, waiting, seen = set(), [end.name], {end.name}
        while waiting:
            for node in self.leads.get(waiting.pop(), ()):
                if node.name in seen:
                    continue
                seen.add(node.name)
                if node.kind == "step":
                    waiting.append(node.name)
                else:
                    found.add(node.name)
        return [node for node in self.outline.nodes if node.name in found]

    def end(self, node: Node) -> Piece:
        return self.common(node) | {
            "kind": node.kind,
            "to": node.to,
            "undo": self.say.setups(node.undo, "leaving"),
        }

    def procedure(self, procedure: Procedure) -> Piece:
        return {
            "number": procedure.number,
            "title": rich(procedure.title),
            "only": procedure.models,
            "hazards": self.say.warnings(procedure.hazards),
            "sets": [self.say.condition(name) for name in self.set_up.get(procedure.name, ())],
            "clears": [self.say.condition(name) for name in self.undone.get(procedure.name, ())],
            "how": blocks(procedure.how),
            "facts": facts(procedure.cost),
            "licence": procedure.cost.licence,
            "picture": self.picture(procedure.picture, procedure.title),
            "items": [blocks(item) for item in procedure.items],
        }

    def undo_list(self) -> list[Piece]:
        """Every condition that may still be set at some end, each once."""
        seen: dict[str, Setup] = {}
        for node in self.outline.nodes:
            for setup in node.undo:
                seen.setdefault(setup.condition, replace(setup, always=False))
        groups = self.say.setups(tuple(seen.values()), "leaving")
        return [move for group in groups for move in group["moves"]]

    # what steps, findings and ends have in common

    def common(self, node: Node) -> Piece:
        say = self.say
        still = [name for name in node.needs if name not in {s.condition for s in node.setup}]
        return {
            "number": node.number,
            "title": rich(node.title),
            "only": node.models,
            "hazards": say.warnings(node.hazards),
            "setup": say.setups(node.setup, "before"),
            "still": [say.condition(name) for name in still],
            "how": blocks(node.how),
            "facts": facts(node.cost),
            "licence": node.cost.licence,
            "picture": self.picture(node.picture, node.title),
            "sets": [say.condition(name) for name in node.sets],
            "clears": [say.condition(name) for name in node.clears],
            "doubts": [say.ref(name) for name in node.doubts or () if say.numbered(name)],
        }

    def picture(self, picture: Picture | None, title: str) -> Piece | None:
        """A picture and its caption; `file` is "" where there is nothing to show."""
        file = self.pictures.get(picture.file, "") if picture else ""
        if picture is None or not (file or picture.caption):
            return None
        return {
            "file": file,
            "caption": picture.caption,
            "alt": picture.caption or prose.plain(title),
        }


def _in_runs(faults: Sequence[Node]) -> list[Piece]:
    """Numbers of faults; three and more that follow one another as "F3 to F7"."""
    runs: list[list[Node]] = []
    for fault in faults:
        if runs and _digits(fault) == _digits(runs[-1][-1]) + 1:
            runs[-1].append(fault)
        else:
            runs.append([fault])
    shown = []
    for run in runs:
        if len(run) > 2:
            shown.append(f"{run[0].number} to {run[-1].number}")
        else:
            shown += [fault.number for fault in run]
    return [{"number": number, "title": ""} for number in shown]


def _digits(fault: Node) -> int:
    return int(fault.number.lstrip("F"))


def _without_how(outline: Outline) -> Outline:
    """The outline without what says how a node is done, and what it takes to do it."""
    return replace(
        outline,
        about="",
        stages=tuple(replace(stage, about="") for stage in outline.stages),
        nodes=tuple(
            replace(
                node, how="", picture=None,
                cost=replace(node.cost, minutes=None, minutes_text="", tools=(), parts=(),
                             access=""),
            )
            for node in outline.nodes
        ),
    )  # fmt: skip


def shortened(words: str, letters: int) -> str:
    """The words as one line of at most so many letters, cut after a whole word."""
    words = " ".join(words.split())
    if len(words) <= letters:
        return words
    kept = words[: letters - 1]
    at = kept.rfind(" ")
    return (kept[:at] if at > letters // 2 else kept[:-1]).rstrip(" ,;:–-") + " …"


def _once(words: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(words))


def _measured(entry: Piece) -> Piece:
    """The entry, marked where it might not fit on one page: finding out takes time.

    A page of A4 or Letter holds 25 rows to tick, 45 lines, or 3,000 letters and more.
    """
    answers = entry.get("answers", ())
    rows = len(answers) + len(entry.get("items", ())) + len(entry["hazards"])
    letters = _letters(entry) + 2 * _LINE * rows
    wide = letters > 3000 or any(_letters(answer) > _NARROW for answer in answers)
    return entry | {"long": letters > 2200, "wide": wide}


def _letters(piece: object) -> int:
    """The letters in it, where each new line counts as a full one."""
    match piece:
        case str():
            return len(piece) + _LINE * piece.count("\n")
        case dict():
            line = _LINE if piece.get("kind") in ("paragraph", "heading", "break") else 0
            return line + sum(_letters(value) for key, value in piece.items() if key != "kind")
        case list() | tuple():
            return sum(map(_letters, piece))
        case _:
            return 0
