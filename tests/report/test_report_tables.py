"""Tables from hand-made answers: rows, rounding, frames."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rationlp.farm.farm import Farm
from rationlp.folders import examples_folder
from rationlp.needs.objects import Absorption, DietLimit, MineralNeed, Step
from rationlp.read.farm import read_farm
from rationlp.report.tables.feeds import (
    compare_feeds,
    feed_table,
    notices_table,
    offers_table,
    origins_table,
    stores_table,
)
from rationlp.report.tables.needs import energy_table, limits_table, minerals_table, needs_table
from rationlp.report.tables.ration import (
    ration_overview,
    ration_table,
    rations_table,
    shortfall_table,
    standing,
    standing_in,
    stands_of,
    supplies_table,
    supply_table,
)
from rationlp.report.tables.table import shown, without_blank
from rationlp.result import FedSupply, GroupRation, Rations, SupplyLine
from rationlp.stock.dry_matter import farm_stocks


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (1.25, 1, "1.2"),
        (-0.0004, 2, "0.00"),
        (-0.0, 0, "0"),
        (-1.26, 1, "-1.3"),
        (None, 2, ""),
        (float("inf"), 1, ""),
        (float("nan"), 1, ""),
        (40, 2, "40"),
        (True, 0, "yes"),
        ("word", 3, "word"),
    ],
)
def test_a_value_is_rounded_and_cleaned_in_one_place(
    value: object, decimals: int, text: str
) -> None:
    """Numbers are rounded, minus zero loses its sign, what is not finite or missing is blank."""
    assert shown(value, decimals) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.00021, "0.0003"), (0.0003, "0.0003"), (0.0, "0.0000"), (-0.00021, "-0.0002")],
)
def test_a_figure_that_must_not_be_understated_is_rounded_up(value: float, text: str) -> None:
    """Rounding up never gives less, and leaves a figure that is already round."""
    assert shown(value, 4, "up") == text


def test_ration_table_ends_with_the_total_of_its_feeds(fed_well: GroupRation) -> None:
    """The last row sums fresh weight, dry matter and cost."""
    total = ration_table(fed_well, "GBP").rows[-1]
    assert total == (
        "Total",
        pytest.approx(21.04),
        pytest.approx(6.5192),
        100.0,
        pytest.approx(0.8),
    )


def test_a_mineral_of_forty_grams_is_not_printed_as_nothing(fed_well: GroupRation) -> None:
    """Small amounts get more decimals."""
    assert ration_table(fed_well, "GBP").cells()[2][1] == "0.040"


def test_a_feed_too_small_to_show_is_kept_in_files_only(farm: Farm, fed_well: GroupRation) -> None:
    """A tenth of a gram has no line on the screen, and one in the long table."""
    crumb = replace(fed_well.amounts[0], name="Crumb", kg_fresh=0.0001, kg_dm=0.00003)
    group = replace(fed_well, amounts=(*fed_well.amounts, crumb))
    assert "Crumb" not in [row[0] for row in ration_table(group, "GBP").rows]
    assert "Crumb" in [row[5] for row in rations_table(Rations(farm, (group,))).rows]


def test_money_carries_the_farms_own_currency(fed_well: GroupRation) -> None:
    """The cost column is headed by the currency code given."""
    assert ration_table(fed_well, "DKK").columns[-1].unit == "DKK"


def test_supply_table_says_what_stands_at_its_limit(fed_well: GroupRation) -> None:
    """Energy, which the ration only just meets, is marked."""
    rows = {row[0]: row for row in supply_table(fed_well).rows}
    assert (rows["ME"][7], rows["MP"][7]) == ("at limit", "")


def test_supply_table_takes_decimals_from_the_vocabulary(fed_well: GroupRation) -> None:
    """ME is printed with one decimal, MP with none."""
    cells = supply_table(fed_well).cells()
    assert (cells[0][2], cells[1][2]) == ("72.5", "432")


def test_supply_of_a_fed_ration_says_what_is_short(fed: FedSupply) -> None:
    """MP below its need with margin is called short."""
    assert supply_table(fed).rows[1][7] == "short"


def test_a_bound_that_must_not_be_overstated_is_rounded_down() -> None:
    """Rounding down never gives more, and leaves a figure that is already round."""
    assert (shown(2.88999, 4, "down"), shown(0.3, 1, "down")) == ("2.8899", "0.3")


KEPT = DietLimit("cp_g_per_kg_dm", 140.0, 200.0, "g/kg DM", "row", "c", "one")
SAID = DietLimit("cp_g_per_kg_dm", 160.0, 180.0, "g/kg DM", "reported", "c", "another")


@pytest.mark.parametrize(
    ("supply", "at_limit", "word"),
    [
        (139.0, False, "short"),
        (140.0 - 1e-7, True, "below advice"),
        (150.0, False, "below advice"),
        (170.0, False, ""),
        (180.0 + 1e-7, True, "at limit"),
        (190.0, False, "above advice"),
        (201.0, False, "over"),
    ],
)
def test_what_is_only_advice_is_not_called_short(supply: float, at_limit: bool, word: str) -> None:
    """Short and over are said of what a ration must keep, beyond the tolerance; the rest is
    advice.
    """
    line = SupplyLine(
        "cp_g_per_kg_dm",
        "Crude protein",
        "g/kg DM",
        supply,
        None,
        None,
        160.0,
        180.0,
        at_limit,
        None,
        "",
    )
    assert standing(line, (KEPT, SAID)) == word


def test_protein_short_for_wool_alone_is_not_called_short(fed: FedSupply) -> None:
    """Wool gives way first: 5 g short with 20 g for wool is below advice, 25 g are short; without
    wool 5 g are short.
    """
    wool = replace(fed.needs, wool_mp_g=20.0, mp_margin=1.0)
    for needs, lacking, word in (
        (wool, 5.0, "below advice"),
        (wool, 25.0, "short"),
        (fed.needs, 5.0, "short"),
    ):
        wanted = needs.mp_wanted_g
        line = SupplyLine(
            "mp_g", "MP", "g", wanted - lacking, wanted, wanted, None, None, False, None, ""
        )
        assert standing_in(line, needs) == word


def test_two_lines_of_one_title_are_told_apart_by_unit(fed: FedSupply) -> None:
    """ME a day and ME per kg DM are both called ME."""
    twin = SupplyLine(
        "me_mj_per_kg_dm", "ME", "MJ/kg DM", 9.0, None, None, 10.0, None, False, None, ""
    )
    assert stands_of(replace(fed, supply=(*fed.supply, twin)))["short"] == ["MP", "ME (MJ/kg DM)"]


def test_a_supply_without_any_bound_stands_nowhere() -> None:
    """No word where there is nothing to hold it against."""
    assert (
        standing(SupplyLine("erdp_g", "ERDP", "g", 1.0, None, None, None, None, False, None, ""))
        == ""
    )


def test_overview_has_a_line_for_a_group_without_a_ration(rations: Rations) -> None:
    """The group is named with its answer, its figures blank."""
    assert ration_overview(rations).rows[1] == (
        "Bulls",
        12,
        None,
        None,
        None,
        None,
        "no ration exists",
    )


def test_overview_multiplies_cost_by_head(rations: Rations) -> None:
    """Cost a day is that of the whole group."""
    assert ration_overview(rations).rows[0][3] == pytest.approx(32.0)


def test_long_table_has_one_line_for_a_group_without_a_ration(rations: Rations) -> None:
    """Three feeds of the first group, then one line with a status and blanks."""
    rows = rations_table(rations).rows
    assert [row[0] for row in rows] == ["young", "young", "young", "bulls"]
    assert rows[3] == ("bulls", "Bulls", 12, "none_exists", None, None, None, None, None, None)


def test_shortfalls_keep_their_unit(without: GroupRation) -> None:
    """How much is short, of how much, in which unit."""
    assert shortfall_table(without).rows[0][:4] == ("metabolisable energy", 12.345, 110.0, "MJ")


def test_frame_keeps_full_precision_and_keys(fed_well: GroupRation) -> None:
    """The frame's columns are the columns' keys and nothing is rounded."""
    frame = supply_table(fed_well).frame()
    assert list(frame.columns)[:3] == ["quantity", "unit", "supply"]
    assert frame.loc[0, "supply"] == 72.512345


def test_long_supply_table_names_the_group_on_each_line(fed_well: GroupRation) -> None:
    """A line a group and quantity."""
    keys = [(row[0], row[2]) for row in supplies_table([fed_well]).rows]
    assert keys == [("young", "me_mj"), ("young", "mp_g"), ("young", "own_sulphur")]


def test_needs_table_keeps_equation_source_and_status(fed_well: GroupRation) -> None:
    """Every step is traceable."""
    assert needs_table(fed_well.needs).rows[0][3:] == ("0.53 (W/1.08)^0.67", "AFRC (1993)", "a")


def test_needs_of_several_groups_make_one_long_table(
    fed_well: GroupRation, without: GroupRation
) -> None:
    """The group's id leads each line."""
    assert [row[0] for row in needs_table([fed_well.needs, without.needs]).rows] == [
        "young",
        "bulls",
    ]


def test_energy_needed_falls_as_the_ration_gets_richer(fed_well: GroupRation) -> None:
    """The requirement is listed along the energy density."""
    needed = [row[1] for row in energy_table(fed_well.needs).rows]
    assert needed == sorted(needed, reverse=True)
    assert len(needed) == 8


def test_limits_say_whether_they_are_kept(fed_well: GroupRation) -> None:
    """Class limits first, then the farm's own."""
    assert [row[4] for row in limits_table(fed_well.needs).rows] == [
        "enforced",
        "warning only",
        "enforced",
    ]


def test_offers_table_names_origins_most_trusted_first(farm: Farm) -> None:
    """A store with a lab dry matter and a table ME says both."""
    assert offers_table(farm).rows[0][-1] == "laboratory, feed table"


def test_a_blank_figure_stays_blank(farm: Farm) -> None:
    """Crude protein, which no source gives, is None and never 0."""
    assert offers_table(farm).rows[0][6] is None


def test_origins_table_gives_source_and_status_of_each_figure(farm: Farm) -> None:
    """One line a figure."""
    assert origins_table(farm.offers[0]).rows[1] == (
        "ME",
        10.8,
        "MJ/kg DM",
        "feed table",
        "b",
        "an invented table, row 4",
    )


def test_notices_table_keeps_code_place_and_remedy(farm: Farm) -> None:
    """One line a notice."""
    assert notices_table(farm.notices).rows == (
        ("IN350", "lab.csv row 2", "dry matter is low", "weigh it again"),
    )


def test_feed_table_notes_what_the_table_says_of_the_feed(farm: Farm) -> None:
    """The note of the feed stands below its figures."""
    assert feed_table(farm.offers[0].feed).notes == ("invented for a test",)


def test_compared_feeds_show_the_difference(farm: Farm) -> None:
    """The difference is second less first."""
    rows = {row[0]: row for row in compare_feeds(farm.offers[0].feed, farm.offers[1].feed).rows}
    assert rows["ME"][4] == pytest.approx(1.7)


def test_minerals_are_shown_with_what_is_absorbed_of_each_kind_of_feed(
    fed_well: GroupRation,
) -> None:
    """Grams to absorb, the part for each kg DM, percentages absorbed, usual contents; the steps
    stand in the needs table.
    """
    step = Step("calcium to be absorbed", 55.7, "g/d", "maintenance + milk", "toy", "a")
    calcium = MineralNeed(
        "ca_g_per_kg_dm", 55.7, 0.5, Absorption(0.3, 0.6, 0.7), 6.5, 7.5, (step,), "toy", "a"
    )
    needs = replace(fed_well.needs, minerals=(calcium,))
    assert minerals_table(needs).rows == (("Calcium", 55.7, 0.5, 30.0, 60.0, 70.0, 6.5, 7.5),)
    assert needs_table(needs).rows[-1][:3] == ("calcium to be absorbed", 55.7, "g/d")


def test_an_unknown_figure_under_a_limit_is_no_pass(fed_well: GroupRation) -> None:
    """What is known lies below the limit, but a feed without a figure may be above it; with no
    limit nothing is said.
    """
    copper = SupplyLine(
        "cu_mg_per_kg_dm",
        "Copper",
        "mg/kg DM",
        8.0,
        None,
        None,
        None,
        15.0,
        False,
        None,
        "toy",
        ("Salt",),
    )
    assert standing(copper, ()) == "not known"
    assert standing(replace(copper, supply=16.0), ()) == "over"
    assert standing(replace(copper, high=None), ()) == ""
    assert standing(replace(copper, unknown=()), ()) == ""


def test_a_column_in_which_no_store_has_anything_is_left_out() -> None:
    """No store of this example says what it would fetch; one that does brings the column."""
    farm = read_farm(examples_folder() / "few")
    priced = replace(farm.stores[0], would_fetch_per_t_fresh=41.0)
    heads = [column.key for column in stores_table(farm, farm_stocks(farm)).columns]
    assert "would_fetch_per_t_fresh" not in heads
    assert "cost_per_t_fresh" in heads
    with_price = replace(farm, stores=(priced, *farm.stores[1:]))
    table = stores_table(with_price, farm_stocks(with_price))
    assert [row[-1] for row in table.rows][:2] == [41.0, None]
    empty = replace(table, rows=())
    assert without_blank(empty) == empty
