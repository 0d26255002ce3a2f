"""The one way to declare a value: a dataclass with slots that is never changed after it is made.

That nothing changes it is proven by the type checker, for the whole project, and not paid for
again at every start and every value made: a dataclass frozen at run time takes twice as long
to declare and three times as long to make. For the same reason only what makes a value is
written out for each class; how values compare, hash and show is said once, here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from operator import attrgetter
from typing import Any, TypeVar, dataclass_transform

Value = TypeVar("Value")


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def record(cls: type[Value]) -> type[Value]:
    """Makes a class a value: its fields in the order written, compared and hashed by them."""
    cls.__doc__ = cls.__doc__ or ""  # else a signature is worked out for it, at every start
    made = dataclass(slots=True, eq=False, repr=False)(cls)
    names = [one.name for one in fields(made) if one.compare]  # type: ignore[arg-type]
    own = vars(cls)
    for name, method in _methods(attrgetter(*names) if names else type).items():
        if name not in own:
            setattr(made, name, method)
    return made


def _methods(parts: Callable[[Any], object]) -> dict[str, Callable[..., object]]:
    """What all values can do. `parts`: gives what one is compared by."""

    def same(one: object, other: object) -> object:
        if one.__class__ is not other.__class__:
            return NotImplemented
        return parts(one) == parts(other)

    def hashed(one: object) -> int:
        return hash(parts(one))

    return {"__eq__": same, "__hash__": hashed, "__repr__": _shown}


def _shown(value: Any) -> str:
    """A value as it is written in Python, for who looks for a slip in this program."""
    shown = (f"{one.name}={getattr(value, one.name)!r}" for one in fields(value) if one.repr)
    return f"{type(value).__qualname__}({', '.join(shown)})"
