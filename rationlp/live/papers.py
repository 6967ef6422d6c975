"""Papers pasted or dropped on the page, read by the reader that `take` uses, and a new farm from a
few answers.
"""

from __future__ import annotations

import base64
import binascii
import tempfile
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from rationlp.errors import Finding, InputError
from rationlp.live.told import table_json
from rationlp.paper.edited import edited
from rationlp.paper.first_farm import (
    FirstQuestion,
    example_folder,
    example_like,
    first_questions,
    setting,
)
from rationlp.paper.lines import Line, pasted_lines, read_lines
from rationlp.paper.more_entries import MoreEntry, more_entries, with_entries
from rationlp.paper.take import UnderstoodPaper, new_file, take
from rationlp.paper.writing import farm_with
from rationlp.quantities import quantities
from rationlp.read.template import LIKE, write_new_farm
from rationlp.report.files import write_whole
from rationlp.report.tables.table import Column, Table

Json = dict[str, Any]
_ENDINGS = (".pdf", ".xlsx", ".csv", ".txt", ".tsv")


def paper(folder: Path, sent: Json) -> Json:
    """A paper as it is understood, and written where that is wanted and nothing is open. Raises
    InputError as `take` does.
    """
    answers = sent.get("answers")
    stated = answers if isinstance(answers, dict) else {}
    stated = {str(key): str(word) for key, word in stated.items()}
    understood = take(_lines(sent), folder, stated)
    written = False
    if not understood.questions:
        text, _ = new_file(understood, folder)
        if sent.get("write") is True:
            write_whole(folder / understood.file, text, ())
            written = True
    return {
        "kind": understood.kind,
        "file": understood.file,
        "questions": [
            {
                "key": question.key,
                "place": question.place,
                "asks": question.asks,
                "choices": [list(choice) for choice in question.choices],
                "free": question.free,
            }
            for question in understood.questions
        ],
        "table": table_json(_table(understood)),
        "aside": [line.text[:200] for line in understood.aside],
        "remarks": list(understood.remarks),
        "written": written,
    }


def _lines(sent: Json) -> tuple[Line, ...]:
    """The lines of a pasted text or of a dropped file, which is read from a folder of its own."""
    text, packed = sent.get("text"), sent.get("base64")
    if isinstance(text, str):
        return pasted_lines(text)
    if not isinstance(packed, str):
        raise _refused("neither text nor a file")
    try:
        content = base64.b64decode(packed, validate=True)
    except (binascii.Error, ValueError) as trouble:
        raise _refused("a file that did not arrive whole") from trouble
    ending = Path(str(sent.get("name", ""))).suffix.lower()
    with tempfile.TemporaryDirectory(prefix="rationlp-") as scratch:
        path = Path(scratch) / f"paper{ending if ending in _ENDINGS else '.txt'}"
        path.write_bytes(content)
        return read_lines(path)


def _refused(found: str) -> InputError:
    remedy = "paste the text, or drop a PDF, a workbook, a CSV or a text file"
    return InputError([Finding("IN902", "paper", found, remedy)])


def _table(paper: UnderstoodPaper) -> Table:
    """What was understood, a row a figure, with the line that it came from."""
    columns = (
        Column("for", "For"),
        Column("quantity", "Quantity"),
        Column("value", "Value", varies=True),
        Column("unit", "Unit"),
        Column("read_as", "Read as"),
        Column("line", "Line"),
    )
    rows = []
    for row in paper.lab_rows:
        for figure in row.figures:
            known = quantities()[figure.quantity]
            value = f"{figure.value:.{max(known.decimals, 1)}f}"
            rows.append(
                (row.target, known.title, value, known.unit, figure.reading, figure.line.text[:80])
            )
    for price in paper.prices:
        value = f"{price.per_tonne:.2f}"
        rows.append(
            (price.feed, "Price", value, "a tonne fresh", price.reading, price.line.text[:80])
        )
    return Table("taken", f"What goes into {paper.file}", columns, tuple(rows))


def new_farm_questions() -> Json:
    """The questions of each farm that one may begin with."""
    likes = sorted(set(LIKE))
    return {
        "likes": likes,
        "questions": {
            like: [
                _question(question, str(question.present))
                for question in first_questions(example_like(like))
            ]
            for like in likes
        },
        "more": {
            like: [
                _question(question, "")
                for entry in more_entries(example_like(like))
                for question in entry.questions()
            ]
            for like in likes
        },
    }


def _question(question: FirstQuestion, value: str) -> Json:
    """dated: whether its answer is a day."""
    return {
        "path": question.path,
        "about": question.about,
        "words": question.words,
        "value": value,
        "dated": isinstance(question.present, date),
    }


def new_farm(where: Path, sent: Json) -> Path:
    """A new farm folder inside `where`, made of an example and the answers. Raises InputError
    (IN907 for the name of the folder) with everything that is wrong; nothing is written then.
    """
    name = str(sent.get("folder_name", ""))
    if not name or len(name) > 60 or not all(sign.isalnum() or sign in "-_ " for sign in name):
        remedy = "use up to 60 letters, digits, spaces, - and _"
        raise InputError([Finding("IN907", "folder", f'no name for a folder: "{name}"', remedy)])
    example = example_like(str(sent.get("like", "")))
    answers = sent.get("answers")
    typed = answers if isinstance(answers, dict) else {}
    stated = {str(path): str(word).strip() for path, word in typed.items()}
    text = edited(example_folder(example), _settings(example, stated), alone=True).text
    more = [more_entry for more_entry in more_entries(example) if _is_wanted(more_entry, stated)]
    if more:
        text = with_entries(text, [one.answered(stated) for one in more])
        farm_with(where, "farm.toml", text, alone=True)
    write_new_farm(where / name.strip(), example, text)
    return where / name.strip()


def _settings(example: str, stated: Mapping[str, str]) -> list[str]:
    """Answers about what the example has, as changes; none takes a whole entry out."""
    settings: list[str] = []
    gone: set[str] = set()
    for question in first_questions(example):
        entry = question.path.partition(".")[0]
        answer = stated.get(question.path, "")
        if entry in gone or answer == str(question.present):
            continue
        change = setting(question, answer)
        if change is None:
            continue
        if change.endswith("=none"):
            gone.add(entry)
            settings = [setting for setting in settings if not setting.startswith(f"{entry}.")]
        settings.append(change)
    return settings


def _is_wanted(entry: MoreEntry, stated: Mapping[str, str]) -> bool:
    answers = [stated.get(question.path, "") for question in entry.questions()]
    return any(answer.casefold() not in ("", "none") for answer in answers)
