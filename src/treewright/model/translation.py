"""A tree in another language: its texts taken from translations beside it, all else its own.

A translation belongs to a file, the tree's or a library's, and is matched with it block by
block and line by line. What was written where decides: the text that stands at a place of the
tree is replaced by the one that translates what is written at that place, wherever in the tree
it has come to stand (`as in`). Ways, limits and numbers that decide are never touched.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Any, TypeVar

from treewright.model.nodes import Check, Outcome, Reading, Way
from treewright.model.scope import CLASSES
from treewright.model.tree import Case, Translation, Tree
from treewright.model.written import Name, Picture, Text, Waiver
from treewright.syntax import ast
from treewright.syntax import translation as written
from treewright.syntax.errors import near, short
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Source, Span

RULE = "not-translated"
WHY = "the walk-through offers a language only where every text is there in it"

_Pair = tuple[ast.File, written.File]
_Place = tuple[str, int]  # a source's path, an offset


@dataclass(slots=True)
class _Match:
    """What matching a file with its translation has found."""

    texts: dict[_Place, str] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)  # places and rungs
    where: dict[_Place, tuple[str, str]] = field(default_factory=dict)  # block and line, in words
    slips: list[Finding] = field(default_factory=list)


def slip(message: str, span: Span, help: str = "") -> Finding:
    """Something in a translation that does not fit."""
    return Finding(RULE, Level.DOUBT, message, span, WHY, help)


def softened(findings: Sequence[Finding]) -> list[Finding]:
    """What could not be read in a translation: the tree itself can be built all the same."""
    return [replace(one, rule=RULE, level=Level.DOUBT, why=WHY) for one in findings]


def translation(
    tree: Tree, language: str, pairs: Sequence[_Pair], slips: Sequence[Finding]
) -> Translation:
    """What the translations of a tree and its libraries say, held against the tree.

    Args:
        tree: the tree.
        language: BCP 47.
        pairs: the tree's file and those of its libraries, each with its translation; the
            tree's own first.
        slips: what was found wrong when they were read.
    """
    match = _Match(slips=list(slips))
    for original, other in pairs:
        _match_file(original, other, match)
    own = pairs[0][1]
    if own.head is not None:
        for line in own.head.lines:
            if line.key == "edition" and tree.edition is not None:
                number = line.texts[0].text.split(",")[0].strip()
                if number != str(tree.edition):
                    text = f"this is a translation of edition {short(number)}, and the tree is"
                    help = "look at what has changed, then write its number here"
                    match.slips.append(slip(f"{text} edition {tree.edition}", line.span, help))
    found = Translation(language, own.source.path, match.texts, match.names)
    lacking = tuple(_lacking(tree, found, match))
    return replace(found, lacking=lacking, slips=(*match.slips, *lacking))


def with_translation(tree: Tree, file: ast.File, language: str, source: Source) -> Tree:
    """A tree of one file with one translation beside it.

    Args:
        tree: the tree.
        file: what it was built from.
        language: BCP 47.
        source: the text of the translation.
    """
    other, found = written.parse(source)
    one = translation(tree, language, [(file, other)], softened(found))
    return replace(tree, translations=(*tree.translations, one))


def translated(tree: Tree, translation: Translation) -> Tree:
    """The tree with every text in the other language that is there in it."""
    put = _Translator(translation).put
    names = translation.names
    return replace(
        tree,
        language=translation.language,
        title=put(tree.title),
        machine=put(tree.machine),
        about=put(tree.about),
        symptoms=put(tree.symptoms),
        stages=put(tree.stages),
        nodes=put(tree.nodes),
        conditions=put(tree.conditions),
        procedures=put(tree.procedures),
        hazards=put(tree.hazards),
        access=tuple(names.get(f"access {name}", name) for name in tree.access),
        place_titles={
            words.removeprefix("place "): name
            for words, name in names.items()
            if words.startswith("place ")
        },
    )


# ---- matching a file with its translation ---------------------------------------------------


def _match_file(original: ast.File, other: written.File, match: _Match) -> None:
    blocks: dict[tuple[str, str], ast.Block] = {}
    for block in original.blocks:
        blocks.setdefault((_class(block.kind), block.name.text), block)
    given: dict[tuple[str, str], written.Block] = {}
    for one in (*((other.head,) if other.head else ()), *other.blocks):
        key = (_class(one.kind), one.name.text)
        if key not in blocks:
            match.slips.append(_unknown(one, blocks))
        elif key in given:
            text = f"`{one.name.text}` is translated twice"
            match.slips.append(slip(text, one.name.span, "take one out"))
        else:
            given[key] = one
    if other.head is None:
        whole = Span(other.source, 0, 1)
        help = "start it with `translation NAME: TITLE`, with the name of the tree"
        match.slips.append(slip("this translation does not say of which tree it is", whole, help))
    for key, block in blocks.items():
        if key[0] != "case":
            _match_block(block, given.get(key), match)


def _class(kind: str) -> str:
    return CLASSES.get(kind, "tree")  # tree, library and translation are heads


def _unknown(one: written.Block, blocks: dict[tuple[str, str], ast.Block]) -> Finding:
    kind = _class(one.kind)
    names = [name for known, name in blocks if known == kind]
    meant = near(one.name.text, names)
    if meant:
        help = f"did you mean `{meant}`?"
    elif kind == "tree":
        help = f"the file is called `{names[0]}`" if names else ""
    else:
        help = "take it out, if the tree no longer has it"
    what = "tree or library" if kind == "tree" else one.kind
    text = f"there is no {what} `{one.name.text}` that this could translate"
    return slip(text, one.name.span, help)


def _match_block(block: ast.Block, given: written.Block | None, match: _Match) -> None:
    lines = {_words_of(line): line for line in given.lines} if given else {}
    items = [line for line in given.lines if line.key == "item"] if given else []
    used: set[int] = set()

    def put(
        span: Span, words: str, line: written.Line | None, at: int = 0, original: str = ""
    ) -> None:
        place = (span.source.path, span.start)
        match.where[place] = (block.name.text, words)
        if line is not None:
            used.add(id(line))
            text = line.texts[at].text
            match.texts[place] = text
            _compare(block, words, original, text, line.texts[at].span, match)

    title = (block.title.span.source.path, block.title.span.start)
    match.where[title] = (block.name.text, "title")
    if given is not None:
        match.texts[title] = given.title.text
        _compare(block, "title", block.title.text, given.title.text, given.title.span, match)
    count = 0
    for line in block.lines:
        value = line.value
        match line.key, value:
            case "item", ast.Prose():
                item = items[count] if count < len(items) else None
                count += 1
                put(value.span, f"step {count}", item, original=value.text)
            case ("tools" | "parts") as key, tuple():
                other = lines.get(key)
                if other is not None and len(other.texts) != len(value):
                    used.add(id(other))
                    text = f"`{key}` of `{block.name.text}` names {len(other.texts)} things"
                    text += f", the tree {len(value)}"
                    match.slips.append(slip(text, other.span, "write as many, in the same order"))
                    other = None
                for at, word in enumerate(value):
                    if isinstance(word, ast.Word):
                        put(word.span, key, other, at, word.text)
            case "if", ast.Answer(words=ast.Word() as said) if block.kind == "check":
                answer = " ".join(said.text.split())
                put(said.span, f"if {answer}", lines.get(f"if {answer}"))
            case "picture", ast.PictureText() if value.caption:
                put(value.file.span, "caption", lines.get("caption"), original=value.caption)
            case ("access" | "at") as key, tuple() if key == "access" or block.kind == "reading":
                for word in value:
                    if isinstance(word, ast.Word):
                        words = f"{'place' if key == 'at' else key} {word.text}"
                        other = lines.get(words)
                        put(word.span, words, other)
                        if other is not None:
                            match.names[words] = other.texts[0].text
            case key, ast.Prose() if key != "waive":
                put(value.span, key, lines.get(key), original=value.text)
            case _:
                pass
    for left in given.lines if given else ():
        if id(left) not in used and left.key != "edition":
            text = f"`{block.name.text}` has no `{_words_of(left)}` that this could translate"
            known = [words for name, words in match.where.values() if name == block.name.text]
            meant = near(_words_of(left), known)
            help = f"did you mean `{meant}`?" if meant else "take it out"
            match.slips.append(slip(text, left.span, help))


def _words_of(line: written.Line) -> str:
    return f"{line.key} {line.of.text}" if line.of else line.key


_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


def _compare(
    block: ast.Block, words: str, original: str, text: str, span: Span, match: _Match
) -> None:
    """Numbers in a text are what they are in any language."""
    mine, theirs = (
        sorted(number.replace(",", ".") for number in _NUMBER.findall(one))
        for one in (original, text)
    )
    if original and mine != theirs:
        here = ", ".join(theirs) or "none"
        match.slips.append(
            slip(f"the numbers in `{words}` of `{block.name.text}` are not those of the tree",
                 span, f"the tree has {', '.join(mine) or 'none'}, and here are {here}")
        )  # fmt: skip


# ---- what the tree still lacks ---------------------------------------------------------------


def _lacking(tree: Tree, translation: Translation, match: _Match) -> Iterator[Finding]:
    """One finding for each block of the tree that has a text without its translation."""
    lacking: dict[tuple[str, str], tuple[Span, list[str]]] = {}

    def lacks(span: Span, block: str, words: str) -> None:
        _, found = lacking.setdefault((span.source.path, block), (span, []))
        if words not in found:
            found.append(words)

    for span, text in _shown(tree):
        place = (span.source.path, span.start)
        if text and place not in translation.texts:
            lacks(span, *match.where.get(place, ("", short(text))))
    for rung in tree.access:
        if f"access {rung}" not in translation.names:
            lacks(tree.span, tree.name, f"access {rung}")
    for node in tree.nodes.values():
        for place_name in node.places if isinstance(node, Reading) else ():
            if f"place {place_name}" not in translation.names:
                lacks(node.span, node.name, f"place {place_name}")
    for (_, block), (span, words) in lacking.items():
        what = f"`{block}` is" if block else "this text is"
        named = ", ".join(f"`{one}`" for one in words[:4]) + (" …" if words[4:] else "")
        yield slip(
            f"{what} not whole in the language `{translation.language}`: {named}", span,
            f"write it in the file that ends in `.{translation.language}.tree`, in the block"
            f" `{block}`" if block else "write its library's translation beside the library",
        )  # fmt: skip


_SHOWN = ("symptoms", "stages", "nodes", "conditions", "procedures", "hazards")


def _shown(tree: Tree) -> Iterator[tuple[Span, str]]:
    """All texts of a tree that are shown to a technician, each with its place."""
    for one in ("title", "machine", "about", *_SHOWN):
        yield from _texts(getattr(tree, one))


def _texts(value: Any) -> Iterator[tuple[Span, str]]:
    match value:
        case Text():
            yield value.span, value.text
        case Picture():
            yield value.span, value.caption
        case Check():
            for outcome in value.outcomes:
                yield outcome.span, outcome.label
            yield from _inside(value)
        case Name() | Outcome() | Way() | Waiver() | Case() | Span() | str():
            return
        case tuple():
            for one in value:
                yield from _texts(one)
        case dict():
            for one in value.values():
                yield from _texts(one)
        case _ if is_dataclass(value):
            yield from _inside(value)


def _inside(value: Any) -> Iterator[tuple[Span, str]]:
    for one in fields(value):
        yield from _texts(getattr(value, one.name))


# ---- the translated tree ---------------------------------------------------------------------

_T = TypeVar("_T")


class _Translator:
    def __init__(self, translation: Translation) -> None:
        self.texts, self.names = translation.texts, translation.names

    def at(self, span: Span, text: str) -> str:
        return self.texts.get((span.source.path, span.start), text)

    def put(self, value: _T) -> _T:
        return self._put(value)  # type: ignore[no-any-return]

    def _put(self, value: Any) -> Any:
        match value:
            case Text():
                return replace(value, text=self.at(value.span, value.text))
            case Picture():
                return replace(value, caption=self.at(value.span, value.caption))
            case Check():
                outcomes = tuple(
                    replace(one, label=self.at(one.span, one.label)) for one in value.outcomes
                )
                return replace(self._all(value), outcomes=outcomes)
            case Reading():
                return self._all(value)
            case Name() | Outcome() | Way() | Waiver() | Case() | Span() | str():
                return value
            case tuple():
                return tuple(self._put(one) for one in value)
            case dict():
                return {name: self._put(one) for name, one in value.items()}
            case _ if is_dataclass(value):
                return self._all(value)
            case _:
                return value

    def _all(self, value: Any) -> Any:
        made = {}
        for one in fields(value):
            old = getattr(value, one.name)
            if one.name == "access" and isinstance(old, Name):
                new: Any = replace(old, name=self.names.get(f"access {old.name}", old.name))
            else:
                new = self._put(old)
            if new is not old:
                made[one.name] = new
        return replace(value, **made) if made else value
