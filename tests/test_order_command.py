"""`treewright order`, at the command: published values, every tree tried, every fault walked."""

from __future__ import annotations

import json
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from demos import DEMOS
from jsonschema import Draft202012Validator
from order_brute import Brute, small
from order_cases import matrix
from order_tree import can_be_written, tree_text
from test_lint import load
from test_order import ROWS, SHARES, from_rows, printer, six

from treewright import resources
from treewright.cli.main import main
from treewright.model.graph import graph
from treewright.model.nodes import Check, Reading
from treewright.model.tree import Tree
from treewright.project import Project
from treewright.reason.answers import Answers
from treewright.reason.order.exact import best_order
from treewright.reason.order.from_tree import question
from treewright.reason.order.instance import Instance, Probe, Suspect, instance
from treewright.report.order import text
from treewright.report.orders import find_orders

HERE = Path(__file__).parent
CASES = HERE / "cases" / "order"
TREES = DEMOS
SCHEMA = json.loads((resources.grammar() / "order.schema.json").read_text(encoding="utf-8"))

Order = Callable[..., dict[str, Any]]


@pytest.fixture
def order(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Order:
    """Writes a text, runs the command, gives the one tree of its JSON; the schema holds it."""

    def run(text: str, *options: str) -> dict[str, Any]:
        path = tmp_path / "made.tree"
        path.write_text(text, encoding="utf-8")
        assert main(["order", "--format", "json", *options, path.as_posix()]) == 0
        shown = json.loads(capsys.readouterr().out)
        Draft202012Validator(SCHEMA).validate(shown)
        (tree,) = shown["trees"]
        return dict(tree)

    return run


def about(minutes: Fraction) -> Any:
    return pytest.approx(float(minutes), rel=1e-12)


# ---- values known from elsewhere --------------------------------------------------------------


def alone(times: tuple[int, ...], shares: tuple[Fraction, ...]) -> Instance:
    everyone = (1 << len(times)) - 1
    probes = [Probe(f"c{at}", t, (everyone & ~(1 << at), 1 << at)) for at, t in enumerate(times)]
    return instance([Suspect(f"s{at}", share) for at, share in enumerate(shares)], probes)


@pytest.mark.parametrize(
    "of, known",
    [
        # Pattipati and Alexandridis 1990: value from memory; all values computed.
        (six(), Fraction("2.18")),
        (six((1, 2, 3, 4, 5)), Fraction("5.58")),
        (from_rows(ROWS, (1,) * 6), Fraction(8, 3)),
        (from_rows(ROWS[1:], SHARES[1:]), Fraction(11, 5)),
        # Cover and Thomas: from memory; computed agrees.
        (from_rows(tuple("".join("1" if at == row else "0" for at in range(6))
                         for row in range(6)), (8, 6, 4, 2, 2, 1)), Fraction(55, 23)),
        # Computed: ascending time by share would take 34.
        (alone((30, 10, 12), (Fraction(3, 5), Fraction(1, 5), Fraction(1, 5))), Fraction("19.6")),
        # MIL-HDBK-1164, Table 13 (read on a reprint); computed.
        (from_rows(("1000",) * 3 + ("0100",) * 2 + ("0110",) * 2 + ("0010",) * 2 + ("0001",) * 2,
                   (1,) * 11), Fraction(26, 11)),
    ],
)  # fmt: skip
def test_published_values(order: Order, of: Instance, known: Fraction) -> None:
    (one,) = order(tree_text(of))["orders"]
    assert one["best"]["proven"]
    assert one["best"]["expected"] == one["best"]["at_least"] == about(known)
    assert one["saved"] is None and len(one["now"]["astray"]) == len(of.suspects)


def test_a_published_printer_fault_model(order: Order) -> None:
    # The network win95pts as pgmpy ships it; the value is computed.
    pytest.importorskip("pgmpy")
    of = printer()
    renamed = instance(
        [Suspect(f"s{at}", s.share) for at, s in enumerate(of.suspects)],
        [Probe(f"c{at}", 1, probe.gives) for at, probe in enumerate(of.probes)],
    )
    (one,) = order(tree_text(renamed))["orders"]
    assert one["best"]["expected"] == about(Fraction(20553, 5851))


# ---- every tree tried, every fault walked -----------------------------------------------------


def walked(tree: Tree, plan: list[dict[str, Any]], fault: str) -> list[tuple[Fraction, Any]]:
    """Follows a fault through the rows of a plan by what it shows: how often, and minutes.

    It knows the tree's `shows` and set-up lines, and nothing of the question or the search.
    """
    answers = Answers(tree)
    found: list[tuple[Fraction, Any]] = []

    def walk(at: int, part: Fraction, spent: float, held: frozenset[str]) -> None:
        row = plan[at]
        assert row["after"] == pytest.approx(spent)
        if "found" in row:
            names = [one["fault"] for one in row["found"]]
            assert fault in names
            found.append((part, row["found"][names.index(fault)]["after"]))
            return
        node = tree.nodes[row["check"]]
        assert isinstance(node, Check | Reading)
        for need in node.needs:
            if need.name not in held:
                condition = tree.conditions[need.name]
                against = {
                    other for other in held
                    if other in {one.name for one in condition.excludes}
                    or need.name in {one.name for one in tree.conditions[other].excludes}
                }  # fmt: skip
                for other in against:
                    by = tree.conditions[other].undo_by
                    spent += float(tree.procedures[by.name].cost.minutes or 0) if by else 0
                made = condition.set_up_by
                spent += float(tree.procedures[made.name].cost.minutes or 0) if made else 0
                held = held - against | {need.name}
        spent += float(node.cost.minutes or 0)
        given = {node.outcomes[at].label for at in answers.given(fault, node)}
        onward = [one for one in row["answers"] if given & set(one["labels"])]
        assert given == {label for one in onward for label in one["labels"] if label in given}
        for one in onward:
            walk(one["to"], part / len(onward), spent, held)

    walk(0, Fraction(1), 0, frozenset())
    return found


def expected(tree: Tree, one: dict[str, Any], *, to_the_end: bool) -> float:
    """Expected minutes of a plan, from walking all faults behind a symptom through it."""
    names = {found["fault"] for row in one["plan"] for found in row.get("found", ())}
    total = weight = 0.0
    for name in names:
        share = float(getattr(tree.nodes[name], "share", None) or 0)
        ways = walked(tree, one["plan"], name)
        assert sum(part for part, _ in ways) == 1
        if to_the_end:
            total += share * sum(float(part) * after for part, after in ways)
        weight += share
    return total / weight


@pytest.mark.parametrize("last", ["inferred", "confirmed"])
def test_every_tree_tried_on_trees_written_out(order: Order, last: str) -> None:
    kinds = dict.fromkeys(("states", "before", "ladder", "maybe", "same as"), 0)
    tried = 0
    for seed in range(5000, 5200):
        of = small(seed, ("after",) if seed % 2 else (), copies=seed // 2 % 2)
        if not can_be_written(of):
            continue
        written = tree_text(of)
        loaded = load(written)
        assert loaded.findings == () and loaded.tree is not None
        it = question(loaded.tree, graph(loaded.tree), "all", "confirmed" if last == "confirmed"
                      else "inferred")  # fmt: skip
        assert it is not None
        if last == "inferred":  # what was written is what is asked
            plain = instance(of.suspects, of.probes, of.states, ladder=of.ladder)
            assert Brute(plain).expected() == Brute(it.instance).expected(), seed
        (one,) = order(written, "--last", last)["orders"]
        assert one["best"]["proven"]
        assert one["best"]["expected"] == about(Brute(it.instance).expected()), seed
        assert expected(loaded.tree, one, to_the_end=True) == pytest.approx(
            one["best"]["expected"]
        ), seed
        tried += 1
        kinds["states"] += bool(of.states)
        kinds["before"] += any(probe.after for probe in of.probes)
        kinds["ladder"] += of.ladder
        kinds["same as"] += any(probe.same for probe in it.instance.probes)
        kinds["maybe"] += any(sum(map(int.bit_count, p.gives)) > len(of.suspects)
                              for p in of.probes)  # fmt: skip
    assert tried > 120
    assert min(kinds.values()) > 15, kinds


@pytest.mark.parametrize("path", TREES, ids=lambda path: path.stem)
def test_the_demos(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Proven, the same twice, as the schema has it, and walked by every fault."""
    main(["order", "--format", "json", path.as_posix()])
    first = capsys.readouterr().out
    shown = json.loads(first)
    Draft202012Validator(SCHEMA).validate(shown)
    tree = Project().load(path).tree
    assert tree is not None
    for one in shown["trees"][0]["orders"]:
        assert one["best"]["proven"]
        assert one["now"]["astray"] == [] and one["saved"] > 0
        assert expected(tree, one, to_the_end=True) == pytest.approx(one["best"]["expected"])
    symptom = shown["trees"][0]["orders"][-1]["symptom"]
    for _ in range(2):
        main(["order", "--format", "json", "--symptom", symptom, path.as_posix()])
        again = json.loads(capsys.readouterr().out)["trees"][0]
        assert again["orders"] == shown["trees"][0]["orders"][-1:]


# ---- what is said -----------------------------------------------------------------------------


@pytest.mark.parametrize("last", ["inferred", "confirmed"])
@pytest.mark.parametrize("path", sorted(CASES.glob("*.tree")), ids=lambda path: path.stem)
def test_text(path: Path, last: str, golden: Callable[[Path, str], None]) -> None:
    tree = Project().load(path).tree
    assert tree is not None
    found = find_orders(tree, "confirmed" if last == "confirmed" else "inferred")
    golden(path.with_suffix(f".{last}.txt"), text(found))


def test_the_readme_shows_what_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    readme = (HERE.parent / "README.md").read_text(encoding="utf-8")
    compressor = (HERE.parent / "trees" / "air-compressor.tree").as_posix()
    assert main(["order", compressor, "--symptom", "restarts"]) == 0
    said = capsys.readouterr().out
    start = said.index("symptom S2")
    assert said[start : said.index("\n\n", start)] in readme


def test_not_proven_is_said_and_bounded(order: Order) -> None:
    of = matrix(3, 14, 14)
    tree = load(tree_text(of)).tree
    assert tree is not None
    found = find_orders(tree, points=1)
    assert "not proven: no order takes less than" in text(found)
    assert "; looked at 2 points of the job" in " ".join(text(found).split())
    (one,) = found.orders
    assert one.best.at_least <= best_order(of).expected <= one.best.expected
    assert text(find_orders(tree, points=1)) == text(found)
    (quick,) = order(tree_text(of), "--seconds", "0")["orders"]
    assert not quick["best"]["proven"]
    assert quick["best"]["at_least"] <= float(best_order(of).expected)


def test_what_cannot_be_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = TREES[0].as_posix()
    assert main(["order", "--symptom", "none-such", path]) == 2
    assert "no symptom is called `none-such` here" in capsys.readouterr().err
    assert main(["order", "--seconds", "-1", path]) == 2
    assert main(["order", (TREES[0].parent / "lib").as_posix()]) == 2
    assert "only libraries" in capsys.readouterr().err
    broken = tmp_path / "broken.tree"
    broken.write_text("tree t: T\n\nchek a: A?\n", encoding="utf-8")
    assert main(["order", broken.as_posix()]) == 1
    assert "chek" in capsys.readouterr().err


def test_a_long_row_is_shown() -> None:
    of = alone((1,) * 300, (Fraction(1),) * 300)
    tree = load(tree_text(of)).tree
    assert tree is not None
    (one,) = find_orders(tree).orders
    assert one.best.proven
    assert text(find_orders(tree)).count("go on") == 298
