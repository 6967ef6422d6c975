"""The tables of farm.toml about what is to come: actions later in the winter, and crops."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, Field

from rationlp.read.fields import TABLE, Id, Name, Number, Price, Tonnes

PerHead = Annotated[float, Field(ge=0.0, le=100_000.0, allow_inf_nan=False)]


class _Table(BaseModel):
    model_config = TABLE


class LaterTable(_Table):
    """[[later]]: a bought feed's price after autumn, and on contract; later.py judges it whole."""

    feed: Name
    turn_of_year_per_t_fresh: Price | None = None
    late_winter_per_t_fresh: Price | None = None
    left_per_t_fresh: Price | None = None
    lead_days: Annotated[int, Field(ge=0, le=120)] = 0
    contract_per_t_fresh: Price | None = None
    contract_most_t: Tonnes | None = None
    contract_resold_per_t_fresh: Price | None = None


class EarlySaleTable(_Table):
    """[[early_sales]]: animals that may be sold before turnout."""

    group: Name
    now_per_head: PerHead | None = None
    turn_of_year_per_head: PerHead | None = None
    late_winter_per_head: PerHead | None = None
    turnout_per_head: PerHead
    most_head: Annotated[int, Field(ge=1, le=100_000)] | None = None


class EarlyGrassTable(_Table):
    """[[early_grass]]: grass that may be grazed before turnout, in late winter."""

    feed: Name
    groups: list[Name]
    most_t_dm: Annotated[float, Field(gt=0.0, le=100_000.0, allow_inf_nan=False)]
    cost_per_t_dm: Price
    analysis: dict[str, Number] = {}


class LandTable(_Table):
    """[land]"""

    hectares: Annotated[float, Field(gt=0.0, le=100_000.0, allow_inf_nan=False)] | None = None


Hectares = Annotated[float, Field(ge=0.0, le=100_000.0, allow_inf_nan=False)]


class GrowingTable(_Table):
    """[[growing]]: what cannot go together is judged in growing.py."""

    feed: Name
    id: Id | None = None
    name: Name | None = None
    yield_t_dm_per_ha: Annotated[float, Field(ge=0.3, le=40.0, allow_inf_nan=False)]
    cost_per_ha: Price
    least_ha: Hectares = 0.0
    most_ha: Hectares | None = None
    losses: Annotated[float, Field(ge=0.0, le=0.8, allow_inf_nan=False)] | None = None
    would_fetch_per_t_dm: Price | None = None
    stored: Literal["clamp", "bales"] = "clamp"
    analysis: dict[str, Number] = {}
