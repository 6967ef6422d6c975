"""Prices out of all proportion to the farm's others: told of, never refused, whatever the currency.

Shares and bounds are common practice, no source (c); the packaged examples, invented but usual,
call for no word.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.folders import examples_folder, packaged_rows
from rationlp.read.farm import read_farm
from rationlp.read.feeds import read_feed_tables
from rationlp.rules.usual_prices import price_notices

EXAMPLES = [path.name for path in sorted(examples_folder().iterdir()) if path.is_dir()]


@cache
def farm(name: str) -> Farm:
    """A packaged example, read once."""
    return read_farm(examples_folder() / name)


def priced(name: str, factor: float, of: str = "") -> list[Offer]:
    """The offers of an example with all prices, or that of one feed key, times a factor."""
    return [
        (
            replace(offer, price_per_t_fresh=offer.price_per_t_fresh * factor)
            if of in ("", offer.feed.key)
            else offer
        )
        for offer in farm(name).offers
    ]


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("factor", [0.01, 1.0, 150.0])
def test_usual_prices_call_for_no_word_in_any_currency(name: str, factor: float) -> None:
    """All prices alike, whatever the unit of money."""
    assert price_notices(priced(name, factor)) == []


@pytest.mark.parametrize("factor", [10.0, 0.1, 5.0, 0.2])
def test_one_price_out_of_proportion_is_told_of(factor: float) -> None:
    """A slip of the decimal point: which feed, what stands there, what would be usual beside the
    others.
    """
    notices = price_notices(priced("dairy", factor, "soya_meal_48"))
    assert [(notice.code, notice.where) for notice in notices] == [
        ("WA220", 'bought feed "soya_meal_48"')
    ]
    assert "a tonne fresh" in notices[0].found


@pytest.mark.parametrize("factor", [2.0, 0.5, 0.0])
def test_a_dear_or_cheap_feed_is_not(factor: float) -> None:
    """Nor is one that costs nothing."""
    assert price_notices(priced("dairy", factor, "soya_meal_48")) == []


def test_two_prices_alone_tell_nothing() -> None:
    """Either of them could be the odd one."""
    assert price_notices(priced("few", 30.0, "barley")) == []


def test_the_farm_as_read_has_no_such_notice() -> None:
    """Where its prices are usual."""
    assert not any(notice.code == "WA220" for notice in farm("dairy").notices)


def test_every_kind_that_is_bought_has_a_figure_with_its_status() -> None:
    """Of the packaged tables."""
    rows = packaged_rows("usual-prices.csv")
    kinds = {row["what"] for row in rows if row["of"] == "kind"}
    assert {feed.kind for feed in read_feed_tables().values()} <= kinds
    assert all(
        row["status"] == "c" and row["source"] == "common practice, no source" for row in rows
    )
