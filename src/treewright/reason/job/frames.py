"""What a job is made of: what is shown, and what was said to it.

Knows nothing of how the one follows from the other.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, TypeAlias

from treewright.model.nodes import Node
from treewright.model.tree import Procedure
from treewright.record import record
from treewright.text.units import Unit

Purpose: TypeAlias = Literal["set-up", "undo", "do"]


@record
class Entry:
    """What was said to one frame.

    `answer`: its place. `skip`: the check cannot be done. `undone`: a step or procedure is left.
    `left`: a fault is not repaired, or a condition stays as it is. `kept`, `amended`: taken over
    from before, or put right, without the set-up for it; `mended`: it was good after a step that
    may have made it so. `by`: another check that asks the same, where it was found; `values`: the
    numbers read, by place, each in its unit. `to`: the check that a "turn" takes up. `choose`: the
    end that is gone on with where several are possible. `held`: how the machine stands.
    """

    key: str
    answer: int | None = None
    skip: bool = False
    undone: bool = False
    left: bool = False
    kept: bool = False
    amended: bool = False
    mended: bool = False
    by: str = ""
    values: tuple[tuple[str | None, Fraction, Unit], ...] = ()
    to: str = ""
    choose: str = ""
    held: tuple[str, ...] = ()


@dataclass(slots=True)
class Head:
    """What is due once its set-up is done."""

    node: Node | None = None
    procedure: Procedure | None = None
    end: str = ""
    takedown: frozenset[str] | None = None
    retest: bool = False
    known: bool = False  # taken up since another check has answered it
    on_request: bool = False
    tried: set[str] = field(default_factory=set)
    arrived: tuple[str, ...] | None = None


@record
class Frame:
    """What the screen shows. `key` ties an entry to it."""

    kind: str
    key: str
    purpose: Purpose | None = None
    condition: str = ""
    procedure: str = ""
    head: Head | None = None  # what it shows or is in front of


def node_frame(head: Head) -> Frame:
    """The frame of a node itself."""
    assert head.node is not None
    return Frame("node", f"node/{head.node.name}", head=head)
