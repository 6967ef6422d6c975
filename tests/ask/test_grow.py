"""What to grow: hectares by the winter's model, held against the same winter with the crop bought
by the tonne.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from ask_farm import small_farm

from rationlp.ask.grow import NextYear, clamp_size, grow, next_year, storing_figures
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.folders import examples_folder
from rationlp.read.farm import read_farm
from rationlp.read.growing import usual_growing_losses
from rationlp.stock.dry_matter import face_advance
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

RESERVE = 0.1


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Farm:
    """The small farm."""
    return read_farm(small_farm(tmp_path_factory.mktemp("grow") / "farm"))


@pytest.fixture(scope="module")
def answer(farm: Farm) -> NextYear:
    """Its next year with a tenth in reserve."""
    return grow(farm, RESERVE)


def bought_instead(farm: Farm, reserve: float) -> float:
    """The cost of the winter when each crop is a bought feed at what its tonne costs to grow,
    reserve included, and what is wasted at the trough paid for as well.
    """
    moved, _ = next_year(farm)
    waste = {"clamp": 0.03, "bales": 0.05}
    offers = []
    for crop in farm.growing:
        per_t_dm = (
            crop.cost_per_ha
            / crop.edible_t_dm_per_ha
            * (1.0 + reserve)
            / (1.0 - waste[crop.stored])
        )
        offers.append(
            Offer(crop.id, crop.name, crop.feed, True, per_t_dm * crop.feed.dm_g_per_kg / 1000.0)
        )
    plain = replace(
        moved, stores=(), offers=(*offers, *(offer for offer in moved.offers if offer.bought))
    )
    cost = solve_winter(plain, WinterOptions(tidy=False), {}).cost
    assert cost is not None
    return cost


@pytest.mark.parametrize("reserve", [0.0, 0.1, 0.25])
def test_hectares_cost_what_the_same_tonnes_would_cost_bought(farm: Farm, reserve: float) -> None:
    """Where no land is short, a hectare is nothing but a price: two quite different programmes, one
    cost.
    """
    grown = grow(farm, reserve)
    assert grown.cost == pytest.approx(bought_instead(farm, reserve), rel=2e-5)
    assert grown.status == "proven"


def test_hectares_are_tonnes_over_yield(answer: NextYear, farm: Farm) -> None:
    """Used plus a tenth is what the hectares bring to the trough, crop by crop, by hand."""
    crops = {crop.id: crop for crop in farm.growing}
    for one in answer.crops:
        crop = crops[one.crop]
        assert one.used_t_dm * 1.1 == pytest.approx(
            one.hectares * crop.yield_t_dm_per_ha * (1.0 - crop.losses), rel=1e-6
        )
        assert one.reserve_t_dm == pytest.approx(0.1 * one.used_t_dm, rel=1e-6)
    assert answer.crops[0].hectares > 0.1
    assert crops["straw"].losses == 0.05


def test_the_cost_adds_up(answer: NextYear) -> None:
    """Crops and bought feed; nothing is sold here."""
    assert answer.cost == pytest.approx(
        sum(one.cost for one in answer.crops) + (answer.bought_cost or 0.0), rel=1e-9
    )


def test_losses_that_are_not_said_are_the_usual(farm: Farm) -> None:
    """Grass in a clamp: field 5 %, fermentation 6.5 %, surface and face 3 % each; straw 5 % in the
    field.
    """
    grass, straw = farm.growing
    assert grass.losses == pytest.approx(1.0 - 0.95 * 0.935 * 0.97 * 0.97)
    assert usual_growing_losses(straw.feed, "bales") == pytest.approx(0.05)


def test_short_land_makes_a_hectare_worth_more_than_it_costs(farm: Farm, answer: NextYear) -> None:
    """With two thirds of the land the rest is bought, dearer in all, and one more hectare is worth
    more than its cost.
    """
    short = grow(replace(farm, land_ha=answer.hectares * 2.0 / 3.0), RESERVE)
    assert short.hectares == pytest.approx(answer.hectares * 2.0 / 3.0, rel=1e-6)
    assert (short.cost or 0.0) > (answer.cost or 0.0)
    assert any((one.worth_per_ha or 0.0) > 1.01 * one.cost_per_ha for one in short.crops)


def test_the_worth_of_a_hectare_by_one_hectare_more(farm: Farm, answer: NextYear) -> None:
    """A hundredth of a hectare more land saves what the crop's worth less its cost says, from below
    and above.
    """
    land = answer.hectares * 2.0 / 3.0
    here, more, less = (
        grow(replace(farm, land_ha=land + step), RESERVE) for step in (0.0, 0.01, -0.01)
    )
    compared = [(one.cost or 0.0) + (one.penalty or 0.0) for one in (here, more, less)]
    told = max(
        (one.worth_per_ha or 0.0) - one.cost_per_ha for one in here.crops if one.hectares > 0.0
    )
    gained, lost = (compared[0] - compared[1]) / 0.01, (compared[2] - compared[0]) / 0.01
    assert gained - 0.05 * told <= told <= lost + 0.05 * told


def test_a_surplus_is_sold_where_it_fetches_more_than_it_costs(farm: Farm) -> None:
    """All 20 ha of grass are grown and what is over is sold; below its cost nothing is."""
    grass, straw = farm.growing
    per_t = grass.cost_per_ha / grass.edible_t_dm_per_ha
    dear = grow(
        replace(farm, growing=(replace(grass, would_fetch_per_t_dm=1.2 * per_t), straw)), RESERVE
    )
    cheap = grow(
        replace(farm, growing=(replace(grass, would_fetch_per_t_dm=0.8 * per_t), straw)), RESERVE
    )
    assert dear.crops[0].hectares == pytest.approx(20.0)
    sold = dear.crops[0].surplus_t_dm
    assert sold == pytest.approx(
        20.0 * grass.edible_t_dm_per_ha - 1.1 * dear.crops[0].used_t_dm, rel=1e-6
    )
    assert dear.sold_income == pytest.approx(sold * 1.2 * per_t, rel=1e-6)
    assert cheap.crops[0].surplus_t_dm == pytest.approx(0.0, abs=1e-6)


def test_a_least_of_hectares_is_grown_even_if_nobody_eats_it(farm: Farm) -> None:
    """Five hectares of straw, left over and paid for."""
    grass, straw = farm.growing
    found = grow(replace(farm, growing=(grass, replace(straw, least_ha=5.0))), RESERVE)
    assert found.crops[1].hectares == pytest.approx(5.0)
    assert found.crops[1].reserve_t_dm > found.crops[1].used_t_dm * 0.1 + 1.0


def test_a_herd_that_cannot_be_fed_is_answered(farm: Farm) -> None:
    """A tenth of a hectare and nothing to buy: no plan, and who is short."""
    offers = tuple(offer for offer in farm.offers if not offer.bought)
    found = grow(replace(farm, land_ha=0.1, offers=offers), RESERVE)
    assert (found.cost, found.crops) == (None, ())
    assert found.shortfalls


def test_the_face_of_the_clamp_moves_on_fast_enough(farm: Farm) -> None:
    """Width x height x least advance x density is what is used in a week; the clamp holds what it
    should.
    """
    grass = farm.growing[0]
    least = face_advance(grass.feed)
    assert least is not None
    size = clamp_size(grass, 60.0, 2.0)
    assert size is not None
    assert size.face_m2 * least[0] * size.density_kg_dm_per_m3 / 1000.0 == pytest.approx(2.0)
    assert (
        size.width_m * size.height_m * size.length_m * size.density_kg_dm_per_m3 / 1000.0
        == pytest.approx(60.0)
    )
    assert size.width_m * size.height_m == pytest.approx(size.face_m2)


@pytest.mark.parametrize(("week_t_dm", "small"), [(0.5, True), (6.0, False)])
def test_few_animals_are_told_to_take_bales(farm: Farm, week_t_dm: float, small: bool) -> None:
    """A face narrower than a loader needs is too small."""
    size = clamp_size(farm.growing[0], 30.0, week_t_dm)
    assert size is not None
    assert size.too_small == small


def test_straw_is_neither_clamped_nor_wrapped(answer: NextYear) -> None:
    """No clamp, no plastic; grass has both, bales about ten times as much."""
    grass, straw = answer.crops
    assert (straw.clamp, straw.plastic_bales_kg) == (None, None)
    assert grass.clamp is not None
    assert grass.plastic_bales_kg is not None
    assert grass.plastic_clamp_kg is not None
    assert 8.0 <= grass.plastic_bales_kg / grass.plastic_clamp_kg <= 11.0


def test_every_storing_figure_has_a_unit_a_status_and_a_source() -> None:
    """As every figure."""
    assert all(
        one.unit and one.status in "abc" and one.source for one in storing_figures().values()
    )


def test_limits_on_stores_that_are_not_grown_are_left_out_and_said(tmp_path: Path) -> None:
    """A limit on hay means nothing when no hay is grown; one on the pit stays."""
    own = '{feed = "hay", max_kg_fresh = 9}, {feed = "pit", max_kg_fresh = 9}'
    limits = f"days_to_calving = 150\nfeed_limits = [{own}]"
    moved, left_out = next_year(
        read_farm(small_farm(tmp_path / "farm", ("days_to_calving = 150", limits)))
    )
    assert left_out == ("limit of cows on hay",)
    assert [limit.offer for limit in moved.groups[0].feed_limits] == ["pit"]


def test_the_dairy_example_grows_within_its_land() -> None:
    """Proven, all four crops asked for, and less than the land."""
    found = grow(read_farm(examples_folder() / "dairy"))
    assert found.status == "proven"
    assert found.hectares < (found.land_ha or 0.0)
    assert [one.crop for one in found.crops] == ["grass", "maize", "hay", "straw"]
