"""One way from a template to an HTML file: every text of a farm escaped, an unknown name an error, a missing package told of."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rationlp.errors import Finding, InputError

TEMPLATES = Path(__file__).with_name("templates")
INSTALL = "pip install '.[report]'"
_DAY = re.compile(r"\d{4}-\d{2}(-\d{2})?")
_DAYS = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")


def filled(template: str, facts: Mapping[str, Any], where: str, remedy: str = INSTALL) -> str:
    """A template filled with facts. where, remedy: of the error (IN610) where jinja2 is not installed."""
    try:
        from jinja2 import Environment, FileSystemLoader, StrictUndefined
        from markupsafe import Markup, escape
    except ImportError as missing:
        raise InputError([Finding("IN610", where, "jinja2 is not installed", remedy)]) from missing
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.tests["day"] = lambda text: bool(_DAY.fullmatch(text))
    # A date is not broken over two lines, inside a sentence neither.
    environment.filters["days"] = lambda text: Markup(_DAYS.sub(r"<time>\g<0></time>", str(escape(text))))
    text: str = environment.get_template(template).render(facts)
    return text
