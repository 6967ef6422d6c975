"""Each family of rows alone, on three feeds with round figures, against coefficients worked out on
paper.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest
from toys import toy_block, toy_feed

from rationlp.errors import InputError
from rationlp.farm.feed import Offer
from rationlp.farm.group import FamilyCap, FeedLimit, QuantityLimit
from rationlp.model.lp import Row
from rationlp.model.rows import FAMILIES, block_columns, build
from rationlp.model.rows.animal import protein_coefficients
from rationlp.model.rows.block import Block, Pair
from rationlp.needs.energy import microbial_yield
from rationlp.needs.forage import forage_percent
from rationlp.needs.objects import Absorption, DietLimit, IntakeCap, MineralNeed
from rationlp.read.feeds import read_feed_tables
from rationlp.rules.cautions import FeedCaution, caution_rows


def rows(family: str, block: Block) -> dict[str, Row]:
    """The rows of one family by the words that lead their key."""
    return {" ".join(row.key[:-2]): row for row in FAMILIES[family](block)}


def coefs(row: Row) -> dict[str, float]:
    """A row's coefficients by feed or by kind of column."""
    return {key[1] if key[0] == "feed" else key[0]: value for key, value in row.coefs.items()}


def test_totals() -> None:
    """D is the sum of the feeds, E the sum of their energy."""
    found = rows("totals", toy_block())
    assert coefs(found["dm_sum"]) == {"silage": -1.0, "straw": -1.0, "meal": -1.0, "dm": 1.0}
    assert coefs(found["me_sum"]) == {"silage": -11.0, "straw": -6.0, "meal": -13.0, "me": 1.0}
    assert all((row.low, row.high) == (0.0, 0.0) for row in found.values())


def test_energy() -> None:
    """The energy row holds E, D and the shortage; a block without an energy need has none."""
    found = rows("energy", toy_block())
    assert set(coefs(found["energy"])) == {"me", "dm", "short_energy"}
    assert found["energy"].kind == "need"
    assert rows("energy", toy_block(energy=None)) == {}


def test_density() -> None:
    """Only a feed richer than the equations know calls for the row that keeps q at 0.80 or less."""
    plain = toy_block()
    assert rows("density", plain) == {}
    fat = Offer("fat", "Fat", toy_feed("fat", "fat", me_mj_per_kg_dm=33.0), True, 900.0)
    row = rows("density", replace(plain, offers=(*plain.offers, fat)))["density"]
    assert coefs(row)["fat"] == pytest.approx(33.0 - 15.04)
    assert row.high == 0.0


def test_intake() -> None:
    """Concentrates count for less of the cap where the equation says so; the appetite floor has the
    same form.
    """
    cap = IntakeCap(18.0, 0.4, "toy", "toy", "c")
    found = rows("intake", toy_block(intake=cap, appetite_floor_share=0.9))
    assert coefs(found["intake"]) == pytest.approx({"silage": 1.0, "straw": 1.0, "meal": 0.6})
    assert found["intake"].high == 18.0
    assert found["appetite"].low == pytest.approx(16.2)
    floor = rows("intake", toy_block(appetite_floor_kg_dm=9.0))["appetite"]
    assert coefs(floor) == {"dm": 1.0}
    assert floor.low == 9.0


def test_fibre_fill() -> None:
    """NDF eaten in kg against what the rumen holds."""
    row = rows("fibre_fill", toy_block(ndf_fill_kg=7.0))["ndf_fill"]
    assert coefs(row) == pytest.approx({"silage": 0.45, "straw": 0.8, "meal": 0.2})
    assert row.high == 7.0


def test_protein() -> None:
    """Microbes need energy and nitrogen; ERDP is 0.8·0.5 of the CP here, DUP 0.9·0.5 of it."""
    block = toy_block()
    energy, nitrogen, passing = protein_coefficients(block, 3.0, 3.0, 3.0)
    meal = block.key("feed", "meal")
    assert energy[meal] == pytest.approx(-microbial_yield(3.0) * 12.0)
    assert nitrogen[meal] == pytest.approx(-0.8 * 0.5 * 200.0)
    assert passing[meal] == pytest.approx(0.9 * 0.5 * 200.0)
    found = rows("protein", block)
    assert coefs(found["protein"])["microbes"] == pytest.approx(0.6375)
    assert found["protein"].low == 1000.0
    assert found["microbes_energy"].high == found["microbes_nitrogen"].high == 0.0
    assert rows("protein", toy_block(mp_g=None)) == {}


def test_rumen_protein() -> None:
    """ERDP less 0.85 of what microbes could use, short at a price; a class without the figure has
    no row.
    """
    block = toy_block(limits_key="dairy_milking")
    row = rows("rumen_protein", block)["rumen"]
    used = 0.85 * microbial_yield(1.0)
    found = coefs(row)
    assert found.pop("short_rumen") == 1.0
    assert found == pytest.approx(
        {
            "silage": 0.4 * 150.0 - used * 8.0,
            "straw": 0.4 * 40.0 - used * 5.5,
            "meal": 0.4 * 200.0 - used * 12.0,
        }
    )
    assert (row.low, row.kind) == (0.0, "priced")
    assert rows("rumen_protein", toy_block()) == {}
    assert rows("rumen_protein", toy_block(limits_key="dairy_milking", mp_g=None)) == {}


def test_urea_carried() -> None:
    """Urea [g] at most a tenth of starch and sugar [g]: 1000 urea − 53 meal ≤ 0; without urea at
    hand there is no row.
    """
    block = toy_block()
    assert rows("urea_carried", block) == {}
    urea = Offer(
        "urea",
        "Urea",
        toy_feed("urea", "npn", me_mj_per_kg_dm=0.0, cp_g_per_kg_dm=2900.0),
        True,
        500.0,
    )
    row = rows("urea_carried", replace(block, offers=(*block.offers, urea)))["urea_carried"]
    assert coefs(row) == pytest.approx({"silage": 0.0, "straw": 0.0, "meal": -53.0, "urea": 1000.0})
    assert row.high == 0.0


def test_diet_limits() -> None:
    """A ceiling of 200 g starch per kg DM is Σ (v − 200) x / 1000 ≤ 0; a forage share of 0.4 is Σ
    (v − 0.4) x ≥ 0.
    """
    limits = (
        DietLimit("starch_g_per_kg_dm", None, 200.0, "g/kg DM", "row", "c", "toy"),
        DietLimit("forage_share", 0.4, None, "share of DM", "row", "c", "toy"),
        DietLimit("forage_share", 0.7, None, "share of DM", "reported", "c", "toy"),
        DietLimit("cp_g_per_kg_dm", None, 180.0, "g/kg DM", "reported", "c", "toy"),
    )
    found = rows("diet_limits", toy_block(limits=limits))
    assert set(found) == {"diet starch_g_per_kg_dm most", "diet forage_share least"}
    assert coefs(found["diet starch_g_per_kg_dm most"]) == pytest.approx(
        {"silage": -0.2, "straw": -0.2, "meal": 0.3}
    )
    assert coefs(found["diet forage_share least"]) == pytest.approx(
        {"silage": 0.6, "straw": 0.6, "meal": -0.4}
    )
    # It is told by the bound that is kept, not by the one that is only advised.
    assert found["diet forage_share least"].words.bound == "40 % forage in the dry matter"


def test_own_limits() -> None:
    """Per head a day the figures stand as they are; per kg DM they become a share."""
    own = (
        QuantityLimit("cp_g_per_kg_dm", "head_day", at_least=2000.0, at_most=3000.0),
        QuantityLimit("ndf_g_per_kg_dm", "kg_dm", at_least=350.0),
        QuantityLimit("fresh_kg", "head_day", at_most=60.0),
    )
    found = rows("own_limits", toy_block(own_limits=own))
    assert coefs(found["own cp_g_per_kg_dm least"]) == {
        "silage": 150.0,
        "straw": 40.0,
        "meal": 200.0,
    }
    assert (found["own cp_g_per_kg_dm least"].low, found["own cp_g_per_kg_dm least"].high) == (
        2000.0,
        inf,
    )
    assert found["own cp_g_per_kg_dm most"].high == 3000.0
    assert coefs(found["own_share ndf_g_per_kg_dm least"])["silage"] == pytest.approx(0.1)
    assert coefs(found["own fresh_kg most"])["silage"] == pytest.approx(2.0)


def test_feed_limits() -> None:
    """A kg limit counts fresh weight, a share counts dry matter."""
    limits = (
        FeedLimit("meal", max_kg_fresh=4.0, max_share_of_dm=0.3),
        FeedLimit("straw", min_kg_fresh=1.0, min_share_of_dm=0.05),
    )
    found = rows("feed_limits", toy_block({"feed_limits": limits}))
    assert coefs(found["feed_kg meal most"]) == {"meal": 2.0}
    assert found["feed_kg meal most"].high == 4.0
    assert coefs(found["feed_share meal most"]) == {"meal": 1.0, "dm": -0.3}
    assert found["feed_kg straw least"].low == 1.0
    assert found["feed_share straw least"].low == 0.0


def tabled(key: str, kind: str, dm: float = 500.0, **figures: float) -> Offer:
    """An offer under the key of a feed of the packaged tables, which is what printed limits go
    by.
    """
    feed = toy_feed(key, kind, dm_g_per_kg=dm, ndf_g_per_kg_dm=500.0, **figures)
    return Offer(key, key, feed, kind not in ("forage", "straw"), 100.0)


def practice_block(
    *offers: Offer, limits_key: str = "dairy_milking", group: dict[str, object] | None = None
) -> Block:
    """A block of 600 kg animals of a practice class with the offers given."""
    return replace(toy_block(group, limits_key=limits_key, live_weight_kg=600.0), offers=offers)


def test_practice() -> None:
    """60 kg fresh printed at 310 g DM/kg is 18.6 kg DM, however wet the farm's own silage is; its
    share cap is 0.85.
    """
    block = practice_block(tabled("grass_silage_1st_early", "forage", 250.0))
    found = rows("practice", block)
    assert found["practice_kg grass_silage_1st_early"].high == pytest.approx(18.6)
    assert coefs(found["practice_share grass_silage_1st_early"]) == {
        "grass_silage_1st_early": 1.0,
        "dm": -0.85,
    }
    own = FeedLimit("grass_silage_1st_early", max_kg_fresh=60.0)
    loosened = replace(block, group=replace(block.group, feed_limits=(own,)))
    assert "practice_kg grass_silage_1st_early" not in rows("practice", loosened)
    assert (
        rows("practice", practice_block(tabled("barley", "cereal"), limits_key="none such")) == {}
    )


def test_families() -> None:
    """Potatoes count as 0.23 of a cereal in the fast-starch family, member by member at their
    printed dry matter.
    """
    block = practice_block(tabled("barley", "cereal"), tabled("potatoes", "root"))
    found = {key: row for key, row in rows("families", block).items() if "fast_starch" in key}
    row = next(iter(found.values()))
    assert coefs(row)["barley"] == pytest.approx(1000.0 / 860.0)
    assert coefs(row)["potatoes"] == pytest.approx(0.23 * 1000.0 / 210.0)
    assert row.high > 0.0
    assert row.unit == "kg fresh"
    capped = FamilyCap("fast_starch", "kg_fresh", 2.5)
    own = replace(block, group=replace(block.group, family_caps=(capped,)))
    assert (
        next(row for key, row in rows("families", own).items() if "fast_starch" in key).high == 2.5
    )


def test_minerals() -> None:
    """150 g of mineral at 980 g DM/kg is the full rate of a milking cow; a compound at its own full
    rate replaces it.
    """
    mineral = tabled("minerals_cattle_general", "mineral", 980.0)
    alone = rows("minerals", practice_block(mineral))["minerals"]
    assert coefs(alone)["minerals_cattle_general"] == pytest.approx(1.0 / 0.147)
    assert (alone.low, alone.high) == (1.0, 1.0)
    nuts = tabled("dairy_compound_18", "compound", 870.0)
    both = practice_block(
        mineral, nuts, group={"feed_limits": (FeedLimit("dairy_compound_18", max_kg_fresh=10.0),)}
    )
    assert coefs(rows("minerals", both)["minerals"])["dairy_compound_18"] == pytest.approx(
        1.0 / 8.7
    )
    assert rows("minerals", practice_block(tabled("barley", "cereal"))) == {}


def test_stomach() -> None:
    """A milking cow: forage 40 % of DM, 60 kg silage, a mix of 28 % DM or more; a dry one 1.3 % of
    live weight as forage NDF.
    """
    block = practice_block(
        tabled("grass_silage_2nd", "forage", 250.0), tabled("barley", "cereal", 860.0)
    )
    found = rows("stomach", block)
    assert coefs(found["forage_floor"]) == pytest.approx({"grass_silage_2nd": 0.6, "barley": -0.4})
    assert coefs(found["silage_most"]) == {"grass_silage_2nd": 4.0}
    assert found["silage_most"].high == 60.0
    assert "forage_ndf_most" not in found
    dry = rows(
        "stomach",
        practice_block(tabled("grass_silage_2nd", "forage", 250.0), limits_key="dairy_dry"),
    )
    assert dry["forage_ndf_most"].high == pytest.approx(7.8)
    assert coefs(found["ration_dm"])["grass_silage_2nd"] == pytest.approx(1.0 - 0.28 * 4.0)
    assert "long_forage" not in found
    cereal_fed = rows(
        "stomach", practice_block(tabled("straw_barley", "straw"), limits_key="finishing_cattle")
    )
    assert cereal_fed["long_forage"].low == 1.0
    straw = practice_block(tabled("straw_barley", "straw"), limits_key="finishing_cattle")
    bulls = replace(straw.group, facts={"sex": "bull"})
    least = [
        rows("stomach", replace(straw, group=bulls, needs=replace(straw.needs, live_weight_kg=kg)))[
            "long_forage"
        ].low
        for kg in (349.0, 350.0)
    ]
    assert least == [0.5, 1.0]


def test_forage_appetite() -> None:
    """A 70 kg ewe in her last three weeks: 1.5 % of hay at 9 MJ or 1.4 % of straw; beyond 0.7 kg, a
    kg of concentrate pushes out
    0.6 kg of hay, or 0.1 kg of straw: the greater share of an appetite holds.
    """
    tables = read_feed_tables()
    hay, straw, barley = (
        Offer(key, key, tables[key], False, 100.0)
        for key in ("hay_average", "straw_barley", "barley")
    )
    block = practice_block(hay, straw, barley, limits_key="ewe_late_pregnant")
    needs = replace(block.needs, forage_stage="last_3_weeks", live_weight_kg=70.0)
    found = rows("forage_appetite", replace(block, needs=needs))
    percent = forage_percent("last_3_weeks", hay.feed)
    assert percent is not None
    assert coefs(found["forage_appetite"]) == pytest.approx(
        {"hay_average": 100 / 70 / percent, "straw_barley": 1 / 0.98}
    )
    pushed = 0.6 / (percent * 0.7)
    assert coefs(found["forage_pushed_out"])["barley"] == pytest.approx(pushed)
    assert found["forage_pushed_out"].high == pytest.approx(1.0 + 0.7 * pushed)
    assert rows("forage_appetite", block) == {}


def mineral_block(**contents: dict[str, float]) -> Block:
    """A block that needs 20 g absorbed calcium and 5 g phosphorus with 1 g for each kg DM; contents
    by toy feed.
    """
    absorbed = Absorption(0.3, 0.6, 0.7)
    needs = tuple(
        MineralNeed(quantity, fixed, per_kg, absorbed, None, None, (), "toy", "c")
        for quantity, fixed, per_kg in (("ca_g_per_kg_dm", 20.0, 0.0), ("p_g_per_kg_dm", 5.0, 1.0))
    )
    limits = (DietLimit("k_g_per_kg_dm", None, 18.0, "g/kg DM", "priced", "c", "toy"),)
    plain = toy_block(minerals=needs, limits=limits)
    offers = tuple(
        replace(offer, feed=toy_feed(offer.feed.key, offer.feed.kind, **contents.get(offer.id, {})))
        for offer in plain.offers
    )
    return replace(plain, offers=offers, mineral_shortage_price=0.05)


def test_mineral_needs() -> None:
    """Absorbed grams by kind of feed, the part that goes with intake, a blank as nought, the
    shortage; Ca − 1.3 P.
    """
    block = mineral_block(
        silage={"ca_g_per_kg_dm": 6.0, "p_g_per_kg_dm": 3.0},
        meal={"ca_g_per_kg_dm": 1.0, "p_g_per_kg_dm": 4.0},
    )
    found = rows("mineral_needs", block)
    assert coefs(found["mineral ca_g_per_kg_dm"]) == pytest.approx(
        {"silage": 1.8, "meal": 0.6, "short_mineral": 1.0}
    )
    assert coefs(found["mineral p_g_per_kg_dm"])["dm"] == -1.0
    assert (found["mineral ca_g_per_kg_dm"].low, found["mineral p_g_per_kg_dm"].low) == (20.0, 5.0)
    assert coefs(found["mineral ca_to_p"]) == pytest.approx(
        {"silage": 2.1, "meal": -4.2, "short_mineral": 1.0}
    )
    prices = {
        column.key[1]: column.cost
        for column in block_columns(block)
        if column.key[0] == "short_mineral"
    }
    # 0.05 a gram that a mineral feed would have to hold, of which 0.7 is absorbed.
    absorbed = pytest.approx(0.05 / 0.7)
    assert prices == {"ca_g_per_kg_dm": absorbed, "p_g_per_kg_dm": absorbed, "ca_to_p": 0.05}
    assert rows("mineral_needs", toy_block()) == {}


def test_a_feed_of_unknown_phosphorus_does_not_count_as_calcium_alone() -> None:
    """It would raise calcium to phosphorus by its blank."""
    block = mineral_block(
        straw={"ca_g_per_kg_dm": 4.0}, meal={"ca_g_per_kg_dm": 1.0, "p_g_per_kg_dm": 4.0}
    )
    assert set(coefs(rows("mineral_needs", block)["mineral ca_to_p"])) == {"meal", "short_mineral"}


def test_priced_limits() -> None:
    """18 g potassium in a kg: Σ (v − 18) x − over ≤ 0; a blank neither uses the limit nor dilutes
    it.
    """
    block = mineral_block(silage={"k_g_per_kg_dm": 25.0}, straw={"k_g_per_kg_dm": 14.0})
    row = rows("priced_limits", block)["priced k_g_per_kg_dm"]
    assert coefs(row) == pytest.approx({"silage": 7.0, "straw": -4.0, "over_limit": -1.0})
    assert (row.high, row.kind) == (0.0, "priced")
    assert (
        next(column.cost for column in block_columns(block) if column.key[0] == "over_limit")
        == 0.05
    )
    assert rows("priced_limits", toy_block()) == {}


def test_appetite_is_not_filled_with_limestone() -> None:
    """A mineral whose amount is free counts for the cap and not for the appetite, in both of its
    forms.
    """
    limestone = Offer(
        "limestone", "Limestone", toy_feed("limestone", "mineral", me_mj_per_kg_dm=0.0), True, 100.0
    )
    for needs in ({"appetite_floor_share": 0.9}, {"appetite_floor_kg_dm": 9.0}):
        plain = toy_block(**needs)
        found = rows("intake", replace(plain, offers=(*plain.offers, limestone)))
        filled = coefs(found["appetite"])
        assert filled["limestone"] + filled.get("dm", 0.0) == 0.0
        assert coefs(found["intake"])["limestone"] == 1.0


def test_held_feeds() -> None:
    """A feed held to half and one held to a quarter: 2 x + 4 y ≤ D, so that both at once get no
    more than either.
    """
    block = toy_block()
    half, quarter = (row for row in caution_rows() if row.id in ("nitrate_half", "nitrate_quarter"))
    held = {
        "silage": FeedCaution(half, "silage", 1600.0),
        "straw": FeedCaution(quarter, "straw", 3600.0),
    }
    row = rows("held_feeds", replace(block, held=held))["held_feeds"]
    assert coefs(row) == {"silage": 2.0, "straw": 4.0, "dm": -1.0}
    assert (row.low, row.high) == (-inf, 0.0)
    assert rows("held_feeds", block) == {}


def test_asked() -> None:
    """Straw held to a quarter of silage and straw: 0.75 straw − 0.25 silage = 0; without a question
    there is no row.
    """
    block = toy_block()
    row = rows("asked", replace(block, pair=Pair("silage", "straw", 0.25)))["pair_share"]
    assert coefs(row) == {"straw": 0.75, "silage": -0.25}
    assert (row.low, row.high) == (0.0, 0.0)
    assert rows("asked", block) == {}


def test_every_family_has_its_toy_case() -> None:
    """A family without a test of its own name in this file is not finished."""
    assert [name for name in FAMILIES if f"test_{name}" not in globals()] == []


def test_a_missing_figure_is_named_with_feed_quantity_and_group() -> None:
    """A blank never counts as nought: the row that needs it is refused."""
    block = toy_block(ndf_fill_kg=7.0)
    salt = Offer(
        "salt",
        "Salt",
        toy_feed("salt", "mineral", me_mj_per_kg_dm=0.0, cp_g_per_kg_dm=0.0),
        True,
        100.0,
    )
    with pytest.raises(InputError, match=r"IN210 .*salt.* no figure for ndf_g_per_kg_dm.*cows"):
        build([replace(block, offers=(*block.offers, salt))])


def test_columns_are_priced_per_kg_of_dry_matter() -> None:
    """100 a tonne fresh at 500 g DM/kg is 0.20 a kg DM; the excess over the ceiling carries its
    price.
    """
    columns = {
        column.key[:-2]: column
        for column in block_columns(toy_block(energy_ceiling=1.1, ceiling_priced=True))
    }
    assert columns[("feed", "silage")].cost == pytest.approx(0.2)
    assert columns[("over_energy",)].cost == 0.1
    assert columns[("short_energy",)].high == 0.0
