"""Commands and their options as records."""

from __future__ import annotations

import inspect
from enum import StrEnum
from types import SimpleNamespace
from typing import Annotated, Any

import typer

from rationlp.records import dataclass


class Format(StrEnum):
    """How an answer is written."""

    table = "table"
    csv = "csv"
    json = "json"


@dataclass(frozen=True)
class Option:
    """An option, or an argument. name: under which its value is given to the command.

    type: of one value, as the parser reads it. flag: as typed, from the name where empty. argument:
    it stands without a flag. bounds: least and most of a number. reads: a file that is read, and so
    never written over. goes_with: the option that it means nothing without, or `option=word`.
    not_with: options beside which it means nothing.
    """

    name: str
    type: Any
    help: str
    metavar: str | None = None
    default: Any = None
    flag: str = ""
    argument: bool = False
    bounds: tuple[float | None, float | None] = (None, None)
    reads: bool = False
    goes_with: str = ""
    not_with: tuple[str, ...] = ()

    @property
    def flags(self) -> list[str]:
        """As typed: `--group`, or a long and a short flag."""
        return self.flag.split() or [f"--{self.name.replace('_', '-')}"]

    def parameter(self) -> inspect.Parameter:
        """The option as a parameter of a function, as the parser takes it."""
        if self.argument:
            read: Any = typer.Argument(metavar=self.metavar, help=self.help)
        else:
            least, most = self.bounds
            read = typer.Option(
                *self.flags, metavar=self.metavar, help=self.help, min=least, max=most
            )
        return inspect.Parameter(
            self.name,
            inspect.Parameter.POSITIONAL_OR_KEYWORD,
            default=self.default,
            annotation=Annotated[self.type, read],
        )


class Options(SimpleNamespace):
    """What was typed: a value for every option of a command, by its name."""

    def __getattr__(self, name: str) -> Any:
        """An option that the command does not have is as one that was left out."""
        return None

    def typed(self, words: str) -> bool:
        """Whether an option was given, of `option=word` whether it was given that word."""
        name, _, word = words.partition("=")
        value = getattr(self, name)
        if word:
            return str(value) == word
        return not (value is None or value is False or value == [])

    @property
    def whole(self) -> bool:
        """Whether all of an answer is wanted: --full, or a form that always holds everything."""
        return bool(self.full) or self.form is Format.json or self.in_workbook

    @property
    def in_workbook(self) -> bool:
        """Whether the answer goes into a workbook."""
        return self.output is not None and self.output.suffix.lower() == ".xlsx"


FARM, CHANGED_FARM, NOTHING = "farm", "changed farm", "nothing"


@dataclass(frozen=True)
class Command:
    """A command. short: in the list of commands; help: under its own --help.

    module: in rationlp/cli, with `solve` and `story`, or with `say`; see run.py. reads: what it is
    given first: a farm, a farm that may be changed, or nothing. counts: it says itself how far it
    has come.
    """

    name: str
    short: str
    help: str
    example: str
    options: tuple[Option, ...]
    module: str
    reads: str = FARM
    counts: bool = False

    def signature(self) -> inspect.Signature:
        """The command as a function of its options; those without a default come first."""
        parameters = [option.parameter() for option in self.options]
        required = [p for p in parameters if p.default is inspect.Parameter.empty]
        others = [p for p in parameters if p.default is not inspect.Parameter.empty]
        return inspect.Signature([*required, *others])


REQUIRED = inspect.Parameter.empty
