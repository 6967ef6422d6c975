"""The right feed to the right species: a wall before the solve, said in the answer. Common
practice, no source (c).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from beef_farms import farm, group, offers, ration

from rationlp.errors import InputError
from rationlp.farm.group import Feeding, FeedLimit
from rationlp.model.ration import make_blocks
from rationlp.rules.species import made_for

COW: dict[str, float | str] = {
    "live_weight_kg": 650.0,
    "milk_kg_per_day": 9.0,
    "week_of_lactation": 8.0,
}
EWE: dict[str, float | str] = {
    "live_weight_kg": 70.0,
    "kept": "housed",
    "lambs_carried": 2.0,
    "days_to_lambing": 40.0,
}
FEEDS = (
    "grass_silage_1st_typical", "ewe_rolls_18", "beef_compound_15", "minerals_sheep_no_copper",
    "minerals_cattle_general",
    "minerals_suckler_high_mg", "limestone", "salt", "calcined_magnesite", "barley",
)  # fmt: skip
OF_SHEEP, OF_CATTLE = {"ewe_rolls_18", "minerals_sheep_no_copper"}, {
    "beef_compound_15", "minerals_cattle_general", "minerals_suckler_high_mg",
}  # fmt: skip


def offered(animals: object) -> set[str]:
    """The feeds that a pen may eat."""
    return {offer.id for offer in make_blocks(farm(animals, FEEDS))[0].offers}  # type: ignore[arg-type]


def test_feeds_are_told_apart_by_their_names() -> None:
    """Key, name and the farm's own name count; straights and what names both are for both."""
    feeds = {offer.id: offer for offer in offers(FEEDS)}
    assert {key for key, offer in feeds.items() if made_for(offer.feed) == "sheep"} == OF_SHEEP
    assert {key for key, offer in feeds.items() if made_for(offer.feed) == "cattle"} == OF_CATTLE
    assert made_for(feeds["beef_compound_15"].feed, "Cattle and sheep nuts") == ""
    assert made_for(feeds["barley"].feed, "Barley for the ewes") == ""


def test_cattle_get_no_sheep_feed_unless_the_farm_opens_it() -> None:
    """Ewe rolls are the cheapest protein here, and are left out, which is said; a limit of the
    farm's own opens them.
    """
    answer = ration(group("suckler_cow_milking", COW), FEEDS)
    assert not OF_SHEEP & {amount.offer for amount in answer.amounts}
    assert any("made for sheep" in remark for remark in answer.remarks)
    limit = FeedLimit("ewe_rolls_18", None, 2.0, None, None)
    opened = group("suckler_cow_milking", COW, "to_appetite", limit)
    assert offered(opened) & OF_SHEEP == {"ewe_rolls_18"}


def test_sheep_get_no_cattle_feed_whatever_the_farm_says() -> None:
    """Left out and said; a limit does not open it, a floor is an error."""
    block = make_blocks(farm(group("ewe_pregnant", EWE), FEEDS))[0]
    assert not OF_CATTLE & {offer.id for offer in block.offers}
    assert {"ewe_rolls_18", "minerals_sheep_no_copper", "barley"} <= {
        offer.id for offer in block.offers
    }
    assert any("copper can poison sheep" in remark for remark in block.needs.remarks)
    limit = FeedLimit("beef_compound_15", None, 0.2, None, None)
    assert "beef_compound_15" not in offered(group("ewe_pregnant", EWE, "to_appetite", limit))
    floor = FeedLimit("beef_compound_15", 0.1, None, None, None)
    with pytest.raises(InputError, match="IN770"):
        make_blocks(farm(group("ewe_pregnant", EWE, "to_appetite", floor), FEEDS))


def test_urea_without_a_mixer_is_said_before_a_sheet_leaves_it_out() -> None:
    """Urea in reach of cows: said where no wagon is stated, silent with a wagon, or without
    urea.
    """
    cows = group("suckler_cow_milking", COW)
    by_hand = farm(cows, (*FEEDS, "feed_urea"))
    mixed = replace(by_hand, feeding=Feeding(wagon="vertical"))
    told = {
        key: any("needs a mixer" in remark for remark in make_blocks(one)[0].needs.remarks)
        for key, one in (("by hand", by_hand), ("mixed", mixed), ("no urea", farm(cows, FEEDS)))
    }
    assert told == {"by hand": True, "mixed": False, "no urea": False}


def test_plain_minerals_are_offered_to_sheep_on_a_guess_that_is_said() -> None:
    """Limestone 10, salt 5, magnesite 30 mg copper a kg, status (c); eaten, the guess is said, a
    label's figure is not.
    """
    by_id = {
        offer.id: offer.feed
        for offer in make_blocks(farm(group("ewe_pregnant", EWE), FEEDS))[0].offers
    }
    found = {
        key: by_id[key].figures["cu_mg_per_kg_dm"]
        for key in ("limestone", "salt", "calcined_magnesite")
    }
    assert {key: (figure.value, figure.status) for key, figure in found.items()} == {
        "limestone": (10.0, "c"), "salt": (5.0, "c"), "calcined_magnesite": (30.0, "c"),
    }  # fmt: skip
    from rationlp.model.fed import fed_supply

    for stated, word in (({}, True), ({"cu_mg_per_kg_dm": 4.0}, False)):
        feeds = {
            "grass_silage_1st_typical": {},
            "limestone": stated,
            "minerals_sheep_no_copper": {},
        }
        answer = fed_supply(
            farm(group("ewe_pregnant", EWE), feeds),
            {"pen": {"grass_silage_1st_typical": 1.4, "limestone": 0.005}},
        )
        assert any("cautious guess" in remark for remark in answer[0].remarks) == word
