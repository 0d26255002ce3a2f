"""Random questions of the best order, larger than can be tried out: by seed, always the same."""

from __future__ import annotations

import random

from treewright.reason.order.instance import Instance, Probe, State, Suspect, instance


def matrix(seed: int, faults: int, checks: int, part: float = 0.5) -> Instance:
    """Yes/no checks at random: each fault shows at each with chance `part`; 1 to 20 min."""
    rng = random.Random(seed)
    suspects = _suspects(rng, faults)
    everyone = (1 << faults) - 1
    probes = []
    for at in range(checks):
        shown = sum(1 << fault for fault in range(faults) if rng.random() < part)
        probes.append(Probe(f"c{at}", rng.randint(1, 20), (everyone & ~shown, shown)))
    return instance(suspects, probes)


def ranges(seed: int, faults: int, checks: int) -> Instance:
    """Faults along a line; a check shows those of a stretch of it (half of them: from one end)."""
    rng = random.Random(seed)
    suspects = _suspects(rng, faults)
    everyone = (1 << faults) - 1
    probes = []
    for at in range(checks):
        low, high = sorted(rng.sample(range(faults + 1), 2))
        shown = (1 << high) - 1 & ~((1 << low) - 1 if at % 2 else 0)
        probes.append(Probe(f"c{at}", rng.randint(1, 20), (everyone & ~shown, shown)))
    return instance(suspects, probes)


def with_states(seed: int, faults: int, checks: int) -> Instance:
    """Four conditions in two pairs that exclude each other; a check needs none, one or two."""
    rng = random.Random(seed)
    plain = matrix(seed, faults, checks)
    states = [
        State(f"s{at}", rng.randint(5, 30), rng.randint(1, 10), 1 << (at ^ 1)) for at in range(4)
    ]
    probes = []
    for probe in plain.probes:
        needs = 0
        for pair in (0, 2):
            if rng.random() < 0.4:
                needs |= 1 << pair + rng.randrange(2)
        probes.append(Probe(probe.name, probe.cost, probe.gives, needs))
    return instance(plain.suspects, probes, states)


def line(seed: int, faults: int, *, same: bool = False) -> tuple[Instance, list[int], list[int]]:
    """Faults along a line and a check between any two neighbours, which says on which side.

    The best order is known from another method: `best_on_a_line`. Gives shares and times too.
    """
    rng = random.Random(seed)
    shares = [rng.randint(1, 100) for _ in range(faults)]
    times = [1 if same else rng.randint(1, 20) for _ in range(faults - 1)]
    everyone = (1 << faults) - 1
    probes = []
    for at, time in enumerate(times):
        low = (2 << at) - 1
        probes.append(Probe(f"c{at}", time, (low, everyone & ~low)))
    suspects = [Suspect(f"f{at}", share) for at, share in enumerate(shares)]
    return instance(suspects, probes), shares, times


def best_on_a_line(shares: list[int], times: list[int]) -> int:
    """The best sum of share times minutes on a line, by stretches (Knuth 1971, Gilbert and
    Moore 1959): no sets of faults, only first and last."""
    count = len(shares)
    sums = [0]
    for share in shares:
        sums.append(sums[-1] + share)
    best = [[0] * count for _ in range(count)]
    for long in range(1, count):
        for low in range(count - long):
            high = low + long
            weight = sums[high + 1] - sums[low]
            best[low][high] = min(
                weight * times[at] + best[low][at] + best[at + 1][high] for at in range(low, high)
            )
    return best[0][count - 1]


def _suspects(rng: random.Random, faults: int) -> list[Suspect]:
    return [Suspect(f"f{at}", rng.randint(1, 100)) for at in range(faults)]
