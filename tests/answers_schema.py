"""The JSON Schema that the package carries, made from the type hints and docstrings of the records
that are told as JSON.

`python tests/answers_schema.py` writes it again; a test compares it with the records.
"""

from __future__ import annotations

import dataclasses
import inspect
import json
import re
import sys
import types
import typing
from collections.abc import Iterator
from datetime import date
from functools import cached_property
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from typing import Any

import rationlp
from rationlp.report.answers.base import Composed
from rationlp.report.json_answer import KINDS, SCHEMA_VERSION, names_of

SCHEMA = Path(__file__).parents[1] / "rationlp" / "report" / "schema" / "answers.schema.json"

ENDLESS = {
    "Column": ("low", "high"),
    "Row": ("low", "high"),
    "MovedPoint": ("held_cost", "cost"),
    "Costs": ("money",),
    "ForageNow": ("turns_per_t_dm",),
}
"""Decimals that may have no end, null in JSON, by class."""

Rule = dict[str, Any]

_PLAIN: dict[Any, Rule] = {
    Any: {},
    type(None): {"type": "null"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": "number"},
    str: {"type": "string"},
    date: {"type": "string", "format": "date"},
}
_TITLE = "Answers of rationlp"
_ABOUT = (
    "Every key is always there. Within a major version of `schema_version` keys are only added."
)


def schema() -> Rule:
    """The schema of all kinds of answers, by the records. Every module of the package is loaded, as
    records name others that they do not import.
    """
    maker = _Maker(package_classes())
    kinds = {kind: maker.kind(kind, maker.records[name]) for kind, name in KINDS.items()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": _TITLE,
        "description": _ABOUT,
        "oneOf": [{"$ref": f"#/$defs/document_{kind}"} for kind in kinds],
        "$defs": {f"document_{kind}": rule for kind, rule in kinds.items()} | maker.defs,
    }


def package_classes() -> dict[str, Any]:
    """Every class of the package by its name; none where several have the name."""
    names = (module.name for module in walk_packages(rationlp.__path__, "rationlp."))
    by_name: dict[str, list[Any]] = {}
    for name in names:
        if name == "rationlp.__main__":
            continue
        for value in vars(import_module(name)).values():
            if inspect.isclass(value) and value.__module__ == name:
                by_name.setdefault(value.__name__, []).append(value)
    return {name: classes[0] for name, classes in by_name.items() if len(classes) == 1}


class _Maker:
    """Collects the schema of each record as it comes upon it. records: classes by name."""

    def __init__(self, records: dict[str, Any]) -> None:
        self.records = records
        self.defs: dict[str, Rule] = {}
        self._named: dict[str, Any] = {}

    def kind(self, kind: str, record: Any) -> Rule:
        """The schema of a document of one kind."""
        start: dict[str, Rule] = {
            "schema_version": {"type": "string", "enum": [SCHEMA_VERSION]},
            "kind": {"type": "string", "enum": [kind]},
            "caution": {"type": "string"},
        }
        return _object({**start, **self._properties(record)}, _class_words(record))

    def _properties(self, record: Any) -> dict[str, Rule]:
        """The schema of everything that a record is told by."""
        hints, words = self._hints(record), _field_words(record)
        properties: dict[str, Rule] = {}
        if issubclass(record, Composed) and record.of:
            properties |= self._properties(hints[record.of])
        for name in names_of(record):
            rule = self._rule(hints[name])
            if name in ENDLESS.get(record.__name__, ()):
                rule = {"type": ["number", "null"]}
            properties[name] = {**rule, "description": words[name]} if name in words else rule
        return properties

    def _hints(self, record: Any) -> dict[str, Any]:
        """The type of every field and property."""
        hints = self._hints_of(record, record.__module__)
        for name, value in inspect.getmembers(record, _is_property):
            getter = _getter(value)
            hints[name] = self._hints_of(getter, getter.__module__)["return"]
        return hints

    def _hints_of(self, thing: Any, module: str) -> dict[str, Any]:
        known = vars(sys.modules[module])
        others = {name: value for name, value in self.records.items() if name not in known}
        return typing.get_type_hints(thing, localns=others)

    def _rule(self, hint: Any) -> Rule:
        if hint in _PLAIN:
            return _PLAIN[hint]
        if dataclasses.is_dataclass(hint):
            return {"$ref": f"#/$defs/{self._defined(hint)}"}
        origin, parts = typing.get_origin(hint), typing.get_args(hint)
        if origin in (types.UnionType, typing.Union):
            return _any_of([self._rule(part) for part in parts])
        if origin is tuple and parts[-1] is not Ellipsis:
            items = _any_of([self._rule(part) for part in dict.fromkeys(parts)])
            count = len(parts)
            return {"type": "array", "items": items, "minItems": count, "maxItems": count}
        if origin in (tuple, frozenset):
            return {"type": "array", "items": self._rule(parts[0])}
        if len(parts) == 2:
            return {"type": "object", "additionalProperties": self._rule(parts[1])}
        raise TypeError(f"{hint} has no place in an answer")

    def _defined(self, record: Any) -> str:
        """The name under which a record's schema stands; of two classes of one name, the second
        with its module's.
        """
        name: str = record.__name__
        if self._named.setdefault(name, record) is not record:
            name = f"{record.__module__.rpartition('.')[2]}_{name}"
        if name not in self.defs:
            self.defs[name] = {}  # a record may hold others of its kind
            self.defs[name] = _object(self._properties(record), _class_words(record))
        return name


def _object(properties: dict[str, Rule], words: str) -> Rule:
    return {
        "type": "object",
        "description": words,
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _any_of(rules: list[Rule]) -> Rule:
    """One rule for several; types without more to say are put together."""
    if len(rules) == 1:
        return rules[0]
    if all(rule.keys() == {"type"} for rule in rules):
        return {"type": [rule["type"] for rule in rules]}
    return {"anyOf": rules}


def _is_property(value: object) -> bool:
    return isinstance(value, (property, cached_property))


def _getter(value: Any) -> Any:
    return value.func if isinstance(value, cached_property) else value.fget


def _words(thing: Any) -> str:
    """The docstring of a record or property on one line, in the words of JSON."""
    return re.sub(r"\bNone\b", "null", " ".join((thing.__doc__ or "").split()))


def _class_words(record: Any) -> str:
    """What a record is, as it is documented, without its list of fields."""
    words = _words(record)
    first = next(_field_lists(record, words), None)
    return words if first is None else words[: first.start()].strip()


def _field_words(record: Any) -> dict[str, str]:
    """What each field is, from lists like `low, high: text` in the docstring, and each property."""
    words = _words(record)
    lists = list(_field_lists(record, words))
    ends = [part.start() for part in lists] + [len(words)]
    texts: dict[str, str] = {}
    for part, end in zip(lists, ends[1:], strict=True):
        text = words[part.end() : end].strip(" ;")
        texts |= dict.fromkeys(part[1].split(", "), text)
    for name, value in inspect.getmembers(record, _is_property):
        texts[name] = _words(_getter(value))
    return texts


def _field_lists(record: Any, words: str) -> Iterator[re.Match[str]]:
    """Where in the words of a record lists of its fields begin."""
    names = "|".join(field.name for field in dataclasses.fields(record))
    return re.finditer(rf"(?<![\w`])((?:{names})(?:, (?:{names}))*): ", words)


def schema_text() -> str:
    """The schema as JSON, a line a key of each record."""
    whole = schema()
    defs = whole.pop("$defs")
    head = [f'"{key}": {_line(value)},' for key, value in whole.items()]
    records = ",\n".join(f'"{name}": {{\n{_lines(rule)}\n}}' for name, rule in defs.items())
    return "\n".join(["{", *head, '"$defs": {', records, "}", "}", ""])


def _lines(rule: dict[str, Any]) -> str:
    return ",\n".join(_keys(rule))


def _keys(rule: dict[str, Any]) -> Iterator[str]:
    for key, value in rule.items():
        if key == "properties":
            parts = ",\n".join(f'  "{name}": {_line(part)}' for name, part in value.items())
            yield f' "properties": {{\n{parts}\n }}'
        else:
            yield f' "{key}": {_line(value)}'


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


if __name__ == "__main__":
    SCHEMA.write_text(schema_text(), encoding="utf-8")
