"""One way from a template to an HTML file: every text escaped, an unknown name an error."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable, Mapping
from hashlib import sha256
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from rationlp.errors import Finding, InputError, refused

TEMPLATES = Path(__file__).with_name("templates")
INSTALL = "pip install '.[report]'"
WITHOUT_HTML = f"{INSTALL} (or leave --html out: the same comes as text)"
_DAY = re.compile(r"\d{4}-\d{2}(-\d{2})?")
_SCRIPTS = re.compile(r"<script>(.*?)</script>", re.DOTALL)
_CHARSET = '<meta charset="utf-8">'
_DAYS = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")


def filled(template: str, facts: Mapping[str, Any], where: str, remedy: str = INSTALL) -> str:
    """A template filled with facts. where, remedy: of the error (IN610) where jinja2 is missing."""
    try:
        from jinja2 import Environment, FileSystemLoader, StrictUndefined
        from markupsafe import Markup, escape
    except ImportError as missing:
        raise refused("IN610", where, "jinja2 is not installed", remedy) from missing
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.tests["day"] = lambda text: bool(_DAY.fullmatch(text))
    # A date is not broken over two lines, inside a sentence neither.
    environment.filters["days"] = lambda text: Markup(
        _DAYS.sub(r"<time>\g<0></time>", str(escape(text)))
    )
    return _with_policy(environment.get_template(template).render(facts))


def _with_policy(page: str) -> str:
    """The page with what a browser may do for it: own styles and script, nothing from outside."""
    sums = [
        b64encode(sha256(script.encode()).digest()).decode() for script in _SCRIPTS.findall(page)
    ]
    scripts = " ".join(f"'sha256-{digest}'" for digest in sums) or "'none'"
    allowed = f"default-src 'none'; style-src 'unsafe-inline'; img-src data:; script-src {scripts}"
    meta = (
        f'<meta http-equiv="Content-Security-Policy" content="{allowed}; base-uri \'none\';'
        " form-action 'none'\">"
    )
    return page.replace(_CHARSET, f"{_CHARSET}\n{meta}", 1)


def refuse_without(packages: Iterable[str], where: str, remedy: str = INSTALL) -> None:
    """Raises InputError (IN610) with every package that is not installed, before any work."""
    missing = [name for name in packages if find_spec(name) is None]
    if missing:
        raise InputError(
            [Finding("IN610", where, f"{name} is not installed", remedy) for name in missing]
        )
