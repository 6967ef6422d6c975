"""Nothing cheaper exists at any dry matter and any level of feeding: random groups of all classes
against an independent sweep.

The sweep (sweep.py) is written apart from the program's search, from the equations of AFRC (1993),
and of CSIRO (2007) for the classes that it holds for.
RATIONLP_FULL=1 runs a thousand groups (under three minutes on two cores), plain pytest and the long
tests together a tenth. A seed that fails is printed with its class.
"""

from __future__ import annotations

import os
import random
from dataclasses import replace
from types import MappingProxyType

import pytest
from random_groups import CONCAVE, GROWING, SHEEP, random_block
from sweep import GROSS, Sweep, short_of

from rationlp.farm.farm import Margins
from rationlp.farm.group import AFRC, CSIRO
from rationlp.model.block_ration import NoOptimum, gap_closed, solve_block
from rationlp.model.rows.block import Block
from rationlp.needs import group_needs

FULL = os.environ.get("RATIONLP_FULL") == "1"
CLASSES = (
    *CONCAVE,
    *GROWING,
    *SHEEP,
    "light_lamb",
    "light_ewe_lamb",
    "suckler_cow_milking",
    "suckler_cow_dry",
    "calf",
)
KINDS = (*((AFRC, kind) for kind in CLASSES), *((CSIRO, k) for k in CLASSES if k not in CONCAVE))
BATCHES = MappingProxyType({AFRC: 67 if FULL else 7, CSIRO: 67 if FULL else 3})
TENTHS = [
    (tenth, standard, kind)
    for tenth in range(10)
    for standard, kind in KINDS
    if tenth < BATCHES[standard]
]
TOLERANCE = 1e-4


def group_block(seed: int, kind: str, standard: str = AFRC) -> Block:
    """A random block of a class, or of one that random_block does not make: its feeds, with the
    facts of another animal.
    """
    rng = random.Random(f"{kind} {seed}")
    facts: dict[str, float | str]
    if kind in ("light_lamb", "light_ewe_lamb"):
        animal_class = kind.removeprefix("light_")
        facts = {"live_weight_kg": rng.uniform(15, 30)}
        facts["gain_kg_per_day"] = rng.uniform(0.03, 0.35 if animal_class == "lamb" else 0.2)
        if animal_class == "lamb":
            facts["sex"] = rng.choice(["male", "castrate", "female"])
    elif kind == "suckler_cow_milking":
        animal_class = kind
        facts = {"live_weight_kg": rng.uniform(500, 750), "milk_kg_per_day": rng.uniform(4, 12)}
        facts |= {
            "milk_fat_g_per_kg": 38.0,
            "milk_protein_g_per_kg": 33.0,
            "week_of_lactation": rng.randint(2, 30),
        }
    elif kind == "suckler_cow_dry":
        animal_class = kind
        facts = {"live_weight_kg": rng.uniform(500, 750), "days_to_calving": rng.randint(5, 200)}
        facts["live_weight_change_kg_per_day"] = rng.choice([0.0, 0.2, -0.3])
    elif kind == "calf":
        animal_class = kind
        facts = {"live_weight_kg": rng.uniform(100, 210), "gain_kg_per_day": rng.uniform(0.4, 1.0)}
        facts |= {
            "sex": rng.choice(["bull", "steer", "heifer"]),
            "maturity": rng.choice(["early", "late"]),
        }
    else:
        return random_block(20_000 + seed, kind, standard)
    block = random_block(20_000 + seed, "lamb" if "lamb" in kind else "growing_cattle")
    group = replace(block.group, animal_class=animal_class, facts=facts, standard=standard)
    return replace(block, group=group, needs=group_needs(group, Margins()))


@pytest.mark.parametrize(("tenth", "standard", "kind"), TENTHS)
def test_a_sweep_over_every_level_finds_nothing_cheaper(
    tenth: int, standard: str, kind: str
) -> None:
    """The answer costs what the sweep's best does, to 1e-4, is proved, and is adequate when added
    up from its kilograms.
    """
    for seed in range(tenth, BATCHES[standard], 10):
        where = f'{standard}, kind "{kind}", seed {seed}'
        block = group_block(seed, kind, standard)
        assert block.needs.standard == standard
        answer = solve_block(block)
        near = None if isinstance(answer, NoOptimum) else answer.me_mj / answer.dm_kg / GROSS
        swept, q = Sweep(block).cheapest(near=near)
        if isinstance(answer, NoOptimum):
            assert swept == float("inf"), (
                f"{where}: a ration exists at q = {q:.4f}, {swept:.6f} a day"
            )
            assert answer.proved, where
            continue
        assert short_of(block, answer.values) == [], where
        assert gap_closed(answer), where
        assert answer.objective <= swept * (1.0 + TOLERANCE) + 1e-9, (
            f"{where}: cheaper at q = {q:.4f}"
        )
        assert answer.lower_bound <= swept * (1.0 + 1e-6) + 1e-9, (
            f"{where}: costs less than the bound at q = {q:.4f}"
        )
