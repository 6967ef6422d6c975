"""Penalties as the answer tells them: what the compared cost holds besides the feed, for every
group of the examples.
"""

from __future__ import annotations

from dataclasses import replace
from math import exp
from pathlib import Path

import pytest
from random_groups import random_block

from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.ration import _with, eat, make_blocks, priced_extras
from rationlp.model.rows.animal import protein_penalty, protein_short
from rationlp.model.rows.block import Block
from rationlp.model.rows.mineral import priced_shortage
from rationlp.model.rows.rumen import rumen_short
from rationlp.model.tidy import tidy
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
BLOCKS = [
    block
    for name in ("dairy", "beef", "hill")
    for block in make_blocks(farm_on(read_farm(EXAMPLES / name)))
]


def solved(block: Block) -> Optimum:
    """The cheapest ration of a block that has one."""
    answer = solve_block(block)
    assert isinstance(answer, Optimum)
    return answer


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: block.group.id)
def test_feed_and_penalty_are_the_cost_compared(block: Block) -> None:
    """Cheapest and tidy ration alike: the cost of the feed and the penalty add up to the objective
    of the programme.
    """
    optimum = solved(block)
    tidied = tidy(block, optimum)
    answer = _with(block, solved(block))
    objective = optimum.objective if tidied is None else tidied.objective
    assert answer.feed_cost is not None
    assert answer.penalty is not None
    assert answer.feed_cost + answer.penalty == pytest.approx(objective, rel=1e-5, abs=1e-6)
    if tidied is not None:
        assert answer.tidy is not None
        more = tidied.objective - optimum.objective
        assert answer.tidy.extra_cost + answer.tidy.extra_penalty == pytest.approx(
            more, rel=1e-4, abs=1e-6
        )


def test_energy_above_the_ceiling_is_told_at_its_price() -> None:
    """With a low price on it, some groups fed to appetite are fed past their ceiling, and their
    penalty says so.
    """
    pressing = 0
    for plain in BLOCKS:
        block = replace(plain, over_energy_price=0.001, needs=replace(plain.needs, limits_key=None))
        if not block.needs.ceiling_priced:
            continue
        optimum = solved(block)
        if optimum.over_mj > 0.1:
            pressing += 1
            answer = _with(block, optimum)
            assert answer.penalty is not None
            assert answer.penalty >= optimum.over_mj * 0.001 * (1.0 - 1e-9)
            assert (answer.feed_cost or 0.0) + answer.penalty == pytest.approx(
                optimum.objective, rel=1e-6
            )
    assert pressing >= 1


def test_a_penalty_is_the_sum_of_its_parts() -> None:
    """Over energy, protein, the rumen and minerals, each where it presses; rams are short of
    protein for wool, which counts for
    0.055 MJ a gram.
    """
    rams = next(block for block in BLOCKS if block.group.id == "rams")
    eaten = eat(rams, solved(rams).values, {})
    short = protein_short(rams, eaten.supply.mp_g)
    assert short.wool > 1.0
    assert short.colostrum == short.last == 0.0
    protein, mineral = (
        protein_penalty(rams, eaten.supply.mp_g),
        priced_shortage(rams, eaten.amounts),
    )
    assert protein == pytest.approx(0.055 * rams.mj_price * short.wool)
    rumen = 0.165 * rams.mj_price * rumen_short(rams, eaten.supply)
    expected = 2.0 * rams.over_energy_price + protein + rumen + mineral
    assert priced_extras(rams, 2.0, eaten) == pytest.approx(expected)


def test_protein_short_for_the_rumen_counts_for_the_share_of_the_class() -> None:
    """Lambs want 85 % of what their microbes could use: y = 7 + 6 (1 − e^(−0.35 L)) g a MJ of FME,
    AFRC (1993); a tenth of a gram less is short by as much, more than enough by nothing, and
    without a figure nothing is said.
    """
    lambs = random_block(3, "lamb")
    level, fme = 1.8, 10.0
    used = (7.0 + 6.0 * (1.0 - exp(-0.35 * level))) * fme
    eaten = eat(lambs, solved(lambs).values, {}).supply
    little = replace(eaten, erdp_g=0.85 * used - 0.1, microbes_by_energy_g=used)
    assert rumen_short(lambs, little) == pytest.approx(0.1)
    assert rumen_short(lambs, replace(little, erdp_g=0.85 * used + 0.1)) == 0.0
    assert rumen_short(lambs, replace(little, erdp_g=None)) == 0.0


def test_protein_short_for_colostrum_counts_ten_times_that_for_wool() -> None:
    """Wool gives way first: beyond what wool wants, what udder and colostrum want is short."""
    every = (random_block(seed, "ewe_pregnant") for seed in range(40))
    ewes = next(
        block
        for block in every
        if block.needs.colostrum_mp_g > 0.0 and block.needs.wool_wanted_g > 0.0
    )
    wanted, wool = ewes.needs.mp_wanted_g, ewes.needs.wool_wanted_g
    assert protein_penalty(ewes, wanted) == 0.0
    assert protein_penalty(ewes, wanted - wool) == pytest.approx(0.055 * ewes.mj_price * wool)
    more = protein_penalty(ewes, wanted - wool - 3.0) - protein_penalty(ewes, wanted - wool)
    assert more == pytest.approx(0.55 * ewes.mj_price * 3.0)
    assert protein_penalty(ewes, None) == 0.0


def test_protein_short_for_the_last_of_a_ewes_milk_is_priced_between_wool_and_colostrum() -> None:
    """0.15 of what AFRC (1993) asks for may be short at 0.09 MJ a gram; more is no ration."""
    ewes = random_block(5, "ewe_milking")
    needs = ewes.needs
    assert needs.priced_mp_g == pytest.approx(0.15 * ((needs.mp_g or 0.0) + needs.priced_mp_g))
    wanted = needs.mp_wanted_g
    assert protein_penalty(ewes, wanted) == 0.0
    assert protein_penalty(ewes, wanted - 4.0) == pytest.approx(0.09 * ewes.mj_price * 4.0)
    assert protein_short(ewes, 0.0).last == pytest.approx(needs.priced_wanted_g)
