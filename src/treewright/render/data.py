"""The compiled tree as JSON: what `treewright data` writes and other programs read.

Its shape is grammar/tree.schema.json (JSON Schema 2020-12), checked at every write.
"""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any

from treewright import resources
from treewright.render.outline import Outline

VERSION = 1

# Python does not let a field be called "while".
_RENAMED = {"whilst": "while"}

# Fields of pairs that are written as objects.
_BY_MODEL = ("ranges", "by_model", "details")


class Unfit(Exception):
    """Data that its own schema does not take: a slip of this program, said plainly."""


def to_data(outline: Outline) -> dict[str, Any]:
    """The outline as plain JSON values; names as in the schema."""
    plain = _plain(outline)
    assert isinstance(plain, dict)
    return {"version": VERSION, **plain}


def to_json(outline: Outline) -> str:
    """The compiled tree as JSON text, checked against its schema.

    Raises:
        Unfit: the data do not fit the schema.
    """
    data = to_data(outline)
    check(data)
    return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


def check(data: dict[str, Any]) -> None:
    """Checks compiled data against grammar/tree.schema.json.

    Raises:
        Unfit: they do not fit; the message names the place and the trouble.
    """
    from jsonschema.exceptions import best_match

    trouble = best_match(validator().iter_errors(data))
    if trouble is not None:
        raise Unfit(f"the compiled tree does not fit its schema at {trouble.json_path}: "
                    f"{trouble.message[:200]}")  # fmt: skip


@cache
def validator() -> Any:
    """Checks compiled data: made once for a process, which takes a while."""
    from jsonschema import Draft202012Validator

    schema = json.loads((resources.grammar() / "tree.schema.json").read_text(encoding="utf-8"))
    return Draft202012Validator(_resolved(schema, schema.pop("$defs")))


def _resolved(part: Any, named: dict[str, Any]) -> Any:
    """A schema with what it refers to put in place: it then checks twice as fast.

    No part of this schema refers to itself, however indirectly.
    """
    if isinstance(part, list):
        return [_resolved(one, named) for one in part]
    if not isinstance(part, dict):
        return part
    if "$ref" in part:
        return _resolved(named[part["$ref"].removeprefix("#/$defs/")], named)
    return {key: _resolved(one, named) for key, one in part.items()}


def _plain(value: object) -> object:
    if is_dataclass(value) and not isinstance(value, type):
        plain = {}
        for field in fields(value):
            item = getattr(value, field.name)
            made = _plain(dict(item)) if field.name in _BY_MODEL else _plain(item)
            plain[_RENAMED.get(field.name, field.name)] = made
        return plain
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value
