"""Writes sound trees of any size as text, the same for the same seed: for tests and the bench.

Machines, parts and figures are invented and mean nothing; what counts is that every kind of
block and line turns up in the mix in which the demo trees use them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

MODELS = ("R10", "R20", "R30")

_PARTS = (
    "valve", "pump", "filter", "belt", "switch", "relay", "bearing", "seal", "nozzle", "fan",
    "coil", "motor", "sensor", "hose", "gauge", "spring", "lever", "plug",
)  # fmt: skip
_SIDES = ("upper", "lower", "inner", "outer", "left-hand", "right-hand", "front", "rear")
_STATES = ("worn", "stuck", "blocked", "loose", "cracked", "burnt", "out of adjustment")
_UNITS = ("bar", "s", "V", "°C", "mm", "ohm", "rpm", "A")
_TOOLS = ("spanner set", "torch", "multimeter", "stopwatch", "clean rag", "feeler gauge")


@dataclass(slots=True)
class _Writer:
    random: Random
    faults: list[str] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    # What every check so far answers if all is well, by model: for the cases.
    good: list[tuple[str, str]] = field(default_factory=list)
    dirty: list[str] = field(default_factory=list)  # checks that a step puts in doubt

    def part(self) -> str:
        return f"{self.random.choice(_SIDES)} {self.random.choice(_PARTS)}"

    def cost(self) -> Iterator[str]:
        yield f"  time: {self.random.randint(1, 40)} min"
        if self.random.random() < 0.6:
            yield f"  tools: {', '.join(self.random.sample(_TOOLS, self.random.randint(1, 3)))}"

    def needs(self) -> Iterator[str]:
        yield f"  needs: {self.random.choice(('running', 'locked-out, drained', 'locked-out'))}"

    def fault(self, node: str, answer: str) -> str:
        """A fault that this answer of this node finds; its block is kept for later."""
        name = f"fault-{len(self.faults) + 1}"
        part, state = self.part(), self.random.choice(_STATES)
        share = self.random.randint(1, 20)
        minutes = self.random.randint(5, 240)
        self.faults.append(
            f"fault {name}: The {part} is {state}\n"
            f"  share: {share}\n"
            f"  shows: {node} {answer}\n"
            f"  remedy: Take the {part} out, clean its seat and look at it in good light. Fit\n"
            f"    a new one where it is {state}.\n"
            "  needs: locked-out, drained\n"
            f"  time: {minutes} min\n"
            f"  parts: {part}\n"
            f"  retest: {node}\n"
        )
        return name

    def check(self, name: str, on: str) -> Iterator[str]:
        part, state = self.part(), self.random.choice(_STATES)
        yield f"check {name}: Is the {part} {state}?"
        yield "  how: Look at it from the front, then feel round its edge with a gloved hand. Take"
        yield "    a lamp where the light is poor."
        yield from self.needs()
        yield from self.cost()
        yield "  normal: no"
        yield f"  if yes: found {self.fault(name, 'yes')}"
        yield f"  if no: {on}"
        if self.random.random() < 0.15:
            self.dirty.append(name)
            yield f"  if it cannot be seen: do clean-up, then back to {name}"
        self.good.append((name, "no"))

    def reading(self, name: str, on: str) -> Iterator[str]:
        unit = self.random.choice(_UNITS)
        low = self.random.randint(20, 300)
        high = low + self.random.randint(5, 80)
        yield f"reading {name}: What does the gauge at the {self.part()} show?"
        yield "  how: Read it twice, a minute apart, and write the second figure down."
        yield from self.needs()
        yield from self.cost()
        form = self.random.randrange(4)
        if form == 0:
            yield f"  spec: {low} to {high} {unit}"
            yield f"  if within: {on}"
            yield f"  if below: found {self.fault(name, 'below')}"
            yield f"  if above: found {self.fault(name, 'above')}"
            self.good.append((name, f"{low} {unit}"))
        elif form == 1:
            for model in MODELS[:-1]:
                yield f"  spec for {model}: {low} {unit} ± {self.random.randint(2, 15)} %"
            yield f"  spec: at least {low - 5} {unit} "
            yield f"  if within: {on}"
            yield f"  otherwise: found {self.fault(name, 'otherwise')}"
            self.good.append((name, f"{low} {unit}"))
        elif form == 2:
            yield f"  if at most {high} {unit}: {on}"
            yield f"  if above {high} {unit}: found {self.fault(name, f'above {high} {unit}')}"
            self.good.append((name, f"{high} {unit}"))
        else:
            yield "  at: left, right"
            yield f"  spec: {low} to {high} {unit}"
            yield f"  if all within: {on}"
            yield f"  if any below: found {self.fault(name, 'any below')}"
            yield "  otherwise: stop next-level"
            self.good.append((name, f"left {low} {unit}, right {high} {unit}"))


_HEAD = """\
tree {name}: Test machine number {number} does not do its work
  machine: Invented test machine, three sizes
  models: {models}
  edition: 1, 2026-10-01
  units: metric, also us
  about: Written by a program. No such machine is built, so nobody is served by this tree.

condition running: Machine runs, guards on
  set up by: start-up
  undo by: none
  excludes: locked-out, drained

condition locked-out: Supply off, locked and tagged
  set up by: lock
  undo by: unlock

condition drained: No pressure left in the lines
  set up by: drain
  undo by: close-drains

procedure start-up: Start the machine
  time: 3 min
  - See that nobody works on it and that no lock hangs on the isolator.
  - Guards on, then start it.

procedure lock: Lock the supply out
  time: 5 min
  tools: padlock, tag
  - Isolator off, your own lock and tag on it.
  - Try to start it, then set the switch back to off.

procedure unlock: Give the supply back
  time: 3 min
  - Covers on, tools counted, lock off.

procedure drain: Let the pressure out
  time: 4 min
  - Open the drain slowly and watch the gauge come down to zero.

procedure close-drains: Close the drains
  time: 1 min
  - Close every drain you opened.

danger shock: Mains voltage behind the covers
  harm: It can kill.
  avoid: Lock out and prove dead.
  at: lock
  while: locked-out

warning moving: Parts move without notice
  harm: They crush and cut.
  avoid: Guards on, hands out.
  while: running

caution hot: Pipes are hot
  harm: Burns.
  avoid: Gloves, or wait half an hour.
  at: drain
"""


def tree(number: int, nodes: int = 40, seed: int = 0) -> str:
    """A sound tree as text.

    Args:
        number: of the tree; also its name, "generated-7".
        nodes: how many nodes it has, about (one or two more at most); at least 12.
        seed: another seed gives other trees.
    """
    random = Random(f"{seed}/{number}")
    writer = _Writer(random)
    blocks: list[str] = []
    starts: list[str] = []
    # Besides checks and faults: a hand-off, a clean end, and the step that clears the view.
    while len(writer.names) + len(writer.faults) < nodes - 4:
        name = f"look-{len(writer.names) + 1}"
        if len(writer.names) % 8 == 0:
            starts.append(name)
            blocks.append(f"stage stage-{len(starts)}: Part {len(starts)} of the machine\n")
        writer.names.append(name)
        make = writer.check if random.random() < 0.55 else writer.reading
        blocks.append("\n".join(make(name, "go next")) + "\n")
    blocks.append(
        "check last-look: Does it do its work now?\n"
        "  needs: running\n"
        "  time: 5 min\n"
        "  if yes: go works\n"
        "  if no: stop next-level\n"
        "  if the view is dirty: do clean-up, then back to last-look\n"
    )
    symptoms = "".join(
        f"symptom complaint-{at}: Complaint number {at}\n  start at: {start}\n"
        for at, start in enumerate(starts, 1)
    )
    read = "".join(f"  {name}: {value}\n" for name, value in writer.good)
    return "\n".join([
        _HEAD.format(name=f"generated-{number}", number=number, models=", ".join(MODELS)),
        symptoms,
        *blocks,
        "step clean-up: Clean what stands in the view\n  time: 5 min\n"
        f"  doubts: {', '.join([*writer.dirty, 'last-look'])}\n",
        *writer.faults,
        "handoff next-level: None of it is to blame\n  to: the maker's service\n",
        "done works: It does its work\n",
        f"case all-well: Nothing wrong with it\n  symptom: complaint-1\n  model: {MODELS[0]}\n"
        f"{read}  last-look: yes\n  ends: works\n",
    ])  # fmt: skip
