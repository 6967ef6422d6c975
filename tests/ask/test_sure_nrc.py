"""How sure under NRC (2001): what analyses hide against whole rations worked out anew, the chance
on draws that nobody saw, and bounds that no ration passes.
"""

from __future__ import annotations

from math import hypot, sqrt
from random import Random

import pytest

from rationlp.ask.robust import (
    SureAsked,
    chances_of,
    drawn_shares,
    sure_optimum,
    sure_rations,
)
from rationlp.ask.standards import with_standard
from rationlp.farm.group import NRC
from rationlp.folders import examples_folder
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.box import Box
from rationlp.model.nrc_spread import (
    BY_ENERGY,
    BY_NITROGEN,
    ENERGY,
    FeedSpread,
    moves_of,
    nrc_deviations,
)
from rationlp.model.points import point_at
from rationlp.model.ration import make_blocks
from rationlp.model.rows.block import Block
from rationlp.model.sure_boxes import SureBoxes
from rationlp.model.sure_nrc import NrcSureModel
from rationlp.needs.calendar import farm_on
from rationlp.needs.nrc import MP_OF_MICROBES
from rationlp.needs.supply import ration_supply
from rationlp.read.farm import read_farm
from rationlp.report.tables.sure import sure_table
from rationlp.rules.spreads import CP, ME, shifted, spread_of, spreads_with

SPREADS = spreads_with(())
DRAWS, SEED = 6000, 20261130
PROMISED = 2e-3


def nrc_block(group: str) -> Block:
    """A group of the dairy example on the first day, by NRC (2001)."""
    farm = with_standard(read_farm(examples_folder() / "dairy"), NRC)
    return make_blocks(farm_on(farm), {group})[0]


def spreads_of(block: Block) -> dict[str, FeedSpread]:
    """The default standard deviations of every feed of a block."""
    return {
        offer.id: FeedSpread(spread_of(SPREADS, offer.feed, ME), spread_of(SPREADS, offer.feed, CP))
        for offer in block.offers
    }


def solved(block: Block, chance: float) -> Optimum:
    """The ration that meets a chance."""
    answer = sure_optimum(block, spreads_of(block), chance)
    assert isinstance(answer, Optimum)
    return answer


@pytest.fixture(scope="module")
def dry() -> Block:
    """Dry cows: their microbes want nitrogen."""
    return nrc_block("dry")


def sums_of(block: Block, kg: dict[str, float], moved: dict[str, float], of: str) -> list[float]:
    """Energy and both sums of protein of a ration with figures of one feed moved, each worked out
    at its own discount and passage.
    """
    parts = [
        (shifted(offer.feed, moved) if offer.id == of else offer.feed, kg.get(offer.id, 0.0))
        for offer in block.offers
    ]
    need = block.needs.energy
    assert need is not None
    fed = [(feed, amount) for feed, amount in parts if amount > 0.0]
    supply = ration_supply(fed, need.level_of_ration(fed), NRC)
    assert supply.microbes_by_energy_g is not None
    assert supply.erdp_g is not None
    assert supply.dup_g is not None
    by_energy = MP_OF_MICROBES * supply.microbes_by_energy_g + supply.dup_g
    return [supply.energy_mj, by_energy, MP_OF_MICROBES * supply.erdp_g + supply.dup_g]


@pytest.mark.parametrize("group", ["high", "young"])
def test_what_a_feed_hides_is_the_slope_of_whole_rations(group: str) -> None:
    """A thousandth of a deviation of each analysis, cow and heifer: what the whole ration then
    brings less moves by a thousandth of what the feed is said to hide.
    """
    block = nrc_block(group)
    answer = solve_block(block)
    assert isinstance(answer, Optimum)
    spreads, kg = spreads_of(block), answer.values
    point = point_at(block, [kg[offer.id] for offer in block.offers])
    assert point is not None
    told = nrc_deviations(block, moves_of(block, spreads), point)
    for offer in block.offers:
        if kg[offer.id] < 0.1 or spreads[offer.id].cp_g == 0.0:
            continue
        slopes = []
        for name, deviation in ((ME, spreads[offer.id].me_mj), (CP, spreads[offer.id].cp_g)):
            figure = offer.feed.value(name) or 0.0
            step = 1e-3 * deviation
            up = sums_of(block, kg, {name: figure + step}, offer.id)
            down = sums_of(block, kg, {name: figure - step}, offer.id)
            slopes.append([(a - b) / 2e-3 for a, b in zip(up, down, strict=True)])
        for number, cone in enumerate((ENERGY, BY_ENERGY, BY_NITROGEN)):
            hidden = hypot(*(slope[number] for slope in slopes)) / kg[offer.id]
            assert told[cone][offer.id] == pytest.approx(hidden, rel=0.02, abs=1e-4), offer.id


@pytest.mark.parametrize("group", ["dry", "late"])
def test_the_chance_holds_on_whole_rations_that_nobody_saw(group: str) -> None:
    """Energy and protein each, within four standard errors and a hundredth for what a straight
    line leaves out.
    """
    block = nrc_block(group)
    answer = solved(block, 0.9)
    met = drawn_shares(block, answer.values, spreads_of(block), Random(SEED), DRAWS)
    told = chances_of(block, answer.values, spreads_of(block))
    error = 4.0 * sqrt(0.09 / DRAWS) + 0.01
    assert told.protein is not None
    assert min(told.energy, told.protein) == pytest.approx(0.9, abs=1e-3)
    assert met[0] == pytest.approx(told.energy, abs=error)
    assert told.protein - error - 0.02 <= met[1] <= 1.0
    assert met[2] <= min(met[0], met[1])


def test_a_sure_ration_costs_more_and_ever_more(dry: Block) -> None:
    """Rising in the chance, each proved to what is promised; at evens the plain cheapest."""
    answers = [solved(dry, chance) for chance in (0.5, 0.8, 0.9, 0.95)]
    costs = [answer.objective for answer in answers]
    for answer in answers:
        assert answer.certificate.passed
        assert answer.lower_bound <= answer.objective
        assert answer.objective - answer.lower_bound <= PROMISED * answer.objective
    plain = solve_block(dry)
    assert isinstance(plain, Optimum)
    assert costs[0] == pytest.approx(plain.objective, rel=2.0 * PROMISED)
    assert costs == sorted(costs)
    assert costs[2] > 1.01 * costs[0]


def test_mixed_with_the_plain_ration_the_chance_is_no_longer_met(dry: Block) -> None:
    """The cone binds: a step towards the cheaper ration falls below the chance."""
    sure, plain = solved(dry, 0.9).values, solved(dry, 0.5).values
    for share in (0.05, 0.3):
        mixed = {name: (1.0 - share) * sure[name] + share * plain[name] for name in sure}
        found = chances_of(dry, mixed, spreads_of(dry))
        assert min(found.energy, found.protein or 0.0) < 0.9 - 1e-4


@pytest.mark.parametrize("group", ["high", "young"])
def test_no_ration_of_a_box_hides_less_than_the_box_says(group: str) -> None:
    """Random rations of the farm's feeds, each in a random box around it."""
    block, random = nrc_block(group), Random(SEED)
    spreads = spreads_of(block)
    model = NrcSureModel(block, spreads, 0.9)
    model.find_interval()
    model.allow_shortage(False)
    boxes, moves = SureBoxes(model), moves_of(block, spreads)
    minerals = [offer.feed.kind == "mineral" for offer in block.offers]
    wide = 0
    for _ in range(60):
        weights = [0.002 if mineral else random.random() ** 6 for mineral in minerals]
        total = random.uniform(0.5, 1.0) * boxes.whole[1][1] / sum(weights)
        point = point_at(block, [total * weight for weight in weights])
        assert point is not None
        at, kind = point.totals, "discounted"
        if point.state.delta == 1.0:
            kind = "lean" if at.tdn_kg > boxes.need.maintenance_tdn_kg else "maintained"
        low, high = 1.0 - 0.2 * random.random() ** 3, 1.0 + 0.2 * random.random() ** 3
        tdn, share = at.tdn_kg, at.concentrate_kg / at.dm_kg
        if kind == "discounted":
            tdn = max(boxes.need.maintenance_tdn_kg, low * tdn) / low
        box = Box((low * tdn, high * at.tdn_kg), (low * at.dm_kg, high * at.dm_kg),
                  (low * share, min(high * share, 1.0)), kind)  # fmt: skip
        least = boxes.least_hidden(box)
        told = nrc_deviations(block, moves, point)
        for cone in (ENERGY, BY_ENERGY, BY_NITROGEN):
            for number, offer in enumerate(block.offers):
                assert least[cone][number] <= told[cone][offer.id] * (1.0 + 1e-9) + 1e-12
                wide += least[cone][number] > 0.5 * told[cone][offer.id] > 0.0
    assert wide > 500


@pytest.mark.parametrize("group", ["dry", "young"])
def test_no_box_bounds_above_a_sure_ration_in_it(group: str) -> None:
    """Boxes that hold the sure ration, ever closer around it: never a bound above its cost, and in
    the end one close below.
    """
    block = nrc_block(group)
    answer = solved(block, 0.9)
    kg = [answer.values[offer.id] for offer in block.offers]
    point = point_at(block, kg)
    assert point is not None
    model = NrcSureModel(block, spreads_of(block), 0.9)
    model.find_interval()
    model.allow_shortage(False)
    boxes, at = SureBoxes(model), point.totals
    bounds = []
    for reach in (0.2, 0.05, 0.01, 0.001):
        kind = "discounted" if point.state.delta < 1.0 else "lean"
        share = at.concentrate_kg / at.dm_kg
        extents = [
            ((1.0 - reach) * middle, (1.0 + reach) * middle)
            for middle in (at.tdn_kg, at.dm_kg, share)
        ]
        bounded = boxes.bound(Box(extents[0], extents[1], extents[2], kind))
        assert bounded is not None
        bounds.append(bounded[0])
    assert max(bounds) <= answer.objective * (1.0 + 1e-6)
    assert bounds[-1] >= answer.objective * (1.0 - 5e-3)


def test_the_answer_says_what_is_proved() -> None:
    """All three rations are proved; the table tells what is proved from what is counted."""
    farm = with_standard(read_farm(examples_folder() / "dairy"), NRC)
    (group,) = sure_rations(farm, ("dry",), SureAsked(0.9, SPREADS))
    assert [ration.status for ration in group.rations] == ["proven"] * 3
    assert group.standard == NRC
    table = sure_table(group, "GBP")
    told = " ".join(table.notes)
    assert "No ration that does so costs less by more than 0." in told
    assert "counted on whole rations worked out anew" in told
