"""How wrong a share or a time may be: by hand, and against trying every order beside each end."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from order_brute import Brute, small
from order_cases import matrix
from test_lint import sound
from test_order_from_tree import PUMP
from test_weigh import OWN

from treewright.reason.order.exact import Best, best_order, cheaper
from treewright.reason.order.instance import Instance, Last, Probe, Suspect, instance
from treewright.reason.order.plan import Plan, reckon
from treewright.reason.order.ranges import Range, ranges, uses
from treewright.report.weighed import weigh_tree

NEAR = Fraction(1, 10**6)


def changed(of: Instance, one: Range, to: Fraction) -> Instance:
    which = (one.what, one.name)
    suspects = [replace(s, share=to) if which == ("share", s.name) else s for s in of.suspects]
    probes = [replace(p, cost=to) if which == ("time", p.name) else p for p in of.probes]
    return instance(suspects, probes, of.states, last=of.last, ladder=of.ladder)


def fixed(of: Instance, plan: Plan, now: Instance) -> Fraction:
    """What a plan costs, its last suspects tried in the turn that is best at `of`."""
    costs: dict[str, list[Fraction]] = {
        "check": [Fraction(p.cost) for p in now.probes],
        "set-up": [Fraction(s.setup) for s in now.states],
        "undo": [Fraction(s.undo) for s in now.states],
        "remedy": [Fraction(s.remedy) for s in now.suspects],
    }
    total = sum(
        Fraction(suspect.share) * sum(times * costs[kind][at] for (kind, at), times in used.items())
        for suspect, used in zip(now.suspects, uses(of, plan), strict=True)
    )
    return Fraction(total) / sum(Fraction(s.share) for s in now.suspects)


def test_the_ranges_by_hand() -> None:
    """Two checks, each shows one fault, the rest shows a third: a first costs 4, b 6.

    Shares 3, 3, 3, inferred. Per share: a first 4(f) + 10(g) + 10(h); b first 6(g) + 10(f) +
    10(h). a first is best while 4f + 10g <= 6g + 10f, that is 2g <= 3f: f at least 2, g at most
    4.5. By times, a first: 3a + 6(a + b), b first: 3b + 6(a + b): a at most b.
    """
    probes = [Probe("a", 4, (0b110, 0b001)), Probe("b", 6, (0b101, 0b010))]
    of = instance([Suspect(name, 3) for name in "fgh"], probes)
    plan = best_order(of).plan
    assert plan.probe == 0
    assert ranges(of, plan) == (
        Range("share", "f", Fraction(3), Fraction(2), None, True),
        Range("share", "g", Fraction(3), Fraction(0), Fraction(9, 2), False),
        Range("share", "h", Fraction(3), Fraction(0), None, True),
        Range("time", "a", Fraction(4), Fraction(0), Fraction(6), False),
        Range("time", "b", Fraction(6), Fraction(4), None, True),
    )


def test_every_order_tried_beside_each_end() -> None:
    """150 small questions with every kind of demand: just inside an end the order costs what the
    best of all orders does, just outside it costs more."""
    ends = tight = 0
    for seed in range(150):
        of = small(seed)
        plan = best_order(of).plan
        for one in ranges(of, plan):
            assert one.low is not None and (one.endless or one.high is not None)
            assert one.low <= one.now and (one.high is None or one.now <= one.high)
            top = one.high if one.high is not None else one.now * 1000 + 1000
            for inside in {one.low, (one.low + one.now) / 2, (one.now + top) / 2, top}:
                if of.last == "confirmed" and not inside:
                    continue  # the brute one divides by the share
                if one.what == "share" and not inside and len(of.suspects) == 1:
                    continue
                now = changed(of, one, inside)
                assert fixed(of, plan, now) == Brute(now).expected(), (seed, one, inside)
                ends += 1
            for outside in (one.low - NEAR, top + NEAR):
                if outside > 0 and not (outside > top and one.endless):
                    now = changed(of, one, outside)
                    assert fixed(of, plan, now) > Brute(now).expected(), (seed, one, outside)
                    tight += 1
    assert ends > 2000 and tight > 150, (ends, tight)


def test_uses_are_what_is_reckoned() -> None:
    for seed in range(200):
        of = small(seed)
        best = best_order(of)
        assert fixed(of, best.plan, of) == reckon(of, best.plan).expected == best.expected


def test_cheaper_is_what_the_best_order_says() -> None:
    for seed in range(200):
        of = small(seed)
        exact = best_order(of).expected
        assert cheaper(of, exact) is True
        found = cheaper(of, exact + NEAR)
        assert isinstance(found, Best) and found.expected == exact
        assert reckon(of, found.plan).expected == exact


def test_within_too_few_points_nothing_is_claimed() -> None:
    of = matrix(3, 12, 12)
    best = best_order(of)
    assert best.proven
    assert cheaper(of, best.expected, points=1) is False
    found = ranges(of, best.plan, points=1)
    assert {(one.low, one.high, one.endless) for one in found} == {(None, None, False)}
    greedy = best_order(of, points=1)
    if greedy.expected > best.expected:  # an order that is not the best has no range
        assert all(one.low is None for one in ranges(of, greedy.plan))
    assert all(one.low is not None for one in ranges(of, best.plan))


ORDERED = PUMP.replace("start at: look-in", "start at: gauge").replace(
    "  if yes: go wipe\n  if no: found wheel", "  if yes: found strainer\n  if no: found wheel"
).replace("  if yes: found bearing\n  if no: found strainer\n  normal: no",
          "  if yes: found bearing\n  if no: go look-in\n  normal: no")  # fmt: skip


@pytest.mark.parametrize("last", ["inferred", "confirmed"])
def test_how_long_the_authors_own_order_stays_the_best(last: Last) -> None:
    """The author asks as the best order of the pump does: gauge, noise, then inside."""
    (one,) = weigh_tree(sound(ORDERED), ranges_of=last)
    at = ("inferred", "confirmed").index(last)
    assert one.compared[at].is_best
    assert one.ranges is not None
    assert (one.ranges.last, one.ranges.of_author) == (last, True)
    by_name = {(each.what, each.name): each for each in one.ranges.ranges}
    look = by_name["time", "look-in"]
    # look-in comes last: dearer still it stays there
    assert look.now == 30 and look.endless and look.low is not None and look.low < 30
    assert all(each.low is not None and each.low <= each.now for each in by_name.values())


def test_the_best_orders_ranges_where_the_authors_is_not_the_best() -> None:
    """One check a fault, inferred: the best takes 19.6 and never checks the first. By hand, with
    a the minutes of the first check: first, then second takes .6 a + .4 (a + 10) = a + 4, the
    least of all orders with it; that is less than 19.6 below a = 15.6."""
    (one,) = weigh_tree(sound(OWN), ranges_of="inferred")
    assert one.ranges is not None and not one.ranges.of_author
    first = next(each for each in one.ranges.ranges if each.name == "one")
    assert (first.low, first.high, first.endless) == (Fraction("15.6"), None, True)
