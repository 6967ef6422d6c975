"""The sheets of a farm's workbook and their headings: made from the same models as farm.toml, so
that a key is stated once.

A heading is the key of farm.toml, unit included. Every table of farm.toml stands on the sheet Farm,
a key a row; every list has a sheet of its own, an entry a row; lists inside a group or store have a
sheet that names the group or store in its first column. Lab and Feeds hold what lab.csv and
feeds.csv hold.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from rationlp.farm.animals import CLASSES, Fact
from rationlp.farm.feed_table import WORDS as FEED_WORDS
from rationlp.folders import rows_of
from rationlp.quantities import feed_columns, quantities
from rationlp.read.lab import WORDS as LAB_WORDS
from rationlp.read.schema import INNER, LISTS, TABLES, ChangeTable, GroupTable
from rationlp.read.stores import KINDS
from rationlp.records import dataclass

FARM, LAB, FEEDS, OWN_FIGURES, LIMITS, CHANGES = (
    "Farm",
    "Lab",
    "Feeds",
    "Own figures",
    "Limits",
    "Changes",
)
NOTES, NAMES, CHOICES = "Read first", "Names", "Lists"
UNREAD = (NOTES, NAMES, CHOICES)
NEEDED = (FARM, "Stores", "Bought", "Groups")
AFTER_BIRTH = "birth"
"""What stands on the sheet Changes in place of a date for animals once calved or lambed."""

LIMIT_LISTS = ("feed_limits", "quantity_limits", "family_limits")


@dataclass(frozen=True)
class Heading:
    """A column of a sheet, or a row of the sheet Farm.

    kind: number, whole, date, text, words and dates (several, with commas between them), portions
    (`id` or `id=portion`, with commas), yes_no, or any (as it comes). words: what it is, unit
    included. note: when it is needed and what is valid.
    """

    key: str
    kind: str
    words: str
    choices: tuple[str, ...] = ()
    note: str = ""
    required: bool = False


@dataclass(frozen=True)
class Layout:
    """A sheet. into: `tables`, `list` (an entry a row), `inside` (rows of lists inside the entries
    of `lists`) or `csv`.

    lists: keys of the lists of farm.toml that its rows go into, or whose entries they belong to.
    inner: lists inside them.
    """

    title: str
    about: str
    into: str
    headings: tuple[Heading, ...]
    lists: tuple[str, ...] = ()
    inner: tuple[str, ...] = ()

    def heading(self, key: str) -> Heading | None:
        """The heading of a key, or None."""
        return next((heading for heading in self.headings if heading.key == key), None)


@lru_cache(maxsize=2)
def _table(name: str) -> dict[str, str]:
    """Words by key: headings.csv says what a heading is, sheets.csv what a sheet is for."""
    return {row["key"]: row["words"] for row in rows_of(Path(__file__).with_name(name))}


def _words(key: str, table: str = "") -> str:
    words = _table("headings.csv")
    return words.get(f"{table}.{key}") or words.get(key) or key.replace("_", " ")


def _kind(annotation: Any) -> tuple[str, tuple[str, ...]]:
    """The kind of a cell for a type, and its words to choose from; "" for a table of its own."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return _kind(get_args(annotation)[0])
    if origin in (Union, UnionType):
        others = [part for part in get_args(annotation) if part is not type(None)]
        if len(others) == 1:
            return _kind(others[0])
        return ("", ())
    if origin is Literal:
        return "text", tuple(str(part) for part in get_args(annotation))
    if origin is list:
        inner = _table_inside(get_args(annotation)[0])
        if inner is not None and "portion" in inner.model_fields:
            return "portions", ()
        kind, choices = _kind(get_args(annotation)[0])
        return {"text": "words", "date": "dates"}.get(kind, ""), choices
    return {bool: "yes_no", int: "whole", float: "number", date: "date", str: "text"}.get(
        annotation, ""
    ), ()


def fields_of(model: type[BaseModel], table: str = "") -> tuple[Heading, ...]:
    """The keys of a model that fit into a cell, in order; of a table inside as `table.key`."""
    headings = []
    for name, field in model.model_fields.items():
        kind, choices = _kind(field.annotation)
        key = field.alias or name
        inside = _table_inside(field.annotation)
        if kind:
            note = "needed" if field.is_required() else ""
            headings.append(
                Heading(key, kind, _words(key, table), choices, note, field.is_required())
            )
        elif inside is not None:
            headings += [
                replace(heading, key=f"{key}.{heading.key}", required=False, note="")
                for heading in fields_of(inside, key)
            ]
    return tuple(headings)


def _table_inside(annotation: Any) -> type[BaseModel] | None:
    """The model of a table inside another, `None` allowed in its place; None for anything else."""
    if get_origin(annotation) is Annotated:
        return _table_inside(get_args(annotation)[0])
    for part in (
        get_args(annotation) if get_origin(annotation) in (Union, UnionType) else (annotation,)
    ):
        if isinstance(part, type) and issubclass(part, BaseModel):
            return part
    return None


def _of_facts(owners: Mapping[str, tuple[Fact, ...]]) -> tuple[Heading, ...]:
    """The facts of all classes, or sizes of all kinds of store, each once, with who has it."""
    by_key: dict[str, list[tuple[str, Fact]]] = {}
    for name, facts in owners.items():
        for fact in facts:
            by_key.setdefault(fact.key, []).append((name, fact))
    headings = []
    for key, pairs in by_key.items():
        first = pairs[0][1]
        kind = "text" if first.choices else "date" if first.high == 0 else "number"
        choices = tuple(dict.fromkeys(word for _, fact in pairs for word in fact.choices))
        note = "; ".join(f"{name}: {_range(fact)}" for name, fact in pairs)
        headings.append(Heading(key, kind, first.words, choices, note))
    return tuple(headings)


def _range(fact: Fact) -> str:
    valid = ""
    if fact.high > fact.low:
        valid = f", {fact.low:g} to {fact.high:g}"
    return f"{'needed' if fact.required else 'if you know it'}{valid}"


def _unique(headings: Iterable[Heading]) -> tuple[Heading, ...]:
    by_key: dict[str, Heading] = {}
    for heading in headings:
        by_key.setdefault(heading.key, heading)
    return tuple(by_key.values())


def _group_column() -> Heading:
    return Heading("group", "text", _words("group"), note="needed", required=True)


def _list_layout(key: str) -> Layout:
    headings = fields_of(LISTS[key], key)
    if key == "outlets":
        headings = tuple(
            replace(heading, words="price a tonne fresh")
            if heading.key == "price_per_t_fresh"
            else heading
            for heading in headings
        )
    if key == "stores":
        headings = _unique((*headings, *_of_facts(KINDS)))
    if key == "groups":
        classes = tuple(CLASSES)
        headings = tuple(
            replace(heading, choices=classes) if heading.key == "class" else heading
            for heading in headings
        )
        headings = _unique((*headings[:5], *_of_facts(CLASSES), *headings[5:]))
    return Layout(title_of(key), _table("sheets.csv").get(key, ""), "list", headings, (key,))


def title_of(key: str) -> str:
    """The title of the sheet of a list of farm.toml."""
    return key.replace("_", " ").capitalize()


def _limits() -> Layout:
    """The three lists of limits of a group on one sheet: a row names feed, quantity or family."""
    headings = [heading for name in LIMIT_LISTS for heading in fields_of(INNER[name])]
    about = (
        "Your own limits, a row each: on a feed, on a quantity of the diet, or on a family of"
        " feeds."
    )
    ids = replace(headings[0], words="id of the store or bought feed that is limited")
    every = (
        _group_column(),
        *(replace(one, required=False, note="") for one in [ids, *headings[1:]]),
    )
    return Layout(LIMITS, about, "inside", _unique(every), ("groups",), LIMIT_LISTS)


def _changes() -> Layout:
    """What changes in a group: rows with a date; with the word birth, what follows it."""
    start, *rest = fields_of(ChangeTable)
    animal_class = Heading("class", "text", "class once calved or lambed", tuple(CLASSES))
    headings = (
        _group_column(),
        replace(start, kind="any"),
        *rest,
        animal_class,
        *_of_facts(CLASSES),
    )
    about = (
        "Facts or heads stated anew from a date on, and what the animals are once calved or lambed."
    )
    return Layout(CHANGES, about, "inside", _unique(headings), ("groups",), ("changes", "after"))


def _inner_layouts() -> list[Layout]:
    """A sheet for every other list inside a group."""
    layouts = []
    for key, model in INNER.items():
        field = GroupTable.model_fields.get(key)
        if (
            field is not None
            and get_origin(field.annotation) is list
            and key not in (*LIMIT_LISTS, "changes")
        ):
            fields = (
                replace(one, words="from which day on") if one.key == "from" else one
                for one in fields_of(model)
            )
            headings = _unique((_group_column(), *fields))
            layouts.append(Layout(title_of(key), "", "inside", headings, ("groups",), (key,)))
    return layouts


def _own_figures() -> Layout:
    headings = (
        Heading("for", "text", _words("for"), note="needed", required=True),
        Heading(
            "quantity",
            "text",
            "column of the feed tables, such as me_mj_per_kg_dm",
            (),
            "needed",
            True,
        ),
        Heading("value", "number", _words("value"), (), "needed", True),
    )
    about = "Figures of your own for a store or bought feed, over the feed tables, a row each."
    return Layout(OWN_FIGURES, about, "inside", headings, ("stores", "bought"), ("analysis",))


_LAB_COLUMNS = (
    "dm_percent", "oven_dm_percent", "me_mj_per_kg_dm", "d_value_percent_of_dm",
    "cp_percent_of_dm", "ndf_g_per_kg_dm",
    "adf_g_per_kg_dm", "sugar_g_per_kg_dm", "starch_g_per_kg_dm", "oil_g_per_kg_dm",
    "ash_g_per_kg_dm", "ph",
    "ammonia_n_percent_of_total_n", "ca_g_per_kg_dm", "p_g_per_kg_dm", "mg_g_per_kg_dm",
    "na_g_per_kg_dm", "k_g_per_kg_dm",
)  # fmt: skip


def _csv_layouts() -> tuple[Layout, Layout]:
    """Lab and Feeds: the usual columns; any other of lab.csv and feeds.csv may be added."""
    words = {"dm_basis": ("", "corrected", "oven")}
    lab = [Heading(key, "any", _words(key), words.get(key, ())[1:]) for key in LAB_WORDS]
    lab += [Heading(key, "any", _quantity_words(key)) for key in _LAB_COLUMNS]
    feeds = [Heading(key, "any", _words(key)) for key in FEED_WORDS]
    feeds += [Heading(name, "any", _quantity_words(name)) for name in feed_columns()]
    about_lab = (
        "Laboratory sheets, a row each; a heading is a quantity with its unit. A cell without a"
        " figure stays empty."
    )
    about_feeds = (
        "Feeds that no feed table holds, or single figures over a feed of the tables. May stay"
        " empty."
    )
    return Layout(LAB, about_lab, "csv", tuple(lab)), Layout(
        FEEDS, about_feeds, "csv", tuple(feeds)
    )


def _quantity_words(key: str) -> str:
    from rationlp.read.lab import units

    unit = units().get(key)
    quantity = quantities()[unit.quantity if unit is not None else key]
    if key == quantity.name:
        return f"{quantity.title} in {quantity.unit}"
    return f"{quantity.title}, unit as in the heading"


@lru_cache(maxsize=1)
def layouts() -> tuple[Layout, ...]:
    """Every sheet that is read, in the order in which a person fills them in."""
    tables = [
        replace(one, key=f"{name}.{one.key}")
        for name, model in TABLES.items()
        for one in fields_of(model, name)
    ]
    farm = Layout(
        FARM,
        "The farm, its winter and the prices in the sums: a key a row.",
        "tables",
        tuple(tables),
    )
    lists = {key: _list_layout(key) for key in LISTS}
    lab, feeds = _csv_layouts()
    first = [
        farm,
        lists.pop("stores"),
        lab,
        _own_figures(),
        lists.pop("bought"),
        lists.pop("groups"),
    ]
    return (*first, _limits(), _changes(), *_inner_layouts(), *lists.values(), feeds)
