"""The commands as records, read from commands.toml."""

from __future__ import annotations

import tomllib
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any

from rationlp.cli.options import FARM, REQUIRED, Command, Format, Option


class Periods(StrEnum):
    """Steps of the plan."""

    week = "week"
    fortnight = "fortnight"
    month = "month"


class StandardName(StrEnum):
    """Standards of needs."""

    afrc_1993 = "afrc_1993"
    csiro_2007 = "csiro_2007"
    nrc_2001 = "nrc_2001"


class By(StrEnum):
    """What is switched."""

    share = "share"
    tonnes = "tonnes"
    hectares = "hectares"


_TYPES: dict[str, Any] = {
    "flag": bool,
    "text": str,
    "texts": list[str],
    "whole": int,
    "number": float,
    "file": Path,
    "pair": tuple[str, str],
    "Format": Format,
    "Periods": Periods,
    "By": By,
    "Standard": StandardName,
}


@cache
def commands() -> tuple[Command, ...]:
    """Every command, in the order in which help lists them."""
    text = Path(__file__).with_name("commands.toml").read_text(encoding="utf-8")
    written = tomllib.loads(text)
    shared = written["shared"]
    return tuple(_command(name, facts, shared) for name, facts in written["command"].items())


def _command(name: str, facts: dict[str, Any], shared: dict[str, Any]) -> Command:
    own = facts.get("own", {})
    options = {key: shared.get(key, {}) | own.get(key, {}) for key in facts["options"].split()}
    return Command(
        name=name,
        short=facts.get("short", ""),
        help=facts["help"],
        example=facts["example"],
        options=tuple(_option(key, option) for key, option in options.items()),
        module=name.split()[0],
        reads=facts.get("reads", FARM),
        counts=facts.get("counts", False),
    )


def _option(name: str, facts: dict[str, Any]) -> Option:
    kind = _TYPES[facts["type"]]
    default: Any = facts.get("default")
    if isinstance(default, str) and issubclass(kind, StrEnum):
        default = kind(default)
    if kind is bool:
        default = False
    if facts.get("required"):
        default = REQUIRED
    elif default is None:
        kind = kind | None
    return Option(
        name,
        kind,
        facts["help"],
        facts.get("metavar"),
        default,
        facts.get("flag", ""),
        facts.get("argument", False),
        (facts.get("least"), facts.get("most")),
        facts.get("reads", False),
        facts.get("goes_with", ""),
        tuple(facts.get("not_with", "").split()),
    )
