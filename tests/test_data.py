"""The compiled tree as JSON: exactly as its schema says, and refused where it is not."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import fields, is_dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from types import NoneType
from typing import Any, Literal, get_args, get_origin, get_type_hints

import generate
import pytest
from demos import DEMOS
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from test_lint import sound
from walk import Values, judge

from treewright import resources
from treewright.model.nodes import Reading
from treewright.project import Project
from treewright.render import data, outline
from treewright.render.compile import compile_tree

HERE = Path(__file__).parent
EVERYTHING = HERE / "cases" / "compile" / "everything.tree"
TREES = sorted(
    [
        *DEMOS,
        *(HERE / "published").glob("*.tree"),
        EVERYTHING,
    ]
)
SCHEMA = json.loads((resources.grammar() / "tree.schema.json").read_text(encoding="utf-8"))

each_tree = pytest.mark.parametrize("path", TREES, ids=lambda path: path.stem)


@cache
def compiled(path: Path) -> outline.Outline:
    loaded = Project().load(path)
    assert loaded.tree is not None and loaded.sound
    return compile_tree(loaded.tree)


# ---- the schema itself -----------------------------------------------------------------------


def objects() -> Iterator[tuple[str, dict[str, Any]]]:
    """Every object of the schema with its name; "outline" for the whole."""
    yield "outline", SCHEMA
    yield from ((n, part) for n, part in SCHEMA["$defs"].items() if part["type"] == "object")


def resolved(part: dict[str, Any]) -> dict[str, Any]:
    return SCHEMA["$defs"][part["$ref"].removeprefix("#/$defs/")] if "$ref" in part else part


def takes_null(part: dict[str, Any]) -> bool:
    part = resolved(part)
    types = part.get("type", [])
    return (
        "null" in types
        or None in part.get("enum", [])
        or any(takes_null(one) for one in part.get("anyOf", []))
    )


def test_it_is_a_valid_schema_with_a_name_of_its_own() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == Draft202012Validator.META_SCHEMA["$id"]
    assert SCHEMA["$id"].startswith("urn:treewright:")


def test_every_object_is_closed_and_whole_and_everything_is_described() -> None:
    for name, part in objects():
        assert part["additionalProperties"] is False, name
        assert part["required"] == list(part["properties"]), name
        for key, value in part["properties"].items():
            assert value.get("description") or resolved(value)["description"], f"{name}.{key}"
    for name, part in SCHEMA["$defs"].items():
        assert part["title"] and part["description"], name


def test_everything_defined_is_used() -> None:
    text = json.dumps(SCHEMA)
    assert [name for name in SCHEMA["$defs"] if f'"#/$defs/{name}"' not in text] == []


def test_it_has_the_fields_of_the_outline() -> None:
    classes = {
        name[0].lower() + name[1:]: value
        for name, value in vars(outline).items()
        if isinstance(value, type) and is_dataclass(value)
    }
    assert set(classes) == {name for name, _ in objects()}
    for name, part in objects():
        hints = get_type_hints(classes[name])
        properties = dict(part["properties"])
        if name == "outline":
            assert properties.pop("version") == {
                "description": "The version of this format.",
                "const": data.VERSION,
            }
        names = [{"whilst": "while"}.get(f.name, f.name) for f in fields(classes[name])]
        assert list(properties) == names, name
        for field, key in zip(fields(classes[name]), names, strict=True):
            hint, where = hints[field.name], f"{name}.{key}"
            assert takes_null(properties[key]) == (NoneType in get_args(hint)), where
            literals = [h for h in (hint, *get_args(hint)) if get_origin(h) is Literal]
            if literals:
                enum = set(properties[key]["enum"]) - {None}
                assert enum == set(get_args(literals[0])), where


# ---- data that fit it ------------------------------------------------------------------------


@each_tree
def test_a_tree_fits_and_comes_back_the_same(path: Path) -> None:
    text = data.to_json(compiled(path))
    again = json.loads(text)
    assert again == data.to_data(compiled(path))
    assert json.dumps(again, ensure_ascii=False, indent=1) + "\n" == text
    # The program puts what the schema refers to in place first; the plain one says the same.
    assert list(Draft202012Validator(SCHEMA).iter_errors(again)) == []


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**6))
def test_generated_trees_fit(number: int) -> None:
    data.check(data.to_data(compile_tree(sound(generate.tree(number, nodes=15)))))


def test_the_same_tree_gives_the_same_bytes_in_another_process() -> None:
    trees = (EVERYTHING, HERE.parent / "trees" / "air-compressor.tree")
    program = (
        "import sys\nfrom pathlib import Path\nfrom treewright.project import Project\n"
        "from treewright.render.compile import compile_tree\n"
        "from treewright.render.data import to_json\n"
        "for path in sys.argv[1:]:\n"
        "    tree = Project().load(Path(path)).tree\n"
        "    sys.stdout.buffer.write(to_json(compile_tree(tree)).encode())\n"
    )
    made = {
        subprocess.run(
            [sys.executable, "-c", program, *map(str, trees)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert made == {"".join(data.to_json(compiled(path)) for path in trees).encode()}


# ---- data that decide ------------------------------------------------------------------------


def applies(test: dict[str, Any], values: Values, model: str | None) -> bool:
    """Whether an answer applies, told from the data alone, as any other program would."""
    ranges = test["ranges"].get(model, test["ranges"].get("*", []))

    def is_in(value: Fraction) -> bool:
        return any(
            (one["low"] is None or value >= Fraction(one["low"]))
            and (one["high"] is None or value <= Fraction(one["high"]))
            and (one["low_included"] or one["low"] is None or value != Fraction(one["low"]))
            and (one["high_included"] or one["high"] is None or value != Fraction(one["high"]))
            for one in ranges
        )

    inside = {place: is_in(value) for place, value in values.items()}
    match test["quantifier"]:
        case "any":
            return any(inside.values())
        case "none":
            return not any(inside.values())
        case "only":
            return [place for place, yes in inside.items() if yes] == [test["place"]]
        case _:
            return all(inside.values())


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from((*generate.MODELS, "another")), st.data())
def test_the_data_decide_as_the_tree_does(number: int, model: str, draw: st.DataObject) -> None:
    tree = sound(generate.tree(number, nodes=16))
    made = data.to_data(compile_tree(tree))
    for node in made["nodes"]:
        if node["kind"] != "reading":
            continue
        tests = [outcome["test"] for outcome in node["outcomes"]]
        ranges = [one for test in tests for some in test["ranges"].values() for one in some]
        ends = {Fraction(one[end]) for one in ranges for end in ("low", "high") if one[end]}
        near = st.sampled_from(sorted(ends | {end + Fraction(1, 999) for end in ends}))
        values = {place: draw.draw(near) for place in node["places"] or (None,)}
        found = [
            at
            for at, test in enumerate(tests)
            if test["kind"] == "limit" and applies(test, values, model)
        ]
        otherwise = [at for at, test in enumerate(tests) if test["kind"] == "otherwise"]
        reading = tree.nodes[node["name"]]
        assert isinstance(reading, Reading)
        assert tuple(found or otherwise) == judge(reading, model, values)


# ---- data that do not ------------------------------------------------------------------------

# Keys of these objects are models: any will do.
_BY_MODEL = {"ranges", "by_model", "details"}
# Nothing in the schema takes any of these.
_WRONG: tuple[Any, ...] = (1.5, {"no-such": 1}, [None])


def places(value: object, above: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """The way to every value inside."""
    if isinstance(value, dict):
        inside: list[tuple[str | int, object]] = list(value.items())
    else:
        inside = list(enumerate(value)) if isinstance(value, list) else []
    for key, one in inside:
        yield (*above, key)
        yield from places(one, (*above, key))


def damaged(whole: dict[str, Any], way: tuple[str | int, ...], how: str) -> dict[str, Any]:
    made = deepcopy(whole)
    inside: Any = made
    for key in way[:-1]:
        inside = inside[key]
    if how == "drop":
        del inside[way[-1]]
    elif how == "add":
        inside["no-such"] = None
    else:
        inside[way[-1]] = json.loads(how)
    return made


def is_object_of_its_own(way: tuple[str | int, ...]) -> bool:
    return isinstance(way[-1], str) and (len(way) < 2 or way[-2] not in _BY_MODEL)


def kinds(value: object) -> dict[tuple[str, ...], tuple[str | int, ...]]:
    """One place for each property, however often it is there."""
    return {tuple("*" if isinstance(k, int) else k for k in way): way for way in places(value)}


def thinned(whole: dict[str, Any]) -> dict[str, Any]:
    """The same with as few nodes as still show every property."""
    made, all_kinds = deepcopy(whole), set(kinds(whole))
    for node in whole["nodes"]:
        fewer = {**made, "nodes": [one for one in made["nodes"] if one != node]}
        if set(kinds(fewer)) == all_kinds:
            made = fewer
    return made


def test_every_kind_of_damage_to_every_property_is_refused() -> None:
    whole = thinned(data.to_data(compiled(EVERYTHING)))
    data.check(whole)
    ways = kinds(whole)
    assert len(ways) > 150
    for number, way in enumerate(ways.values()):
        harm = [json.dumps(_WRONG[number % len(_WRONG)])]
        if is_object_of_its_own(way):
            harm += ["drop", "add"]
        for how in harm:
            with pytest.raises(data.Unfit):
                data.check(damaged(whole, way, how))


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_damage_anywhere_is_refused(draw: st.DataObject) -> None:
    whole = data.to_data(compiled(EVERYTHING))
    way = draw.draw(st.sampled_from(list(places(whole))))
    hows = [json.dumps(wrong) for wrong in _WRONG]
    hows += ["drop", "add"] if is_object_of_its_own(way) else []
    with pytest.raises(data.Unfit):
        data.check(damaged(whole, way, draw.draw(st.sampled_from(hows))))


@pytest.mark.parametrize(
    ("way", "wrong"),
    [
        (("nodes", 0, "name"), "Not A Name"),
        (("nodes", 0, "kind"), "decision"),
        (("nodes", 0, "number"), "X1"),
        (("nodes", 0, "cost", "minutes"), "1.5"),
        (("nodes", 0, "cost", "minutes"), "3/0"),
        (("fingerprint",), "77C8FA5B"),
        (("date",), "1 October 2026"),
        (("hazards", 0, "signal"), "beware"),
        (("symptoms", 0, "start"), ""),
        (("version",), 2),
    ],
)
def test_a_wrong_word_or_number_is_refused_and_its_place_is_named(
    way: tuple[str | int, ...], wrong: object
) -> None:
    whole = data.to_data(compiled(EVERYTHING))
    with pytest.raises(data.Unfit) as said:
        data.check(damaged(whole, way, json.dumps(wrong)))
    place = "".join(f"[{key}]" if isinstance(key, int) else f".{key}" for key in way)
    assert f"at ${place}:" in str(said.value)
