"""The JSON Schema that the package carries, made from the records of the answers.

`python tests/answers_schema.py` writes it again; a test compares it with the records.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from rationlp.report.json_schema import schema

SCHEMA = Path(__file__).parents[1] / "rationlp" / "report" / "schema" / "answers.schema.json"


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
