"""The best order of checks: published and computed values, and every tree tried on small ones."""

from __future__ import annotations

import itertools
import random
import warnings
from dataclasses import replace
from fractions import Fraction

import pytest
from order_brute import Brute, small
from order_cases import best_on_a_line, line, matrix, ranges, with_states

from treewright.reason.order.bounds import (
    entropy,
    entropy_bound,
    huffman,
    length_bound,
    lower_bound,
    separation_bound,
    setup_bound,
)
from treewright.reason.order.exact import _Search, best_order
from treewright.reason.order.greedy import Ahead, Greedy, plan_of
from treewright.reason.order.ground import Ground
from treewright.reason.order.instance import Instance, Probe, State, Suspect, instance
from treewright.reason.order.plan import Plan, reckon
from treewright.reason.order.rank import in_series, one_by_one, own_checks, series_cost
from treewright.reason.order.worst import least_worst

# Pattipati and Alexandridis, IEEE Trans. SMC 20(4), 1990: value from memory. Rows are faults
# s0..s5, columns t1..t5.
ROWS = ("00000", "01001", "00110", "10011", "11000", "11110")
SHARES = tuple(Fraction(share, 100) for share in (70, 1, 2, 10, 5, 12))


def from_rows(
    rows: tuple[str, ...],
    shares: tuple[Fraction | int, ...],
    costs: tuple[int, ...] | None = None,
    first: int | None = None,
) -> Instance:
    """A yes/no matrix as a question; `first`: the check that all others must wait for."""
    everyone = (1 << len(rows)) - 1
    probes = []
    for at in range(len(rows[0])):
        shown = sum(1 << fault for fault, row in enumerate(rows) if row[at] == "1")
        after = 1 << first if first is not None and at != first else 0
        cost = costs[at] if costs else 1
        probes.append(Probe(f"t{at + 1}", cost, (everyone & ~shown, shown), after=after))
    suspects = [Suspect(f"s{at}", share) for at, share in enumerate(shares)]
    return instance(suspects, probes)


def six(costs: tuple[int, ...] | None = None, first: int | None = None) -> Instance:
    return from_rows(ROWS, SHARES, costs, first)


def ahead_minutes(of: Instance, width: int | None = None) -> Fraction:
    ground = Ground(of)
    return of.minutes(Ahead(ground, Greedy(ground), width).value(ground.start))


def greedy_minutes(of: Instance) -> Fraction:
    ground = Ground(of)
    return of.minutes(Greedy(ground).value(ground.start))


# ---- the six-state example: all values computed, exact ---------------------------------------


def test_six_states() -> None:
    best = best_order(six())
    assert best.proven
    assert best.expected == best.at_least == Fraction("2.18")
    assert greedy_minutes(six()) == Fraction("2.86")
    assert ahead_minutes(six()) == Fraction("2.18")
    assert least_worst(six()) == 3


def test_two_checks_tie_as_the_first() -> None:
    by_first = {f"t{at + 1}": best_order(six(first=at)).expected for at in range(5)}
    assert {name for name, cost in by_first.items() if cost == Fraction("2.18")} == {"t2", "t4"}
    assert min(by_first.values()) == Fraction("2.18")


def test_six_states_otherwise() -> None:
    assert best_order(six((1, 2, 3, 4, 5))).expected == Fraction("5.58")
    assert best_order(from_rows(ROWS, (1,) * 6)).expected == Fraction(8, 3)
    assert best_order(from_rows(ROWS[1:], SHARES[1:])).expected == Fraction(11, 5)


def test_six_states_bounds() -> None:
    of = six()
    ground = Ground(of)
    assert of.minutes(length_bound(ground, ground.start)) == Fraction("1.59")
    assert float(entropy(of.weights)) == pytest.approx(1.4549, abs=5e-5)
    assert float(entropy_bound(ground, ground.start) / of.total) == pytest.approx(1.4549, abs=5e-5)


# ---- codes (Cover and Thomas, Elements of Information Theory: from memory; computed) ----------


def test_huffman_lengths() -> None:
    assert huffman((25, 25, 20, 15, 15)) == 230
    assert huffman((25, 25, 20, 15, 15), 3) == 150
    assert huffman((25, 25, 20, 10, 10, 10), 3) == 170  # with one dummy
    assert huffman((7,)) == 0


def test_one_item_a_test_and_any_mixture() -> None:
    shares = (8, 6, 4, 2, 2, 1)
    alone = tuple("".join("1" if at == row else "0" for at in range(6)) for row in range(6))
    assert best_order(from_rows(alone, shares)).expected == Fraction(55, 23)
    mixtures = tuple("".join(str(mix >> row & 1) for mix in range(1, 32)) for row in range(6))
    assert best_order(from_rows(mixtures, shares)).expected == Fraction(54, 23)
    assert Fraction(huffman(shares), 23) == Fraction(54, 23)


# ---- one check a fault, and checks in series --------------------------------------------------


def one_check_each(seed: int, last: str) -> Instance:
    rng = random.Random(seed)
    count = rng.randint(3, 5)
    everyone = (1 << count) - 1
    probes = [
        Probe(f"c{at}", rng.randint(1, 30), (everyone & ~(1 << at), 1 << at)) for at in range(count)
    ]
    confirmed = last == "confirmed"
    suspects = [
        Suspect(f"f{at}", rng.randint(1, 9), at if confirmed else None, rng.randint(0, 5))
        for at in range(count)
    ]
    return instance(suspects, probes, last="confirmed" if confirmed else "inferred")


def test_ascending_time_by_share_is_not_always_best() -> None:
    # Computed: times (30, 10, 12), shares (.6, .2, .2).
    times, shares = (30, 10, 12), (Fraction(3, 5), Fraction(1, 5), Fraction(1, 5))
    row = one_by_one(times, shares, "inferred")
    assert row.expected == Fraction("19.6")
    assert row.left_out == 0
    plain = 30 + Fraction(2, 5) * 10
    assert plain == Fraction("34.0")
    everyone = 0b111
    probes = [Probe(f"c{at}", t, (everyone & ~(1 << at), 1 << at)) for at, t in enumerate(times)]
    suspects = [Suspect(f"f{at}", share) for at, share in enumerate(shares)]
    assert best_order(instance(suspects, probes)).expected == Fraction("19.6")


@pytest.mark.parametrize("last", ["inferred", "confirmed"])
def test_one_check_a_fault_at_once(last: str) -> None:
    for seed in range(60):
        of = one_check_each(seed, last)
        found = own_checks(of)
        assert found is not None
        plan, cost = found
        assert of.minutes(cost) == reckon(of, plan).expected == Brute(of).expected()
    times = [of.suspects[at].remedy + probe.cost for at, probe in enumerate(of.probes)]
    row = one_by_one(times, [suspect.share for suspect in of.suspects], "confirmed")
    assert sorted(row.order) == list(range(len(times)))


def test_a_long_row_of_checks() -> None:
    count = 1500
    everyone = (1 << count) - 1
    probes = [Probe(f"c{at}", 1 + at % 7, (everyone & ~(1 << at), 1 << at)) for at in range(count)]
    best = best_order(instance([Suspect(f"f{at}", 1 + at % 11) for at in range(count)], probes))
    times, shares = [1 + at % 7 for at in range(count)], [1 + at % 11 for at in range(count)]
    assert best.proven
    assert best.expected == one_by_one(times, shares, "inferred").expected
    assert sum(1 for _ in best.plan.nodes()) == 2 * count - 1


def test_checks_in_series() -> None:
    # Mitten 1960, Butterworth 1972: from memory; the values are computed.
    costs, failing = (1, 12, 5), (Fraction("0.02"), Fraction("0.5"), Fraction("0.3"))
    row = in_series(costs, failing)
    assert row.order == (2, 1, 0)
    assert row.expected == Fraction("13.75")
    assert series_cost(costs, failing, (0, 2, 1)) == Fraction("14.132")  # cheapest first
    assert series_cost(costs, failing, (1, 2, 0)) == Fraction("14.85")  # likeliest first
    rng = random.Random(4)
    for _ in range(50):
        costs = tuple(rng.randint(1, 20) for _ in range(5))
        failing = tuple(Fraction(rng.randint(1, 99), 100) for _ in range(5))
        tried = [series_cost(costs, failing, order) for order in itertools.permutations(range(5))]
        assert in_series(costs, failing).expected == min(tried)


# ---- published matrices -----------------------------------------------------------------------


def test_progressing_cavity_pump() -> None:
    # MIL-HDBK-1164, Table 13 (read on a reprint), causes by symptoms; 26/11 is computed. The
    # discharge head stands under two symptoms in two rows.
    rows = ("1000",) * 3 + ("0100",) * 2 + ("0110",) * 2 + ("0010",) * 2 + ("0001",) * 2
    of = from_rows(rows, (1,) * 11)
    assert sorted((g.bit_count() for g in of.groups()), reverse=True) == [3, 2, 2, 2, 2]
    best = best_order(of)
    assert best.expected == Fraction(26, 11)
    ends = {plan.faults for plan in best.plan.nodes() if plan.probe is None}
    assert ends == set(of.groups())


def test_a_published_printer_fault_model() -> None:
    # The network win95pts as pgmpy ships it; the values are computed. One root cause is bad
    # at a time, all else follows as is likeliest; checks are the other ends of the network.
    of = printer()
    assert len(of.suspects) == 16
    assert len(of.groups()) == 8
    best = best_order(of)
    assert best.expected == Fraction(20553, 5851)
    assert least_worst(of) == 5


def printer() -> Instance:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pgmpy.utils import get_example_model

        net = get_example_model("win95pts")
    tables = {cpd.variable: cpd for cpd in net.get_cpds()}
    parents = {name: list(cpd.variables[1:]) for name, cpd in tables.items()}

    def follow(bad: str | None) -> dict[str, int]:
        states: dict[str, int] = {}

        def state(name: str) -> int:
            if name not in states:
                given = tuple(state(parent) for parent in parents[name])
                states[name] = int(tables[name].values[(slice(None), *given)].argmax())
                if name == bad:
                    states[name] = 1 - states[name]
            return states[name]

        for name in tables:
            state(name)
        return states

    roots = sorted(name for name in tables if not parents[name])
    usual = follow(None)
    came = {root: follow(root) for root in roots}
    faults = [root for root in roots if came[root]["Problem1"] != usual["Problem1"]]
    inner = {parent for some in parents.values() for parent in some}
    probes = []
    for name in sorted(set(tables) - inner - set(roots) - {"Problem1"}):
        shown = sum(1 << at for at, root in enumerate(faults) if came[root][name] != usual[name])
        probes.append(Probe(name, 1, ((1 << len(faults)) - 1 & ~shown, shown)))
    shares = [Fraction(str(min(tables[root].values))) for root in faults]
    return instance([Suspect(*one) for one in zip(faults, shares, strict=True)], probes)


# ---- every tree tried ------------------------------------------------------------------------


def test_every_tree_tried() -> None:
    kinds: dict[str, int] = {}
    for seed in range(500):
        of = small(seed)
        brute = Brute(of)
        exact = brute.expected()
        best = best_order(of)
        assert best.proven, seed
        assert best.expected == best.at_least == exact, seed
        walked = reckon(of, best.plan)
        assert walked.expected == exact, seed
        assert least_worst(of) == brute.worst(*brute.start()), seed
        _count(of, kinds)
    # Each kind of demand was there often enough for this to mean something.
    for kind in ("states", "after", "ladder", "maybe", "confirmed", "three or more answers"):
        assert kinds[kind] > 60, kinds


@pytest.mark.parametrize("besides", ["remedy", "states", "ladder"])
def test_every_tree_tried_where_checks_wait_for_others(besides: str) -> None:
    waiting = deep_ones = 0
    for seed in range(3000, 3200):
        of = small(seed, ("after", besides))
        brute, best = Brute(of), best_order(of)
        assert best.proven, seed
        assert best.expected == brute.expected() == reckon(of, best.plan).expected, seed
        _keeps_to_the_ladder(brute, best.plan, 0)
        confirms = [s.confirm for s in of.suspects if s.confirm is not None]
        waiting += of.last == "confirmed" and any(of.probes[one].after for one in confirms)
        deep_ones += of.ladder and any(probe.rung for probe in of.probes)
    assert waiting > (30 if besides == "remedy" else 0)
    assert deep_ones > (100 if besides == "ladder" else 0)


@pytest.mark.parametrize("besides", [(), ("maybe",), ("after", "maybe"), ("maybe", "remedy")])
def test_every_tree_tried_where_checks_are_the_same(besides: tuple[str, ...]) -> None:
    dearer = unsure = 0
    for seed in range(5000, 5100):
        of = small(seed, besides, copies=1 + seed % 2)
        brute, best = Brute(of), best_order(of)
        assert best.proven, seed
        assert best.expected == best.at_least == brute.expected(), seed
        assert best.expected == reckon(of, best.plan).expected, seed
        assert least_worst(of) == brute.worst(*brute.start()), seed
        ground = Ground(of)
        unsure += not ground.sure
        for bound in (length_bound, setup_bound, separation_bound, lower_bound):
            assert of.minutes(bound(ground, ground.start)) <= best.expected, (seed, bound)
        # As a check of its own it would still seem to tell something after a `maybe`.
        dearer += best_order(all_apart(of)).expected > best.expected
    assert dearer > (10 if "maybe" in besides else 0), dearer
    assert unsure > (50 if "maybe" in besides else 20), unsure


def all_apart(of: Instance) -> Instance:
    """The same question with every check on its own."""
    probes = [replace(probe, same=0) for probe in of.probes]
    return instance(of.suspects, probes, of.states, last=of.last, ladder=of.ladder)


def test_checks_that_are_the_same_must_say_the_same() -> None:
    probes = [Probe("a", 1, (0b01, 0b10)), Probe("b", 1, (0b11, 0b00), same=0b01)]
    with pytest.raises(ValueError, match="the same as"):
        instance([Suspect("x", 1), Suspect("y", 1)], probes)


def _keeps_to_the_ladder(brute: Brute, plan: Plan, done: int) -> None:
    """No check of a deep rung stands where one of a lower rung could still tell something."""
    if plan.probe is None:
        return
    rung = brute.rung(plan.probe)
    for at, other in enumerate(brute.of.probes):
        tells = not done >> at & 1 and any(
            given & plan.faults and plan.faults & ~given for given in other.gives
        )
        if brute.of.ladder and tells and rung is not None:
            lower = brute.rung(at)
            assert lower is None or lower >= rung
    for _, then in plan.branches:
        _keeps_to_the_ladder(brute, then, done | 1 << plan.probe)


def _count(of: Instance, kinds: dict[str, int]) -> None:
    ground = Ground(of)
    there = {
        "states": bool(of.states),
        "after": any(probe.after for probe in of.probes),
        "ladder": of.ladder,
        "maybe": not ground.sure,
        "confirmed": of.last == "confirmed",
        "three or more answers": any(sum(map(bool, probe.gives)) > 2 for probe in of.probes),
    }
    for kind, is_there in there.items():
        kinds[kind] = kinds.get(kind, 0) + is_there


def test_bounds_are_never_above() -> None:
    for seed in range(1000, 1400):
        of = small(seed)
        ground, exact = Ground(of), Brute(of).expected()
        for bound in (length_bound, setup_bound, separation_bound, lower_bound):
            assert of.minutes(bound(ground, ground.start)) <= exact, (seed, bound)
        least = entropy_bound(ground, ground.start) / (of.total * of.per_minute)
        assert least <= exact, seed
        assert greedy_minutes(of) >= exact
        assert reckon(of, plan_of(ground, Greedy(ground).choose)).expected == greedy_minutes(of)


def test_what_grew_is_a_bound_and_what_is_solved_is_exact() -> None:
    for seed in range(2000, 2040):
        ground = Ground(matrix(seed, 8, 8))
        search = _Search(ground, None, None)
        search.run()
        for point, low in search.low.items():
            assert low <= _Search(ground, None, None).solve(point, 10**12), (seed, point)
        for point, cost in search.solved.items():
            assert cost == _Search(ground, None, None).solve(point, 10**12), (seed, point)


# ---- other methods, and larger questions -----------------------------------------------------


@pytest.mark.parametrize("same", [False, True])
def test_faults_along_a_line(same: bool) -> None:
    for seed in range(4):
        of, shares, times = line(seed, 24, same=same)
        best = best_order(of)
        assert best.proven
        assert best.expected == Fraction(best_on_a_line(shares, times), sum(shares))


def test_a_long_line_is_nearly_best() -> None:
    of, shares, times = line(7, 150)
    known = Fraction(best_on_a_line(shares, times), sum(shares))
    found = best_order(of, points=50)
    assert known <= found.expected <= known * Fraction(102, 100)
    assert 0 < found.at_least <= known
    assert not found.proven


def test_greedy_against_a_library() -> None:
    # scikit-learn's tree with criterion="entropy" takes the most information at each node.
    tree = pytest.importorskip("sklearn.tree")
    for seed in range(20):
        of = matrix(seed, 12, 9)
        groups = of.groups()
        table = [[probe.gives[1] >> at & 1 for probe in of.probes] for at in range(12)]
        label = [next(i for i, group in enumerate(groups) if group >> at & 1) for at in range(12)]
        learned = tree.DecisionTreeClassifier(criterion="entropy", random_state=0)
        learned.fit(table, label, sample_weight=[float(weight) for weight in of.weights])
        lengths = learned.decision_path(table).sum(axis=1)
        mean = sum(w * (int(n) - 1) for w, n in zip(of.weights, lengths.flat, strict=True))
        unit = [Probe(probe.name, 1, probe.gives) for probe in of.probes]
        assert greedy_minutes(instance(of.suspects, unit)) == Fraction(mean, of.total), seed


def test_a_limit_gives_a_bound() -> None:
    for make in (matrix, ranges, with_states):
        of = make(3, 14, 14)
        exact = best_order(of)
        assert exact.proven
        for points in (0, 1, 10):
            found = best_order(of, points=points)
            assert found.at_least <= exact.expected <= found.expected
            assert reckon(of, found.plan).expected == found.expected
            assert found.proven == (found.at_least == found.expected)
        assert best_order(of, points=10) == best_order(of, points=10)
        assert best_order(of, seconds=0).at_least <= exact.expected


# ---- demands ---------------------------------------------------------------------------------


def test_set_up_once_and_undone_where_it_must_be() -> None:
    states = [State("cold", 10, 3, 0b10), State("hot", 20, 5)]
    probes = [
        Probe("one", 1, (0b1100, 0b0011), needs=0b01),
        Probe("two", 1, (0b0101, 0b1010), needs=0b10),
    ]
    of = instance([Suspect(f"f{at}", 1) for at in range(4)], probes, states)
    best = best_order(of)
    assert best.expected == 10 + 1 + 3 + 20 + 1  # cold, one, cold undone, hot, two
    assert reckon(of, best.plan).worst == 35
    assert best.plan.probe == 0


def test_an_impossible_question_is_refused() -> None:
    two = [Suspect("a", 1), Suspect("b", 1)]
    with pytest.raises(ValueError, match="no fault"):
        instance([], [])
    with pytest.raises(ValueError, match="no fault has a share"):
        instance([Suspect("a", 0)], [])
    with pytest.raises(ValueError, match="waits for another"):
        instance(two, [Probe("x", 1, (1, 2), after=2), Probe("y", 1, (1, 2), after=1)])
    with pytest.raises(ValueError, match="not every fault gives an answer"):
        instance(two, [Probe("x", 1, (1, 0))])
    with pytest.raises(ValueError, match="exclude each other"):
        states = [State("s", 1, 1, 2), State("t", 1)]
        instance(two, [Probe("x", 1, (1, 2), needs=3)], states)
    with pytest.raises(ValueError, match="below zero"):
        instance(two, [Probe("x", -1, (1, 2))])


def test_reckoning_finds_what_is_wrong_with_a_plan() -> None:
    of = from_rows(("00", "01", "10"), (1, 1, 1), first=0)
    with pytest.raises(ValueError, match="before what must come first"):
        reckon(of, Plan(7, 1, ((0, Plan(5)), (1, Plan(2)))))
    with pytest.raises(ValueError, match="no way on"):
        reckon(of, Plan(7, 0, ((0, Plan(3)),)))
