"""How sure: rations that meet a chance, verified by draws that nobody saw; draws of a winter."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import hypot, sqrt
from pathlib import Path
from random import Random
from statistics import NormalDist, fmean, pstdev

import pytest
from ask_farm import small_farm

from rationlp.ask.robust import (
    LINEAR,
    PLAIN,
    SURE,
    SureAsked,
    SureGroup,
    drawn_shares,
    lowered,
    sure_rations,
)
from rationlp.ask.sure import DrawsAsked, drawn_farm, quantile, winter_sureness
from rationlp.folders import examples_folder
from rationlp.model.block_ration import NoOptimum, solve_block, solve_model
from rationlp.model.ration import make_blocks
from rationlp.model.rows.block import Block
from rationlp.model.sure import FeedSpread, SureModel, chances
from rationlp.needs.calendar import farm_on
from rationlp.read.changed import Begun, begin
from rationlp.read.farm import read_farm
from rationlp.rules.spreads import CP, ME, default_spreads, shifted, spread_of, spreads_with

SPREADS = spreads_with(())
DRAWS = 20_000
SEED = 20261125


def dairy_block(group: str) -> Block:
    """A group of the dairy example on the first day."""
    return make_blocks(farm_on(read_farm(examples_folder() / "dairy")), {group})[0]


def spreads_of(block: Block) -> dict[str, FeedSpread]:
    """The default standard deviations of every feed of a block."""
    return {
        offer.id: FeedSpread(spread_of(SPREADS, offer.feed, ME), spread_of(SPREADS, offer.feed, CP))
        for offer in block.offers
    }


@pytest.fixture(scope="module")
def high() -> Block:
    """High yielders: energy and protein both bind."""
    return dairy_block("high")


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Begun:
    """The small farm as it stands."""
    return begin(small_farm(tmp_path_factory.mktemp("sure") / "farm"))


def solved(block: Block, chance: float) -> dict[str, float]:
    """kg DM of the ration that meets a chance."""
    answer = solve_model(SureModel(block, spreads_of(block), chance))
    assert not isinstance(answer, NoOptimum)
    return answer.values


@pytest.mark.parametrize("chance", [0.8, 0.9, 0.95])
def test_the_chance_holds_on_draws_that_nobody_saw(high: Block, chance: float) -> None:
    """Energy and protein each, within four standard errors of 20,000 draws; both at once less
    often, but not much.
    """
    energy, protein, both = drawn_shares(
        high, solved(high, chance), spreads_of(high), Random(SEED), DRAWS
    )
    error = 4.0 * sqrt(chance * (1.0 - chance) / DRAWS)
    assert energy == pytest.approx(chance, abs=error)
    # Protein is the least of two sums: where both can fall short it is met a little less often than
    # each.
    assert chance - error - 0.01 <= protein <= 1.0
    assert 2.0 * chance - 1.0 - error <= both <= min(energy, protein)


def test_a_sure_ration_costs_more_and_ever_more(high: Block) -> None:
    """Rising in the chance; at evens it is the plain cheapest."""
    costs = []
    for chance in (0.5, 0.8, 0.9, 0.95, 0.99):
        answer = solve_model(SureModel(high, spreads_of(high), chance))
        assert not isinstance(answer, NoOptimum)
        assert answer.certificate.passed
        assert answer.objective - answer.lower_bound <= 1e-4 * answer.objective
        costs.append(answer.objective)
    plain = solve_block(high)
    assert not isinstance(plain, NoOptimum)
    assert costs[0] == pytest.approx(plain.objective, rel=1e-6)
    assert costs == sorted(costs)
    assert costs[2] > 1.01 * costs[0]


def test_the_sure_ration_is_the_cheapest_of_those_that_keep_the_cones(high: Block) -> None:
    """Mixed with the plain ration, or with any cheaper one on the way there, the chance is no
    longer met: the cone binds.
    """
    sure, plain = solved(high, 0.9), solved(high, 0.5)
    for share in (0.02, 0.2, 0.6):
        mixed = {name: (1.0 - share) * sure[name] + share * plain[name] for name in sure}
        found = chances(high, mixed, spreads_of(high))
        assert min(found.energy, found.protein or 0.0) < 0.9 - 1e-4


def test_chances_agree_with_draws_for_any_ration(high: Block) -> None:
    """The normal arithmetic of the cones beside 20,000 whole rations worked out anew."""
    answer = solve_block(lowered(high, spreads_of(high), 0.5))
    assert not isinstance(answer, NoOptimum)
    told = chances(high, answer.values, spreads_of(high))
    energy, protein, _ = drawn_shares(
        high, answer.values, spreads_of(high), Random(SEED + 1), DRAWS
    )
    assert energy == pytest.approx(told.energy, abs=0.012)
    assert protein == pytest.approx(told.protein or 0.0, abs=0.012)


def test_the_standard_deviation_of_a_ration_by_hand() -> None:
    """Energy: sqrt(Σ (σ x)²), feed by feed."""
    block = dairy_block("finishers")
    spreads = spreads_of(block)
    kg = {"first_cut": 6.0, "barley": 3.0}
    by_hand = hypot(6.0 * spreads["first_cut"].me_mj, 3.0 * spreads["barley"].me_mj)
    assert spreads["first_cut"].me_mj == pytest.approx(0.35)  # on a laboratory sheet
    assert spreads["barley"].me_mj == pytest.approx(0.3)  # of the tables
    assert chances(block, kg, spreads).energy_sd == pytest.approx(by_hand)


def test_the_linear_margin_against_its_published_form() -> None:
    """Figures less half a standard deviation: for one feed alone the chance is that of half a
    deviation, 69.1 %.

    Source: Nott and Combs (1967), Feedstuffs 39; from memory of it (b). For several feeds it is
    more, and differs from ration to ration, which is what a chance of one's own choice mends.
    """
    block = dairy_block("finishers")
    one = replace(block, offers=tuple(offer for offer in block.offers if offer.id == "barley"))
    spreads = spreads_of(one)
    low = lowered(one, spreads, 0.5).offers[0].feed
    mean, sd = one.offers[0].feed.value(ME) or 0.0, spreads["barley"].me_mj
    assert low.value(ME) == pytest.approx(mean - 0.5 * sd)
    kg = 8.0
    assert NormalDist(kg * mean, kg * sd).cdf(kg * mean) == 0.5
    assert 1.0 - NormalDist(kg * mean, kg * sd).cdf(kg * (low.value(ME) or 0.0)) == pytest.approx(
        0.6915, abs=1e-4
    )


def test_the_three_rations_of_a_group_stand_in_order() -> None:
    """Costs rise from the plain ration to the sure one at 95 %, and so do the chances."""
    farm = read_farm(examples_folder() / "dairy")
    group = sure_rations(farm, ("finishers",), SureAsked(0.95, SPREADS))[0]
    assert [one.name for one in group.rations] == [PLAIN, LINEAR, SURE]
    costs = [one.cost for one in group.rations if one.cost is not None]
    energies = [one.chances.energy for one in group.rations if one.chances is not None]
    assert costs == sorted(costs)
    assert energies == sorted(energies)
    assert energies[-1] == pytest.approx(0.95, abs=1e-6)
    bare = [one.bare_chances.energy for one in group.rations if one.bare_chances is not None]
    assert all(without > margin for without, margin in zip(bare, energies, strict=True))


def test_a_group_that_cannot_be_made_sure_says_so(tmp_path: Path) -> None:
    """Where every feed may be out by 5 MJ there is a plain ration, and none that is 99.9 % sure."""
    wide = spreads_with([f"me_{sort}_table=5" for sort in ("silage", "hay", "straw", "straight")])
    farm = read_farm(small_farm(tmp_path / "farm"))
    group: SureGroup = sure_rations(farm, ("stores",), SureAsked(0.999, wide))[0]
    assert group.rations[0].cost is not None
    assert (group.rations[-1].cost, group.rations[-1].status) == (None, "none_exists")


def test_a_feed_drawn_keeps_within_what_can_be_true(high: Block) -> None:
    """Energy below nought or above all bounds is cut; fermentable energy goes with it."""
    feed = high.offers[0].feed
    low = shifted(feed, {ME: -3.0})
    assert (low.value(ME) or 0.0) >= 0.0
    up = shifted(feed, {ME: 1.05 * (feed.value(ME) or 0.0)})
    assert up.value("fme_mj_per_kg_dm") == pytest.approx(
        1.05 * (feed.value("fme_mj_per_kg_dm") or 0.0)
    )


def test_every_default_spread_has_a_status_and_a_source() -> None:
    """And no two rows say the same thing."""
    rows = list(default_spreads().values())
    assert all(row.status in ("a", "b", "c") and row.source and row.spread > 0.0 for row in rows)
    keys = [(row.figure, row.of, row.known_by) for row in rows]
    assert len(set(keys)) == len(keys)


# ---- the winter
# --------------------------------------------------------------------------------------------------


def asked(draws: int, seed: int = 3, hold: bool = False, texts: Iterable[str] = ()) -> DrawsAsked:
    """What is asked."""
    return DrawsAsked(draws, seed, spreads_with(texts), hold, workers=1)


NOTHING = [f"{name}=0" for name in default_spreads()]


@pytest.mark.parametrize("hold", [True, False])
def test_without_any_spread_every_draw_is_the_plan(begun: Begun, hold: bool) -> None:
    """Low, middle and high cost are the plan's own."""
    found = winter_sureness(begun, asked(3, hold=hold, texts=NOTHING))
    assert found.cost is not None
    assert (found.cost.low, found.cost.high) == (
        pytest.approx(found.planned_cost, rel=1e-6),
        pytest.approx(found.planned_cost, rel=1e-6),
    )
    assert all(store.before_turnout == 0.0 for store in found.stores)


def test_the_same_seed_gives_the_same_draws_and_another_gives_others(begun: Begun) -> None:
    """Held plans, so that it is quick."""
    first, again, other = (winter_sureness(begun, asked(40, seed, True)) for seed in (5, 5, 6))
    assert first == again
    assert first.cost != other.cost


def test_draws_spread_as_they_were_told(begun: Begun) -> None:
    """ME of the clamp over 600 draws: mean and deviation of the table row, both within what 600
    draws allow.
    """
    figures = []
    for number in range(600):
        feed = drawn_farm(begun, asked(1), number).farm.offers[0].feed
        figures.append(feed.value(ME) or 0.0)
    known = begun.farm.offers[0].feed.value(ME) or 0.0
    assert fmean(figures) == pytest.approx(known, abs=4.0 * 0.7 / sqrt(600))
    assert pstdev(figures) == pytest.approx(0.7, rel=0.12)


def test_a_store_short_half_the_time_is_one_that_is_used_up(begun: Begun) -> None:
    """The clamp is planned to the last tonne, so about half of the draws run short of it; the hay
    is not, so fewer do.
    """
    found = winter_sureness(begun, asked(300, hold=True))
    pit, hay = found.stores[0], found.stores[1]
    assert 0.3 < pit.before_turnout < 0.7
    assert hay.before_turnout < pit.before_turnout
    assert pit.early is not None
    assert pit.late is None or pit.early < pit.late
    assert pit.short_t_dm > 0.5


def test_draws_solved_anew_are_the_same_on_all_cores(begun: Begun) -> None:
    """One process or two."""
    alone = winter_sureness(begun, asked(6))
    many = winter_sureness(begun, replace(asked(6), workers=2))
    assert alone == many
    assert alone.cost is not None
    assert alone.cost.low < alone.planned_cost < alone.cost.high or alone.without > 0.0


@pytest.mark.parametrize(("share", "wanted"), [(0.1, 1), (0.5, 5), (0.9, 9), (1.0, 10)])
def test_quantiles_by_counting(share: float, wanted: int) -> None:
    """Of ten draws the first, fifth, ninth and last."""
    values = [3, 1, 2, 10, 9, 8, 7, 6, 5, 4]
    assert quantile(values, share) == wanted
