"""`rationlp new`: a commented farm folder, or a workbook, to fill in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

WorkbookOption = Annotated[
    Path | None,
    typer.Option(
        "--workbook", metavar="FARM.XLSX", help="Write a workbook to fill in instead of a folder."
    ),
]
FromOption = Annotated[
    Path | None,
    typer.Option(
        "--from", metavar="FARM", help="Fill the workbook with this farm folder; with --workbook."
    ),
]
EmptyOption = Annotated[
    bool,
    typer.Option(
        "--empty",
        help="Leave the workbook empty instead of filling in an example; with --workbook.",
    ),
]

LikeOption = Annotated[
    str | None,
    typer.Option(
        "--like",
        metavar="FARM",
        help="What farm to begin with: dairy, calving (dairy herd calving in a block), beef (and"
        " sucklers), sheep (and hill), mixed, few (cattle).",
    ),
]
AskOption = Annotated[
    bool,
    typer.Option(
        "--ask",
        help="Ask for the farm's own sizes, bales and heads; leaves out what is"
        " invented in lab.csv.",
    ),
]


def new(
    folder: Annotated[
        Path | None,
        typer.Argument(metavar="FOLDER", help="Folder to make; it must not hold a farm yet."),
    ] = None,
    workbook: WorkbookOption = None,
    source: FromOption = None,
    empty: EmptyOption = False,
    like: LikeOption = None,
    ask: AskOption = False,
) -> None:
    """Write a complete, commented farm folder that runs at once, to be changed into your own; or a
    workbook to fill in.
    """
    from rationlp.report.terminal import show

    if (folder is None) == (workbook is None):
        raise typer.BadParameter(
            "give either a folder to make, or --workbook FARM.xlsx", param_hint="FOLDER"
        )
    if workbook is None and (source is not None or empty):
        raise typer.BadParameter("--from and --empty go with --workbook", param_hint="--workbook")
    if source is not None and empty:
        raise typer.BadParameter(
            "a farm to fill it with, and yet empty: leave one of them out", param_hint="--empty"
        )
    if ask and workbook is not None:
        raise typer.BadParameter("it goes with a folder", param_hint="--ask")
    for path in _written(folder, workbook, source, empty, (like, ask)):
        show(str(path))
    if folder is not None:
        _first_edits(folder, ask)
    typer.echo(f"Next: rationlp {'check' if empty else 'ration'} {folder or workbook}", err=True)


def _written(
    folder: Path | None,
    workbook: Path | None,
    source: Path | None,
    empty: bool,
    begun: tuple[str | None, bool],
) -> tuple[Path, ...]:
    from rationlp.paper.first_farm import example_like
    from rationlp.read.template import EXAMPLE, write_new_farm

    like, ask = begun
    example = EXAMPLE if like is None else example_like(like)
    if workbook is not None:
        from rationlp.report.workbook_form import write_farm_workbook

        write_farm_workbook(workbook, source, example, empty=empty)
        beside = workbook.with_name(f"{workbook.stem}-example.xlsx")
        if not empty or beside.exists():
            return (workbook,)
        write_farm_workbook(beside, None, example)
        return (workbook, beside)
    assert folder is not None
    text = _asked_farm(example) if ask else None
    return write_new_farm(folder, example, text)


def _asked_farm(example: str) -> str:
    """farm.toml of an example with the answers of the person in it; entries that are not there are
    taken out.
    """
    from rationlp.paper.edited import edited
    from rationlp.paper.first_farm import example_folder, first_questions, setting

    typer.echo("Enter keeps what stands in brackets; none: there is no such thing here.", err=True)
    settings: list[str] = []
    gone: set[str] = set()
    for question in first_questions(example):
        name = question.path.partition(".")[0]
        if name in gone:
            continue
        text = f"{question.words} [{question.present}]"
        answer = str(typer.prompt(text, default="", show_default=False, err=True))
        change = setting(question, answer)
        if change is None:
            continue
        if change.endswith("=none"):
            gone.add(name)
            settings = [one for one in settings if not one.startswith(f"{name}.")]
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
