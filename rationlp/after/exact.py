"""Frozen records as plain JSON values and back, without losing a bit: the form in which a plan is
kept in the farm folder.

A record becomes an object of its fields, a date its ISO text, a set a sorted list. What type
each value has is read from the annotations of the record when it comes back, so that the file
holds figures only.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from functools import cache
from math import inf
from typing import Any

from rationlp.farm.farm import Crop

_OUTSIDE = {inf: "inf", -inf: "-inf"}
_ELSEWHERE = {"Crop": Crop}
"""Names that a record's module imports for the type checker only."""


Parts = Iterable[tuple[str, Any]]


def fields_of(record: Any) -> Parts:
    """The fields of a record with their values, in order."""
    return ((field.name, getattr(record, field.name)) for field in dataclasses.fields(record))


def exact_number(value: float) -> float | str:
    """A decimal as it is, what is not finite as a word."""
    return _OUTSIDE.get(value, value)


def as_plain(
    value: Any,
    parts: Callable[[Any], Parts] = fields_of,
    number: Callable[[float], Any] = exact_number,
) -> Any:
    """A record, or anything made of records, as JSON values. Raises TypeError for what has none.

    parts: the names and values that a record is told by. number: how a decimal is told.
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {name: as_plain(part, parts, number) for name, part in parts(value)}
    if value is None or isinstance(value, (bool, int, str)):
        return value
    if isinstance(value, float):
        return number(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {_key(key): as_plain(item, parts, number) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [as_plain(item, parts, number) for item in value]
    if isinstance(value, (set, frozenset)):
        return sorted(as_plain(item, parts, number) for item in value)
    raise TypeError(f"{type(value).__name__} has no plain form")


def _key(key: object) -> str:
    if isinstance(key, tuple):
        return "_".join(key)
    return str(key)


def from_plain(kind: Any, plain: Any) -> Any:
    """The value of a type that `as_plain` made plain. Raises ValueError where it does not fit
    the type."""
    if kind is Any:
        return plain
    if dataclasses.is_dataclass(kind):
        return _record(kind, plain)
    origin = typing.get_origin(kind)
    if origin is not None:
        return _made_of(origin, typing.get_args(kind), plain)
    if kind is date and isinstance(plain, str):
        return date.fromisoformat(plain)
    if kind is float:
        return _float(plain)
    if kind in (str, bool, int) and type(plain) is kind:
        return plain
    raise ValueError(f"{plain!r} where {getattr(kind, '__name__', kind)} was expected")


def _float(plain: Any) -> float | int:
    for value, word in _OUTSIDE.items():
        if plain == word:
            return value
    if isinstance(plain, (int, float)) and not isinstance(plain, bool):
        # A whole number in a field of decimals stays what it was.
        return plain
    raise ValueError(f"{plain!r} where a number was expected")


def _record(kind: Any, plain: Any) -> Any:
    if not isinstance(plain, Mapping):
        raise ValueError(f"{plain!r} where {kind.__name__} was expected")
    hints = _hints(kind)
    unknown = sorted(set(plain) - set(hints))
    if unknown:
        raise ValueError(
            f"{kind.__name__} with {', '.join(unknown)}, which this version does not know"
        )
    try:
        return kind(**{name: from_plain(hints[name], value) for name, value in plain.items()})
    except TypeError as trouble:
        raise ValueError(f"{kind.__name__} without all of its parts") from trouble


@cache
def _hints(record: Any) -> dict[str, Any]:
    hints = typing.get_type_hints(record, localns=_ELSEWHERE)
    return {field.name: hints[field.name] for field in dataclasses.fields(record)}


def _made_of(origin: Any, parts: tuple[Any, ...], plain: Any) -> Any:
    if origin in (types.UnionType, typing.Union):
        return _one_of(parts, plain)
    if origin is tuple:
        return _tuple(parts, plain)
    if origin is frozenset and isinstance(plain, list):
        return frozenset(from_plain(parts[0], item) for item in plain)
    if isinstance(plain, Mapping):
        return {key: from_plain(parts[1], item) for key, item in plain.items()}
    raise ValueError(f"{plain!r} where {origin.__name__} was expected")


def _one_of(parts: tuple[Any, ...], plain: Any) -> Any:
    if plain is None and type(None) in parts:
        return None
    for part in parts:
        if part is type(None):
            continue
        try:
            return from_plain(part, plain)
        except ValueError:
            continue
    raise ValueError(f"{plain!r} is of none of the kinds expected")


def _tuple(parts: tuple[Any, ...], plain: Any) -> tuple[Any, ...]:
    if not isinstance(plain, list):
        raise ValueError(f"{plain!r} where a list was expected")
    if len(parts) == 2 and parts[1] is Ellipsis:
        return tuple(from_plain(parts[0], item) for item in plain)
    if len(parts) != len(plain):
        raise ValueError(f"{len(plain)} values where {len(parts)} were expected")
    return tuple(from_plain(part, item) for part, item in zip(parts, plain, strict=True))
