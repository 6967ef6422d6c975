"""Signs for a console that has not all of them: what it cannot show gets a plain sign."""

from __future__ import annotations

import codecs
import unicodedata

NAME = "console_signs"
"""What the error handler of the codecs is called."""

PLAIN = {
    "–": "-", "—": "-", "−": "-", "‑": "-", "×": "x", "·": "*", "…": "...", "→": "->", "≤": "<=",
    "≥": ">=", "≈": "about ", "±": "+/-", "°": " deg ", "Σ": "sum ", "√": "root ", "“": '"',
    "”": '"', "‘": "'", "’": "'", "•": "*", "█": "#", "▏": "|", "│": "|", "─": "-",
}  # fmt: skip


def plain_sign(sign: str) -> str:
    """A sign in ASCII: as the table has it, else without its accent, else its code (`\\u2603`)."""
    plain = PLAIN.get(sign) or unicodedata.normalize("NFKD", sign)
    plain = "".join(part for part in plain if part.isascii())
    return plain or sign.encode("ascii", "backslashreplace").decode("ascii")


def _replace(trouble: UnicodeError) -> tuple[str, int]:
    if not isinstance(trouble, UnicodeEncodeError):
        raise trouble
    signs = trouble.object[trouble.start : trouble.end]
    return "".join(map(plain_sign, signs)), trouble.end


codecs.register_error(NAME, _replace)
