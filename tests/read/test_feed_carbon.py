"""Carbon of bought feed: published values in two columns, none copied, blanks told by name."""

from __future__ import annotations

import pytest

from rationlp.farm.feed import Feed, Figure, Offer
from rationlp.folders import packaged_rows
from rationlp.rules.feed_carbon import bought_carbon, carbon_of, feed_carbon, soya_share


def offer(key: str, bought: bool = True, kind: str = "cereal") -> Offer:
    """A feed of 880 g DM."""
    feed = Feed(key, key, kind, {"dm_g_per_kg": Figure(880.0, "table", "test")})
    return Offer(key, key.upper(), feed, bought, 200.0)


def test_published_values() -> None:
    """Soya meal 0.25 and 4.55, rapeseed meal 0.38 and 0.53, a kg fresh; maize 0.168 a kg DM (read
    in data files of open packages; (a))."""
    soya, rape, maize = (carbon_of(offer(key).feed) for key in (
        "soya_meal_48", "rapeseed_meal_extracted", "maize_grain"))  # fmt: skip
    assert (soya.without_land_use, soya.with_land_use, soya.per_dm) == (0.25, 4.55, False)
    assert (rape.without_land_use, rape.with_land_use) == (0.38, 0.53)
    assert (maize.without_land_use, maize.with_land_use, maize.per_dm) == (0.168, 2.03, True)


def test_every_row_has_source_and_status_and_no_column_is_a_copy_of_the_other() -> None:
    """And every feed stands once."""
    rows = packaged_rows("feed-carbon.csv")
    keys = [key for row in rows for key in row["feeds"].split()]
    assert len(keys) == len(set(keys)) == len(feed_carbon())
    for row in rows:
        assert row["source"]
        assert row["status"] in ("a", "b", "c")
        assert row["basis"] in ("fresh", "dm")
        assert not row["with_land_use"] or row["with_land_use"] != row["without_land_use"]


def test_each_column_by_itself() -> None:
    """0.88 kg DM of soya and of barley are a kg fresh of each; barley has no value with land use
    and is named; what is home-grown does not count."""
    carbon = bought_carbon(
        [
            (offer("soya_meal_48"), 0.88),
            (offer("barley"), 0.88),
            (offer("wheat", bought=False), 5.0),
        ]
    )
    assert carbon.without_land_use == pytest.approx(0.25 + 0.321)
    assert carbon.with_land_use == pytest.approx(4.55)
    assert (carbon.unknown_without, carbon.unknown_with) == ((), ("BARLEY",))


def test_a_feed_without_a_value_is_named_in_both_columns_and_a_mineral_in_none() -> None:
    """A blank is never nought."""
    carbon = bought_carbon([(offer("lupins"), 1.0), (offer("salt", kind="mineral"), 0.1)])
    assert (carbon.without_land_use, carbon.with_land_use) == (0.0, 0.0)
    assert carbon.unknown_without == carbon.unknown_with == ("LUPINS",)


def test_what_is_soya() -> None:
    """Meals and hulls are; rapeseed is not; a compound is not told."""
    shares = [soya_share(offer(key).feed) for key in (
        "soya_meal_44", "soya_hulls", "rapeseed_meal_extracted", "dairy_compound_18")]  # fmt: skip
    assert shares == [1.0, 1.0, 0.0, 0.0]
    assert carbon_of(offer("dairy_compound_18").feed).soya is None
