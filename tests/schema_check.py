"""A document against answers.schema.json, by the part of JSON Schema that the file uses."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from answers_schema import SCHEMA

from rationlp.report.json_answer import json_text


def faults(value: Any, rule: dict[str, Any], defs: dict[str, Any], where: str = "$") -> list[str]:
    """What in `value` breaks `rule`: the part of JSON Schema that our schema file uses."""
    if "$ref" in rule:
        return faults(value, defs[rule["$ref"].removeprefix("#/$defs/")], defs, where)
    if "anyOf" in rule:
        tried = [faults(value, one, defs, where) for one in rule["anyOf"]]
        return [] if [] in tried else tried[0]
    if "type" not in rule:
        return []
    names = {
        str: "string",
        bool: "boolean",
        int: "integer",
        float: "number",
        type(None): "null",
        list: "array",
        dict: "object",
    }
    kinds = rule["type"] if isinstance(rule["type"], list) else [rule["type"]]
    mine = names[type(value)]
    if mine not in kinds and not (mine == "integer" and "number" in kinds):
        return [f"{where}: {mine} is none of {kinds}"]
    if "enum" in rule and value not in rule["enum"]:
        return [f"{where}: {value} is none of {rule['enum']}"]
    if isinstance(value, list):
        if not rule.get("minItems", 0) <= len(value) <= rule.get("maxItems", len(value)):
            return [f"{where}: {len(value)} items"]
        return [
            fault
            for n, one in enumerate(value)
            for fault in faults(one, rule["items"], defs, f"{where}[{n}]")
        ]
    return _object_faults(value, rule, defs, where) if isinstance(value, dict) else []


def _object_faults(
    value: dict[str, Any], rule: dict[str, Any], defs: dict[str, Any], where: str
) -> list[str]:
    known = rule.get("properties", {})
    found = [f"{where}: no {key}" for key in rule.get("required", []) if key not in value]
    for key, item in value.items():
        other = rule.get("additionalProperties", True)
        if key in known:
            found += faults(item, known[key], defs, f"{where}.{key}")
        elif other is False:
            found.append(f"{where}: unknown {key}")
        elif other is not True:
            found += faults(item, other, defs, f"{where}.{key}")
    return found


@cache
def definitions() -> dict[str, Any]:
    """The schema of each kind of document and of each record in it, by name."""
    defs: dict[str, Any] = json.loads(SCHEMA.read_text(encoding="utf-8"))["$defs"]
    return defs


def against_schema(document: dict[str, Any]) -> list[str]:
    """What in a document breaks the schema of its kind."""
    defs = definitions()
    read = json.loads(json_text(document))
    return faults(read, defs[f"document_{read['kind']}"], defs)
