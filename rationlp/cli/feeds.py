"""`rationlp feeds`: look into the feed tables."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rationlp.cli.nearest import NearestGroup
from rationlp.cli.options import Answer, Format, FormatOption, OutputOption

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rationlp.farm.feed import Feed
    from rationlp.report.tables import Table

app = typer.Typer(
    cls=NearestGroup,
    no_args_is_help=True,
    rich_markup_mode=None,
    help="List, show, compare and validate feed tables.",
)

OwnOption = Annotated[
    Path | None,
    typer.Option(
        "--own", metavar="FILE", help="A feed table of your own, laid over the packaged ones."
    ),
]
KindOption = Annotated[
    str | None, typer.Option("--kind", help="Only feeds of this kind, such as forage or cereal.")
]
KeyArgument = Annotated[
    str, typer.Argument(metavar="KEY", help="The feed's key, as `feeds list` shows it.")
]


@app.command("list", epilog="Example: rationlp feeds list --kind forage")
def list_feeds(
    kind: KindOption = None,
    own: OwnOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """List the feeds with their main figures."""
    from rationlp.errors import Finding, InputError
    from rationlp.read.feeds import read_feed_tables

    every = read_feed_tables(own)
    kinds = sorted({feed.kind for feed in every.values()})
    if kind is not None and kind not in kinds:
        raise InputError(
            [
                Finding(
                    "IN606",
                    "--kind",
                    f'no feed is of kind "{kind}"',
                    f"use one of {', '.join(kinds)}",
                )
            ]
        )
    _deliver_feeds(
        [feed for feed in every.values() if kind in (None, feed.kind)], form, output, own
    )


@app.command("find", epilog="Example: rationlp feeds find soya")
def find(
    word: Annotated[str, typer.Argument(metavar="WORD", help="What people call the feed.")],
    own: OwnOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """List the feeds that a word may mean, likeliest first."""
    from rationlp.errors import Finding, InputError
    from rationlp.farm.feed_names import feeds_meant
    from rationlp.read.feeds import read_feed_tables

    every = read_feed_tables(own)
    meaning = feeds_meant(word, every)
    keys = meaning.candidates or meaning.spelt_alike
    if not keys:
        remedy = 'try a shorter word, or see "rationlp feeds list"'
        raise InputError([Finding("IN605", f'feed "{word}"', "no feed is like this", remedy)])
    _deliver_feeds([every[key] for key in keys], form, output, own)


@app.command("show", epilog="Example: rationlp feeds show barley")
def show_feed(
    key: KeyArgument,
    own: OwnOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Show every figure of one feed with its source and status."""
    from rationlp.read.feeds import read_feed_tables
    from rationlp.report.tables import feed_table

    (feed,) = _picked(read_feed_tables(own), [key])
    _deliver(feed_table(feed), [feed], form, output, own)


@app.command("compare", epilog="Example: rationlp feeds compare barley wheat")
def compare(
    first: KeyArgument,
    second: KeyArgument,
    own: OwnOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Set two feeds side by side, figure by figure."""
    from rationlp.read.feeds import read_feed_tables
    from rationlp.report.tables import compare_feeds

    one, other = _picked(read_feed_tables(own), [first, second])
    _deliver(compare_feeds(one, other), [one, other], form, output, own)


@app.command("validate", epilog="Example: rationlp feeds validate myfarm/feeds.csv")
def validate(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A feed table of your own, as CSV.")],
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Check a feed table of your own; list all that is wrong with it, or the feeds it holds."""
    from rationlp.read.feeds import read_feed_tables

    packaged = read_feed_tables()
    laid = read_feed_tables(file)
    changed = [feed for key, feed in laid.items() if packaged.get(key) != feed]
    typer.echo(f"{file}: no errors; feeds that it adds or changes: {len(changed)}", err=True)
    _deliver_feeds(changed, form, output, file)


def _picked(feeds: Mapping[str, Feed], keys: list[str]) -> list[Feed]:
    """The feeds asked for; raises InputError that names, for each unknown key, the nearest there
    is.
    """
    from rationlp.errors import Finding, InputError
    from rationlp.farm.feed_names import feed_remedy, feeds_meant

    meanings = [feeds_meant(word, feeds) for word in keys]
    findings = [
        Finding("IN605", f'feed "{word}"', "there is no feed of this key", feed_remedy(meaning))
        for word, meaning in zip(keys, meanings, strict=True)
        if meaning.key is None
    ]
    if findings:
        raise InputError(findings)
    return [feeds[meaning.key] for meaning in meanings if meaning.key is not None]


def _deliver_feeds(feeds: list[Feed], form: Format, output: Path | None, own: Path | None) -> None:
    from rationlp.report.tables import feeds_table

    _deliver(feeds_table(feeds), feeds, form, output, own)


def _deliver(
    table: Table, feeds: list[Feed], form: Format, output: Path | None, own: Path | None
) -> None:
    from rationlp.cli.options import deliver
    from rationlp.report.documents import feeds_document
    from rationlp.report.terminal import closed, table_text

    answer = Answer(
        text=lambda width: closed([table_text(table, width)], width),
        table=lambda: table,
        document=lambda: feeds_document(feeds),
    )
    deliver(answer, form, output, () if own is None else (own,))
