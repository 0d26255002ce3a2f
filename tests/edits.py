"""Edits to a tree's text whose effect is known: for the tests of the comparison of editions.

Each takes a tree that `generate.tree` wrote, and gives the text of the new edition with what the
comparison must name besides what follows from it: (topic, event, name, what, meaning). What the
text says is read here with regular expressions, not with the parser it is to test.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from random import Random
from typing import TypeAlias

Named: TypeAlias = tuple[str, str, str, str, bool]
Edit: TypeAlias = Callable[[str, Random], "tuple[str, set[Named]] | None"]

_BLOCK = re.compile(r"^(check|reading|fault) ([a-z0-9-]+):.*\n(?:[ ]+.*\n)*", re.M)


def _pick(text: str, random: Random, has: str, kind: str = "") -> re.Match[str] | None:
    some = [b for b in _BLOCK.finditer(text) if re.search(has, b[0], re.M) and kind in ("", b[1])]
    return random.choice(some) if some else None


def _within(text: str, block: re.Match[str], pattern: str, by: str | Callable[..., str]) -> str:
    made = re.sub(pattern, by, block[0], count=1, flags=re.M)
    assert made != block[0]
    return text[: block.start()] + made + text[block.end() :]


def limit_moved(text: str, random: Random) -> tuple[str, set[Named]] | None:
    """The upper end of a spec by one."""
    spec = r"^(  spec: \d+ to )(\d+)"
    block = _pick(text, random, spec, "reading")
    if block is None:
        return None
    made = _within(text, block, spec, lambda m: f"{m[1]}{int(m[2]) + 1}")
    return made, {("limit", "changed", block[2], "limit", True)}


def answers_limit_moved(text: str, random: Random) -> tuple[str, set[Named]] | None:
    """The limit between the two answers of a reading without a spec."""
    block = _pick(text, random, r"^  if at most \d+", "reading")
    if block is None:
        return None
    found = re.search(r"at most (\d+) ([^:]+):", block[0])
    assert found is not None
    old, unit = found[1], found[2]
    made = text.replace(block[0], block[0].replace(f" {old} {unit}:", f" {int(old) + 1} {unit}:"))
    shown = f"shows: {block[2]} above {old} "
    made = made.replace(shown, f"shows: {block[2]} above {int(old) + 1} ")
    return made, {("limit", "changed", block[2], "answer", True)}


def arrow_moved(text: str, random: Random) -> tuple[str, set[Named]] | None:
    """An answer leads to the hand-off."""
    block = _pick(text, random, r"^  if yes: found", "check")
    if block is None:
        return None
    made = _within(text, block, r"^  if yes: .*$", "  if yes: stop next-level")
    return made, {("way", "changed", block[2], "“yes”", True)}


def good_answer(text: str, random: Random) -> tuple[str, set[Named]] | None:
    block = _pick(text, random, r"^  normal: no$", "check")
    if block is None:
        return None
    made = _within(text, block, r"^  normal: no$", "  normal: yes")
    return made, {("check", "changed", block[2], "good answer", True)}


def time_changed(text: str, random: Random) -> tuple[str, set[Named]] | None:
    block = _pick(text, random, r"^  time: ")
    if block is None:
        return None
    made = _within(text, block, r"^  time: .*$", "  time: 7 h")
    return made, {("means", "changed", block[2], "time", True)}


def share_changed(text: str, random: Random) -> tuple[str, set[Named]] | None:
    block = _pick(text, random, r"^  share: ", "fault")
    if block is None:
        return None
    made = _within(text, block, r"^  share: .*$", "  share: 77")
    return made, {("finding", "changed", block[2], "share", True)}


def remedy_changed(text: str, random: Random) -> tuple[str, set[Named]] | None:
    block = _pick(text, random, r"^  remedy: ", "fault")
    if block is None:
        return None
    made = _within(text, block, r"^  remedy: Take", "  remedy: Gently take")
    return made, {("finding", "changed", block[2], "remedy", True)}


def wording_changed(text: str, random: Random) -> tuple[str, set[Named]] | None:
    block = _pick(text, random, r"^  how: (Look|Read)")
    if block is None:
        return None
    made = _within(text, block, r"^  how: ", "  how: Carefully. ")
    return made, {("words", "changed", block[2], "how", False)}


def figure_in_words(text: str, random: Random) -> tuple[str, set[Named]] | None:
    """Wording with another figure in it."""
    block = _pick(text, random, r"^  how: (Look|Read)")
    if block is None:
        return None
    made = _within(text, block, r"^  how: ", "  how: Wait 5 s. ")
    topic = "finding" if block[1] == "fault" else "check"
    return made, {(topic, "changed", block[2], "how", True)}


def title_marked_up(text: str, random: Random) -> tuple[str, set[Named]] | None:
    block = _pick(text, random, "", "fault")
    if block is None:
        return None
    made = _within(text, block, r": The (\w+)", r": The very \1")
    return made, {("words", "changed", block[2], "title", False)}


def signal_word(text: str, random: Random) -> tuple[str, set[Named]] | None:
    made = text.replace("caution hot:", "danger hot:")
    return made, {("hazard", "changed", "hot", "signal word", True)}


def hazard_words(text: str, random: Random) -> tuple[str, set[Named]] | None:
    name, old, new = random.choice([
        ("hot", "avoid: Gloves, or", "avoid: Thick gloves, or"),
        ("shock", "harm: It can kill", "harm: It does kill"),
        ("moving", "moving: Parts move", "moving: Many parts move"),
    ])  # fmt: skip
    what = re.match(r"\w+", new)
    assert what is not None
    made = text.replace(old, new)
    return made, {("hazard", "changed", name, what[0].replace("moving", "title"), True)}


def hazard_gone(text: str, random: Random) -> tuple[str, set[Named]] | None:
    made = re.sub(r"^caution hot:.*\n(  .*\n)+", "", text, flags=re.M)
    return made, {("hazard", "gone", "hot", "", True)}


def hazard_moved(text: str, random: Random) -> tuple[str, set[Named]] | None:
    made = text.replace("  at: drain\n", "  at: drain, close-drains\n")
    return made, {("hazard", "changed", "hot", "at", True)}


def procedure_line(text: str, random: Random) -> tuple[str, set[Named]] | None:
    made = text.replace("  - Covers on, tools counted, lock off.\n",
                        "  - Covers on.\n  - Tools counted, lock off.\n")  # fmt: skip
    return made, {("set-up", "changed", "unlock", "lines from 1 on", True)}


def need_changed(text: str, random: Random) -> tuple[str, set[Named]] | None:
    block = _pick(text, random, r"^  needs: running$", "check")
    if block is None:
        return None
    made = _within(text, block, r"^  needs: running$", "  needs: locked-out")
    return made, {("set-up", "changed", block[2], "needs", True)}


def model_added(text: str, random: Random) -> tuple[str, set[Named]] | None:
    made = text.replace("models: R10, R20, R30", "models: R10, R20, R30, R40")
    return made, {("model", "changed", "generated-1", "models", True)}


def check_added(text: str, random: Random) -> tuple[str, set[Named]] | None:
    """A check that the one before it leads to: its way is another one, and nothing else."""
    blocks = [b for b in _BLOCK.finditer(text) if b[1] == "check" and "\n  if no: go next" in b[0]]
    if not blocks:
        return None
    block = random.choice(blocks)
    new = "check brand-new: Is it there?\n  if yes: go next\n  if no: stop next-level\n\n"
    made = text[: block.end()] + new + text[block.end() :]
    # Of a stage's last check the stage's head stands between; the check is then of this stage.
    return made, {
        ("check", "added", "brand-new", "", True),
        ("way", "changed", block[2], "“no”", True),
    }


def renamed(text: str, random: Random) -> tuple[str, set[Named]] | None:
    block = _pick(text, random, "")
    if block is None:
        return None
    made = re.sub(rf"(?<![\w-]){re.escape(block[2])}(?![\w-])", "other-name", text)
    topic = "finding" if block[1] == "fault" else "check"
    return made, {(topic, "renamed", "other-name", "name", False)}


def case_gone(text: str, random: Random) -> tuple[str, set[Named]] | None:
    return text[: text.index("case all-well")], {("case", "gone", "all-well", "", True)}


EDITS: tuple[Edit, ...] = (
    limit_moved, answers_limit_moved, arrow_moved, good_answer, time_changed, share_changed,
    remedy_changed, wording_changed, figure_in_words, title_marked_up, signal_word, hazard_words,
    hazard_gone, hazard_moved, procedure_line, need_changed, model_added, check_added, renamed,
    case_gone,
)  # fmt: skip
