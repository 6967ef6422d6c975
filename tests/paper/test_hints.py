"""Misspelt and colloquial words get the right word first; trade words are taken, minerals, urea and
compounds never unasked.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from rationlp.ask.names import offer_named
from rationlp.cli.app import app
from rationlp.errors import InputError, nearest
from rationlp.farm.animals import CLASSES
from rationlp.farm.feed_names import feeds_meant
from rationlp.farm.feed_table import packaged_feeds
from rationlp.named import trade_words
from rationlp.quantities import quantities
from rationlp.read.farm import read_farm
from rationlp.read.lab import WORDS, units
from rationlp.read.stores import KINDS

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
FEEDS = {
    "barley straw": "straw_barley",
    "barley_straw": "straw_barley",
    "barly": "barley",
    "soya": "soya_meal_48",
    "first cut": "grass_silage_1st_typical",
    "1st cut silage": "grass_silage_1st_typical",
    "second cut": "grass_silage_2nd",
    "rape meal": "rapeseed_meal_extracted",
    "rapemeal": "rapeseed_meal_extracted",
    "hay": "hay_average",
    "silage bales": "grass_silage_big_bale",
    "dairy nuts": "dairy_compound_18",
    "cal mag": "calcined_magnesite",
    "lime": "limestone",
    "urea": "feed_urea",
    "brewers grains": "brewers_grains",
    "sugar beet nuts": "beet_pulp_molassed_dry",
    "maize silage": "maize_silage_typical",
    "wholecrop": "wholecrop_wheat_fermented",
    "whole crop": "wholecrop_wheat_fermented",
    "haylege": "haylage_big_bale",
    "swede": "swedes",
    "turnips": "swedes",
    "oat straw": "straw_oat",
    "beens": "field_beans",
    "distillers": "wheat_distillers",
    "palm kernal": "palm_kernel_expeller",
    "treacle": "molasses_cane",
}
KEYS = {
    "DM %": "dm_percent",
    "D value": "d_value_percent_of_dm",
    "Crude Protein": "cp_g_per_kg_dm",
    "NDF": "ndf_g_per_kg_dm",
    "ME": "me_mj_per_kg_dm",
    "ammonia": "ammonia_n_percent_of_total_n",
    "store": "for",
    "date": "sampled",
    "lactic acid": "lactic_g_per_kg_dm",
    "magnesium": "mg_g_per_kg_dm",
}
CLASS_WORDS = {
    "dairy cow": "dairy_cow_milking",
    "milkers": "dairy_cow_milking",
    "dry cow": "dairy_cow_dry",
    "suckler": "suckler_cow_dry",
    "weanlings": "growing_cattle",
    "ewe": "ewe_pregnant",
    "tup": "ram",
    "bull": "breeding_bull",
    "store lamb": "lamb",
    "Dairy Cow Milking": "dairy_cow_milking",
    "finishing": "finishing_cattle",
}
KIND_WORDS = {"Clamp": "clamp", "pit": "clamp", "bunker": "clamp", "bale": "bales", "ag bag": "bag"}
GROUP_WORDS = {
    "milk_litres": "milk_kg_per_day",
    "litres": "milk_kg_per_day",
    "weight": "live_weight_kg",
    "intake_potential": "forage_intake_factor",
    "cows": "head",
    "bcs": "condition_score",
}


def test_there_are_fifty() -> None:
    """As many as were asked for."""
    assert sum(map(len, (FEEDS, KEYS, CLASS_WORDS, KIND_WORDS, GROUP_WORDS))) >= 50


@pytest.mark.parametrize("word", FEEDS)
def test_a_feed_as_people_name_it(word: str) -> None:
    """The likeliest feed comes first."""
    meaning = feeds_meant(word, packaged_feeds())
    assert (*meaning.candidates, *meaning.spelt_alike)[0] == FEEDS[word]


@pytest.mark.parametrize("word", KEYS)
def test_a_heading_of_a_lab_sheet(word: str) -> None:
    """An unknown column gets the nearest heading by name."""
    assert nearest(word, [*WORDS, *units()]) == KEYS[word]


@pytest.mark.parametrize(
    ("words", "known"),
    [
        (CLASS_WORDS, tuple(CLASSES)),
        (KIND_WORDS, tuple(KINDS)),
        (GROUP_WORDS, ("head", *(fact.key for fact in CLASSES["dairy_cow_milking"]))),
    ],
)
def test_classes_kinds_and_keys(words: dict[str, str], known: tuple[str, ...]) -> None:
    """Capitals, blanks and trade words."""
    assert {word: nearest(word, known) for word in words} == words


def test_dry_matter_in_per_cent_is_answered_with_grams() -> None:
    """`dm_percent` is no key of an analysis; dm_g_per_kg is."""
    assert nearest("dm_percent", quantities()) == "dm_g_per_kg"


def test_a_mineral_urea_or_compound_is_never_taken_unasked() -> None:
    """Whatever trade word: only its key or whole name does."""
    feeds = packaged_feeds()
    guarded = {key for key, feed in feeds.items() if feed.kind in ("mineral", "npn", "compound")}
    for word in trade_words("feed"):
        assert feeds_meant(word, feeds).key not in guarded
    assert feeds_meant("salt", feeds).key == "salt"
    assert feeds_meant("Ground limestone", feeds).key == "limestone"


def test_every_trade_word_leads_somewhere() -> None:
    """No row of the table names a feed, class or kind that there is not."""
    for of, known in (("feed", packaged_feeds()), ("class", CLASSES), ("kind", KINDS)):
        for word, means in trade_words(of).items():
            assert set(means) <= set(known), word


def test_own_stores_come_first() -> None:
    """`--from grass` lists the farm's own clamps; a trade word finds the only store of its feed."""
    farm = read_farm(EXAMPLES / "dairy")
    with pytest.raises(InputError) as refused:
        offer_named(farm, "grass", "--from")
    assert refused.value.findings[0].remedy == "give one of first_cut, second_cut"
    assert offer_named(farm, "First cut", "--from").id == "first_cut"
    assert offer_named(farm, "barley straw", "--to").id == "straw"
    assert offer_named(farm, "rape meal", "--to").id == "rapeseed_meal_extracted"


def test_a_store_is_found_by_what_people_call_it() -> None:
    """By its id in other letters or a trade word; several are listed."""
    run = CliRunner().invoke
    assert run(app, ["clamp", str(EXAMPLES / "dairy"), "--store", "First cut"]).exit_code == 0
    several = run(app, ["clamp", str(EXAMPLES / "dairy"), "--store", "grass"])
    assert "give one of first_cut, second_cut" in several.stderr
    found = run(app, ["feeds", "find", "soya", "--format", "csv"])
    assert [line.split(",")[0] for line in found.stdout.splitlines()[1:]] == [
        "soya_meal_48", "soya_meal_44", "soya_hulls", "soya_protected",
    ]  # fmt: skip
    assert run(app, ["feeds", "find", "zzzz"]).exit_code == 2


@pytest.mark.parametrize("word", ["mature hay", "hay_mature"])
def test_a_name_that_is_half_ours_leads_to_its_kind(word: str) -> None:
    """Nobody's table has mature hay: the hays are shown, and none is taken."""
    meaning = feeds_meant(word, packaged_feeds())
    assert meaning.key is None
    assert meaning.spelt_alike
    assert all(key.startswith("hay_") for key in meaning.spelt_alike)


@pytest.mark.parametrize(
    ("word", "means"), [("bale_kg", "weight_kg"), ("bale_lenght_m", "bale_length_m")]
)
def test_a_key_in_kilograms_is_no_length(word: str, means: str) -> None:
    """Of names spelt much alike those with the same unit come first."""
    assert nearest(word, ["bale_length_m", "bale_width_m", "count", "weight_kg"]) == means
