"""Outlines of any shape and in any words, the same for the same seed: for tests of the chart.

Ways lead from any check to any later node, stages may take turns, and the words are what people
write and what nobody should. Sound as far as an outline must be: numbers, names and ends.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

from sample_outline import FREE, sample, to, word

from treewright.render.outline import Node, Outcome, Outline, Setup, Stage, Symptom

WORDS = {
    "plain": ("lamp", "lit", "valve", "behind", "the", "cover", "8.2 bar", "pump", "is", "open"),
    "rtl": ("המנוע", "פועל", "לחץ", "השסתום", "مضخة", "الضغط", "مفتوح", "12", "بار", "לא"),
    "distant": ("ポンプ", "圧力が高い", "阀门关闭", "двигатель", "насос", "αντλία", "펌프", "ปั๊มน้ำ"),
    "hostile": (
        "</svg><script>alert(1)</script>", '"];x->y[', "\\N", "&amp;", "#set page()", "$x$",
        "]]>", "\u202eevil", "a\x00b", "{{", "<!--", "`raw`", "*bold*", "\\", "%", "'",
    ),
    "long": ("Donaudampfschifffahrtsgesellschaft" * 4, "and", "the", "pressure", "of", "it" * 30),
}  # fmt: skip
"""What titles are made of, by manner."""


def wild(nodes: int, seed: int, manner: str = "plain", stages: int | None = None) -> Outline:
    """An outline of so many nodes.

    Args:
        nodes: 3 or more.
        seed: of all that is left open.
        manner: a key of WORDS.
        stages: how many; None: any number. Of several some follow each other, some take turns.
    """
    random = Random(f"{nodes} {seed} {manner}")
    stock = WORDS[manner]
    most = 40 if manner == "long" else 9

    def some() -> str:
        return " ".join(random.choice(stock) for _ in range(random.randint(1, most)))

    count = random.randint(0, max(1, nodes // 8)) if stages is None else stages
    checks = max(1, nodes * 2 // 3)
    turns = random.random() < 0.3
    names = [f"check-{at}" for at in range(checks)]
    ends = [f"end-{at}" for at in range(nodes - checks)] or ["end-0"]

    def stage_of(at: int) -> str | None:
        if not count or random.random() < 0.05:
            return None
        return f"stage-{random.randrange(count) if turns else at * count // checks}"

    made: list[Node] = []
    led: set[str] = set()
    for at, name in enumerate(names):
        def way(at: int = at) -> str:
            ahead = names[at + 1 : at + random.choice((2, 6, 400))]
            return random.choice([*ahead, random.choice(ends)])

        targets = [names[at + 1] if at + 1 < checks else ends[0]]
        targets += [way() for _ in range(random.choice((0, 1, 1, 2, 5)))]
        led.update(targets)
        outcomes: list[Outcome] = [
            word(f"answer {place}" if place else some(), to(target), normal=place == 0)
            for place, target in enumerate(targets)
        ]
        if random.random() < 0.2:
            outcomes.append(word("again", to(random.choice(names[: at + 1]), kind="back")))
        made.append(
            Node(
                name, "check", str(at + 1), some(), some(), stage_of(at),
                (), FREE, None, (), (), (),
                (Setup("locked", "lock-out", False, False),) if random.random() < 0.2 else (),
                ("live",) if random.random() < 0.2 else (),
                outcomes=tuple(outcomes),
            )
        )  # fmt: skip
    for at, name in enumerate(name for name in ends if name in led):
        made.append(
            Node(
                name, "fault", f"F{at + 1}", some(), "", None, (), FREE, None, *((),) * 5,
                remedy=some(),
            )
        )  # fmt: skip
    return replace(
        sample(),
        title=some(),
        symptoms=tuple(
            Symptom(f"symptom-{at}", f"S{at + 1}", some(), "", random.choice(names), ())
            for at in range(random.randint(1, 3))
        ),
        stages=tuple(Stage(f"stage-{at}", some(), "", ()) for at in range(count)),
        nodes=tuple(made),
    )
