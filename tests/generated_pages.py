"""Pages of the guide, and the README's list of questions, that are made from data and compared with
it by a test.

`python tests/generated_pages.py` writes them again: the glossary from quantities.csv and
glossary.csv, the errors from codes.csv, the questions from questions.csv, the list of modules in
DEVELOPERS.md from their first sentences.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

from documents import README

from rationlp.cli.guide import GUIDE, questions
from rationlp.cli.meaning import BASES, codes, glossary, words
from rationlp.quantities import quantities

BEGIN, END = "<!-- made from data -->", "<!-- end of what is made from data -->"


def glossary_table() -> str:
    """A row a quantity: title, unit, key, what it means, what it is counted on; then words."""
    means = glossary()
    rows = ["| word | unit | key | what it means |", "|---|---|---|---|"]
    for name, quantity in quantities().items():
        meaning = f"{means.get(name, '')} {BASES[quantity.basis].capitalize()}.".strip()
        rows.append(f"| {quantity.title} | {quantity.unit} | `{name}` | {meaning} |")
    rows += [f"| {word} | | | {told} |" for word, told in words().items()]
    return "\n".join(rows)


def error_table() -> str:
    """A row a code: the code, its title, what to do."""
    rows = ["| code | what is wrong | what to do |", "|---|---|---|"]
    return "\n".join(
        [
            *rows,
            *(f"| {code} | {row['title']} | {row['remedy']} |" for code, row in codes().items()),
        ]
    )


def question_table() -> str:
    """A row a question: the question, the command, the page of the guide."""
    rows = ["| question | command: `rationlp` … | page |", "|---|---|---|"]
    for row in questions():
        link = f"[{row['topic']}](rationlp/guide/{row['topic']}.md)"
        rows.append(f"| {row['question']} | `{row['command']}` | {link} |")
    return "\n".join(rows)


ROOT = Path(__file__).resolve().parents[1]
DEVELOPERS = ROOT / "DEVELOPERS.md"
MOST_SIGNS = 160


def modules() -> list[Path]:
    """Every module of the package but the empty doors of its rooms."""
    paths = (ROOT / "rationlp").rglob("*.py")
    return sorted(path.relative_to(ROOT / "rationlp") for path in paths)


def module_list() -> str:
    """A line a module: its place in the package, and the first sentence of its text."""
    lines = []
    for path in modules():
        tree = ast.parse((ROOT / "rationlp" / path).read_text(encoding="utf-8"))
        text = " ".join((ast.get_docstring(tree) or "").split())
        sentence = re.split(r"(?<=\.)\s", text)[0].rstrip(".")
        if len(sentence) > MOST_SIGNS:
            sentence = f"{sentence[:MOST_SIGNS].rsplit(' ', 1)[0]} …"
        lines.append(f"- `{path.as_posix()}`: {sentence}")
    return "\n".join(lines)


MADE = {
    DEVELOPERS: module_list,
    GUIDE / "glossary.md": glossary_table,
    GUIDE / "errors.md": error_table,
    README: question_table,
}


def part(path: Path) -> str:
    """What stands between the two marks of a page."""
    return path.read_text(encoding="utf-8").partition(BEGIN)[2].partition(END)[0].strip()


def main() -> None:
    """Entry point: write every made part again."""
    for path, make in MADE.items():
        before, _, rest = path.read_text(encoding="utf-8").partition(BEGIN)
        after = rest.partition(END)[2]
        path.write_text(f"{before}{BEGIN}\n{make()}\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    main()
