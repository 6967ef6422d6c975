"""`rationlp take`: a lab sheet or price list understood, shown, and written into the farm."""

from __future__ import annotations

import sys
from pathlib import Path

import typer

from rationlp.cli.options import Options
from rationlp.errors import InputError
from rationlp.paper.lines import Line, pasted_lines, read_lines
from rationlp.paper.questions import Question
from rationlp.paper.take import UnderstoodPaper, new_file, take
from rationlp.quantities import quantities
from rationlp.report.files import write_whole
from rationlp.report.tables.table import Column, Table
from rationlp.report.terminal import show, table_text, tell, terminal_width
from rationlp.report.wording import with_day_words

_TEXT_BYTES = 5_000_001


def say(options: Options) -> None:
    """Understand the paper, ask if somebody is there, show it, and write it if wanted."""
    farm, name = options.farm, options.paper.name
    stated = _answers(options)
    lines = _lines(options.paper)
    taken = take(lines, farm, stated)
    while taken.questions and _may_ask(options.paper):
        for question in taken.questions:
            stated[question.key] = _asked(question)
        taken = take(lines, farm, stated)
    if taken.questions:
        raise InputError(question.finding() for question in taken.questions)
    _show(taken, name)
    if not options.write and not farm.is_dir():
        return
    text, after = new_file(taken, farm)
    for notice in after.notices:
        if taken.file in notice.where:
            tell(f"Note: {notice}")
    if options.write:
        write_whole(farm / taken.file, text, ())
        tell(f"Written: {farm / taken.file}")
    else:
        tell("Nothing was written: add --write to write it.")


def _lines(file: Path) -> tuple[Line, ...]:

    if str(file) != "-":
        return read_lines(file)
    packed = sys.stdin.buffer.read(_TEXT_BYTES)
    return pasted_lines(packed.decode("utf-8-sig", errors="replace"))


def _answers(options: Options) -> dict[str, str]:
    """Answers by key from --for, --answer and the options of their own."""
    stated = {}
    for text in options.of or ():
        sample, mark, store = text.partition("=")
        if mark:
            stated[f"for {sample}"] = store
        else:
            stated["for"] = text
    for text in options.answer or ():
        key, mark, word = text.rpartition("=")
        if not mark:
            raise typer.BadParameter(f'"{text}" is not KEY=WORD', param_hint="--answer")
        stated[key] = word
    named = {"basis": options.basis, "dry matter basis": options.dm_basis, "rows": options.rows}
    named["haulage"] = options.haulage
    return stated | {key: word for key, word in named.items() if word is not None}


def _may_ask(file: Path) -> bool:
    return str(file) != "-" and sys.stdin.isatty() and sys.stderr.isatty()


def _asked(question: Question) -> str:
    """The answer of the person at the terminal."""
    typer.echo(f"{question.place}: {question.asks}", err=True)
    for number, (word, means) in enumerate(question.choices, 1):
        typer.echo(f"  {number}  {word}" + (f" ({means})" if means else ""), err=True)
    while True:
        text = str(typer.prompt("Number or word", err=True)).strip()
        if text.isdigit() and 1 <= int(text) <= len(question.choices):
            return question.choices[int(text) - 1][0]
        if question.free or text in [word for word, _ in question.choices]:
            return text


def _show(taken: UnderstoodPaper, name: str) -> None:

    width = terminal_width()
    show(table_text(_table(taken, name), width))
    for line in taken.aside:
        tell(f"Left aside: {line.place}: {line.text[:100]}")
    for remark in taken.remarks:
        tell(remark)


def _source(line: Line, name: str) -> str:
    """The line that a figure came from, without the file's name."""
    place = line.place.removeprefix(name).removeprefix("pasted text").strip()
    return f"{place}: {line.text[:60]}"


def _table(taken: UnderstoodPaper, name: str) -> Table:
    """What was understood, a row a figure, with the line that it came from."""

    columns = (
        Column("for", "For"), Column("quantity", "Quantity"),
        Column("value", "Value", varies=True), Column("unit", "Unit"),
        Column("read_as", "Read as"), Column("line", "Line"),
    )  # fmt: skip
    rows = []
    for row in taken.lab_rows:
        for figure in row.figures:
            known = quantities()[figure.quantity]
            value = f"{figure.value:.{max(known.decimals, 1)}f}"
            read_as = "; ".join(part for part in (figure.reading, figure.why) if part)
            source = _source(figure.line, name)
            rows.append((row.target, known.title, value, known.unit, read_as, source))
        dated = [("Sampled", with_day_words(row.sampled)), ("Reference", row.reference)]
        dated.append(("Dry matter is", row.dm_basis))
        rows += [(row.target, title, text, "", "", "") for title, text in dated if text]
    for price in taken.prices:
        feed = f"{price.feed} (new)" if price.new else price.feed
        read_as = "; ".join(part for part in (price.reading, price.why) if part)
        tonne = f"{price.per_tonne:.2f}"
        source = _source(price.line, name)
        rows.append((feed, "Price", tonne, "a tonne fresh", read_as, source))
    return Table("taken", f"What goes into {taken.file}", columns, tuple(rows))
