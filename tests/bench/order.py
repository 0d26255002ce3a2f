"""How long the best order takes to find: `python tests/bench/order.py [NAME …]`, no test.

Wall clock of `best_order` alone, on random questions whose seeds are printed, so that anyone can
make the same ones. A busy machine makes figures worse, never better.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from order_cases import best_on_a_line, line, matrix, ranges, with_states

from treewright.reason.order.exact import Best, best_order
from treewright.reason.order.instance import Instance, Probe, instance


@dataclass(frozen=True, slots=True)
class Job:
    """Questions of one kind: their seeds, the target in seconds, whether it must be proven."""

    name: str
    make: Callable[[int], Instance]
    seeds: Sequence[int]
    target: float
    proven: bool = True
    limit: float = 60  # seconds given to the search


def one_each(seed: int, faults: int) -> Instance:
    """One check for each fault."""
    plain = matrix(seed, faults, faults)
    everyone = plain.everything
    probes = [
        Probe(probe.name, probe.cost, (everyone & ~(1 << at), 1 << at))
        for at, probe in enumerate(plain.probes)
    ]
    return instance(plain.suspects, probes)


def on_a_line(seed: int, faults: int) -> Instance:
    return line(seed, faults)[0]


JOBS = (
    Job("20 x 20", partial(matrix, faults=20, checks=20), range(15), 0.1),
    Job("30 x 30", partial(matrix, faults=30, checks=30), range(15), 1),
    Job("50 x 50", partial(matrix, faults=50, checks=50), range(9), 15),
    Job("100 x 100", partial(matrix, faults=100, checks=100), range(3), 30),
    Job("20 x 20 sparse", partial(matrix, faults=20, checks=20, part=0.15), range(15), 0.1),
    Job("50 x 75 ranges", partial(ranges, faults=50, checks=75), range(9), 30),
    Job("20 x 20, 4 conditions", partial(with_states, faults=20, checks=20), range(15), 10),
    Job("one check a fault, 1000", partial(one_each, faults=1000), range(3), 1),
    Job("200 x 200", partial(matrix, faults=200, checks=200), range(3), 10, False, 6),
    Job("1000 x 500", partial(matrix, faults=1000, checks=500), range(2), 10, False, 3),
    Job("line of 200", partial(on_a_line, faults=200), range(3), 10, False, 6),
)


def main(names: list[str]) -> None:
    for job in JOBS:
        if not names or any(name in job.name for name in names):
            _run(job)


def _run(job: Job) -> None:
    times: list[float] = []
    found: list[Best] = []
    for seed in job.seeds:
        question = job.make(seed)
        began = time.perf_counter()
        found.append(best_order(question, job.limit))
        times.append(time.perf_counter() - began)
    proven = sum(best.proven for best in found)
    met = statistics.median(times) <= job.target and (proven == len(found) or not job.proven)
    print(
        f"{job.name:24} seeds {job.seeds[0]}..{job.seeds[-1]}: "
        f"median {statistics.median(times):.3f} s, most {max(times):.3f} s, "
        f"target {job.target:g} s {'met' if met else 'MISSED'}; proven {proven} of {len(found)}"
    )
    if proven < len(found):
        gap = max(float(best.expected / best.at_least) - 1 for best in found)
        print(f"{'':24} above the proven bound by {gap:.1%} at most")
    if job.name.startswith("line"):
        for seed, best in zip(job.seeds, found, strict=True):
            _, shares, costs = line(seed, 200)
            known = best_on_a_line(shares, costs) / sum(shares)
            above = float(best.expected) / known - 1
            print(f"{'':24} seed {seed}: above the known best by {above:.2%}")


if __name__ == "__main__":
    main(sys.argv[1:])
