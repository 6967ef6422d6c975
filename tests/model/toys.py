"""A toy block of three feeds with round figures, for rows that can be worked out on paper."""

from __future__ import annotations

from typing import Any

from rationlp.farm.feed import Feed, Figure, Offer
from rationlp.farm.group import Group
from rationlp.model.block_ration import NoOptimum, solve_block
from rationlp.model.ration import _with, _without
from rationlp.model.rows.block import TODAY, Block
from rationlp.needs.energy import EnergyNeed
from rationlp.needs.objects import GroupNeeds, IntakeCap
from rationlp.result import GroupRation


def toy_feed(key: str, kind: str, **figures: float) -> Feed:
    """A feed with 500 g DM/kg and the figures given; protein figures that make ERDP and DUP easy to
    work out.
    """
    plain = {
        "dm_g_per_kg": 500.0,
        "prot_a_fraction": 0.5,
        "prot_b_fraction": 0.0,
        "prot_c_per_h": 0.1,
        "adin_g_n_per_kg_dm": 0.0,
        "starch_g_per_kg_dm": 0.0,
        "sugar_g_per_kg_dm": 0.0,
        "oil_g_per_kg_dm": 20.0,
    }
    return Feed(
        key,
        key.title(),
        kind,
        {name: Figure(value, "table", "toy") for name, value in {**plain, **figures}.items()},
    )


def toy_offers() -> tuple[Offer, ...]:
    """Silage at 100 and straw at 50 from the farm's own stores, meal at 200 bought; prices a tonne
    fresh.
    """
    silage = toy_feed(
        "silage",
        "forage",
        me_mj_per_kg_dm=11.0,
        fme_mj_per_kg_dm=8.0,
        cp_g_per_kg_dm=150.0,
        ndf_g_per_kg_dm=450.0,
    )
    straw = toy_feed(
        "straw",
        "straw",
        me_mj_per_kg_dm=6.0,
        fme_mj_per_kg_dm=5.5,
        cp_g_per_kg_dm=40.0,
        ndf_g_per_kg_dm=800.0,
    )
    meal = toy_feed(
        "meal", "cereal", me_mj_per_kg_dm=13.0, fme_mj_per_kg_dm=12.0, cp_g_per_kg_dm=200.0,
        ndf_g_per_kg_dm=200.0,
        starch_g_per_kg_dm=500.0, sugar_g_per_kg_dm=30.0,
    )  # fmt: skip
    return (
        Offer("silage", "Silage", silage, False, 100.0),
        Offer("straw", "Straw", straw, False, 50.0),
        Offer("meal", "Meal", meal, True, 200.0),
    )


def toy_block(group: dict[str, Any] | None = None, **needs: Any) -> Block:
    """A block of the toy feeds; `group` and keyword arguments replace single parts of the group and
    of its needs.
    """
    plain: dict[str, Any] = {
        "group": "cows",
        "animal_class": "toy",
        "steps": (),
        "energy": EnergyNeed("additive", em=40.0, over_kl=60.0, margin=1.0),
        "mp_g": 1000.0,
        "mp_margin": 1.0,
        "intake": IntakeCap(20.0, 0.0, "toy", "toy", "c"),
        "appetite_floor_kg_dm": None,
        "appetite_floor_share": None,
        "ndf_fill_kg": None,
        "energy_ceiling": None,
        "ceiling_priced": False,
        "limits": (),
        "own_limits": (),
        "live_weight_kg": 600.0,
    }
    animals = Group("cows", "Cows", "toy", 10, "rationed", {}, **(group or {}))
    return Block(animals, TODAY, GroupNeeds(**{**plain, **needs}), toy_offers(), {}, 0.1)


def solve_group(block: Block) -> GroupRation:
    """The answer for one block as it stands, without what would help where there is none."""
    answer = solve_block(block)
    return _without(block, answer) if isinstance(answer, NoOptimum) else _with(block, answer)
