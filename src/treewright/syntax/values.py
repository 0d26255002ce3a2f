"""Turns one parsed line into a value: names with places, exact limits, ways.

Whatever the grammar lets through but makes no sense (a unit nobody knows, a range written
backwards, a date that is none) is reported here through `Trouble`, with its place.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any, cast

import lark

from treewright.syntax import ast
from treewright.syntax.errors import changed, short
from treewright.syntax.lines import dedent, visible
from treewright.text import interval, quantity, units
from treewright.text.diagnostic import Fix
from treewright.text.interval import Limits
from treewright.text.source import Source, Span

Node = lark.Tree[lark.Token]


class Trouble(Exception):
    """A value that makes no sense: what is wrong, where, and what to write instead."""

    def __init__(self, message: str, span: Span, help: str, fix: Fix | None = None) -> None:
        super().__init__(message)
        self.message, self.span, self.help, self.fix = message, span, help, fix


class Reader:
    """Reads the values of one logical line.

    Args:
        source: the file.
        base: the line's offset in it.
        raw: the line's text with its comments still marked, for prose.
    """

    def __init__(self, source: Source, base: int, raw: str) -> None:
        self.source, self.base, self.raw = source, base, raw

    # ---- places --------------------------------------------------------------------------

    def span(self, start: int, end: int) -> Span:
        return Span(self.source, self.base + start, self.base + end)

    def word(self, token: lark.Token) -> ast.Word:
        text = str(token).rstrip()
        start = cast(int, token.start_pos)
        return ast.Word(" ".join(text.split()), self.span(start, start + len(text)))

    def words(self, tokens: list[Any]) -> tuple[ast.Word, ...]:
        return tuple(self.word(token) for token in tokens)

    def prose(self, token: lark.Token) -> ast.Prose:
        start = cast(int, token.start_pos)
        return ast.Prose(dedent(self.raw[start:]), self.span(start, len(self.raw)))

    # ---- lines ---------------------------------------------------------------------------

    def line(self, tree: Node) -> ast.Value:
        """The value of a line.

        Raises:
            Trouble: it is well formed but makes no sense.
        """
        inside: list[Any] = tree.children
        match str(tree.data):
            case (
                "machine" | "about" | "how" | "harm" | "avoid" | "remedy" | "to" | "licence"
                | "item"
            ):  # fmt: skip
                return self.prose(inside[0])
            case "waive":
                return ast.WaiveText(self.word(inside[0]), self.prose(inside[1]))
            case (
                "set_up" | "undo" | "start_at" | "retest" | "as_in" | "same_as" | "of_symptom"
                | "of_model" | "ends" | "access" | "normal"
            ):  # fmt: skip
                return self.word(inside[0])
            case "edition":
                return self.edition(inside[0], inside[1])
            case "units":
                return self.systems(inside[0], inside[1])
            case "after":
                return self.word(inside[0])
            case "language":
                return self.word(inside[0])
            case "time":
                return self.minutes(inside[0])
            case "people":
                return self.people(inside[0])
            case "share":
                return self.number(inside[0])
            case "unit":
                return self.unit(inside[0])
            case "picture":
                caption = str(inside[1])[1:-1].strip() if inside[1] else ""
                return ast.PictureText(self.word(inside[0]), caption)
            case "answer":
                return ast.Answer(self.word(inside[0]), None, self.way(inside[1]))
            case "judged":
                return ast.Answer(self.written(), self.test(inside[0]),
                                  self.way(inside[1]))  # fmt: skip
            case "otherwise":
                return ast.Answer(None, None, self.way(inside[0]))
            case "answers":
                return tuple(ast.Answer(self.word(token), None, None) for token in inside)
            case "judgements":
                return tuple(
                    ast.Answer(
                        words, None if isinstance(part, lark.Token) else self.test(part), None
                    )
                    for words, part in zip(self.pieces(), inside, strict=True)
                )
            case "then":
                return self.way(inside[0])
            case "spec":
                models = self.words([t for t in inside[:-1] if t is not None])
                limit = replace(self.limits(inside[-1]), span=self.behind_colon())
                return ast.SpecText(models, limit)
            case "shows":
                return tuple(
                    ast.Show(self.word(node), self.word(answer), maybe is not None)
                    for maybe, node, answer in (show.children for show in inside)
                )
            case _:
                return self.words(inside)

    def way(self, tree: Node) -> ast.WayText:
        does: list[ast.Word] = []
        tokens: list[Any] = tree.children
        while tokens[0].type == "DO":
            does.append(self.word(tokens[1]))
            tokens = tokens[2:]
        kind = str(tokens[0])
        target = self.word(tokens[1]) if tokens[1].type == "NAME" else None
        if kind == "go" and target is None:
            kind = "next"
        whole: list[Any] = tree.children
        span = self.span(whole[0].start_pos, whole[-1].end_pos)
        return ast.WayText(cast(Any, kind), tuple(does), target, span)

    def behind_colon(self) -> Span:
        """All that stands behind the line's colon, words such as `at least` with it."""
        line = visible(self.raw)
        start = line.index(":") + 1
        start += len(line[start:]) - len(line[start:].lstrip())
        return self.span(start, len(line.rstrip()))

    # ---- limits --------------------------------------------------------------------------

    def written(self) -> ast.Word:
        """The words of a reading's answer as they stand."""
        start, line = len("if"), visible(self.raw)
        text = line[start : line.index(":")]
        lead = len(text) - len(text.lstrip())
        return ast.Word(
            " ".join(text.split()), self.span(start + lead, start + len(text.rstrip()))
        )

    def pieces(self) -> list[ast.Word]:
        """What stands between the commas behind the line's colon."""
        whole = visible(self.raw)
        at = whole.index(":") + 1
        found = []
        for piece in whole[at:].split(","):
            start = at + len(piece) - len(piece.lstrip())
            words = " ".join(piece.split())
            found.append(ast.Word(words, self.span(start, at + len(piece.rstrip()))))
            at += len(piece) + 1
        return found

    def test(self, tree: Node) -> ast.ReadingTest:
        inside = cast(Node, tree.children[0])
        if str(inside.data) in ("all_", "any_", "none_", "only_"):
            quantifier = str(inside.data).rstrip("_")
            only = quantifier == "only"
            place = self.word(cast(lark.Token, inside.children[0])) if only else None
            plain = cast(Node, inside.children[-1])
            return ast.ReadingTest(cast(Any, quantifier), place, self.plain(plain))
        return ast.ReadingTest("one", None, self.plain(inside))

    def plain(self, tree: Node) -> ast.Verdict | ast.Limit:
        if tree.data == "verdict":
            return ast.Verdict(cast(Any, str(tree.children[0])))
        return self.limits(tree)

    def limits(self, tree: Node) -> ast.Limit:
        """Joined limits, in the first unit written; a number without one takes the next."""
        parts = cast("list[Node]", tree.children)
        amounts = [self.amount(t) for part in parts for t in self._amount_trees(part)]
        known = [a for a in amounts if a.unit is not None and a.unit.symbol != "%"]
        main = next(iter(known), next((a for a in amounts if a.unit), None))
        unit = main.unit if main else None
        limits = interval.Limits.of()
        for part in parts:
            limits = limits | self._limit(part, unit)
        return ast.Limit(limits, unit, self.extent(tree))

    def extent(self, tree: Node) -> Span:
        """From the first number of a limit to its last word."""
        tokens = list(tree.scan_values(lambda t: isinstance(t, lark.Token)))
        return self.span(cast(int, tokens[0].start_pos), cast(int, tokens[-1].end_pos))

    def _amount_trees(self, part: Node) -> list[Node]:
        subtrees: Any = part
        return [
            tree
            for tree in subtrees.iter_subtrees_topdown()
            if tree.data in ("amount", "tolerance")
        ]

    def amount(self, tree: Node) -> ast.Amount:
        inside: list[Any] = [child for child in tree.children if child is not None]
        negative = inside[0].type == "MINUS"
        number = inside[1] if negative else inside[0]
        unit = self.unit(inside[-1]) if inside[-1].type == "UNIT" else None
        value = self.number(number)
        span = self.span(inside[0].start_pos, inside[-1].end_pos)
        return ast.Amount(-value if negative else value, unit, span)

    def _limit(self, part: Node, unit: units.Unit | None) -> Limits:
        amounts = [self.amount(tree) for tree in self._amount_trees(part)]
        first = self._in(amounts[0], unit)
        match str(part.data):
            case "both":
                above, below = (self._limit(cast(Node, end), unit) for end in part.children)
                if not above & below:
                    raise Trouble(
                        f"no value fits `{self.extent(part).text}`",
                        self.extent(part),
                        "write the lower value first, like `at least 8 and below 9`",
                    )
                return above & below
            case "below":
                return interval.below(first)
            case "above":
                return interval.above(first)
            case "at_least":
                return interval.at_least(first)
            case "at_most":
                return interval.at_most(first)
            case "exactly":
                return interval.exactly(first)
            case "between":
                second = self._in(amounts[1], unit)
                if first > second:
                    low, high = (quantity.number_text(v) for v in (second, first))
                    where = Span(self.source, amounts[0].span.start, amounts[1].span.end)
                    mark = f" {unit.symbol}" if unit else ""
                    raise Trouble(
                        f"`{where.text}` runs from the higher value to the lower",
                        where,
                        f"write the lower value first: `{low} to {high}{mark}`",
                    )
                return interval.between(first, second)
            case _:  # around
                more = self._tolerance(amounts[1], amounts[0], first, unit)
                less = self._tolerance(amounts[-1], amounts[0], first, unit)
                return interval.between(first - less, first + more)

    def _in(self, amount: ast.Amount, unit: units.Unit | None) -> Fraction:
        if amount.unit is None or unit is None:
            return amount.value
        if amount.unit.dimension != unit.dimension:
            raise self._unlike(amount, unit)
        return units.convert(amount.value, amount.unit, unit)

    def _tolerance(
        self, tolerance: ast.Amount, about: ast.Amount, value: Fraction, unit: units.Unit | None
    ) -> Fraction:
        written = tolerance.unit
        if written is None or unit is None:
            return tolerance.value
        if written.symbol == "%" and unit.symbol != "%":
            return abs(value) * tolerance.value / 100
        if written.dimension == "temperature difference" and unit.dimension == "temperature":
            return tolerance.value * written.factor / unit.factor
        if written.dimension != unit.dimension:
            raise self._unlike(tolerance, unit)
        return units.convert_difference(tolerance.value, written, unit)

    def _unlike(self, amount: ast.Amount, unit: units.Unit) -> Trouble:
        assert amount.unit is not None
        return Trouble(
            f"`{amount.unit.symbol}` and `{unit.symbol}` do not measure the same thing",
            amount.span,
            f"write both in `{unit.symbol}` or another unit of {unit.dimension}",
        )

    # ---- single values -------------------------------------------------------------------

    def number(self, token: lark.Token) -> Fraction:
        try:
            return quantity.read_number(str(token))
        except (ValueError, ZeroDivisionError):
            word = self.word(token)
            raise Trouble(
                f"`{word.text}` is no number", word.span, "write it like `8`, `8.5` or `1 1/2`"
            ) from None

    def unit(self, token: lark.Token) -> units.Unit:
        word = self.word(token)
        found = units.find_unit(word.text)
        if found is None:
            near = units.near_units(word.text)
            help = f"did you mean {' or '.join(f'`{u}`' for u in near)}?" if near else (
                "units are written like `bar`, `psi`, `mm`, `in`, `°C`, `s`, `min`, `L/min`, `V`; "
                "counted things like `drops/min`, `starts/h`"
            )  # fmt: skip
            meant = units.other_case(word.text)
            fix = changed(word.span, meant) if meant and word.span.text == word.text else None
            what = f"`{short(word.text)}` is no unit this language knows"
            raise Trouble(what, word.span, help, fix)
        return found

    def minutes(self, token: lark.Token) -> Fraction:
        word = self.word(token)
        try:
            found = quantity.minutes(word.text)
        except (ValueError, ZeroDivisionError):
            found = None
        if found is None or found < 0:
            raise Trouble(
                f"`{short(word.text)}` is no length of time",
                word.span,
                "write it like `2 min`, `4 h`, `1 h 30 min` or `90 s`",
            )
        return found

    def people(self, token: lark.Token) -> Fraction:
        found = self.number(token)
        if not 1 <= found <= 99:
            word = self.word(token)
            raise Trouble(
                f"`{word.text}` people do no job", word.span,
                "write how many it takes at once, like `people: 2`, or leave the line out for one",
            )  # fmt: skip
        return found

    def systems(self, main: lark.Token, also: lark.Token | None) -> ast.UnitsText:
        if also is not None and str(also) == str(main):
            raise Trouble(f"`{also}` is written twice", self.word(also).span,
                          "write `units: metric, also us`, or one of them alone")  # fmt: skip
        return ast.UnitsText(str(main), str(also or ""))

    def edition(self, number: lark.Token, day: lark.Token) -> ast.EditionText:
        try:
            date.fromisoformat(str(day))
        except ValueError:
            raise Trouble(
                f"`{day}` is no date in the calendar",
                self.word(day).span,
                "write year, month and day: `2026-10-01`",
            ) from None
        if len(str(number)) > 6:
            word = self.word(number)
            raise Trouble("this edition number is too long", word.span, "count editions 1, 2, 3")
        return ast.EditionText(int(number), str(day))

    def measured(self, tree: Node) -> tuple[tuple[ast.Word | None, ast.Amount], ...]:
        """The amounts of a case's line, by place."""
        found: list[tuple[ast.Word | None, ast.Amount]] = []
        for child in cast("list[Node]", tree.children):
            if child.data == "at_place":
                place = self.word(cast(lark.Token, child.children[0]))
                found.append((place, self.amount(cast(Node, child.children[1]))))
            else:
                found.append((None, self.amount(child)))
        return tuple(found)
