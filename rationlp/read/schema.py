"""The tables and keys of farm.toml as frozen models, and their errors in our own words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from rationlp.errors import Faults
from rationlp.farm.values import as_number, shown
from rationlp.read.fields import (
    FIRST_DAY,
    LAST_DAY,
    PLAIN,
    TABLE,
    Day,
    Id,
    Kg,
    Name,
    Number,
    Price,
    Share,
    Tonnes,
)
from rationlp.read.schema_later import (
    EarlyGrassTable,
    EarlySaleTable,
    GrowingTable,
    LandTable,
    LaterTable,
)


class _Table(BaseModel):
    model_config = TABLE


class FarmTable(_Table):
    """[farm]"""

    name: Name
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    standard: Literal["afrc_1993", "csiro_2007", "nrc_2001"] = "afrc_1993"


class WinterTable(_Table):
    """[winter]: its periods by word, days or first days; else fortnights. look_days: later.py."""

    start: Day
    turnout: Day
    periods: Literal["week", "fortnight", "month"] | None = None
    period_days: Annotated[int, Field(ge=1, le=100)] | None = None
    period_starts: list[Day] = []
    look_days: list[Day] = []


class HomeGrownTable(_Table):
    """[home_grown]"""

    price: Literal["nothing", "cost", "would_fetch"] = "cost"


class MarginsTable(_Table):
    """[margins]"""

    me: Annotated[float, Field(ge=0.9, le=1.3, allow_inf_nan=False)] = 1.05
    mp: Annotated[float, Field(ge=0.9, le=1.3, allow_inf_nan=False)] = 1.05
    me_milking: Annotated[float, Field(ge=0.9, le=1.3, allow_inf_nan=False)] = 1.0


class PricesTable(_Table):
    """[prices]"""

    over_energy_per_mj: Price | None = None
    mineral_shortage_per_g: Price | None = None
    milk_per_litre: Price | None = None


class FeedingTable(_Table):
    """[feeding], and the feeding of a group: what goes together is judged in loading.py."""

    wagon: Literal["vertical", "horizontal", "none"] = "none"
    tub_m3: Annotated[float, Field(ge=1.0, le=60.0, allow_inf_nan=False)] | None = None
    scale_division_kg: Annotated[float, Field(ge=0.1, le=50.0, allow_inf_nan=False)] = 5.0
    refusals: Annotated[float, Field(ge=0.0, le=0.25, allow_inf_nan=False)] = 0.0
    loads_per_day: Annotated[int, Field(ge=1, le=50)] | None = None
    mix_kg_per_m3: Annotated[float, Field(ge=80.0, le=900.0, allow_inf_nan=False)] | None = None


class StoreTable(_Table):
    """[[stores]]: the keys that every store has; its sizes are checked by kind in stores.py."""

    model_config = ConfigDict(frozen=True, extra="allow", strict=True)

    id: Id
    name: Name | None = None
    feed: Name
    kind: Literal["clamp", "bag", "bales", "stack", "plain"]
    cost_per_t_fresh: Price | None = None
    would_fetch_per_t_fresh: Price | None = None
    seen: list[Literal["mould", "ragwort", "litter_field", "soil", "heated"]] = []
    core_temperature_c: Annotated[float, Field(ge=-20.0, le=500.0, allow_inf_nan=False)] | None = (
        None
    )
    machine_reach_m: Annotated[float, Field(ge=1.0, le=15.0, allow_inf_nan=False)] | None = None
    kept_for: list[Name] = []
    reserve_t_fresh: Tonnes = 0.0
    analysis: dict[str, Number] = {}


class BoughtTable(_Table):
    """[[bought]]: the price may stand in prices.csv instead, so its absence is judged later."""

    feed: Name
    price_per_t_fresh: Price | None = None
    id: Id | None = None
    name: Name | None = None
    least_t: Tonnes | None = None
    most_t: Tonnes | None = None
    load_t: Annotated[float, Field(gt=0.0, le=1000.0, allow_inf_nan=False)] | None = None
    least_order_t: Annotated[float, Field(ge=0.0, le=1000.0, allow_inf_nan=False)] | None = None
    whole_loads: bool = False
    keeps_days: Annotated[float, Field(gt=0.0, le=400.0, allow_inf_nan=False)] | None = None
    space_t: Annotated[float, Field(gt=0.0, le=1_000_000.0, allow_inf_nan=False)] | None = None
    analysis: dict[str, Number] = {}


class OutletTable(_Table):
    """[[outlets]]: what the stores and the two prices come to is judged in winter.py."""

    id: Id
    name: Name | None = None
    stores: list[Name]
    price_per_t_fresh: Price | None = None
    price_per_t_dm: Price | None = None
    least_t_fresh: Tonnes | None = None
    most_t_fresh: Tonnes | None = None


class BeddingTable(_Table):
    """[[bedding]]"""

    store: Name
    group: Name
    kg_fresh_per_head_day: Annotated[float, Field(gt=0.0, le=50.0, allow_inf_nan=False)]


class YardTable(_Table):
    """[yard]: what a winter's plan keeps to so that it can be fed; defaults are common practice."""

    least_load_kg: Annotated[float, Field(ge=0.0, le=500.0, allow_inf_nan=False)] | None = None
    bag_kg: Annotated[float, Field(ge=0.0, le=1500.0, allow_inf_nan=False)] | None = None
    least_order_t: Annotated[float, Field(ge=0.0, le=100.0, allow_inf_nan=False)] | None = None
    most_bought_feeds: Annotated[int, Field(ge=1, le=100)] | None = None
    hold_days: Annotated[int, Field(ge=0, le=200)] | None = None
    hold_saving: Share | None = None
    shut_days: Annotated[int, Field(ge=0, le=200)] | None = None


class PortionTable(_Table):
    """A group of a mix and its portion."""

    group: Name
    portion: Annotated[float, Field(gt=0.0, le=100.0, allow_inf_nan=False)] = 1.0


def _as_portion(given: Any) -> Any:
    return {"group": given} if isinstance(given, str) else given


class MixTable(_Table):
    """[[mixes]]: groups by id, or with their portions."""

    id: Id
    groups: list[Annotated[PortionTable, BeforeValidator(_as_portion)]]
    top_up: list[Name] = []


class GrazingTable(_Table):
    """[[groups.grazing]]"""

    start: Annotated[Day, Field(alias="from")]
    until: Day
    kg_dm_per_day: Annotated[float, Field(gt=0.0, le=30.0, allow_inf_nan=False)]
    feed: Name
    cost_per_t_dm: Price = 0.0
    analysis: dict[str, Number] = {}


class OwnQuantityTable(_Table):
    """[[own_quantities]]"""

    name: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=60)]
    unit: Name
    title: Name | None = None
    basis: Literal["dm", "fresh"] = "dm"


class FeedLimitTable(_Table):
    """[[groups.feed_limits]]"""

    feed: Name
    min_kg_fresh: Kg | None = None
    max_kg_fresh: Kg | None = None
    min_share_of_dm: Share | None = None
    max_share_of_dm: Share | None = None


class QuantityLimitTable(_Table):
    """[[groups.quantity_limits]]"""

    quantity: Name
    per: Literal["head_day", "kg_dm"]
    at_least: Number | None = None
    at_most: Number | None = None


class FamilyLimitTable(_Table):
    """[[groups.family_limits]]"""

    family: Name
    basis: Literal[
        "share_of_dm",
        "share_of_forage_dm",
        "kg_dm",
        "kg_fresh",
        "g_dm_per_kg_live_weight",
        "g_fresh_per_kg_live_weight",
    ]
    cap: Annotated[float, Field(ge=0.0, le=1000.0, allow_inf_nan=False)]


class ChangeTable(_Table):
    """[[groups.changes]]: facts or head stated anew from a date on; judged in calendar.py."""

    model_config = ConfigDict(frozen=True, extra="allow", strict=True)

    start: Annotated[Day, Field(alias="from")]
    head: Annotated[int, Field(ge=0, le=100_000)] | None = None


class GroupTable(_Table):
    """[[groups]]: the keys that every group has; the facts of its class: animals.py."""

    model_config = ConfigDict(frozen=True, extra="allow", strict=True)

    id: Id
    name: Name | None = None
    animal_class: Annotated[str, Field(alias="class")]
    head: Annotated[int, Field(ge=1, le=100_000)]
    fed: Literal["to_appetite", "rationed"] | None = None
    intake_kg_dm: Annotated[float, Field(gt=0.0, le=60.0, allow_inf_nan=False)] | None = None
    intake_equation: Name | None = None
    appetite_share: Share | None = None
    maint_factor: Annotated[float, Field(ge=0.8, le=1.5, allow_inf_nan=False)] = 1.0
    parlour_feed: Name | None = None
    standard: Literal["afrc_1993", "csiro_2007", "nrc_2001"] | None = None
    housed: Day | None = None
    out: Day | None = None
    grazing: list[GrazingTable] = []
    calving: Day | None = None
    calving_last: Day | None = None
    pens: bool = False
    lambing: Day | None = None
    tupping: Day | None = None
    weaning: Day | None = None
    steady: bool = False
    spread_weeks: Annotated[float, Field(ge=0.0, le=26.0, allow_inf_nan=False)] = 0.0
    after: dict[str, Any] | None = None
    changes: list[ChangeTable] = []
    barred: list[Name] = []
    feeding: FeedingTable | None = None
    feed_limits: list[FeedLimitTable] = []
    quantity_limits: list[QuantityLimitTable] = []
    family_limits: list[FamilyLimitTable] = []


TABLES: dict[str, type[BaseModel]] = {
    "farm": FarmTable,
    "winter": WinterTable,
    "home_grown": HomeGrownTable,
    "margins": MarginsTable,
    "prices": PricesTable,
    "feeding": FeedingTable,
    "land": LandTable,
    "yard": YardTable,
}
LISTS: dict[str, type[BaseModel]] = {
    "stores": StoreTable,
    "bought": BoughtTable,
    "own_quantities": OwnQuantityTable,
    "growing": GrowingTable,
    "groups": GroupTable,
    "outlets": OutletTable,
    "bedding": BeddingTable,
    "mixes": MixTable,
    "later": LaterTable,
    "early_sales": EarlySaleTable,
    "early_grass": EarlyGrassTable,
}
INNER: dict[str, type[BaseModel]] = {
    "feed_limits": FeedLimitTable,
    "quantity_limits": QuantityLimitTable,
    "family_limits": FamilyLimitTable,
    "changes": ChangeTable,
    "feeding": FeedingTable,
    "grazing": GrazingTable,
}
GROUP_KEYS = tuple(field.alias or name for name, field in GroupTable.model_fields.items())


def check_table(model: type[BaseModel], value: object, faults: Faults) -> Any:
    """A table as its model, or None where it has faults."""
    if not isinstance(value, Mapping):
        name = str(faults.path[0])
        heading = faults.spelling.entry(name) if name in LISTS else f"[{name}]"
        problem = f"{shown(value)} where a table was expected"
        faults.add("IN112", problem, f"write it as a table {heading}")
        return None
    try:
        return model.model_validate(dict(value))
    except ValidationError as trouble:
        for error in trouble.errors(include_url=False):
            _translate(error, model, faults.at(*error["loc"]))
        return None


def _translate(error: Any, model: type[BaseModel], faults: Faults) -> None:
    """Adds a fault of the validator's in our own words."""
    kind, context = error["type"], error.get("ctx") or {}
    value = shown(error.get("input"))
    if kind == "missing":
        faults.add("IN111", "this key is missing", "add it: the example farm shows its unit")
    elif kind == "extra_forbidden":
        known = _keys_beside(model, error["loc"])
        valid = f"keys of this table: {', '.join(known)}"
        faults.unknown("IN110", "unknown key", str(error["loc"][-1]), known, valid)
    elif kind == "literal_error":
        words = str(context["expected"]).replace(" or ", ",").split(",")
        choices = [word.strip(" '") for word in words]
        problem = f"{value} is none of the words allowed here"
        valid = f"use one of {', '.join(choices)}"
        faults.unknown("IN114", problem, str(error.get("input")), choices, valid)
    elif kind in _BOUNDS and isinstance(error.get("input"), date):
        remedy = f"give a date of the years {FIRST_DAY:%Y} to {LAST_DAY:%Y}"
        faults.add("IN113", f"{value} is out of range", remedy)
    elif kind in _BOUNDS:
        word, key = _BOUNDS[kind]
        faults.add("IN113", f"{value} is out of range", f"give a number {word} {context[key]:g}")
    elif kind == "finite_number":
        faults.add("IN113", f"{value} is not a finite number", "give a plain number")
    elif kind == "float_type" and as_number(error.get("input")) is not None:
        faults.add("IN113", f"{value} is out of range", "give a smaller number")
    elif kind == "string_pattern_mismatch":
        remedy = _PATTERNS.get(str(context["pattern"]), "use letters, digits, _ and -")
        faults.add("IN114", f"{value} has a form that is not allowed here", remedy)
    elif kind in ("string_too_short", "string_too_long"):
        faults.add("IN114", "the text is empty or too long", "give 1 to 120 characters")
    else:
        expected = _TYPES.get(kind, "a value of another kind")
        faults.add("IN112", f"{value} is not {expected.partition(' (')[0]}", f"write {expected}")


_BOUNDS = {
    "greater_than": ("above", "gt"),
    "greater_than_equal": ("of at least", "ge"),
    "less_than": ("below", "lt"),
    "less_than_equal": ("of at most", "le"),
}
_TYPES = {
    "float_type": "a number (without quotation marks, with a decimal point)",
    "int_type": "a whole number (without quotation marks)",
    "string_type": "a text in quotation marks",
    "date_type": "a date like 2026-10-15 (without quotation marks)",
    "date_from_datetime_inexact": "a date like 2026-10-15 (without quotation marks)",
    "list_type": "a list in square brackets",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}
_PATTERNS = {
    r"^[A-Z]{3}$": "give the three capital letters of the currency, such as GBP or EUR",
    PLAIN: "write it on one line, without control signs or signs that turn its direction",
    r"^[a-z][a-z0-9_]*$": "use small letters, digits and _, beginning with a letter",
}


def _keys_beside(model: type[BaseModel], path: Sequence[str | int]) -> list[str]:
    """The keys of the table that the last step of a path is in."""
    for step in path[:-1]:
        if isinstance(step, str) and step in model.model_fields:
            model = INNER.get(step, model)
    return [field.alias or name for name, field in model.model_fields.items()]
