"""What a tree means: names, `next`, libraries, numbers, units, normal answers, cases.

Small trees with what they must mean written beside them; what is wrong with a tree is in
cases/model (see test_syntax.py).
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from test_lint import load

from treewright.model.nodes import Against, Check, Fault, Reading, Step
from treewright.model.tree import Tree
from treewright.project import Project, lint_loaded

FOLDER = Path(__file__).parent / "cases" / "model"

ENDS = """
fault leak: Leaks
  remedy: Mend it.

handoff help: It is not the pump
  to: the workshop

done good: All is well
"""


def tree_of(text: str, head: str = "tree pump: Pump\n  models: B60, B80\n", use: str = "") -> Tree:
    loaded = load(head + use + text + ENDS, folder=FOLDER)
    assert loaded.findings == ()
    assert loaded.tree is not None
    return loaded.tree


def check(name: str, *ways: str, more: str = "") -> str:
    answers = "".join(f"  if {n}: {way}\n" for n, way in enumerate(ways))
    return f"\ncheck {name}: {name}?\n{more}{answers}"


def targets(tree: Tree, name: str, model: str | None = None) -> list[str | None]:
    node = tree.nodes[name]
    ways = [o.way for o in node.outcomes] if isinstance(node, Check | Reading) else []
    ways += [node.way] if isinstance(node, Step) and node.way else []
    return [str(way.target_on(model)) if way.target_on(model) else None for way in ways]


# ---- numbers and order ------------------------------------------------------------------------


def test_one_numbering_in_the_order_of_the_file() -> None:
    tree = tree_of(
        check("b", "go next", "found leak")
        + "\nreading a: A\n  spec: 3 bar\n  if within: go s\n  otherwise: found burst\n"
        + "\nstep s: S\n  then: go parts.seal\n"
        + "\nfault burst: Burst\n  remedy: New one.\n"
        + "\nsymptom dry: Dry\n  start at: b\n\nsymptom wet: Wet\n  start at: a\n",
        use="use lib/parts.tree\n",
    )
    assert [(node.number, name) for name, node in tree.nodes.items()] == [
        ("1", "b"), ("2", "a"), ("3", "s"), ("F1", "burst"), ("F2", "leak"), ("H1", "help"),
        ("D1", "good"), ("4", "parts.seal"), ("D2", "parts.seal-good"), ("H2", "parts.sealer"),
    ]  # fmt: skip
    assert [(s.number, name) for name, s in tree.symptoms.items()] == [("S1", "dry"), ("S2", "wet")]


def test_stages_group_what_follows_and_a_library_is_one_of_its_own() -> None:
    tree = tree_of(
        check("a", "go next") + "\nstage cold: Cold\n" + check("b", "go next")
        + "\nstage hot: Hot\n" + check("c", "go parts.seal", "found leak"),
        use="use lib/parts.tree\n",
    )  # fmt: skip
    assert [(n, tree.nodes[n].stage) for n in ("a", "b", "c", "leak", "parts.seal")] == [
        ("a", None), ("b", "cold"), ("c", "hot"), ("leak", None), ("parts.seal", "parts.parts"),
    ]  # fmt: skip
    assert tree.stages["parts.parts"].title.text == "Parts of pumps"


# ---- next -------------------------------------------------------------------------------------


def test_next_passes_over_steps_done_from_elsewhere_and_over_ends() -> None:
    tree = tree_of(
        check("a", "do aside, then go next")
        + "\nstep aside: Aside\n  how: So.\n"
        + "\nfault other: Other\n  remedy: Mend it.\n"
        + "\nprocedure p: P\n  - Do it.\n"
        + "\nstep on: On\n  then: go next\n"
        + check("last", "go next")
    )
    assert targets(tree, "a") == ["on"]
    assert targets(tree, "on") == ["last"]
    assert targets(tree, "last") == [None]


def test_next_from_an_aside_step_is_from_where_it_stands() -> None:
    tree = tree_of("\nstep aside: Aside\n  how: So.\n" + check("a", "go next") + check("b", "go a"))
    assert targets(tree, "a") == ["b"]


def test_next_is_what_is_there_on_each_model() -> None:
    only = {"b": "  only for: B60\n", "c": "  only for: B80\n"}
    tree = tree_of(
        check("a", "go next") + check("b", "go next", more=only["b"])
        + check("c", "go next", more=only["c"]) + check("d", "found leak")
    )  # fmt: skip
    assert targets(tree, "a") == ["b"]
    assert targets(tree, "a", "B60") == ["b"]
    assert targets(tree, "a", "B80") == ["c"]
    assert targets(tree, "b", "B60") == ["d"]
    assert targets(tree, "c", "B80") == ["d"]
    short = tree_of(check("a", "go next") + check("b", "found leak", more=only["b"]))
    assert targets(short, "a", "B80") == [None]


def test_next_in_a_library_is_the_next_of_the_library(tmp_path: Path) -> None:
    library = "library lib: L\n" + check("one", "go next") + check("two", "go fine")
    (tmp_path / "lib.tree").write_text(library + "\ndone fine: Fine\n")
    text = "tree t: T\nuse lib.tree\n" + check("a", "go lib.one", "go next") + check("b", "go good")
    (tmp_path / "t.tree").write_text(text + ENDS)
    tree = Project().load(tmp_path / "t.tree").tree
    assert tree is not None
    assert targets(tree, "lib.one") == ["lib.two"]
    assert targets(tree, "a") == ["lib.one", "b"]


# ---- libraries --------------------------------------------------------------------------------


def test_only_what_is_named_of_a_library_is_in_the_tree() -> None:
    tree = tree_of(check("a", "found leak"), use="use lib/parts.tree\n")
    assert not [name for name in (*tree.nodes, *tree.conditions, *tree.procedures) if "." in name]
    tree = tree_of(check("a", "found leak", more="  needs: primed\n"), use="use lib/parts.tree\n")
    assert list(tree.conditions) == ["parts.primed"]
    assert list(tree.procedures) == ["parts.prime"]
    assert tree.conditions["parts.primed"].set_up_by is not None
    assert tree.conditions["parts.primed"].set_up_by.name == "parts.prime"
    assert [str(need) for need in tree.nodes["a"].needs] == ["parts.primed"]


def test_a_name_of_the_tree_comes_first_and_a_library_looks_in_itself_alone() -> None:
    own = check("seal", "go parts.seal") + "\ndone seal-good: Mine\n"
    tree = tree_of(check("a", "go seal") + own, use="use lib/parts.tree\n")
    assert targets(tree, "a") == ["seal"]
    assert targets(tree, "seal") == ["parts.seal"]
    assert targets(tree, "parts.seal") == ["parts.seal-good", "parts.sealer"]


def test_as_in_takes_what_is_not_written_here() -> None:
    tree = tree_of(
        "\nreading mine: Mine\n  as in: parts.speed\n"
        "\nreading ways: Ways\n  as in: speed\n  if within: found leak\n  otherwise: stop help\n"
        "\nreading limit: Limit\n  as in: speed\n  unit: rpm\n  spec: 3 rpm\n",
        use="use lib/parts.tree\n",
    )
    assert targets(tree, "mine") == ["parts.seal-good", "parts.sealer"]
    assert targets(tree, "ways") == ["leak", "help"]
    for name, low in (("mine", 1450), ("ways", 1450), ("limit", 3)):
        node = tree.nodes[name]
        assert isinstance(node, Reading)
        assert [spec.limits.intervals[0].low for spec in node.specs] == [low]
        assert node.title.text.lower() == name
    assert "parts.speed" not in tree.nodes


HAZARDS = """\
library lib: L

check seal: Seal?
  how: Look.
  if yes: go fine
  if no: go fine

step other: Other
  then: go fine

condition hot: Hot
  set up by: warm-up

procedure warm-up: Warm up
  - Run it.

procedure cool: Cool it
  - Wait.

condition cool-now: Cool
  set up by: cool

danger at-seal: At the seal
  harm: H
  avoid: A
  at: seal, other

danger at-cool: At cooling
  harm: H
  avoid: A
  at: seal, cool

danger when-hot: When hot
  harm: H
  avoid: A
  while: hot, cool-now

danger never: At nothing that is here
  harm: H
  avoid: A
  at: other

done fine: Fine
"""


def hazards(tmp_path: Path, text: str) -> dict[str, tuple[list[str], list[str]]]:
    (tmp_path / "lib.tree").write_text(HAZARDS)
    (tmp_path / "t.tree").write_text("tree t: T\nuse lib.tree\n" + text + ENDS)
    loaded = Project().load(tmp_path / "t.tree")
    assert loaded.findings == () and loaded.tree is not None
    return {
        name: ([str(at) for at in hazard.at], [str(w) for w in hazard.whilst])
        for name, hazard in loaded.tree.hazards.items()
    }


def test_hazards_come_with_what_they_are_hazards_of(tmp_path: Path) -> None:
    assert hazards(tmp_path, check("a", "found leak")) == {}
    assert hazards(tmp_path, check("a", "go lib.seal", "found leak")) == {
        "lib.at-seal": (["lib.seal"], []), "lib.at-cool": (["lib.seal"], []),
    }  # fmt: skip
    # The condition brings a procedure in that a hazard found before is a hazard of, too.
    both = hazards(tmp_path, check("a", "go lib.seal", "found leak", more="  needs: hot\n"))
    assert both == {
        "lib.at-seal": (["lib.seal"], []),
        "lib.at-cool": (["lib.seal", "lib.cool"], []),
        "lib.when-hot": ([], ["lib.hot", "lib.cool-now"]),
    }


def test_hazards_come_with_a_stand_in(tmp_path: Path) -> None:
    text = check("a", "go mine", "found leak") + "\ncheck mine: Mine?\n  as in: seal\n"
    text += "  if yes: found leak\n  if no: stop help\n"
    assert hazards(tmp_path, text) == {
        "lib.at-seal": (["mine"], []), "lib.at-cool": (["mine"], []),
    }  # fmt: skip


def test_the_ladder_of_a_library_is_there_where_the_tree_has_none(tmp_path: Path) -> None:
    (tmp_path / "lib.tree").write_text("library lib: L\n  access: outside, inside\n")
    for own, ladder in (("", ("outside", "inside")), ("  access: a, b\n", ("a", "b"))):
        text = f"tree t: T\n{own}use lib.tree\n" + check("a", "found leak") + ENDS
        (tmp_path / "t.tree").write_text(text)
        tree = Project().load(tmp_path / "t.tree").tree
        assert tree is not None and tree.access == ladder


# ---- what must come first ---------------------------------------------------------------------


def before(tree: Tree) -> dict[str, list[str]]:
    return {
        name: [str(other) for other in node.before]
        for name, node in tree.nodes.items()
        if isinstance(node, Check | Reading) and node.before
    }


def test_what_comes_before_what() -> None:
    tree = tree_of(
        check("a", "go next", "found leak", more="  before: c, speed, c\n")
        + check("c", "go next", "found leak")
        + "\nreading speed: Speed\n  before: d\n  if below 3 rpm: go d\n  otherwise: go good\n"
        + check("d", "stop help", "found leak")
    )
    assert before(tree) == {"a": ["c", "speed"], "speed": ["d"]}


def test_a_librarys_before_holds_for_what_the_tree_has_of_it() -> None:
    def own(name: str, like: str, more: str = "") -> str:
        return f"\ncheck {name}: {name}?\n  as in: turns.{like}\n{more}  if 0: found leak\n"

    use = "use lib/turns.tree\n"
    assert before(tree_of(own("rest", "pressure"), use=use)) == {}
    two = own("rest", "pressure") + own("cover", "head")
    assert before(tree_of(two, use=use)) == {"rest": ["cover"]}
    own_words = own("rest", "pressure", "  before: lid\n") + own("cover", "head")
    assert before(tree_of(own_words + check("lid", "found leak"), use=use)) == {"rest": ["lid"]}
    whole = tree_of(check("a", "go pressure", "found leak") + own("cover", "head"), use=use)
    assert before(whole) == {"turns.pressure": ["turns.head", "cover"]}


# ---- limits and answers -----------------------------------------------------------------------


def reading(*lines: str) -> Reading:
    text = "\nreading r: R\n" + "".join(f"  {line}\n" for line in lines)
    node = tree_of(text + "  otherwise: stop help\n").nodes["r"]
    assert isinstance(node, Reading)
    return node


@pytest.mark.parametrize(
    "lines, unit, low, high",
    [
        (["unit: bar", "spec: 800 to 860 kPa"], "bar", 8, Fraction(43, 5)),
        (["unit: kPa", "spec: 8 to 8.6 bar"], "kPa", 800, 860),
        (["spec: 8 to 8.6 bar"], "bar", 8, Fraction(43, 5)),
        (["unit: °F", "spec: 20 to 25 °C"], "°F", 68, 77),
        (["unit: °C", "spec: 68 °F ± 9 F-diff"], "°C", 15, 25),
        (["unit: min", "spec: 90 to 120 s"], "min", Fraction(3, 2), 2),
        (["unit: mm", "spec: 1/2 to 1 in"], "mm", Fraction(127, 10), Fraction(254, 10)),
        (["unit: bar", "spec: 3 to 4"], "bar", 3, 4),
    ],
)
def test_a_spec_is_in_the_unit_of_its_reading(
    lines: list[str], unit: str, low: Fraction, high: Fraction
) -> None:
    node = reading(*lines)
    assert node.unit is not None and node.unit.symbol == unit
    (one,) = node.specs[0].limits.intervals
    assert (one.low, one.high) == (low, high)


def test_the_spec_of_each_model() -> None:
    node = reading("spec for B60: 3 bar", "spec: 4 bar")
    lows = [spec.limits.intervals[0].low for spec in map(node.spec_for, ["B60", "B80"]) if spec]
    assert lows == [3, 4]
    assert reading("spec for B60: 3 bar").spec_for("B80") is None


@pytest.mark.parametrize(
    "lines, normal",
    [
        (["spec: 3 bar", "if below: found leak", "if within: go good"], ["within"]),
        (["at: l, r", "spec: 3 bar", "if any below: found leak", "if all within: go good"],
         ["all within"]),
        (["unit: bar", "if 3 to 4: go good", "if below 3: found leak"], ["3 to 4"]),
        (["unit: bar", "if 3 to 4: go good", "if below 3: found leak", "normal: Below  3"],
         ["below 3"]),
        (["spec: 3 bar", "if below: found leak", "normal: otherwise"], ["otherwise"]),
    ],
)  # fmt: skip
def test_normal_answers(lines: list[str], normal: list[str]) -> None:
    node = reading(*lines)
    assert [node.outcomes[index].label for index in node.normal] == normal


def test_the_first_answer_of_a_check_is_normal_unless_it_says_otherwise() -> None:
    tree = tree_of(check("a", "go good", "found leak")
                   + check("b", "found leak", "go good", more="  normal: 1\n"))  # fmt: skip
    for name, index in (("a", 0), ("b", 1)):
        node = tree.nodes[name]
        assert isinstance(node, Check) and node.normal == (index,)


def test_a_verdict_against_the_spec() -> None:
    node = reading("at: l, r", "spec: 3 bar", "if only r below: found leak")
    assert node.outcomes[0].test == Against("below", "only", "r")


# ---- faults and cases -------------------------------------------------------------------------


def test_what_a_fault_shows_and_when_nothing_is_doubted() -> None:
    tree = tree_of(
        check("a", "found f", "found g", "found h")
        + "\nfault f: F\n  shows: a 0, maybe parts.seal No\n  doubts: none\n"
        + "\nfault g: G\n  doubts: a\n  retest: a\n\nfault h: H\n  remedy: R\n",
        use="use lib/parts.tree\n",
    )
    f, g, h = (tree.nodes[name] for name in "fgh")
    assert isinstance(f, Fault) and isinstance(g, Fault) and isinstance(h, Fault)
    shows = [(str(s.node), s.outcome, s.maybe) for s in f.shows]
    assert shows == [("a", 0, False), ("parts.seal", 1, True)]
    assert (f.doubts, h.doubts) == ((), None)
    assert g.doubts is not None and [str(d) for d in g.doubts] == ["a"]
    assert str(g.retest) == "a"
    assert "parts.seal" in tree.nodes


def test_cases_are_in_the_unit_of_the_reading() -> None:
    tree = tree_of(
        "\nsymptom dry: Dry\n  start at: a\n" + check("a", "go next", "found leak")
        + "\nreading r: R\n  unit: bar\n  if below 3: found leak\n  otherwise: go p\n"
        + "\nreading p: P\n  at: l, r\n  unit: mm\n  if all below 3: found leak\n"
        + "  otherwise: go good\n"
        + "\ncase one: One\n  symptom: dry\n  model: B80\n  a: 0\n  r: 400 kPa\n"
        + "  p: l 1 in, r 3 mm\n  ends: good\n"
        + "\ncase two: Two\n  symptom: dry\n  a: 0\n  r: Below 3\n  ends: leak\n"
    )  # fmt: skip
    one, two = tree.cases["one"], tree.cases["two"]
    assert (str(one.symptom), one.model, str(one.ends)) == ("dry", "B80", "good")
    assert [(str(e.node), e.outcome, e.values) for e in one.read] == [
        ("a", 0, ()),
        ("r", None, ((None, 4),)),
        ("p", None, (("l", Fraction(254, 10)), ("r", Fraction(3)))),
    ]
    assert [(str(e.node), e.outcome) for e in two.read] == [("a", 0), ("r", 0)]


# ---- names written twice, names that are not there --------------------------------------------


def test_each_kind_has_names_of_its_own() -> None:
    tree = tree_of(
        "\nsymptom x: X\n  start at: x\n\nstage x: X\n" + check("x", "found leak", "go good")
        + "\ncondition x: X\n  set up by: x\n\nprocedure x: X\n  - Do it.\n"
        + "\ndanger x: X\n  harm: H\n  avoid: A\n  at: x\n"
        + "\ncase x: X\n  symptom: x\n  x: 0\n  ends: leak\n"
    )  # fmt: skip
    assert tree.twice == () and tree.missing == ()


@pytest.mark.parametrize(
    "text, what, near",
    [
        (check("a", "go valev"), "node", "valve"),
        (check("a", "do valev, then go good"), "node or procedure", "valve"),
        (check("a", "go good", more="  needs: worm\n"), "condition", "warm"),
        ("\nsymptom s: S\n  start at: valev\n", "node", "valve"),
        ("\nfault f: F\n  shows: valve yess\n", "answer", "yes"),
        ("\ncase c: C\n  symptom: drz\n  ends: leak\n", "symptom", "dry"),
        (check("a", "go good", more="  only for: B66\n"), "model", "B60"),
        (check("a", "go good", more="  access: outsid\n"), "rung of the access ladder", "outside"),
        (check("a", "go parts.seel"), "node", "parts.seal"),
    ],
)
def test_near_names_are_offered(text: str, what: str, near: str) -> None:
    base = "\ncondition warm: W\n\nsymptom dry: D\n  start at: valve\n"
    base += "\ncheck valve: V\n  if yes: go good\n  if no: stop help\n"
    head = "tree pump: Pump\n  models: B60, B80\n  access: outside, covers\n"
    (missing,) = tree_of(base + text, head, "use lib/parts.tree\n").missing
    assert (missing.what, missing.near[0]) == (what, near)


def test_models_are_missed_also_where_the_tree_names_none() -> None:
    only = check("a", "go good", more="  only for: B60\n")
    loaded = load("tree pump: Pump\n" + only + ENDS)
    assert loaded.tree is not None
    assert [m.written for m in loaded.tree.missing] == ["B60"]
    assert "missing-name" in {finding.rule for finding in lint_loaded(loaded)}


BARE = """\
tree kettle: Kettle stays cold
  machine: Invented kettle
  models: A, B
  units: metric
symptom cold: Stays cold
check plug: Plugged in?
  answers: yes, no
  if no: found plug-out
  if loose: found plug-out
check plug-2: Plugged in?
  same as: plug
  answers: no, yes, loose
reading heat: Resistance
  spec for A: at most 20 ohm
  spec for B: 30 ohm ± 1 ohm
reading flow: Flow
  spec: at least 2 L/min
reading flow-2: Flow, hot
  same as: flow
  spec: at least 1 L/min
fault plug-out: Plug is out
  symptoms: cold
  shows: maybe plug no, flow below
"""


def test_answers_that_are_only_named_and_what_a_spec_gives_unwritten() -> None:
    nodes = tree_of(BARE, head="").nodes

    def answers(name: str) -> list[tuple[str, str]]:
        node = nodes[name]
        assert isinstance(node, Check | Reading)
        return [(one.label, one.way.kind) for one in node.outcomes]

    assert answers("plug") == [("yes", "open"), ("no", "found"), ("loose", "found")]
    assert answers("heat") == [("within", "open"), ("below", "open"), ("above", "open")]
    assert answers("flow") == [("within", "open"), ("below", "open")]


def test_what_is_the_same_as_a_check_is_shown_with_it() -> None:
    fault = tree_of(BARE, head="").nodes["plug-out"]
    assert isinstance(fault, Fault)
    shown = [(one.node.name, one.outcome, one.maybe) for one in fault.shows]
    # `no` is the second answer of `plug` and the first of `plug-2`; `flow-2` has other limits.
    assert shown == [("plug", 1, True), ("flow", 1, False), ("plug-2", 0, True)]
    assert [name.name for name in fault.symptoms] == ["cold"]
