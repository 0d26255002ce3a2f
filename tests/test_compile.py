"""The outline: limits in both unit systems, set-up, hazards and one numbering for all outputs.

What is expected of cases/compile/everything.tree was worked out by hand from the language's
reference.
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import pint
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pdf import needs_poppler
from read_back import articles, sheet_text, squeezed, symbols
from test_lint import sound

from treewright.model.tree import Tree
from treewright.project import Project, pictures
from treewright.render import chart, prose
from treewright.render.compile import compile_tree
from treewright.render.data import to_data
from treewright.render.outline import Node, Outline, Setup
from treewright.render.sheet import sheet
from treewright.render.site import page

HERE = Path(__file__).parent
EVERYTHING = HERE / "cases" / "compile" / "everything.tree"
DEMO = HERE.parent / "trees" / "air-compressor.tree"


@cache
def tree(path: Path) -> Tree:
    loaded = Project().load(path)
    assert loaded.sound and loaded.tree is not None
    return loaded.tree


@cache
def outline(path: Path) -> Outline:
    return compile_tree(tree(path))


def node(name: str) -> Node:
    return outline(EVERYTHING).node(name)


def test_what_a_check_comes_before_is_in_the_data() -> None:
    text = (
        "tree pump: Pump\n\nsymptom dry: Dry\n  start at: look\n\ncheck look: Full?\n"
        "  before: listen\n  if yes: go listen\n  if no: found leak\n\ncheck listen: Noise?\n"
        "  if yes: found leak\n  if no: found leak\n\nfault leak: Leak\n  remedy: Mend it.\n"
    )
    demanded = compile_tree(sound(text))
    nodes = {node["name"]: node for node in to_data(demanded)["nodes"]}
    assert nodes["look"]["before"] == ["listen"] and nodes["listen"]["before"] == []
    without = compile_tree(sound(text.replace("  before: listen\n", "")))
    assert demanded.fingerprint != without.fingerprint


# ---- limits ----------------------------------------------------------------------------------


def test_a_spec_is_shown_as_written_with_its_range_and_in_the_other_units() -> None:
    # 0.03 to 0.09 in is 0.762 to 2.286 mm, inward in steps of 0.01 mm; 3/8 in is 9.525 mm.
    assert [(spec.models, spec.text, spec.also) for spec in node("gap").specs] == [
        ((), "0.060 ± 0.030 in (0.03 to 0.09 in)", "0.77 to 2.28 mm"),
        (("M/1",), "3/8 in", "9.525 mm"),
        (("M-2", "M.3"), "at most 2 mm", "at most 2 mm"),
    ]
    assert [spec.text for spec in node("voltage").specs] == ["230 V ± 10 % (207 to 253 V)"]


def test_a_verdict_says_its_limit_for_each_model() -> None:
    within, above, below = node("gap").outcomes
    assert within.detail_for("M/1") == "3/8 in / 9.525 mm"
    assert below.detail_for("M/1") == "below 3/8 in / below 9.525 mm"
    assert within.detail_for("M.3") == "at most 0.0787 in / at most 2 mm"
    assert above.detail_for("M-2") == "above 0.0788 in / above 2 mm"
    # The ends are those of the good answer, 0.77 to 2.28 mm: no value falls between the two.
    assert below.detail_for("another") == "below 0.03 in / below 0.77 mm"
    # At most 2 mm: nothing is below that, and the other models' limit is not this one's.
    assert below.detail_for("M-2") == ""
    assert below.detail == (
        "others: below 0.03 in / below 0.77 mm; M/1: below 3/8 in / below 9.525 mm"
    )


def test_answers_at_places_carry_their_unit_and_the_other_one() -> None:
    # 8.0 psi is 0.55158 bar, 8.6 psi is 0.59295 bar; the first is the good answer.
    assert [(outcome.label, outcome.detail) for outcome in node("both-sides").outcomes] == [
        ("all 8.0 to 8.6 psi", "0.552 to 0.592 bar"),
        ("only left below 8.0 psi", "left below 0.552 bar, the others at least 0.552 bar"),
        ("all above 8.6 psi", "above 0.592 bar"),
        ("none at least 8.0 psi", "all below 0.552 bar"),
        ("otherwise", ""),
    ]


def test_tests_are_exact_and_in_the_readings_unit() -> None:
    ranges = dict(node("gap").outcomes[0].test.ranges)
    assert set(ranges) == {"*", "M/1", "M-2", "M.3"}
    assert [(r.low, r.high) for r in ranges["*"]] == [("3/100", "9/100")]
    assert [(r.low, r.high) for r in ranges["M-2"]] == [(None, str(Fraction(20, 254)))]
    factors = {unit.symbol: unit.factor for unit in node("gap").units}
    assert (factors["in"], factors["mm"]) == ("1", str(Fraction(10, 254)))


UNITS = pint.UnitRegistry(non_int_type=Fraction)
PINT = {
    "bar": "bar", "psi": "psi", "kPa": "kilopascal", "mm": "millimeter", "in": "inch", "m": "meter",
    "ft": "foot", "°C": "degC", "°F": "degF", "N·m": "newton*meter",
    "lbf·ft": "force_pound*foot", "kg": "kilogram", "lb": "pound", "L": "liter", "gal": "gallon",
    "L/min": "liter/minute", "gal/min": "gallon/minute", "km/h": "kilometer/hour",
    "mph": "mile/hour", "lbf": "force_pound", "N": "newton",
}  # fmt: skip
_NUMBER = r"-?[0-9]+(?:\.[0-9]+)?"
Range = tuple[Fraction | None, bool, Fraction | None, bool]


def read_limits(text: str) -> tuple[list[Range], str]:
    """Ranges and unit of a limit as it is shown, read without the program."""
    body, _, unit = text.rpartition(" ")
    found: list[Range] = []
    for part in body.split(" or "):
        low: tuple[Fraction | None, bool] = (None, False)
        high: tuple[Fraction | None, bool] = (None, False)
        if both := re.fullmatch(rf"({_NUMBER}) to ({_NUMBER})", part):
            low, high = (Fraction(both[1]), True), (Fraction(both[2]), True)
        else:
            for word, number in re.findall(rf"(at least|above|at most|below) ({_NUMBER})", part):
                if word in ("at least", "above"):
                    low = (Fraction(number), word == "at least")
                else:
                    high = (Fraction(number), word == "at most")
            if low[0] is None and high[0] is None:
                low = high = (Fraction(part), True)
        found.append((*low, *high))
    return found, unit


def accepts(ranges: list[Range], value: Fraction) -> bool:
    return any(
        (low is None or value > low or (low_in and value == low))
        and (high is None or value < high or (high_in and value == high))
        for low, low_in, high, high_in in ranges
    )


def tried(ranges: list[Range]) -> set[Fraction]:
    """The ends, just beside them, and the middle."""
    ends = {end for low, _, high, _ in ranges for end in (low, high) if end is not None}
    near = {end + sign * Fraction(1, 10**9) for end in ends for sign in (-1, 1)}
    return ends | near | {sum(ends, Fraction()) / len(ends)}


def moved(value: Fraction, source: str, target: str) -> Fraction:
    made = UNITS.Quantity(value, PINT[source]).to(PINT[target]).magnitude
    assert isinstance(made, Fraction | int)
    return Fraction(made)


def thousandths(lowest: int) -> st.SearchStrategy[Fraction]:
    return st.integers(lowest, 10**7).map(lambda number: Fraction(number, 1000))


@st.composite
def written_limits(draw: st.DrawFn) -> tuple[str, str]:
    """A unit and a limit in the language, its numbers without a unit."""
    unit = draw(st.sampled_from(["bar", "psi", "mm", "in", "°C", "°F", "kg", "gal/min", "km/h"]))
    numbers = thousandths(-(10**6) if unit.startswith("°") else 0)
    pair = draw(st.lists(numbers, min_size=2, max_size=2, unique=True))
    low, high = (f"{float(number):.3f}" for number in sorted(pair))
    form = draw(st.sampled_from(["{} to {}", "at least {}", "below {}", "below {} or above {}"]))
    return unit, form.format(low, high)


def compiled(reading: str) -> Outline:
    return compile_tree(
        sound(
            "tree t: T\n  machine: M\n  units: metric, also us\nsymptom s: S\n  start at: r\n"
            f"reading r: R\n{reading}  otherwise: stop h\nhandoff h: H\n  to: x\ndone d: D\n"
        )
    )


@settings(max_examples=100, deadline=None)
@given(written_limits(), st.sampled_from(["all", "none"]))
def test_what_the_good_answer_shows_passes_as_written(written: tuple[str, str], good: str) -> None:
    unit, limit = written
    made = compiled(
        f"  unit: {unit}\n  at: a, b\n  normal: {good} {limit}\n"
        f"  if all {limit}: go d\n  if none {limit}: stop h\n"
    )
    author, _ = read_limits(f"{limit} {unit}")
    every, none = (
        read_limits(outcome.detail.removeprefix("all ")) for outcome in made.node("r").outcomes[:2]
    )
    assert every[1] == none[1]
    shown = every[0] if good == "all" else none[0]
    for value in tried(every[0]) | tried(none[0]):
        # What one answer takes the other does not: nothing falls between them.
        assert accepts(every[0], value) != accepts(none[0], value)
        if accepts(shown, value):
            assert accepts(author, moved(value, every[1], unit)) == (good == "all")


@settings(max_examples=100, deadline=None)
@given(written_limits())
def test_a_verdict_shows_the_authors_limit_exactly_and_the_other_inward(
    written: tuple[str, str],
) -> None:
    unit, limit = written
    made = compiled(f"  unit: {unit}\n  spec: {limit}\n  if within: go d\n")
    within = made.node("r").outcomes[0]
    author, _ = read_limits(f"{limit} {unit}")
    own, _, also = within.detail.partition(" / ")
    shown, own_unit = read_limits(own)
    assert own_unit == unit
    for value in tried(author) | tried(shown):
        assert accepts(shown, value) == accepts(author, value)
    (spec,) = made.node("r").specs
    assert spec.also == also != ""
    assert read_limits(spec.text)[0] == author
    inward, other = read_limits(also)
    for value in tried(inward):
        if accepts(inward, value):
            assert accepts(author, moved(value, other, unit)), also


@settings(max_examples=60, deadline=None)
@given(written_limits())
def test_no_value_falls_between_the_verdicts_as_shown(written: tuple[str, str]) -> None:
    unit, limit = written
    assume(" or " not in limit)
    made = compile_tree(
        sound(
            "tree t: T\n  machine: M\n  units: metric, also us\nsymptom s: S\n  start at: r\n"
            f"reading r: R\n  unit: {unit}\n  spec: {limit}\n  if within: go d\n"
            "  if below: stop h\n  if above: stop h\nhandoff h: H\n  to: x\ndone d: D\n"
        )
    )
    shown = [
        read_limits(outcome.detail.partition(" / ")[2])[0]
        for outcome in made.node("r").outcomes
        if outcome.detail
    ]
    for value in set().union(*map(tried, shown)):
        assert sum(accepts(ranges, value) for ranges in shown) == 1


# ---- hazards ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "hazards"),
    [
        # Named by the library for its own reading, in whose place this one stands.
        ("voltage", ("shop.shock", "noise")),
        ("look", ("noise",)),  # the motor may still run
        ("gap", ("belt", "shop.restart")),  # named for it; while locked
        ("only-on-one", ("shop.restart",)),  # still locked
        ("both-sides", ("noise", "gauge-breaks")),
        ("ease", ("noise",)),  # done on the way of another, while the motor runs
        ("no-supply", ("shop.restart",)),  # its remedy needs the lock
    ],
)
def test_hazards_of_a_node_the_gravest_first(name: str, hazards: tuple[str, ...]) -> None:
    assert node(name).hazards == hazards


def test_hazards_of_a_procedure_are_its_own_and_those_of_what_it_sets_up_or_ends() -> None:
    assert {p.name: p.hazards for p in outline(EVERYTHING).procedures} == {
        "start": ("belt", "noise"),
        "halt": ("noise",),
        "shop.lock": ("shop.shock", "shop.restart"),
        "shop.unlock": ("shop.restart",),
    }


def test_hazards_stand_in_the_order_of_their_gravity() -> None:
    found = [hazard.signal for hazard in outline(EVERYTHING).hazards]
    assert found == sorted(found, key=["danger", "warning", "caution", "notice"].index)


# ---- set-up ----------------------------------------------------------------------------------

START = Setup("running", "start", undo=False, always=True)
HALT = Setup("running", "halt", undo=True, always=True)
LOCK = Setup("shop.locked", "shop.lock", undo=False, always=True)
UNLOCK = Setup("shop.locked", "shop.unlock", undo=True, always=True)


def unless_done(setup: Setup) -> Setup:
    return replace(setup, always=False)


def test_set_up_is_put_in_front_of_what_needs_it() -> None:
    assert node("voltage").setup == (START,)
    assert node("look").setup == ()
    # From symptom `loud` the motor was never started, from `slow` it runs; back from the
    # bleeding it is locked already.
    assert node("gap").setup == (unless_done(HALT), unless_done(LOCK))
    assert node("only-on-one").setup == ()
    assert node("both-sides").setup == (
        unless_done(UNLOCK),
        unless_done(START),
        Setup("warm", None, undo=False, always=False),
    )


def test_what_the_remedy_alone_needed_is_undone_before_the_retest() -> None:
    assert node("no-supply").setup == (HALT, LOCK)
    assert node("no-supply").takedown == (UNLOCK,)
    assert node("bent-blade").takedown == ()  # its retests need the lock as well


def test_what_is_left_set_is_undone_at_the_end() -> None:
    assert node("fine").undo == (HALT,)
    assert node("bent-blade").undo == (UNLOCK,)
    assert node("weak-side").undo == (HALT,)
    assert node("water-in-oil").undo == ()  # its retest needs nothing


# ---- one numbering ---------------------------------------------------------------------------

both_trees = pytest.mark.parametrize("path", [EVERYTHING, DEMO], ids=lambda path: path.stem)


def test_numbers_count_each_kind_in_the_order_of_the_file_a_library_s_last() -> None:
    made = outline(EVERYTHING)
    assert [f"{n.number} {n.name}" for n in made.nodes] == [
        "1 voltage", "2 look", "3 gap", "4 only-on-one", "5 both-sides", "6 both-sides-again",
        "7 let-settle", "8 ease", "F1 no-supply", "F2 water-in-oil", "F3 bent-blade",
        "F4 weak-side", "D1 fine", "H1 shop.shop-maker",
    ]  # fmt: skip
    assert [f"{p.number} {p.name}" for p in made.procedures] == [
        "P1 start", "P2 halt", "P3 shop.lock", "P4 shop.unlock",
    ]  # fmt: skip
    assert [s.number for s in made.symptoms] == ["S1", "S2"]


def numbered(made: Outline) -> list[tuple[str, str]]:
    """The number with the title of every node, as they stand one behind the other."""
    return [(n.name, squeezed(f"{n.number} {prose.plain(n.title)}")) for n in made.nodes]


@both_trees
def test_the_chart_has_the_numbers_of_the_outline(path: Path) -> None:
    drawn = symbols(chart.svg(outline(path)))
    for name, title in numbered(outline(path)):
        assert squeezed("".join(drawn[f"node-{name}"])).startswith(title)
    for symptom in outline(path).symptoms:
        assert drawn[f"chart-symptom-{symptom.name}"][0] == symptom.number


@both_trees
@needs_poppler
def test_the_sheet_has_the_numbers_of_the_outline(path: Path) -> None:
    text = squeezed(sheet_text(sheet(outline(path), "a4")))
    for _, title in numbered(outline(path)):
        assert title in text
    for block in (*outline(path).symptoms, *outline(path).procedures):
        assert squeezed(f"{block.number} {prose.plain(block.title)}") in text


@both_trees
def test_the_page_has_the_numbers_of_the_outline(path: Path) -> None:
    made = outline(path)
    shown = articles(page(made, chart.svg(made), pictures(tree(path))))
    titles = dict(numbered(made))
    for n in made.nodes:
        text = shown[f"step-{n.name}"]
        assert text.startswith(f"{n.number} ")
        assert prose.plain(n.title) in text
        for outcome in n.outcomes:
            assert squeezed(titles[str(outcome.exit.target)]) in squeezed(text)


# ---- the mark --------------------------------------------------------------------------------


def test_the_mark_names_the_edition_and_changes_with_the_content() -> None:
    plain = "tree t: T\n  machine: M\n{}symptom s: S\n  start at: d\ndone d: {}\n"
    one = compile_tree(sound(plain.format("  edition: 7, 2026-10-01\n", "Fine")))
    two = compile_tree(sound(plain.format("  edition: 7, 2026-10-01\n", "Well")))
    bare = compile_tree(sound(plain.format("", "Fine")))
    assert one.mark == f"t · edition 7 · 2026-10-01 · {one.fingerprint}"
    assert bare.mark == f"t · {bare.fingerprint}"
    assert len({one.fingerprint, two.fingerprint, bare.fingerprint}) == 3
    again = compile_tree(sound(plain.format("  edition: 7, 2026-10-01\n", "Fine")))
    assert again == one
