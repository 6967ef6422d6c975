"""The README's glossary: made from quantities.csv and glossary.csv, and compared with them by a test.

`python tests/readme_glossary.py README.md` puts the table in again between its two marks.
"""

from __future__ import annotations

import sys
from pathlib import Path

from rationlp.cli.meaning import BASES, glossary
from rationlp.quantities import quantities

BEGIN, END = "<!-- glossary -->", "<!-- end of glossary -->"


def table() -> str:
    """A row a quantity: title, unit, key, what it means, what it is counted on."""
    means = glossary()
    rows = ["| word | unit | key | what it means |", "|---|---|---|---|"]
    for name, quantity in quantities().items():
        said = f"{means.get(name, '')} {BASES[quantity.basis].capitalize()}.".strip()
        rows.append(f"| {quantity.title} | {quantity.unit} | `{name}` | {said} |")
    return "\n".join(rows)


def main() -> None:
    """Entry point: the README's path."""
    path = Path(sys.argv[1])
    before, _, rest = path.read_text(encoding="utf-8").partition(BEGIN)
    path.write_text(f"{before}{BEGIN}\n{table()}\n{END}{rest.partition(END)[2]}", encoding="utf-8")


if __name__ == "__main__":
    main()
