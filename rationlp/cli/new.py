"""`rationlp new`: a commented farm folder, or a workbook, to fill in."""

from __future__ import annotations

import tempfile
from pathlib import Path

import typer

from rationlp.cli.options import Options
from rationlp.paper.edited import edited
from rationlp.paper.first_farm import (
    example_folder,
    example_like,
    first_questions,
    left_out,
    setting,
)
from rationlp.read.template import EXAMPLE, write_new_farm
from rationlp.report.terminal import show, tell
from rationlp.report.workbook_form import write_farm_workbook


def say(options: Options) -> None:
    """Write the folder or the workbook, and say what was written and what comes next."""
    folder, workbook = options.folder, options.workbook
    if (folder is None) == (workbook is None):
        raise typer.BadParameter(
            "give either a folder to make, or --workbook FARM.xlsx", param_hint="FOLDER"
        )
    example = EXAMPLE if options.like is None else example_like(options.like)
    for path in _written(options, example):
        show(str(path))
    if folder is not None:
        _first_edits(folder, options.ask)
    then = "check" if options.empty else "ration"
    tell(f"Written: the files above. Next: rationlp {then} {folder or workbook}")


def _written(options: Options, example: str) -> tuple[Path, ...]:
    workbook: Path | None = options.workbook
    gone = left_out(options.like)
    if workbook is None:
        text = None
        if options.ask:
            text = _asked_farm(example, gone)
        elif gone:
            text = edited(example_folder(example), gone, alone=True).text
        return write_new_farm(options.folder, example, text)
    if not gone or options.source is not None:
        return _workbooks(workbook, options.source, example, options.empty)
    with tempfile.TemporaryDirectory() as scratch:
        text = edited(example_folder(example), gone, alone=True).text
        (Path(scratch) / "farm.toml").write_text(text, encoding="utf-8")
        return _workbooks(workbook, Path(scratch), example, options.empty)


def _workbooks(workbook: Path, source: Path | None, example: str, empty: bool) -> tuple[Path, ...]:
    """The workbook, filled or empty; beside an empty one an example of how it is filled."""
    write_farm_workbook(workbook, source, example, empty=empty)
    beside = workbook.with_name(f"{workbook.stem}-example.xlsx")
    if not empty or beside.exists():
        return (workbook,)
    write_farm_workbook(beside, source, example)
    return (workbook, beside)


def _asked_farm(example: str, without: tuple[str, ...]) -> str:
    """farm.toml of an example with a person's answers, less entries that are not there."""

    typer.echo("Enter keeps what stands in brackets; none: there is no such thing here.", err=True)
    settings = [*without]
    gone = {change.removesuffix("=none") for change in without}
    for question in first_questions(example):
        name = question.path.partition(".")[0]
        if name in gone:
            continue
        text = f"{question} [{question.present}]"
        answer = str(typer.prompt(text, default="", show_default=False, err=True))
        change = setting(question, answer)
        if change is None:
            continue
        if change.endswith("=none"):
            gone.add(name)
            settings = [setting for setting in settings if not setting.startswith(f"{name}.")]
        settings.append(change)
    return edited(example_folder(example), settings, alone=True).text


def _first_edits(folder: Path, ask: bool) -> None:
    """What of a new farm to change first."""
    typer.echo(
        "First make it yours: the sizes of [[stores]], head and weights of [[groups]], the dates of"
        f" [winter]. By command: rationlp set {folder} ID.KEY=VALUE.",
        err=True,
    )
    if not ask and (folder / "lab.csv").exists():
        typer.echo(
            "lab.csv holds invented analyses: put your own in their place with rationlp take"
            f" SHEET {folder} --rows instead --write.",
            err=True,
        )
