"""A farm with something changed is the farm that would be read had the change been typed."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "ask"))
from ask_farm import small_farm

from rationlp.farm.farm import Farm
from rationlp.read.changed import begin, changed, parse_change
from rationlp.read.farm import read_farm


def after(folder: Path, *texts: str) -> Farm:
    """The farm after these changes."""
    return changed(begin(folder), [parse_change(text) for text in texts]).farm


def same(one: Farm, other: Farm) -> bool:
    """The farms are the same but for where they stand."""
    return replace(one, place="") == replace(other, place="")


@pytest.mark.parametrize(
    ("texts", "pieces"),
    [
        (["winter.turnout=2027-01-10"], [("2026-12-27", "2027-01-10")]),
        (["winter.turnout+=14"], [("2026-12-27", "2027-01-10")]),
        (
            ["margins.me=1.1", "margins.mp-=0.05"],
            [("me = 1.05", "me = 1.1"), ("mp = 1.05", "mp = 1.0")],
        ),
        (["home_grown.price=nothing"], [('price = "cost"', 'price = "nothing"')]),
        (["cows.head+=25%"], [("head = 16", "head = 20")]),
        (["cows.head-=2"], [("head = 16", "head = 14")]),
        (["groups.cows.live_weight_kg=600"], [("live_weight_kg = 650", "live_weight_kg = 600")]),
        (
            ["bought.barley.price_per_t_fresh+=20%"],
            [("price_per_t_fresh = 205", "price_per_t_fresh = 246")],
        ),
        (["barley.most_t=3"], [("price_per_t_fresh = 205", "price_per_t_fresh = 205\nmost_t = 3")]),
        (["pit.length_m=12"], [("length_m = 10", "length_m = 12")]),
        (["straw.amount_t_fresh-=50%"], [("amount_t_fresh = 12", "amount_t_fresh = 6")]),
        (['stores.sex="heifer"'], [('sex = "steer"', 'sex = "heifer"')]),
        (
            ["cows.feed_limits.barley.max_kg_fresh=1"],
            [
                (
                    "days_to_calving = 150",
                    'days_to_calving = 150\nfeed_limits = [{feed = "barley", max_kg_fresh = 1}]',
                )
            ],
        ),
        (
            ['cows.barred=["hay"]'],
            [("days_to_calving = 150", 'days_to_calving = 150\nbarred = ["hay"]')],
        ),
    ],
)
def test_a_change_is_as_if_typed(
    tmp_path: Path, texts: list[str], pieces: list[tuple[str, str]]
) -> None:
    """The changed farm equals the farm whose text was changed by hand."""
    typed = read_farm(small_farm(tmp_path / "typed", *pieces))
    assert same(after(small_farm(tmp_path / "farm"), *texts), typed)


def test_a_figure_stands_over_the_laboratory_sheet(tmp_path: Path) -> None:
    """A changed ME is the changed one, although lab.csv has another."""
    lab = "for,dm_basis,dm_percent,me_mj_per_kg_dm\npit,corrected,31,11.2\n"
    folder = small_farm(tmp_path / "farm", files={"lab.csv": lab})
    pit = after(folder, "pit.me_mj_per_kg_dm-=0.5").offers[0].feed
    assert pit.value("me_mj_per_kg_dm") == pytest.approx(10.7)
    assert pit.value("dm_g_per_kg") == pytest.approx(310.0)


def test_a_price_stands_over_prices_csv(tmp_path: Path) -> None:
    """A changed price is the changed one; what is added to it is added to the price of
    prices.csv.
    """
    folder = small_farm(
        tmp_path / "farm", files={"prices.csv": "feed,price_per_t_fresh\nbarley,180\nwheat,190\n"}
    )
    prices = {
        offer.id: offer.price_per_t_fresh
        for offer in after(folder, "barley.price_per_t_fresh+=10").offers
    }
    assert prices["barley"] == pytest.approx(190.0)
    assert prices["wheat"] == pytest.approx(190.0)


def test_a_feed_that_only_prices_csv_buys_can_be_changed(tmp_path: Path) -> None:
    """Its price is changed, and the other prices of the file stay."""
    folder = small_farm(
        tmp_path / "farm", files={"prices.csv": "feed,price_per_t_fresh\nbarley,180\nwheat,190\n"}
    )
    prices = {
        offer.id: offer.price_per_t_fresh
        for offer in after(folder, "wheat.price_per_t_fresh=210").offers
    }
    assert (prices["wheat"], prices["barley"]) == (pytest.approx(210.0), pytest.approx(180.0))


def test_a_barred_feed_is_barred_from_every_group(tmp_path: Path) -> None:
    """And from nobody when it is let in again."""
    folder = small_farm(
        tmp_path / "farm", ("days_to_calving = 150", 'days_to_calving = 150\nbarred = ["hay"]')
    )
    assert [group.barred for group in after(folder, "hay.barred=true").groups] == [
        frozenset({"hay"})
    ] * 2
    assert [group.barred for group in after(folder, "hay.barred=false").groups] == [frozenset()] * 2


def test_edible_tonnes_move_the_stock_alone(tmp_path: Path) -> None:
    """Half of what can be eaten, low and high in step, the store's sizes as they were."""
    begun = begin(small_farm(tmp_path / "farm"))
    half = changed(begun, [parse_change("pit.edible_t_dm-=50%")])
    for part in ("low", "typical", "high"):
        was, now = (
            getattr(begun.stocks["pit"].edible_t_dm, part),
            getattr(half.stocks["pit"].edible_t_dm, part),
        )
        assert now == pytest.approx(0.5 * was)
    assert half.stocks["hay"] == begun.stocks["hay"]
    assert half.farm.stores == begun.farm.stores


def test_changes_leave_the_farm_as_it_was(tmp_path: Path) -> None:
    """What was begun can be changed again and again."""
    begun = begin(small_farm(tmp_path / "farm"))
    for turnout in (date(2027, 1, 3), date(2027, 1, 10)):
        assert changed(begun, [parse_change(f"winter.turnout={turnout}")]).farm.turnout == turnout
    assert begun.farm.turnout == date(2026, 12, 27)
    assert same(changed(begun, []).farm, begun.farm)
