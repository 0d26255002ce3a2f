"""A job gone through from its start: what was confirmed and answered, and what is due now.

Everything (the set-up that is still missing, what is set on the machine, where the job may
stand) is worked out from the list of entries. The same as site/js/job.js works out on the
phone, entry for entry: what one writes the other can read.
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.model.nodes import Check, Fault, Node, Reading, Step, Way
from treewright.model.same import same
from treewright.model.tree import Tree
from treewright.reason.job.facts import Facts
from treewright.reason.job.frames import Entry, Frame, Head, node_frame
from treewright.reason.job.machine import Machine
from treewright.reason.job.places import Open, Place, find
from treewright.record import record


@record
class Followed:
    """A job as it stands.

    Attributes:
        entries: what was said, and after it what was known from a check that asks the same.
        due: the key of what is due now; "record" at the end.
        held: the conditions set, in the order in which they were set.
        places: where the job may stand, where outcomes are open.
        skipped: the checks left out whose outcomes are open.
        mended: the faults whose remedy was done, and no retest of it failed.
        end: the kind of end, or "".
        left: the conditions left set at the end.
    """

    entries: tuple[Entry, ...]
    due: str
    held: tuple[str, ...]
    places: tuple[Place, ...]
    skipped: tuple[str, ...]
    facts: Facts
    mended: tuple[str, ...]
    end: str
    left: tuple[str, ...]


def follow(tree: Tree, symptom: str, model: str | None, entries: Iterable[Entry]) -> Followed:
    """Goes through a job.

    Args:
        tree: the tree.
        symptom: where the job starts.
        model: the machine's model.
        entries: what was said, in order; where one does not fit, it and the rest are dropped.
    """
    return _Job(tree, symptom, model).go(entries)


class _Job:
    def __init__(self, tree: Tree, symptom: str, model: str | None) -> None:
        self.tree, self.model = tree, model
        self.machine = Machine(tree)
        self.facts = Facts(same(tree.nodes))
        self.mended: list[str] = []
        self.end, self.left = "", list[str]()
        self.last_check: Node | None = None
        self.open: Open | None = None
        self.aside: Head | None = None
        start = tree.symptoms[symptom].start
        assert start is not None
        self.queue = [Head(tree.nodes[start.name])]

    def go(self, entries: Iterable[Entry]) -> Followed:
        passed: list[Entry] = []
        said = iter(entries)
        frame = self.due()
        while entry := next(said, None) or self.known_elsewhere(frame):
            if entry.key == "standing":
                self.machine.held = list(entry.held)
            elif entry.key == "turn" and self.open and self._is_check(entry.to):
                self.aside = Head(self.tree.nodes[entry.to])
            else:
                taken = self.answered_by(entry, frame)
                if taken is None:
                    break
                self.take(taken, entry)
            passed.append(entry)
            frame = self.due()
        opened = self.open
        return Followed(
            tuple(passed), frame.key, tuple(self.machine.held), opened.places if opened else (),
            tuple(opened.skipped) if opened else (), self.facts, tuple(self.mended), self.end,
            tuple(self.left),
        )  # fmt: skip

    def known_elsewhere(self, frame: Frame) -> Entry | None:
        """The answer to what is due, where another check has asked the same. What was taken up
        out of its turn, and a retest, is asked."""
        head = frame.head
        if head is None or head.retest or (self.aside is not None and not self.aside.known):
            return None
        return self._elsewhere(head)

    def _elsewhere(self, head: Head) -> Entry | None:
        if isinstance(head.node, Check | Reading):
            return self.facts.known_elsewhere(self.tree, head.node, self.model)
        return None

    def _is_check(self, name: str) -> bool:
        return isinstance(self.tree.nodes.get(name), Check | Reading)

    # ---- what is due ----------------------------------------------------------------------

    def due(self) -> Frame:
        if self.open is not None and self.aside is None:
            # What was left out is taken up by itself once another check has answered it.
            for skipped in self.open.skipped:
                head = Head(self.tree.nodes[skipped], known=True)
                if self._elsewhere(head):
                    self.aside = head
                    break
        if self.aside is not None:
            return self.machine.before(self.aside) or node_frame(self.aside)
        if self.open is not None and not self.queue and not self.settle(self.open):
            return Frame("open", "open")
        if not self.queue:
            name = self.machine.to_undo(lambda one: one not in self.left)
            return self.machine.undo_frame(name, None) if name else Frame("record", "record")
        head = self.queue[0]
        if head.takedown is not None:
            down = head.takedown
            name = self.machine.to_undo(lambda one: one in down)
            if name:
                return self.machine.undo_frame(name, None)
            self.queue.pop(0)
            return self.due()
        if head.procedure is not None:
            name = head.procedure.name
            return Frame("procedure", f"do//{name}", "do", procedure=name, head=head)
        if head.node is not None:
            return self.machine.before(head) or node_frame(head)
        return Frame("end", f"end/{head.end}", head=head)

    def settle(self, opened: Open) -> bool:
        """On to the first place that is due, or to where all ways have met; False: none is left."""
        opened.places = tuple(find(self.tree, self.model, opened, self.facts.known))
        places = opened.places
        if len(places) == 1 and not places[0].on_request and places[0].state != "undone":
            self.open = None
            via = places[0].via
            self.last_check = self.tree.nodes[via] if via else None
            node = places[0].node
            self.queue = [Head(node) if node else Head(end="lost")]
            return True
        for state in ("ask", "do"):
            for place in places:
                if place.state == state:
                    self.queue = [
                        Head(place.node, on_request=place.on_request)
                        if place.node
                        else Head(procedure=place.procedure)
                    ]
                    return True
        return False

    # ---- taking an entry ------------------------------------------------------------------

    def answered_by(self, entry: Entry, frame: Frame) -> Frame | None:
        """The frame that an entry answers: what is left out or kept from before comes without
        the set-up that is due first."""
        if entry.key == frame.key:
            return None if frame.kind == "record" else frame
        head = frame.head
        if head is None or head.node is None or entry.key != f"node/{head.node.name}":
            return None
        is_check = isinstance(head.node, Check | Reading)
        left_out = (entry.skip and is_check) or (entry.undone and self.open)
        return node_frame(head) if left_out or entry.kept or entry.amended else None

    def take(self, frame: Frame, entry: Entry) -> None:
        match frame.kind:
            case "procedure":
                self.take_procedure(frame, entry)
            case "node":
                assert frame.head is not None
                self.take_node(frame.head, entry)
            case "open":
                self.take_open(entry)
            case _:
                assert frame.head is not None
                self.end, self.queue = frame.head.end, []

    def take_procedure(self, frame: Frame, entry: Entry) -> None:
        name = frame.condition
        if entry.left:
            self.left.append(name)
        elif frame.purpose == "do":
            self.queue.pop(0)
            self.note_done(frame.procedure, entry)
            if not entry.undone:
                self.machine.do_procedure(frame.procedure)
        elif frame.purpose == "undo":
            self.machine.drop(name)
        else:
            assert frame.head is not None
            frame.head.tried.add(name)
            self.machine.set(name)

    def note_done(self, name: str, entry: Entry) -> None:
        if self.open is not None:
            (self.open.undone if entry.undone else self.open.done).add(name)

    def take_node(self, head: Head, entry: Entry) -> None:
        was_aside = self.aside is not None
        if not was_aside:
            self.queue.pop(0)
        elif self.open is not None:
            self.queue = []
        self.aside = None
        node = head.node
        match node:
            case Check() | Reading():
                if entry.skip:
                    self.skip(head, was_aside=was_aside)
                else:
                    assert entry.answer is not None
                    self.answer(head, node, entry.answer, entry)
            case Step():
                self.note_done(node.name, entry)
                if not entry.undone:
                    self.step(head, node)
            case Fault():
                self.fault(head, node, entry)
            case _:
                assert node is not None
                self.end, self.queue = _END[type(node).__name__], []

    def skip(self, head: Head, *, was_aside: bool) -> None:
        """A check that cannot be done: all its outcomes are open."""
        assert head.node is not None
        self.facts.known.pop(head.node.name, None)
        if head.retest:
            self.queue = [Head(end="untested")]
        elif not was_aside:
            self.open = self.open or Open(head.node)
            self.open.skipped[head.node.name] = None
            self.queue = []

    def answer(self, head: Head, node: Check | Reading, answer: int, entry: Entry) -> None:
        self.facts.answer(node.name, entry)
        if self.open is not None:
            self.open.answered(self.tree, node, self.facts)
            return
        self.last_check = node
        if head.retest and answer not in node.normal:
            self.mended.pop()
        if head.retest and answer in node.normal and self.tree.after_remedy == "finish":
            self.queue = [Head(end="finish")]
            return
        way = node.outcomes[answer].way
        back = way.target is not None and way.target.name == node.name
        self.go_on(way, retest=head.retest and back)

    def step(self, head: Head, step: Step) -> None:
        for name in step.clears:
            self.machine.drop(name.name)
        for name in step.sets:
            self.machine.set(name.name)
        self.facts.step(step)
        if head.on_request or self.open is not None:
            return
        if step.way is not None:
            self.go_on(step.way)
        else:
            self.queue = [Head(end="lost")]

    def fault(self, head: Head, fault: Fault, entry: Entry) -> None:
        again = self.tree.nodes[fault.retest.name] if fault.retest else self.last_check
        if entry.left:
            self.queue = [Head(end="left")]
            return
        self.mended.append(fault.name)
        self.facts.remedy(fault)
        if again is None:
            self.queue = [Head(end="finish")]
            return
        down = self.machine.not_for_retest(head.arrived or (), again)
        self.queue = [Head(takedown=down), Head(again, retest=True)]

    def go_on(self, way: Way, *, retest: bool = False) -> None:
        target = way.target_on(self.model)
        does = [
            Head(self.tree.nodes[do.name], on_request=True)
            if do.name in self.tree.nodes
            else Head(procedure=self.tree.procedures[do.name])
            for do in way.does
        ]
        onward = Head(self.tree.nodes[target.name], retest=retest) if target else Head(end="lost")
        self.queue = [*does, onward]

    def take_open(self, entry: Entry) -> None:
        """One of the ends is gone on with, or the job ends as it stands."""
        assert self.open is not None
        for place in self.open.places:
            if place.state == "end" and place.node and place.node.name == entry.choose:
                self.last_check = self.tree.nodes[place.via] if place.via else None
                self.queue = [Head(place.node)]
                break
        else:
            self.end = "open"
        self.open = None


_END = {"Handoff": "handoff", "Done": "done"}
