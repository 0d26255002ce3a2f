"""How long the walk-through of a large tree takes on this machine: `python tests/bench/walk.py`.

A generated tree of 3,000 nodes is walked in a headless Chromium on a screen of a phone: from
opening the file to the first step, then answer by answer, with good answers and with checks
left out. Times are by the clock, from the press to the finished layout; beside them the
processor time of the page's own thread, which a busy machine does not stretch. No test.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

import generate  # noqa: E402  (stands beside the tests, not in a package)
from browser import PHONE, chromium  # noqa: E402
from playwright.sync_api import Page  # noqa: E402

# Presses what is due until the record or `most` checks, and times each press up to its layout.
ANSWER = """
async ({ most, every, good }) => {
  const one = (selector) => document.querySelector(`#walk ${selector}`);
  const taken = [];
  let checks = 0;
  while (checks < most && !one('.card.record') && !one('.card.open')) {
    for (const box of document.querySelectorAll('#walk .card.procedure .items input')) box.click();
    const number = one('.card h2 .number')?.textContent;
    const ways = document.querySelectorAll('#walk .card.check .answers button');
    const byEye = document.querySelectorAll('#walk .card.reading .by-eye button');
    let press = one('.card > button.on');
    if (!one('.card > button.read') && (ways.length || byEye.length)) {
      checks += 1;
      press = (ways.length ? ways : byEye)[good[number]];
      if (every && checks % every === 0) press = one('.card button.cannot');
    }
    const start = performance.now();
    press.click();
    document.body.getBoundingClientRect();
    taken.push(performance.now() - start);
    // No hand is quicker; the page tidies up meanwhile.
    await new Promise((go) => setTimeout(go, 25));
  }
  return { taken, checks };
}
"""


# Takes answers of the last screenful back and puts them back, and times each press.
TAKE_BACK = """
() => {
  const taken = [];
  const timed = (button) => {
    const start = performance.now();
    button.click();
    document.body.getBoundingClientRect();
    taken.push(performance.now() - start);
  };
  for (const at of [-2, -5, -10]) {
    timed([...document.querySelectorAll('#walk .trail li button')].at(at));
    timed(document.querySelector('#walk .taken button'));
  }
  return taken;
}
"""


def page_of(nodes: int, seed: int) -> tuple[str, dict[str, int], int]:
    """The page of a generated tree, the good answer of each check by number, and its nodes."""
    from treewright.model.build import build
    from treewright.model.nodes import Check, Reading
    from treewright.render.compile import compile_tree
    from treewright.render.site import page
    from treewright.syntax.parse import parse
    from treewright.text.source import Source

    file, _ = parse(Source("large.tree", generate.tree(1, nodes, seed)))
    tree, _ = build(file, lambda _: file)
    assert tree is not None
    asked = [node for node in tree.nodes.values() if isinstance(node, Check | Reading)]
    return page(compile_tree(tree)), {n.number: min(n.normal) for n in asked}, len(tree.nodes)


def main() -> None:
    options = argparse.ArgumentParser(description="Times of the walk-through of a large tree.")
    options.add_argument("--nodes", type=int, default=3000)
    options.add_argument("--seed", type=int, default=0)
    options.add_argument("--answers", type=int, default=400, help="how many checks are answered")
    chosen = options.parse_args()
    text, good, nodes = page_of(chosen.nodes, chosen.seed)
    print(f"seed {chosen.seed}: {nodes:,} nodes, page of {len(text.encode()) / 1e6:.2f} MB")
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        path = Path(folder) / "large.html"
        path.write_text(text, encoding="utf-8")
        for label, every in (("good answers", 0), ("each fifth check left out", 5)):
            page = browser.new_context(viewport=PHONE).new_page()
            cpu = Processor(page)
            start = time.perf_counter()
            page.goto(path.as_uri(), wait_until="commit")
            page.locator("#walk .card.start").wait_for()
            _say("file opened to the first screen", [_since(start)], cpu.taken(), 1000)
            page.locator("input[name=symptom]").first.check()
            page.locator("input[name=model]").first.check()
            cpu.taken()
            start = time.perf_counter()
            page.get_by_role("button", name="Start", exact=True).click()
            page.locator("#walk .card h2 .number").wait_for()
            _say("start pressed to the first step", [_since(start)], cpu.taken(), 1000)
            asked = {"most": chosen.answers, "every": every, "good": good}
            done = page.evaluate(ANSWER, asked)
            presses = done["taken"]
            each = cpu.taken() / len(presses)
            _say(f"a press, {label} ({done['checks']} checks)", presses, each, 100)
            done = page.evaluate(ANSWER, {**asked, "most": 25})
            each = cpu.taken() / len(done["taken"])
            _say("  a press of the next 25 checks", done["taken"], each, 100)
            back = page.evaluate(TAKE_BACK)
            _say("  an earlier answer taken back, put back", back, cpu.taken() / len(back), 100)
            page.close()


class Processor:
    """The processor time of a page's main thread."""

    def __init__(self, page: Page) -> None:
        self._session = page.context.new_cdp_session(page)
        self._session.send("Performance.enable", {"timeDomain": "threadTicks"})
        self._before = 0.0

    def taken(self) -> float:
        """Milliseconds since this was asked last."""
        metrics = self._session.send("Performance.getMetrics")["metrics"]
        now = next(one["value"] for one in metrics if one["name"] == "TaskDuration") * 1000
        taken, self._before = now - self._before, now
        return taken


def _since(start: float) -> float:
    return (time.perf_counter() - start) * 1000


def _say(label: str, clock: list[float], processor: float, target: float) -> None:
    middle, worst = statistics.median(clock), max(clock)
    met = "met" if processor <= target else "MISSED"
    print(
        f"{label:<48} clock {middle:>5.0f} ms, worst {worst:>6.0f} ms; processor "
        f"{processor:>5.0f} ms <= {target:.0f} {met}",
        flush=True,
    )


if __name__ == "__main__":
    main()
