"""A winter's plan made by hand, so that what is worked out from a plan is tested without a solver:
round figures throughout.

Sixty days in two periods of thirty. Cows: 20 milkers for sixty days; stores: 10 growing cattle, out
after 45 days. One clamp, one meal bought at 300 a tonne fresh by loads of 2 t.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Feed, Figure, Offer
from rationlp.farm.group import Bedding, Group
from rationlp.farm.store import Outlet, Spread, Store, StoreStock
from rationlp.needs.energy import EnergyNeed
from rationlp.needs.objects import GroupNeeds
from rationlp.planned import (
    Period,
    PlanProof,
    PlanRation,
    PlanShortfall,
    PlanTidy,
    Purchase,
    Sale,
    StorePlan,
    WinterPlan,
)
from rationlp.result import Amount, Shortfall

START, TURNOUT = date(2026, 11, 1), date(2026, 12, 31)
PERIODS = (Period(0, START, date(2026, 12, 1)), Period(1, date(2026, 12, 1), TURNOUT))


def _feed(key: str, kind: str, dm: float, me: float) -> Feed:
    source = "an invented table"
    figures = {
        "dm_g_per_kg": Figure(dm, "table", source, "c"),
        "me_mj_per_kg_dm": Figure(me, "table", source, "c"),
    }
    return Feed(key, key.title(), kind, figures)


SILAGE, MEAL = _feed("silage", "forage", 250.0, 10.0), _feed("meal", "pulse_oilseed", 800.0, 12.5)
COWS = Group(
    "cows",
    "Milkers",
    "dairy_cow_milking",
    20,
    "to_appetite",
    {"live_weight_kg": 600.0, "milk_kg_per_day": 20.6, "week_of_lactation": 20.0},
)
STORES = Group(
    "stores",
    "Stores",
    "growing_cattle",
    10,
    "to_appetite",
    {"live_weight_kg": 300.0, "gain_kg_per_day": 0.8},
    out=date(2026, 12, 16),
)


def made_farm() -> Farm:
    """The farm of the plan."""
    return Farm(
        place="invented",
        name="Invented Farm",
        currency="GBP",
        start=START,
        turnout=TURNOUT,
        margins=Margins(),
        home_grown_price="cost",
        over_energy_price_per_mj=0.01,
        offers=(
            Offer("clamp", "The clamp", SILAGE, False, 25.0),
            Offer("meal", "Meal", MEAL, True, 300.0, load_t=2.0),
        ),
        stores=(
            Store("clamp", "The clamp", "plain", "silage", {"amount_t_fresh": 360.0}, 25.0, None),
        ),
        groups=(COWS, STORES),
        feeds={"silage": SILAGE, "meal": MEAL},
        outlets=(Outlet("neighbour", "A neighbour", ("clamp",), 30.0),),
        milk_price_per_litre=0.4,
    )


def made_stock() -> dict[str, StoreStock]:
    """90 t DM to eat, 72 to 108; a tenth of what is put out is left."""
    spread = Spread(72.0, 90.0, 108.0)
    return {
        "clamp": StoreStock(
            "clamp", None, None, Spread(288, 360, 432), spread, {}, spread, 0.1, 0.0, None, ()
        )
    }


def _needs(group: Group) -> GroupNeeds:
    return GroupNeeds(
        group=group.id,
        animal_class=group.animal_class,
        steps=(),
        energy=EnergyNeed("lactation", 60.0, feeding_level_applies=False, margin=1.05),
        mp_g=400.0,
        mp_margin=1.05,
        intake=None,
        appetite_floor_kg_dm=None,
        appetite_floor_share=0.9,
        ndf_fill_kg=None,
        energy_ceiling=None,
        ceiling_priced=False,
        limits=(),
        own_limits=(),
        live_weight_kg=600.0,
        remarks=(),
    )


def _ration(group: Group, period: int, silage_dm: float, meal_dm: float) -> PlanRation:
    """Silage at 0.1 a kg DM, a tenth of it left at the trough; meal at 0.375 a kg DM."""
    amounts = [Amount("clamp", "The clamp", silage_dm, silage_dm * 4.0, silage_dm * 0.1, 0.0)]
    if meal_dm:
        amounts.append(Amount("meal", "Meal", meal_dm, meal_dm * 1.25, meal_dm * 0.375, 0.0))
    return PlanRation(
        group=group.id,
        origin=group.id,
        name=group.name,
        head=group.head,
        period=period,
        needs=_needs(group),
        amounts=tuple(amounts),
        supply=(),
        feed_cost=silage_dm * 0.1 / 0.9 + meal_dm * 0.375,
        penalty=0.0,
        dm_kg=silage_dm + meal_dm,
        me_mj_per_kg_dm=10.5,
        level_of_feeding=2.0,
        excess_mj=0.0,
        excess_mp_g=3.0,
        waste={"clamp": 0.1, "meal": 0.0},
        remarks=(f"A remark on {10 + period} things.",),
    )


PROOF = PlanProof(
    primal_residual=0.0,
    dual_residual=0.0,
    complementarity=0.0,
    duality_gap=0.0,
    worst_excess_mj=0.0,
    worst_excess_mp_g=3.0,
    balance_kg=0.0004,
    cost=3000.0,
    lower_bound=2999.0,
    gap=1.0,
    gap_relative=1.0 / 3000.0,
    levels_settled=True,
    whole_numbers=False,
    lps=12,
    passed=True,
    how="in words",
    verdict="optimal within 0.1 %",
)


def made_plan() -> WinterPlan:
    """Cows eat 9 kg DM of silage and 1.6 of meal in the first period, 9 and 3.2 in the second;
    stores 4.5 of silage.

    Silage put out: 20 · 30 · 9/0.9 = 6 t a period, and 10 · 30 · 4.5/0.9 = 1.5 t, then 15 days,
    0.75 t.
    """
    return WinterPlan(
        farm=made_farm(),
        status="proven",
        periods=PERIODS,
        rations=(
            _ration(COWS, 0, 9.0, 1.6),
            _ration(COWS, 1, 9.0, 3.2),
            _ration(STORES, 0, 4.5, 0.0),
            _ration(STORES, 1, 4.5, 0.0),
        ),
        stores=(
            StorePlan(
                store="clamp",
                name="The clamp",
                held_t_dm=Spread(12.0, 25.0, 30.0),
                reserve_t_dm=2.0,
                eaten_t_dm=(6.75, 6.075),
                wasted_t_dm=(0.75, 0.675),
                spoiled_t_dm=(0.0, 0.0),
                sold_t_dm=(5.0, 0.0),
                bedded_t_dm=(0.0, 0.0),
                left_t_dm=5.75,
                marginal=0.0,
            ),
        ),
        purchases=(Purchase("meal", "Meal", (1.2, 2.4), 1080.0, price_ceiling=350.0),),
        sales=(Sale("neighbour", "clamp", 5.0, 20.0, 600.0),),
        cost=1905.0,
        bought_cost=1080.0,
        own_cost=1425.0,
        sold_income=600.0,
        penalty=1.5,
        proof=PROOF,
        remarks=("A remark on the plan.",),
        tidy=PlanTidy(2, 1, 0, 3.25, True),
    )


def without_plan() -> WinterPlan:
    """The same winter where the cows are short of energy in both periods."""
    short = Shortfall("metabolisable energy", 12.0, 200.0, "MJ", "a source")
    return replace(
        made_plan(),
        status="none_exists",
        rations=(),
        stores=(),
        purchases=(),
        sales=(),
        cost=None,
        bought_cost=None,
        own_cost=None,
        sold_income=None,
        penalty=None,
        proof=None,
        tidy=None,
        shortfalls=(PlanShortfall("cows", 0, short, 1.5), PlanShortfall("cows", 1, short, 2.0)),
    )


BED = Bedding("clamp", "stores", 4.0)
