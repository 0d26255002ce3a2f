"""A question of the best order written out as a tree: what the command then says of it is known."""

from __future__ import annotations

from fractions import Fraction

from treewright.reason.order.instance import Instance, bits

LADDER = ("outside", "covers", "strip-down")


def can_be_written(of: Instance) -> bool:
    """Whether `shows` can say it: a fault that may give two answers gives the normal one, too."""
    return all(probe.same.bit_count() < 2 for probe in of.probes) and all(
        given.count(True) == 1 or (given[0] and given.count(True) == 2)
        for probe in of.probes
        for fault in range(len(of.suspects))
        for given in [[bool(some >> fault & 1) for some in probe.gives]]
    )


def answers_of(of: Instance, check: int) -> list[str]:
    """The words of the answers of a check: those that are the same have the same words."""
    names = [f"a{answer}" for answer in range(len(of.probes[check].gives))]
    root = check
    while of.probes[root].same:
        (root,) = bits(of.probes[root].same)
    left, found = list(enumerate(of.probes[root].gives)), []
    for given in of.probes[check].gives:
        at = next(one for one, (_, other) in enumerate(left) if other == given)
        found.append(names[left.pop(at)[0]])
    return found


def tree_text(of: Instance) -> str:
    """A tree whose one symptom `all` asks this.

    Its own order asks every check and tells nothing apart: each answer that a fault can give
    goes on; the faults are only behind it, as the other answers of the first check lead to them.
    """
    first = of.probes[0].name
    plain = next(probe.name for probe in of.probes if not probe.same)
    lines = ["tree made: Made", *([f"  access: {', '.join(LADDER)}"] if of.ladder else []), ""]
    for at, state in enumerate(of.states):
        lines += [f"condition {state.name}: State", f"  set up by: make-{state.name}"]
        lines += [f"  undo by: end-{state.name}"]
        against = [of.states[o].name for o in bits(state.excludes & ((1 << at) - 1))]
        lines += [f"  excludes: {', '.join(against)}", ""] if against else [""]
        for name, time in ((f"make-{state.name}", state.setup), (f"end-{state.name}", state.undo)):
            lines += [f"procedure {name}: Do it", f"  time: {_number(time)} min", "  - Do it.", ""]
    lines += ["symptom all: All of it", f"  start at: {first}", ""]
    for at, probe in enumerate(of.probes):
        lines += [f"check {probe.name}: What is it?", f"  time: {_number(probe.cost)} min"]
        needs = [of.states[one].name for one in bits(probe.needs)]
        lines += [f"  needs: {', '.join(needs)}"] if needs else []
        later = [other.name for other in of.probes if other.after >> at & 1]
        lines += [f"  before: {', '.join(later)}"] if later else []
        lines += [f"  access: {LADDER[probe.rung]}"] if probe.rung is not None else []
        onward = "go next" if at + 1 < len(of.probes) else "stop shop"
        if probe.same:
            (like,) = bits(probe.same)
            lines += [f"  same as: {of.probes[like].name}", "  normal: a0"]
        lines += [f"  if {answer}: {onward}" for answer in answers_of(of, at)]
        if of.alike[at] & 1:
            lines += [f"  if it is {one.name}: found {one.name}" for one in of.suspects]
        lines.append("")
    for at, suspect in enumerate(of.suspects):
        shows = [
            f"{'maybe ' if probe.gives[0] >> at & 1 else ''}{probe.name} a{answer}"
            for probe in of.probes
            if not probe.same
            for answer, given in enumerate(probe.gives)
            if answer and given >> at & 1
        ]
        # One that is normal everywhere has to say something, or it is not followed.
        shows = shows or [f"{plain} a0"]
        lines += [f"fault {suspect.name}: Broken", f"  share: {_number(suspect.share)}"]
        lines += [f"  shows: {', '.join(shows)}", "  remedy: Mend it."]
        lines += [f"  time: {_number(suspect.remedy)} min"] if suspect.remedy else []
        lines.append("")
    return "\n".join([*lines, "handoff shop: Not here", "  to: the workshop", ""])


def _number(value: int | Fraction) -> str:
    return str(Fraction(value))
