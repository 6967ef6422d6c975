"""A small invented farm and its answers, made by hand, so that the renderers are tested without a
solver.
"""

from __future__ import annotations

from datetime import date

import pytest

from rationlp.errors import Finding
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Feed, Figure, Offer
from rationlp.farm.group import Group, QuantityLimit
from rationlp.farm.store import Store
from rationlp.needs.compare import Opinion
from rationlp.needs.energy import EnergyNeed
from rationlp.needs.objects import DietLimit, GroupNeeds, IntakeCap, Step
from rationlp.result import Amount, FedSupply, GroupRation, Proof, Rations, Shortfall, SupplyLine


def _feed(key: str, name: str, kind: str, dm: float, me: float) -> Feed:
    figures = {
        "dm_g_per_kg": Figure(dm, "lab", "lab.csv row 2"),
        "me_mj_per_kg_dm": Figure(me, "table", "an invented table, row 4", "b"),
        "adin_g_n_per_kg_dm": Figure(0.0, "default", "blank taken as 0", "c"),
    }
    return Feed(key, name, kind, figures, "invented for a test")


SILAGE = _feed("clamp_silage", "Clamp silage", "forage", 280.0, 10.8)
MEAL = _feed("meal", "Protein meal", "pulse_oilseed", 880.0, 12.5)
MINERAL = _feed("mineral", "Mineral", "mineral", 980.0, 0.0)


def made_needs(group: str) -> GroupNeeds:
    """Needs of a growing group: energy, protein, an intake cap, one kept and one reported limit,
    one of the farm's own.
    """
    return GroupNeeds(
        group=group,
        animal_class="growing_cattle",
        steps=(
            Step("fasting metabolism", 23.456789, "MJ/d", "0.53 (W/1.08)^0.67", "AFRC (1993)", "a"),
        ),
        energy=EnergyNeed("exponential", 24.0, eg=9.0, feeding_level_applies=False, margin=1.05),
        mp_g=400.0,
        mp_margin=1.05,
        intake=IntakeCap(7.5, 0.0, "an intake equation", "a named source", "b"),
        appetite_floor_kg_dm=None,
        appetite_floor_share=0.9,
        ndf_fill_kg=None,
        energy_ceiling=None,
        ceiling_priced=False,
        limits=(
            DietLimit("ndf_g_per_kg_dm", 300.0, None, "g/kg DM", "row", "c", "common practice"),
            DietLimit("oil_g_per_kg_dm", None, 60.0, "g/kg DM", "reported", "c", "common practice"),
        ),
        own_limits=(QuantityLimit("ca_g_per_kg_dm", "head_day", 30.0, None),),
        live_weight_kg=300.0,
        remarks=(),
    )


def made_opinion(value: float | None = 42.04) -> Opinion:
    """Another standard's figure beside 40 MJ of ours; None: the animal lies outside its range."""
    share = None if value is None else value / 40.0 - 1.0
    return Opinion(
        method="another standard",
        quantity="maintenance, ME with margin",
        value=value,
        unit="MJ/d",
        ours=40.0,
        difference_share=share,
        equation="a + b × W",
        valid="100–700 kg",
        source="a named source",
        status="b",
    )


def made_proof(**changes: object) -> Proof:
    """A proof that passes, with a gap of 0.00021 a head a day."""
    values: dict[str, object] = {
        "primal_residual": 1e-12,
        "dual_residual": 1e-12,
        "complementarity": 1e-12,
        "duality_gap": 1e-12,
        "requirement_excess_mj": 0.0,
        "protein_excess_g": 12.0,
        "cost": 0.8,
        "lower_bound": 0.79979,
        "gap": 0.00021,
        "gap_relative": 0.00026,
        "level_of_feeding": 1.76,
        "level_settled": True,
        "bound_any_level": None,
        "lps": 7,
        "coefficient_range": (0.01, 300.0),
        "passed": True,
        "verdict": "optimal and adequate",
    }
    return Proof(**{**values, **changes})  # type: ignore[arg-type]


AMOUNTS = (
    Amount("clamp_1", "Clamp 1", 5.6, 20.0, 0.5, 0.0),
    Amount("meal", "Protein meal", 0.88, 1.0, 0.28, 0.0),
    Amount("mineral", "Mineral", 0.0392, 0.04, 0.02, None),
)
LINES = (
    SupplyLine(
        "me_mj", "ME", "MJ", 72.512345, 69.1, 72.512345, None, None, True, 0.01, "AFRC (1993)"
    ),
    SupplyLine("mp_g", "MP", "g", 432.4, 400.0, 420.0, None, None, False, None, "AFRC (1993)"),
    SupplyLine(
        "own_sulphur",
        "Own sulphur",
        "g",
        -0.0004,
        None,
        None,
        None,
        3.0,
        False,
        None,
        "the farm's own figure",
    ),
)


@pytest.fixture
def opinions() -> dict[str, tuple[Opinion, ...]]:
    """Two opinions on the group `young`, one of them outside its range; none on `bulls`."""
    return {"young": (made_opinion(), made_opinion(None)), "bulls": ()}


@pytest.fixture
def proof() -> Proof:
    """A passed proof."""
    return made_proof()


@pytest.fixture
def fed_well() -> GroupRation:
    """A group with a proven ration."""
    return GroupRation(
        group="young",
        name="Young stock",
        head=40,
        status="proven",
        needs=made_needs("young"),
        amounts=AMOUNTS,
        supply=LINES,
        feed_cost=0.8,
        penalty=0.0,
        dm_kg=6.5192,
        me_mj_per_kg_dm=10.95,
        proof=made_proof(),
        remarks=("Adjusted for winter housing: no.",),
    )


@pytest.fixture
def without() -> GroupRation:
    """A group that no ration exists for."""
    return GroupRation(
        group="bulls",
        name="Bulls",
        head=12,
        status="none_exists",
        needs=made_needs("bulls"),
        amounts=(),
        supply=(),
        feed_cost=None,
        penalty=None,
        dm_kg=None,
        me_mj_per_kg_dm=None,
        proof=None,
        shortfalls=(
            Shortfall("metabolisable energy", 12.345, 110.0, "MJ", "AFRC (1993) requirement"),
        ),
        at_limit=("dry matter intake (a named source)",),
    )


CLAMP: dict[str, float | str] = {
    "length_m": 30.0,
    "width_m": 9.0,
    "height_m": 1.9,
    "shape": "level",
}


@pytest.fixture
def farm() -> Farm:
    """An invented farm with one clamp and two bought feeds."""
    return Farm(
        place="invented",
        name="Invented Farm",
        currency="GBP",
        start=date(2026, 10, 20),
        turnout=date(2027, 4, 15),
        margins=Margins(),
        home_grown_price="cost",
        over_energy_price_per_mj=0.01,
        offers=(
            Offer("clamp_1", "Clamp 1", SILAGE, False, 25.0),
            Offer("meal", "Protein meal", MEAL, True, 280.0, most_t=20.0, load_t=5.0),
            Offer("mineral", "Mineral", MINERAL, True, 500.0),
        ),
        stores=(Store("clamp_1", "Clamp 1", "clamp", "clamp_silage", CLAMP, 25.0, None),),
        groups=(
            Group(
                "young",
                "Young stock",
                "growing_cattle",
                40,
                "to_appetite",
                {"live_weight_kg": 300.0},
            ),
        ),
        feeds={feed.key: feed for feed in (SILAGE, MEAL, MINERAL)},
        notices=(Finding("IN350", "lab.csv row 2", "dry matter is low", "weigh it again"),),
    )


@pytest.fixture
def rations(farm: Farm, fed_well: GroupRation, without: GroupRation) -> Rations:
    """Answers for a group that has a ration and one that has none."""
    return Rations(farm, (fed_well, without))


@pytest.fixture
def fed() -> FedSupply:
    """A ration already fed that is short of protein."""
    short = SupplyLine(
        "mp_g", "MP", "g", 380.0, 400.0, 420.0, None, None, False, None, "AFRC (1993)"
    )
    return FedSupply(
        "young",
        "Young stock",
        AMOUNTS,
        (LINES[0], short),
        0.8,
        6.5192,
        10.95,
        1.76,
        made_needs("young"),
        ("A remark.",),
    )
