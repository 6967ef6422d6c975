"""The sheets of a farm's workbook and their headings: made from the same models as farm.toml, so
that a key is stated once.

A heading is the key of farm.toml, unit included. Every table of farm.toml stands on the sheet Farm,
a key a row; every list has a sheet of its own, an entry a row; lists inside a group or store have a
sheet that names the group or store in its first column. Lab and Feeds hold what lab.csv and
feeds.csv hold.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from functools import lru_cache
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from rationlp.farm.animals import CLASSES, Fact
from rationlp.farm.feed_table import WORDS as FEED_WORDS
from rationlp.quantities import feed_columns, quantities
from rationlp.read.lab import WORDS as LAB_WORDS
from rationlp.read.schema import INNER, LISTS, TABLES, ChangeTable, GroupTable
from rationlp.read.stores import KINDS, Size
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
"""What stands on the sheet Changes instead of a date for what the animals are once calved or
lambed.
"""

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
        return next((one for one in self.headings if one.key == key), None)


_WORDS = {
    "farm.name": "name of the farm",
    "farm.currency": "currency of every price: three capital letters",
    "winter.start": "first day of winter feeding",
    "winter.turnout": "the day the last group goes out",
    "winter.periods": "steps of the winter's plan by word; fortnights if nothing is said",
    "winter.period_days": "steps of the plan in days, instead",
    "winter.period_starts": "first days of the steps, instead, with commas between",
    "home_grown.price": "price that home-grown feed carries in the sums",
    "margins.me": "multiple of the published energy requirement",
    "margins.mp": "multiple of the published protein requirement",
    "margins.me_milking": "the same of energy for dairy cows in milk; 1 if nothing is said",
    "prices.over_energy_per_mj": "what a MJ above the energy ceiling counts for (no money)",
    "prices.mineral_shortage_per_g": "what a gram short of a mineral counts for (no money)",
    "prices.milk_per_litre": "price of milk a litre",
    "wagon": "how the augers of the wagon stand, or none",
    "tub_m3": "tub of the wagon in m3",
    "scale_division_kg": "what the scale counts in, in kg",
    "refusals": "share left lying, on top of what is eaten",
    "loads_per_day": "loads a day",
    "mix_kg_per_m3": "weight of the mix in kg/m3",
    "stores": "ids of the stores, with commas between",
    "store": "id of the store",
    "groups": "ids of the groups with commas between, portions as id=0.8",
    "top_up": "ids of feeds that single groups may get beside it, with commas between",
    "price_per_t_dm": "price a tonne of dry matter, instead",
    "least_t_fresh": "least tonnes fresh",
    "most_t_fresh": "most tonnes fresh",
    "kg_fresh_per_head_day": "kg fresh a head a day",
    "kg_dm_per_day": "kg dry matter a head a day",
    "until": "first day without it",
    "cost_per_t_dm": "cost a tonne of dry matter",
    "id": "short name of your own, used on the other sheets",
    "name": "name as it is printed",
    "feed": "key of the feed tables (`rationlp feeds list`)",
    "kind": "kind of store",
    "cost_per_t_fresh": "what it cost to grow and store, a tonne fresh",
    "would_fetch_per_t_fresh": "what it would fetch, a tonne fresh",
    "seen": "what was seen in it, with commas between",
    "core_temperature_c": "highest temperature inside in °C",
    "machine_reach_m": "reach of the machine at the face in m",
    "kept_for": "ids of the only groups that may get it, with commas between",
    "reserve_t_fresh": "tonnes fresh to be left at turnout",
    "price_per_t_fresh": "price a tonne fresh, delivered",
    "least_t": "least tonnes fresh taken over the winter",
    "most_t": "most tonnes fresh to be had",
    "load_t": "size of a load in tonnes fresh",
    "least_order_t": "least that is ordered of it, in tonnes fresh",
    "least_load_kg": "least of a straight in one load of the wagon, in kg",
    "bag_kg": "a bag of minerals, in kg",
    "hold_days": "days that the forages of a ration are held",
    "hold_saving": "share of the feed cost that changing sooner must save",
    "shut_days": "days that clamps and bags stay shut after filling",
    "most_bought_feeds": "most bought feeds on the farm, minerals left out",
    "whole_loads": "bought by the whole load only",
    "keeps_days": "days that a load keeps",
    "space_t": "room for it in tonnes fresh",
    "class": "class of the animals",
    "head": "number of animals",
    "fed": "to appetite, or a set amount",
    "intake_kg_dm": "most they eat in kg DM a day, where you know it",
    "intake_equation": "intake equation, if not the usual one",
    "appetite_share": "least share of the intake that must be filled",
    "maint_factor": "multiple of the maintenance requirement",
    "parlour_feed": "id of the feed given by yield in the parlour",
    "calving": "first day of calving",
    "lambing": "first day of lambing",
    "tupping": "first day of tupping",
    "steady": "calving all year: the group stays as it is",
    "spread_weeks": "weeks from the first birth to the last",
    "barred": "ids of feeds that they do not get, with commas between",
    "housed": "first day fed in this winter",
    "out": "first day no longer fed",
    "unit": "unit as printed",
    "title": "title as printed",
    "basis": "basis of the figure",
    "min_kg_fresh": "least kg fresh a head a day",
    "max_kg_fresh": "most kg fresh a head a day",
    "min_share_of_dm": "least share of the dry matter eaten",
    "max_share_of_dm": "most share of the dry matter eaten",
    "quantity": "quantity that is limited",
    "per": "a head a day, or in a kg of dry matter",
    "at_least": "least of it",
    "at_most": "most of it",
    "family": "family of feeds",
    "cap": "most of the family, in its basis",
    "from": f"a date, or the word {AFTER_BIRTH}: what they are once calved or lambed",
    "group": "id of the group",
    "for": "id of the store or bought feed",
    "value": "the figure, in the unit of its name",
    "sampled": "date of sampling",
    "reference": "the laboratory's number",
    "dm_basis": "dry matter: corrected (volatiles added back) or oven",
    "key": "key of the feed",
}
_ABOUT = {
    "outlets": "Who buys forage of yours.",
    "bedding": "Straw or the like used under a group, set aside before any is fed.",
    "mixes": "One mix for several groups.",
    "stores": "What is in store. The sizes that a store needs follow from its kind.",
    "bought": "What can be bought, delivered to the farm.",
    "groups": (
        "The animals. Which facts a group needs follows from its class: see the note on each"
        " heading."
    ),
    "own_quantities": (
        "Quantities of your own, to be limited on the sheet Limits; their figures stand on Own"
        " figures or Feeds."
    ),
}


def _words(key: str, table: str = "") -> str:
    return _WORDS.get(f"{table}.{key}") or _WORDS.get(key) or key.replace("_", " ")


def _kind(annotation: Any) -> tuple[str, tuple[str, ...]]:
    """The kind of a cell for a type, and its words to choose from; kind "" for what is no cell but
    a table of its own.
    """
    origin = get_origin(annotation)
    if origin is Annotated:
        return _kind(get_args(annotation)[0])
    if origin in (Union, UnionType):
        others = [one for one in get_args(annotation) if one is not type(None)]
        return _kind(others[0]) if len(others) == 1 else ("", ())
    if origin is Literal:
        return "text", tuple(str(one) for one in get_args(annotation))
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
    """The keys of a model that fit into a cell, in its order; those of a table inside it as
    `table.key`.
    """
    found = []
    for name, field in model.model_fields.items():
        kind, choices = _kind(field.annotation)
        key = field.alias or name
        inside = _table_inside(field.annotation)
        if kind:
            note = "needed" if field.is_required() else ""
            found.append(Heading(key, kind, _words(key, table), choices, note, field.is_required()))
        elif inside is not None:
            found += [
                replace(one, key=f"{key}.{one.key}", required=False, note="")
                for one in fields_of(inside, key)
            ]
    return tuple(found)


def _table_inside(annotation: Any) -> type[BaseModel] | None:
    """The model of a table inside another, `None` allowed in its place; None for anything else."""
    if get_origin(annotation) is Annotated:
        return _table_inside(get_args(annotation)[0])
    for one in (
        get_args(annotation) if get_origin(annotation) in (Union, UnionType) else (annotation,)
    ):
        if isinstance(one, type) and issubclass(one, BaseModel):
            return one
    return None


def _of_sizes() -> tuple[Heading, ...]:
    """The sizes of all kinds of store, each once, with the kinds that have it."""
    by_key: dict[str, list[tuple[str, Size]]] = {}
    for kind, sizes in KINDS.items():
        for size in sizes:
            by_key.setdefault(size.key, []).append((kind, size))
    found = []
    for key, pairs in by_key.items():
        first = pairs[0][1]
        kind = "text" if first.choices else "date" if first.high == 0 else "number"
        choices = tuple(dict.fromkeys(word for _, size in pairs for word in size.choices))
        note = "; ".join(
            f"{one}: {_range(size.required, size.low, size.high)}" for one, size in pairs
        )
        found.append(Heading(key, kind, first.words, choices, note))
    return tuple(found)


def _of_facts() -> tuple[Heading, ...]:
    """The facts of all classes, each once, with the classes that have it."""
    by_key: dict[str, list[tuple[str, Fact]]] = {}
    for name, facts in CLASSES.items():
        for fact in facts:
            by_key.setdefault(fact.key, []).append((name, fact))
    found = []
    for key, pairs in by_key.items():
        first = pairs[0][1]
        choices = tuple(dict.fromkeys(word for _, fact in pairs for word in fact.choices))
        note = "; ".join(
            f"{name}: {_range(fact.required, fact.low, fact.high)}" for name, fact in pairs
        )
        found.append(Heading(key, "text" if choices else "number", first.words, choices, note))
    return tuple(found)


def _range(required: bool, low: float, high: float) -> str:
    valid = f", {low:g} to {high:g}" if high > low else ""
    return f"{'needed' if required else 'if you know it'}{valid}"


def _unique(headings: Iterable[Heading]) -> tuple[Heading, ...]:
    found: dict[str, Heading] = {}
    for heading in headings:
        found.setdefault(heading.key, heading)
    return tuple(found.values())


def _group_column() -> Heading:
    return Heading("group", "text", _words("group"), note="needed", required=True)


def _list_layout(key: str) -> Layout:
    headings = fields_of(LISTS[key])
    if key == "outlets":
        headings = tuple(
            replace(one, words="price a tonne fresh") if one.key == "price_per_t_fresh" else one
            for one in headings
        )
    if key == "stores":
        headings = _unique((*headings, *_of_sizes()))
    if key == "groups":
        classes = tuple(CLASSES)
        headings = tuple(
            replace(one, choices=classes) if one.key == "class" else one for one in headings
        )
        headings = _unique((*headings[:5], *_of_facts(), *headings[5:]))
    return Layout(title_of(key), _ABOUT.get(key, ""), "list", headings, (key,))


def title_of(key: str) -> str:
    """The title of the sheet of a list of farm.toml."""
    return key.replace("_", " ").capitalize()


def _limits() -> Layout:
    """The three lists of limits of a group on one sheet: a row fills feed, quantity or family, and
    what goes with it.
    """
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
    """What changes in a group: rows with a date, and a row with the word birth for what the animals
    are afterwards.
    """
    start, *rest = fields_of(ChangeTable)
    animal_class = Heading("class", "text", "class once calved or lambed", tuple(CLASSES))
    headings = (_group_column(), replace(start, kind="any"), *rest, animal_class, *_of_facts())
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
    return (
        f"{quantity.title} in {quantity.unit}"
        if key == quantity.name
        else f"{quantity.title}, unit as in the heading"
    )


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
