"""Rations by NRC (2001): programme, engine and slopes agree with what is proved; fresh cows."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from pathlib import Path

import pytest
from sweep_nrc import short_of
from test_sweep_nrc import nrc_block

from rationlp.ask.engine import GroupEngine
from rationlp.farm.group import NRC
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.boxes import Boxes
from rationlp.model.points import point_at, point_rows
from rationlp.model.ration import solve_rations
from rationlp.model.rows.block import Block
from rationlp.model.search import opened
from rationlp.model.trace import last_programme
from rationlp.needs.calendar import farm_on
from rationlp.needs.nrc import NrcFigures
from rationlp.needs.supply import ration_supply
from rationlp.read.farm import read_farm

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
GAP = 2e-3


def solved(kind: str, first: int = 0) -> tuple[Block, Optimum]:
    """The first random block of a class from a seed on that has a ration."""
    for seed in range(first, first + 20):
        block = nrc_block(seed, kind)
        answer = solve_block(block)
        if isinstance(answer, Optimum):
            return block, answer
    raise AssertionError(kind)


@pytest.mark.parametrize("kind", ["dairy_cow_milking", "dairy_cow_dry", "growing_cattle"])
def test_the_rows_are_tangents_of_the_true_sums(kind: str) -> None:
    """Energy and protein by the rows at a ration grow with a gram of each feed as the printed sums
    of the whole ration do.
    """
    block, answer = solved(kind)
    kg = [answer.values[offer.id] for offer in block.offers]
    point = point_at(block, kg)
    assert point is not None
    rows = {row.key[0]: row for row in point_rows(block, point)}

    def true(amounts: list[float]) -> tuple[float, float, float]:
        fed = [(offer.feed, one) for offer, one in zip(block.offers, amounts, strict=True)]
        need = block.needs.energy
        assert need is not None
        supply = ration_supply(fed, need.level_of_ration(fed), NRC)
        assert supply.microbes_by_energy_g is not None
        assert supply.erdp_g is not None
        return supply.energy_mj, supply.microbes_by_energy_g, supply.erdp_g

    figures = [one for one in block.protein if isinstance(one, NrcFigures)]
    for number, key in enumerate(block.feed_keys):
        more = [one + 1e-5 * (at == number) for at, one in enumerate(kg)]
        slopes = [(b - a) / 1e-5 for a, b in zip(true(kg), true(more), strict=True)]
        for name, slope in zip(
            ("me_sum", "microbes_energy", "microbes_nitrogen"), slopes, strict=True
        ):
            coefs = rows[name].coefs
            by_row = -coefs[key] - coefs[block.key("dm")]
            by_row -= coefs[block.key("tdn")] * figures[number].tdn
            by_row -= coefs[block.key("concentrate")] * figures[number].concentrate
            assert by_row == pytest.approx(slope, rel=2e-3, abs=2e-3), (name, key)


def test_no_box_bounds_above_a_ration_in_it() -> None:
    """The bound of every box that holds the cheapest ration is at most its cost."""
    for kind in ("dairy_cow_milking", "growing_cattle"):
        block, answer = solved(kind)
        model = opened(block)
        boxes = Boxes(model)
        assert answer.point is not None
        totals = answer.point.totals
        tdn, dm, share = totals.tdn_kg, totals.dm_kg, totals.concentrate_kg / totals.dm_kg
        low = min(bounded[0] for root in boxes.roots() if (bounded := boxes.bound(root)))
        assert low <= answer.objective * (1.0 + 1e-9)
        holds = 0
        for root in boxes.roots():
            for name, at in (("tdn", tdn), ("dm", dm), ("share", share)):
                middle = 0.5 * sum(root.along(name))
                half = root.halves(name, middle)[at > middle]
                bounded = boxes.bound(half)
                if root.kind == "discounted" and bounded is not None:
                    assert bounded[0] <= answer.objective * (1.0 + 1e-9)
                    holds += 1
        assert holds == 3


@pytest.mark.parametrize("kind", ["dairy_cow_milking", "dairy_cow_dry"])
def test_programme_and_engine_stand_at_the_same_ration(kind: str) -> None:
    """The last programme costs what the ration does; an engine kept open finds as cheap a ration as
    a fresh solve when a price moves.
    """
    block, answer = solved(kind, 50)
    trace = last_programme(block, answer)
    assert trace is not None
    assert trace.objective == pytest.approx(answer.objective, rel=1e-7)
    engine = GroupEngine(block)
    assert engine.at({}).objective == pytest.approx(answer.objective, rel=1e-6)
    dearest = max(block.offers, key=lambda offer: answer.values[offer.id] * offer.price_per_kg_dm)
    price = 1.3 * dearest.price_per_t_fresh
    offers = tuple(
        replace(offer, price_per_t_fresh=price) if offer.id == dearest.id else offer
        for offer in block.offers
    )
    fresh = solve_block(replace(block, offers=offers))
    assert isinstance(fresh, Optimum)
    settled = engine.surely({dearest.id: price})
    assert settled.objective == pytest.approx(fresh.objective, rel=GAP)
    assert short_of(block, settled.amounts) == []
    assert engine.lower_bound() <= settled.objective


def test_fresh_cows_are_fed_off_their_backs() -> None:
    """Energy and protein from the back, the last of the protein short and said, nothing else."""
    farm = farm_on(read_farm(EXAMPLES / "calving", NRC))
    (ration,) = solve_rations(farm, ["cows_fresh"]).groups
    assert ration.status == "proven"
    assert any("from her back is counted on" in remark for remark in ration.remarks)
    assert any("Protein for milk is" in remark for remark in ration.remarks)
    assert not any("energy margin" in remark for remark in ration.remarks)
    lines = {line.quantity: line for line in ration.supply}
    assert lines["net_energy_mj"].supply >= (lines["net_energy_mj"].target or inf) * (1 - 1e-6)
    short = (lines["mp_g"].target or 0.0) - lines["mp_g"].supply
    assert 0.0 <= short <= ration.needs.priced_mp_g + 1e-6
