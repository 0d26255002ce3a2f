"""Outlines made by hand, for the tests of everything that draws, prints or walks a tree.

`sample()` is a small invented machine that uses every part of an outline. `hostile()` is the
same tree with hostile text in every field that an author writes. Both are plain data: they do
not depend on the parser, the model or the compiler.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from treewright.render.outline import (
    Case,
    CaseEntry,
    Condition,
    Cost,
    Exit,
    Hazard,
    Node,
    Outcome,
    Outline,
    Picture,
    Procedure,
    Range,
    Setup,
    Shown,
    Spec,
    Stage,
    Symptom,
    Test,
    Unit,
    WayKind,
)

FREE = Cost(None, "", None, (), (), "", "")
# Exact: 1 lb = 0.45359237 kg, 1 in = 25.4 mm, standard gravity 9.80665 m/s2 (NIST SP 811).
BAR_PER_PSI = (
    Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2 / Fraction(100_000)
)
BAR = (Unit("bar", "1", "0"), Unit("psi", str(BAR_PER_PSI), "0"))
CELSIUS = (Unit("°C", "1", "0"), Unit("°F", "5/9", "-160/9"))

# A picture of 1 x 1 pixel, as a tree's folder would hold it.
PICTURES = {
    "screen.png": bytes.fromhex(
        "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154"
        "789c63606060000000040001f61738550000000049454e44ae426082"
    )
}


def cost(
    minutes: str | None = None,
    text: str = "",
    *,
    people: int | None = None,
    tools: tuple[str, ...] = (),
    parts: tuple[str, ...] = (),
    licence: str = "",
    access: str = "",
) -> Cost:
    return Cost(minutes, text, people, tools, parts, licence, access)


def to(target: str, *does: str, kind: WayKind = "go") -> Exit:
    return Exit(kind, does, target)


def word(label: str, way: Exit, *, normal: bool = False) -> Outcome:
    return Outcome(label, "", Test("answer", "one", None, None, ()), way, normal)


def interval(
    low: str | None, high: str | None, *, open_low: bool = False, open_high: bool = False
) -> Range:
    return Range(low, low is not None and not open_low, high, high is not None and not open_high)


def sample() -> Outline:
    """A parts washer with two nozzles, invented: 10 steps, 7 faults, 2 hand-offs, 1 done."""
    return Outline(
        name="weak-jet",
        title="Parts washer jets are weak, or the pump does not start",
        machine="Dunlin twin-nozzle parts washer",
        models=("D2", "D3"),
        edition=4,
        date="2026-09-15",
        fingerprint="5e11ab1e",
        mark="weak-jet · edition 4 · 2026-09-15 · 5e11ab1e",
        language="en",
        units="metric",
        also="us",
        after_remedy="finish",
        access=("outside", "covers", "strip-down"),
        about="For the **Dunlin** washer with water-based cleaner. Invented, for practice only.",
        symptoms=(
            Symptom("weak", "S1", "Jets are weak", "At one nozzle or at both.", "float", ()),
            Symptom("dead", "S2", "Pump does not start", "", "supply", ()),
        ),
        stages=(
            Stage("standing", "With the washer standing", "Nothing runs yet.", ()),
            Stage("running", "With the pump running", "", ()),
        ),
        nodes=_nodes(),
        conditions=(
            Condition(
                "locked-out",
                "Supply switched off, locked and tagged",
                "",
                "lock-out",
                "restore-power",
                ("warm",),
            ),
            Condition("cover-off", "Side cover off", "", None, "fit-cover", ("warm",)),
            Condition("warm", "Pump has run for five minutes", "", "warm-up", None, ()),
            Condition("gauge-fitted", "Test gauge fitted", "", "fit-gauge", "take-gauge-off", ()),
        ),
        procedures=(
            Procedure(
                "lock-out",
                "P1",
                "Lock out the supply",
                "Follow the lock-out rules of the site.",
                ("Switch off at the isolator.", "Fit your own lock and tag.", "Try to start."),
                cost("4", "4 min", tools=("lock and tag",), access="outside"),
                None,
                ("live",),
                (),
            ),
            Procedure(
                "restore-power",
                "P2",
                "Restore the supply",
                "",
                ("Look that nobody is at the washer.", "Take off your lock.", "Switch on."),
                cost("2", "2 min"),
                None,
                ("live",),
                (),
            ),
            Procedure(
                "warm-up",
                "P3",
                "Warm up the pump",
                "",
                ("Start the pump.", "Let it run for five minutes."),
                cost("5", "5 min"),
                None,
                (),
                (),
            ),
            Procedure(
                "fit-gauge",
                "P4",
                "Fit the test gauge",
                "",
                ("Stop the jets.", "Screw the gauge on at the *test port*."),
                cost("3", "3 min", tools=("pressure gauge 0 to 6 bar",)),
                None,
                ("hot-jet",),
                (),
            ),
            Procedure(
                "take-gauge-off",
                "P5",
                "Take the test gauge off",
                "",
                ("Stop the jets.", "Take the gauge off.", "Cap the test port."),
                cost("2", "2 min"),
                None,
                ("hot-jet",),
                (),
            ),
            Procedure(
                "fit-cover",
                "P6",
                "Fit the side cover",
                "",
                ("Hang the cover in.", "Turn both catches."),
                cost("1", "1 min"),
                None,
                (),
                (),
            ),
        ),
        hazards=(
            Hazard(
                "live",
                "danger",
                "Live terminals behind the panel",
                "A shock can kill.",
                "Only a qualified person opens the panel. Follow local codes.",
                ("supply", "contactor", "lock-out", "restore-power"),
                (),
                (),
            ),
            Hazard(
                "hot-jet",
                "warning",
                "Hot cleaner under pressure",
                "Burns skin and eyes.",
                "Wear face shield and gloves; keep the lid shut while it runs.",
                ("fit-gauge", "take-gauge-off"),
                ("warm",),
                (),
            ),
            Hazard(
                "sharp-screen",
                "caution",
                "The edge of the screen is sharp",
                "It cuts fingers.",
                "Wear cut-proof gloves.",
                ("screen", "clogged-screen"),
                (),
                (),
            ),
            Hazard(
                "cleaner",
                "notice",
                "Cleaner must not reach the drain",
                "It harms the sewage works.",
                "Catch it in a tray.",
                ("top-up",),
                (),
                (),
            ),
        ),
        cases=(
            Case(
                "clogged-on-monday",
                "Weak jets after a weekend",
                "weak",
                "D2",
                (CaseEntry("float", "yes"), CaseEntry("screen", "clogged")),
                "clogged-screen",
            ),
        ),
    )


def _node(name: str, kind: str, number: str, title: str, **fields: object) -> Node:
    values: dict[str, object] = {
        "how": "",
        "stage": None,
        "models": (),
        "cost": FREE,
        "picture": None,
        "needs": (),
        "sets": (),
        "clears": (),
        "setup": (),
        "hazards": (),
    }
    return Node(name, kind, number, title, **{**values, **fields})  # type: ignore[arg-type]


def _nodes() -> tuple[Node, ...]:
    return (*_standing(), *_running(), *_done_on_request(), *_faults(), *_ends())


def _standing() -> tuple[Node, ...]:
    return (
        _node(
            "float",
            "check",
            "1",
            "Does the level float stand above the mark?",
            how="Floor level, pump off for two minutes.\n\n- Look from the **front**.\n"
            "- Tap the glass once.",
            stage="standing",
            cost=cost("1", "1 min", access="outside"),
            outcomes=(
                word("yes", to("open-cover", kind="next"), normal=True),
                word("low", to("float", "top-up", kind="back")),
                word("milky", to("wrong-pump", kind="stop")),
            ),
            before=("screen",),
        ),
        _node(
            "open-cover",
            "step",
            "2",
            "Take off the side cover",
            how="Turn both catches.",
            stage="standing",
            cost=cost("2", "2 min", access="covers"),
            needs=("locked-out",),
            sets=("cover-off",),
            setup=(Setup("locked-out", "lock-out", False, True),),
            exit=to("screen", kind="next"),
        ),
        _node(
            "screen",
            "check",
            "3",
            "Is the suction screen clear?",
            stage="standing",
            cost=cost("3", "3 min", tools=("torch",), access="covers"),
            picture=Picture("screen.png", "Suction screen, seen from the left"),
            needs=("locked-out", "cover-off"),
            hazards=("sharp-screen",),
            outcomes=(
                word("clear", to("bath", "close-cover"), normal=True),
                word("clogged", to("clogged-screen", kind="found")),
            ),
        ),
    )


def _running() -> tuple[Node, ...]:
    warm = (
        Setup("locked-out", "restore-power", True, False),
        Setup("warm", "warm-up", False, False),
    )
    return (
        _node(
            "supply",
            "reading",
            "4",
            "Voltage at each phase of the contactor",
            stage="running",
            cost=cost("5", "5 min", tools=("voltmeter",), licence="electrician", access="covers"),
            hazards=("live",),
            places=("L1", "L2"),
            units=(Unit("V", "1", "0"),),
            outcomes=(
                Outcome(
                    "none below 207 V",
                    "",
                    Test(
                        "limit",
                        "none",
                        None,
                        None,
                        (("*", (interval(None, "207", open_high=True),)),),
                    ),
                    to("contactor", kind="next"),
                    True,
                ),
                Outcome(
                    "any below 207 V",
                    "",
                    Test(
                        "limit",
                        "any",
                        None,
                        None,
                        (("*", (interval(None, "207", open_high=True),)),),
                    ),
                    to("no-supply", kind="stop"),
                    False,
                ),
            ),
        ),
        _node(
            "contactor",
            "check",
            "5",
            "Does the contactor pull in when you press start?",
            stage="running",
            cost=cost("1", "1 min", licence="electrician", access="covers"),
            hazards=("live",),
            outcomes=(
                word("yes", to("bath", kind="next"), normal=True),
                word("no", to("dead-contactor", kind="found")),
            ),
        ),
        _node(
            "bath",
            "reading",
            "6",
            "Temperature of the bath",
            stage="running",
            cost=cost("1", "1 min", tools=("thermometer",), access="outside"),
            units=CELSIUS,
            specs=(Spec((), "60 °C ± 5 °C (55 to 65 °C)", "131 to 149 °F"),),
            outcomes=_against_spec(
                (("*", "55", "65"),),
                ("55 to 65 °C (131 to 149 °F)", "above 65 °C", "below 55 °C"),
                (to("prime", kind="next"), to("no-supply", kind="stop"), to("cold", kind="found")),
            ),
        ),
        _node(
            "prime",
            "reading",
            "7",
            "Time from start to full jet",
            how="Start the stopwatch when you press start.",
            stage="running",
            cost=cost("3/2", "1 min 30 s", tools=("stopwatch",), access="outside"),
            needs=("warm",),
            setup=warm,
            hazards=("hot-jet",),
            units=(Unit("s", "1", "0"), Unit("min", "60", "0")),
            specs=(
                Spec(("D2",), "12 s ± 3 s (9 to 15 s)", ""),
                Spec(("D3",), "20 s ± 4 s (16 to 24 s)", ""),
            ),
            outcomes=_against_spec(
                (("D2", "9", "15"), ("D3", "16", "24")),
                (
                    "D2: 9 to 15 s; D3: 16 to 24 s",
                    "D2: above 15 s; D3: above 24 s",
                    "D2: below 9 s; D3: below 16 s",
                ),
                (
                    to("jets", kind="next"),
                    to("worn-pump", kind="found"),
                    to("wrong-pump", kind="stop"),
                ),
            ),
        ),
        _node(
            "jets",
            "reading",
            "8",
            "Pressure at each nozzle",
            stage="running",
            cost=cost("4", "4 min", tools=("pressure gauge 0 to 6 bar",), access="outside"),
            needs=("warm", "gauge-fitted"),
            setup=(*warm, Setup("gauge-fitted", "fit-gauge", False, False)),
            hazards=("hot-jet",),
            places=("left", "right"),
            units=BAR,
            outcomes=_at_nozzles(),
        ),
    )


def _against_spec(
    limits: tuple[tuple[str, str, str], ...],
    details: tuple[str, str, str],
    ways: tuple[Exit, Exit, Exit],
) -> tuple[Outcome, ...]:
    within = tuple((model, (interval(low, high),)) for model, low, high in limits)
    above = tuple((model, (interval(high, None, open_low=True),)) for model, _, high in limits)
    below = tuple((model, (interval(None, low, open_high=True),)) for model, low, _ in limits)
    return (
        Outcome("within", details[0], Test("limit", "one", None, "within", within), ways[0], True),
        Outcome("above", details[1], Test("limit", "one", None, "above", above), ways[1], False),
        Outcome("below", details[2], Test("limit", "one", None, "below", below), ways[2], False),
    )


def _at_nozzles() -> tuple[Outcome, ...]:
    inside = (("*", (interval("3", "18/5"),)),)
    outside = (("*", (interval(None, "3", open_high=True), interval("18/5", None, open_low=True))),)
    out = "below 3.0 bar or above 3.6 bar"
    out_also = "below 43.6 psi or above 52.2 psi"
    return (
        Outcome(
            "all 3.0 to 3.6 bar",
            "43.6 to 52.2 psi",
            Test("limit", "all", None, None, inside),
            to("all-well"),
            True,
        ),
        Outcome(
            f"only left {out}",
            out_also,
            Test("limit", "only", "left", None, outside),
            to("left-nozzle", kind="found"),
            False,
        ),
        Outcome(
            f"only right {out}",
            out_also,
            Test("limit", "only", "right", None, outside),
            to("right-nozzle", kind="found"),
            False,
        ),
        Outcome(
            "otherwise",
            "",
            Test("otherwise", "one", None, None, ()),
            to("both-seals", kind="found"),
            False,
        ),
    )


def _done_on_request() -> tuple[Node, ...]:
    return (
        _node(
            "top-up",
            "step",
            "9",
            "Top up with clean cleaner to the mark",
            stage="running",
            cost=cost("3", "3 min", parts=("cleaner, 2 L",)),
            hazards=("cleaner",),
            doubts=(),
        ),
        _node(
            "close-cover",
            "step",
            "10",
            "Fit the side cover again",
            stage="running",
            cost=cost("1", "1 min"),
            clears=("cover-off",),
        ),
    )


def _faults() -> tuple[Node, ...]:
    return (
        _node(
            "clogged-screen",
            "fault",
            "F1",
            "Suction screen clogged",
            cost=cost("15", "15 min", parts=("screen gasket",), access="covers"),
            needs=("locked-out",),
            hazards=("sharp-screen",),
            share="30",
            shows=(Shown("screen", 1, False), Shown("jets", 3, True)),
            remedy="Rinse the screen from the clean side. Fit a **new gasket**.",
            retest="jets",
        ),
        _node(
            "dead-contactor",
            "fault",
            "F2",
            "Contactor coil open",
            cost=cost("45", "45 min", parts=("contactor",), licence="electrician"),
            needs=("locked-out",),
            setup=(Setup("locked-out", "lock-out", False, True),),
            share="6",
            shows=(Shown("contactor", 1, False),),
            remedy="Change the contactor.",
        ),
        _node(
            "cold",
            "fault",
            "F3",
            "Heater has failed",
            cost=cost("90", "1 h 30 min", parts=("heater",), licence="electrician"),
            needs=("locked-out",),
            setup=(Setup("locked-out", "lock-out", False, False),),
            share="9",
            shows=(Shown("bath", 2, False),),
            remedy="Change the heater.",
            retest="bath",
            undo=(Setup("locked-out", "restore-power", True, True),),
        ),
        _node(
            "worn-pump",
            "fault",
            "F4",
            "Pump worn",
            cost=cost("240", "4 h", people=2, parts=("pump",), access="strip-down"),
            needs=("locked-out",),
            setup=(Setup("locked-out", "lock-out", False, True),),
            share="12",
            shows=(Shown("prime", 1, False),),
            remedy="Change the pump.\n\n1. Drain.\n2. Change.\n3. Prime.",
            doubts=("prime", "jets"),
        ),
        _node(
            "left-nozzle",
            "fault",
            "F5",
            "Left nozzle worn or blocked",
            cost=cost("20", "20 min", parts=("nozzle",)),
            share="14",
            shows=(Shown("jets", 1, False),),
            remedy="Change the left nozzle.",
        ),
        _node(
            "right-nozzle",
            "fault",
            "F6",
            "Right nozzle worn or blocked",
            cost=cost("20", "20 min", parts=("nozzle",)),
            share="14",
            shows=(Shown("jets", 2, False),),
            remedy="Change the right nozzle.",
        ),
        _node(
            "both-seals",
            "fault",
            "F7",
            "Seals of the manifold leak",
            cost=cost("30", "30 min", parts=("seal set",), access="covers"),
            share="15",
            shows=(Shown("jets", 3, False),),
            remedy="Change both seals.",
        ),
    )


def _ends() -> tuple[Node, ...]:
    return (
        _node(
            "no-supply",
            "handoff",
            "H1",
            "Supply is not as it should be",
            how="Leave the panel shut.",
            to="a licensed electrician",
        ),
        _node(
            "wrong-pump",
            "handoff",
            "H2",
            "Not a fault that this tree can find",
            to="the maker's service desk",
            undo=(Setup("locked-out", "restore-power", True, False),),
        ),
        _node(
            "all-well",
            "done",
            "D1",
            "Both jets are as they should be",
            how="Tell the operator.",
            undo=(Setup("gauge-fitted", "take-gauge-off", True, True),),
        ),
    )


HOSTILE = (
    "</script><script>alert(1)</script><b>bold</b> <img src=x onerror=alert(2)> \"quoted\" 'q' "
    "{braces} {{ 7*7 }} {% if %} #{sys} #let $(touch x) $x^2$ `code` \\n \\\\ %s & &amp; &lt; "
    "[link](javascript:alert(3)) [far](https://example.invalid/a) ![pic](data:image/png;base64,x) "
    "]]> <!-- --> -- // /* */ @label <ref> _under_ ~tilde~ "
    + "Donaudampfschiff"
    * 12
    + " \u202eright-to-left\u202c \u0633\u0644\u0627\u0645 \u05e9\u05dc\u05d5\u05dd "
    "\U0001f527\u26a0\ufe0f \u2028 \u2029 \u4e2d\u6587"
)
"""Text that breaks out of whatever is built by pasting strings together."""


def hostile(text: str = HOSTILE) -> Outline:
    """The sample with `text` behind every text that an author writes; names stay names."""

    def spoilt(written: str) -> str:
        return f"{written} {text}" if written else written

    def all_spoilt(written: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(spoilt(one) for one in written)

    def spoilt_cost(written: Cost) -> Cost:
        return replace(
            written,
            tools=all_spoilt(written.tools),
            parts=all_spoilt(written.parts),
            licence=spoilt(written.licence),
        )

    def spoilt_picture(picture: Picture | None) -> Picture | None:
        return picture and replace(picture, caption=spoilt(picture.caption))

    def spoilt_outcome(outcome: Outcome) -> Outcome:
        in_words = outcome.test.kind == "answer"
        return replace(outcome, label=spoilt(outcome.label)) if in_words else outcome

    def spoilt_node(node: Node) -> Node:
        return replace(
            node,
            title=spoilt(node.title),
            how=spoilt(node.how),
            cost=spoilt_cost(node.cost),
            picture=spoilt_picture(node.picture),
            outcomes=tuple(spoilt_outcome(outcome) for outcome in node.outcomes),
            remedy=spoilt(node.remedy),
            to=spoilt(node.to),
        )

    plain = sample()
    return replace(
        plain,
        title=spoilt(plain.title),
        machine=spoilt(plain.machine),
        about=spoilt(plain.about),
        symptoms=tuple(
            replace(one, title=spoilt(one.title), about=spoilt(one.about)) for one in plain.symptoms
        ),
        stages=tuple(
            replace(one, title=spoilt(one.title), about=spoilt(one.about)) for one in plain.stages
        ),
        nodes=tuple(spoilt_node(node) for node in plain.nodes),
        conditions=tuple(replace(one, title=spoilt(one.title)) for one in plain.conditions),
        procedures=tuple(
            replace(
                one,
                title=spoilt(one.title),
                how=spoilt(one.how),
                items=all_spoilt(one.items),
                cost=spoilt_cost(one.cost),
            )
            for one in plain.procedures
        ),
        hazards=tuple(
            replace(
                one,
                title=spoilt(one.title),
                harm=spoilt(one.harm),
                avoid=spoilt(one.avoid),
            )
            for one in plain.hazards
        ),
        cases=tuple(replace(one, title=spoilt(one.title)) for one in plain.cases),
    )
