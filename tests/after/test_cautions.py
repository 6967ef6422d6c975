"""Cautions: each in both directions, each with a source, and the traps of unit between a figure and
its threshold.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from caution_cases import CASES, COWS, SUCKLERS, ewes, nitrate
from plates import START, analysed, animals, eaten, farm_of, forage, ids, needs_of, of, stored

from rationlp.after.cautions import (
    DEFER_LINE,
    MAGNESITE_MG_G_PER_KG,
    farm_cautions,
    gravest_first,
    ration_cautions,
)
from rationlp.after.plate import dcad_meq
from rationlp.farm.animals import CLASSES
from rationlp.read.feeds import read_feed_tables
from rationlp.report.cautions import cautions_of, meaning_of
from rationlp.result import GroupRation, Shortfall
from rationlp.rules.cautions import COMPARISONS, HARMS, KINDS, LOOKS_AT, caution_rows, group_words

ROWS = {row.id: row for row in caution_rows()}
WORDS = {
    *CLASSES,
    "cattle",
    "sheep",
    "ewes",
    "suckler",
    "breeding",
    "pregnant",
    "male_lamb",
    "every",
    "bulls",
    "forage_cattle",
    "cereal_cattle",
}


@pytest.mark.parametrize("name", CASES)
def test_a_caution_is_said_where_it_applies(name: str) -> None:
    """The first of its two cases calls for it."""
    assert name in CASES[name][0]()


@pytest.mark.parametrize("name", CASES)
def test_a_caution_is_not_said_where_it_does_not(name: str) -> None:
    """The second of its two cases does not."""
    assert name not in CASES[name][1]()


def test_every_caution_has_its_two_cases() -> None:
    """The table of cases and the file of cautions have the same ids."""
    assert set(CASES) == set(ROWS)
    assert len(ROWS) == len(caution_rows())


def test_every_caution_has_source_status_and_words_of_its_own() -> None:
    """Nothing is blank, and no two cautions say the same."""
    assert all(row.source and row.title and row.says.endswith(".") for row in ROWS.values())
    assert {row.status for row in ROWS.values()} <= {"a", "b", "c"}
    assert len({row.says for row in ROWS.values()}) == len(ROWS)
    assert len({row.title for row in ROWS.values()}) == len(ROWS)


def test_every_word_of_the_file_is_one_that_is_understood() -> None:
    """Kinds, what is looked at, comparisons, groups, and feeds that a table has."""
    feeds = read_feed_tables().values()
    named = {word for feed in feeds for word in (feed.key, feed.kind, feed.sort)}
    for row in ROWS.values():
        assert row.kind in KINDS
        assert row.looks_at in LOOKS_AT
        assert row.comparison in COMPARISONS
        assert (row.classes | row.keeps_from) <= WORDS, row.id
        assert {word.removeprefix("-") for word in row.feeds} <= named, row.id


def test_no_condition_of_the_file_is_lost() -> None:
    """Each part of a condition is read: name, sign, number."""
    twins = ROWS["twin_lamb_energy"].when
    assert [(when.name, when.sign, when.number) for when in twins] == [
        ("lambs_carried", ">=", 2.0),
        ("days_to_lambing", "<=", 28.0),
    ]


def test_no_caution_promises_or_prescribes() -> None:
    """None calls anything safe, names a disease as found, or gives an amount of a medicine."""
    said = " ".join(f"{row.says} {row.action}" for row in ROWS.values()).lower()
    assert (
        re.findall(r"\bsafe\w*|\bdos(?:e|es|ing)\b|\binject\w*|\bdrench\w*|\bdiagnos\w*", said)
        == []
    )


def test_only_hard_cautions_keep_feeds_away() -> None:
    """What is kept from a group cannot be loosened, so its kind is hard."""
    assert {row.kind for row in ROWS.values() if row.keeps_from or row.most_share is not None} == {
        "hard"
    }


def test_nitrate_of_a_sheet_is_not_nitrate_nitrogen() -> None:
    """6.6 g nitrate per kg DM is 1490 mg nitrate-N: below 1500, although 6600 mg would be far above
    4000.
    """
    found = ids(stored(COWS, analysed(nitrate_g_per_kg_dm=6.6)))
    assert found == set()
    [caution] = stored(COWS, analysed(nitrate_g_per_kg_dm=6.7))
    assert (caution.id, caution.value) == ("nitrate_half", pytest.approx(6.7 * 1000.0 / 4.43))


@pytest.mark.parametrize(
    ("nitrate_n", "name"),
    [
        (999, None),
        (1000, "nitrate_in_calf"),
        (1500, "nitrate_half"),
        (2000, "nitrate_third"),
        (3500, "nitrate_quarter"),
        (4001, "nitrate_refused"),
    ],
)
def test_nitrate_breaks_are_those_published(nitrate_n: float, name: str | None) -> None:
    """1000, 1500, 2000, 3500 and 4000 mg nitrate-N per kg DM: Clemson University, nitrate levels in
    forage (a).
    """
    herd = animals("suckler_cow_dry", {"days_to_calving": 60.0})
    found = {
        one for one in ids(stored(herd, nitrate(nitrate_n + 1e-6))) if one.startswith("nitrate")
    }
    assert found == ({name} if name else set())


def test_a_table_value_of_nitrate_ash_or_ph_says_nothing() -> None:
    """Only what was analysed, or stated by the farm, is judged: a typical ash is not soil."""
    typical = analysed(origin="table", ash_g_per_kg_dm=130.0, ph=6.0, nitrate_g_per_kg_dm=30.0)
    assert stored(animals("ewe_dry"), typical) == ()
    assert "silage_ash_high" in ids(
        stored(animals("ewe_dry"), analysed(origin="farm", ash_g_per_kg_dm=130.0))
    )


def test_copper_is_milligrams_not_per_cent_and_stands_on_dry_matter() -> None:
    """A quarter of the diet at 60 mg/kg DM brings 15: the limit is on the whole diet's dry matter,
    not its fresh weight.
    """
    wet = of("by_product", 2.5, dm_g_per_kg=200.0, cu_mg_per_kg_dm=60.8)
    hay = forage(7.5, dm_g_per_kg=850.0, cu_mg_per_kg_dm=0.0)
    found = {one.id: one for one in eaten(animals("ewe_dry"), [wet, hay])}
    assert found["copper_sheep_most"].value == pytest.approx(15.2)
    assert found["copper_sheep_most"].found == "Copper 15.2 mg/kg DM"


def test_the_copper_limits_are_those_published() -> None:
    """15 mg/kg DM for sheep (In Practice 19:503), 10 where poisoning was seen, 30 for cattle (EU
    maxima), all (a).
    """
    limits = [
        ROWS[name].threshold
        for name in ("copper_sheep_most", "copper_sheep_raised", "copper_cattle_raised")
    ]
    assert limits == [15.0, 10.0, 30.0]
    assert {
        ROWS[name].status
        for name in ("copper_sheep_most", "copper_sheep_raised", "copper_cattle_raised")
    } == {"a"}


def test_urea_is_counted_in_grams_per_kg_of_dry_matter() -> None:
    """One per cent of the diet is 10 g/kg DM: EFSA opinion summary on urea in ruminant feed (a); 9
    g passes, 11 does not.
    """
    assert ROWS["urea_cattle_most"].threshold == 10.0
    [found] = [
        c
        for c in eaten(animals("growing_cattle"), [forage(9.89), of("npn", 0.11)])
        if c.id == "urea_cattle_most"
    ]
    assert found.value == pytest.approx(11.0)


def test_cation_anion_balance_is_per_kg_not_per_100_g() -> None:
    """Na 0.1, K 1.2, Cl 0.3, S 0.3 % of DM is 7.92 meq per 100 g by the printed formula, so 79.2
    meq/kg.
    """
    per_100_g = (0.1 / 0.023 + 1.2 / 0.039) - (0.3 / 0.0355 + 0.3 / 0.016)
    assert dcad_meq(1.0, 12.0, 3.0, 3.0) == pytest.approx(10.0 * per_100_g)
    assert per_100_g == pytest.approx(7.916, abs=1e-3)


def test_cation_anion_balance_needs_analysed_chloride_and_sulphur() -> None:
    """With typical chloride nothing is said, however much potassium there is."""
    herd = animals("dairy_cow_dry", {"days_to_calving": 10.0})
    typical = forage(na_g_per_kg_dm=2.0, k_g_per_kg_dm=30.0, cl_g_per_kg_dm=5.0, s_g_per_kg_dm=2.0)
    assert "milk_fever_dcad" not in ids(eaten(herd, [typical]))


def test_too_little_is_not_said_where_a_figure_is_missing() -> None:
    """Magnesium of a feed without a figure is unknown, not nought; too much potassium is still
    said.
    """
    herd = animals("dairy_cow_dry", {"days_to_calving": 10.0})
    found = ids(eaten(herd, [forage(mg_g_per_kg_dm=1.0, k_g_per_kg_dm=40.0), forage()]))
    assert "milk_fever_magnesium" not in found
    assert "milk_fever_potassium" in found


def test_bales_give_off_no_gas_to_speak_of() -> None:
    """A clamp filled a week before the winter has its caution, wrapped bales of the same day have
    none.
    """
    assert "silage_gas" in ids(stored(COWS, analysed(), "clamp", filled="2026-10-08"))
    assert "silage_gas" not in ids(stored(COWS, analysed(), "bales", filled="2026-10-08"))


def test_what_concerns_sheep_is_not_said_to_a_farm_without_them() -> None:
    """Silage at pH 4.8 is a caution for sheep only."""
    silage = analysed(ph=4.8)
    assert ids(stored(COWS, silage)) == set()
    assert ids(stored(animals("ewe_dry"), silage)) == {"silage_ph_raised"}


def test_a_group_of_stated_needs_could_be_any_animal() -> None:
    """It hears what every group hears, and nothing that is for cattle or sheep."""
    assert group_words(animals("stated")) == {"stated", "every"}
    assert ids(eaten(animals("stated"), [of("npn", 1.0), of("cereal", 9.0)])) == {"mineral_dust"}


def test_pregnant_and_breeding_are_known_from_class_and_facts() -> None:
    """A cow in milk is pregnant when she has been so for a day; a growing heifer is neither."""
    assert "pregnant" in group_words(animals("dairy_cow_milking", {"days_pregnant": 1.0}))
    assert "pregnant" not in group_words(animals("dairy_cow_milking", {"days_pregnant": 0.0}))
    assert {"pregnant", "breeding", "ewes", "sheep"} <= group_words(animals("ewe_pregnant", ewes()))
    assert not {"pregnant", "breeding"} & group_words(animals("growing_cattle"))


def test_a_fed_ration_with_a_feed_kept_away_is_told_so() -> None:
    """Silage at pH 5.8 fed to ewes: the feed's own caution, about the group."""
    found = {one.id: one for one in eaten(animals("ewe_dry"), [analysed(ph=5.8)])}
    assert found["silage_ph_sheep"].about == "herd"
    assert found["silage_ph_sheep"].found == "feed0: pH 5.8"


def test_two_feeds_high_in_nitrate_share_one_allowance() -> None:
    """Either at 30 % is within its half, both at 30 % are not."""
    high = replace(nitrate(1600.0), kg=3.0)
    assert "nitrate_half" not in ids(eaten(COWS, [high, forage(7.0)]))
    assert "nitrate_half" in ids(eaten(COWS, [high, high, forage(4.0)]))


def test_a_ration_without_feeds_has_no_cautions() -> None:
    """A group for which no ration exists is not told about meals or mixing."""
    assert eaten(COWS, []) == ()


def test_a_list_of_cautions_is_one_line_each() -> None:
    """Two groups with the same caution share a line that names both, what was found and against
    what.
    """
    foods = [forage(starch_g_per_kg_dm=100.0)]
    said = [
        *eaten(animals("lamb", name="a"), foods),
        *eaten(animals("growing_cattle", name="b"), foods),
    ]
    [line] = [line for line in cautions_of(said).lines if line.endswith("[change_over]")]
    step = "starch above what was fed before by 100 g/kg DM"
    assert line.startswith("A change of diet to bring in slowly: Build up")
    assert f"(a, {step}; b, {step}; warns above 60 g/kg DM)" in line


def test_what_can_kill_or_maim_has_one_action_and_comes_first() -> None:
    """Every such row, and every row of every day, has an action; people before stock before the
    rest, every day at the end.
    """
    assert {row.harm for row in ROWS.values()} == set(HARMS)
    assert [
        row.id for row in ROWS.values() if bool(row.action) != (bool(row.harm) or row.daily)
    ] == []
    assert all(row.action.endswith(".") for row in ROWS.values() if row.action)
    called = [*stored(COWS, analysed(dm_g_per_kg=240.0), height_m=3.0, filled="2026-10-10")]
    called += eaten(animals("growing_cattle"), [forage(9.9), of("npn", 0.1)])
    assert [one.id for one in gravest_first(called)] == [
        "silage_gas",
        "face_collapse",
        "urea_fed",
        "effluent",
        "clamp_top",
        "mineral_dust",
    ]


def test_a_steady_herd_is_not_told_of_a_change() -> None:
    """Starch of 100 g/kg DM is a change in the first three weeks after grass, and when fed after
    less; not in January.
    """
    foods, herd = [forage(starch_g_per_kg_dm=100.0)], animals("dairy_cow_milking")
    january = date(2027, 1, 10)
    assert "change_over" in ids(eaten(herd, foods))
    assert "change_over" in ids(eaten(herd, foods, day=START + timedelta(days=20)))
    assert "change_over" not in ids(eaten(herd, foods, day=START + timedelta(days=21)))
    assert "change_over" not in ids(eaten(herd, foods, before={"feed0": 8.0}))
    assert "change_over" in ids(eaten(herd, foods, day=january, before={}))
    housed = replace(herd, housed=january)
    assert "change_over" in ids(eaten(housed, foods, day=january))


def test_cattle_on_cereals_are_not_told_of_low_forage() -> None:
    """A cereal system at 12 % straw has its own cautions; the same diet on a silage system is short
    of forage.
    """
    foods = [
        of("cereal", 8.8, starch_g_per_kg_dm=600.0, ndf_g_per_kg_dm=150.0),
        of("straw", 1.2, ndf_g_per_kg_dm=750.0),
    ]
    foods[1] = replace(foods[1], figures={"starch_g_per_kg_dm": 0.0, "ndf_g_per_kg_dm": 750.0})
    on_cereals = ids(eaten(animals("finishing_cattle", {"system": "cereal_based"}), foods))
    on_silage = ids(eaten(animals("finishing_cattle", {"system": "silage_based"}), foods))
    assert "acidosis_cereal_cattle" in on_cereals - on_silage
    assert (
        not {"acidosis_forage_cattle", "acidosis_fibre_cattle", "acidosis_starch_sugar_cattle"}
        & on_cereals
    )
    assert {"acidosis_fibre_cattle"} <= on_silage


def test_a_group_that_could_not_be_fed_has_its_cautions() -> None:
    """Ewes with twins a fortnight from lambing: short of energy, and never to be cut."""
    ewe = animals("ewe_pregnant", ewes(14.0))
    short = Shortfall("metabolisable energy", 3.0, 12.6, "MJ", "AFRC (1993) requirement")
    unfed = GroupRation(
        "herd",
        "herd",
        10,
        "none_exists",
        needs_of(ewe),
        (),
        (),
        None,
        None,
        None,
        None,
        None,
        shortfalls=(short,),
    )
    assert ids(ration_cautions(farm_of(ewe, [forage()]), unfed)) == {
        "twin_lamb_energy",
        "twin_lamb_no_sudden_cut",
    }
    enough = replace(unfed, shortfalls=())
    assert ids(ration_cautions(farm_of(ewe, [forage()]), enough)) == {"twin_lamb_no_sudden_cut"}


def test_no_source_tells_of_one_mans_accident() -> None:
    """A source is a publication or a practice."""
    assert [
        row.id for row in ROWS.values() if re.search(r"fell on a man|\bhis \b", row.source)
    ] == []


def test_the_meaning_of_a_caution_is_its_whole_row() -> None:
    """Words, threshold, from whom it is kept, status, source, and the line that defers."""
    text = meaning_of(ROWS["nitrate_third"])
    row = ROWS["nitrate_third"]
    parts = [
        row.title,
        row.says,
        row.source,
        "2000 to 3500 mg nitrate-N/kg DM",
        "Kept from: pregnant.",
        "35 %",
        "Status: a.",
        DEFER_LINE,
    ]
    assert [part for part in parts if part not in text] == []


def test_a_farm_with_nothing_to_remark_has_no_cautions() -> None:
    """Good silage in bales for cows."""
    assert (
        farm_cautions(farm_of(COWS, [analysed(dm_g_per_kg=320.0, ph=4.0, ash_g_per_kg_dm=80.0)]))
        == ()
    )


def test_kale_is_no_root_that_chokes() -> None:
    """Leaf and stem, though it stands among the roots in the feed tables; swedes are roots."""
    feeds = read_feed_tables()
    for name in ("choke_roots", "choke_roots_sheep"):
        assert not ROWS[name].covers(feeds["kale"])
        assert ROWS[name].covers(feeds["swedes"])
    assert "(root, not kale)" in meaning_of(ROWS["choke_roots"])


def test_short_magnesium_is_told_with_what_would_bring_it() -> None:
    """10 kg DM with 3.2 g magnesium: 8 g short of 40, which 16 g of calcined magnesite hold."""
    cautions = eaten(animals(SUCKLERS), [forage(mg_g_per_kg_dm=3.2, k_g_per_kg_dm=21.0)])
    (found,) = [one.found for one in cautions if one.id == "staggers_suckler_milking_potash"]
    assert "Magnesium 32 g a day, 8 g short: 16 g of calcined magnesite a head" in found


def test_the_magnesium_of_magnesite_is_that_of_the_feed_table() -> None:
    feed = read_feed_tables()["calcined_magnesite"]
    fresh = (feed.value("mg_g_per_kg_dm") or 0.0) * feed.dm_g_per_kg / 1000.0
    assert pytest.approx(fresh, rel=0.01) == MAGNESITE_MG_G_PER_KG
