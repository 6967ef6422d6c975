"""Single figures and rules of the winter plan on paper, without planning one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest
from winter_farms import PLENTY, stock, stocks, tables, winter_farm

from rationlp.farm.farm import Margins
from rationlp.farm.feed import Offer
from rationlp.farm.group import Group
from rationlp.farm.store import Face, Spread, Store
from rationlp.model.lp import Column
from rationlp.needs import group_needs
from rationlp.wintering import rules
from rationlp.wintering.ewe_steps import step_pairs, step_rows
from rationlp.wintering.links import least_taken_t
from rationlp.wintering.plan import WinterOptions, make_yard, slow_faces
from rationlp.wintering.remarks import _opened_early
from rationlp.wintering.search import WinterModel, _put_out
from rationlp.wintering.short import tonnes_short

FACE = Face(8.0, 2.0, 16.0, 3500.0, 1.5, 1.0, 30.0)
SILAGE = replace(
    stock("grass_silage_1st_typical", 90.0, face=FACE), t_dm=Spread(100.0, 100.0, 100.0)
)


def test_a_shortfall_in_tonnes_of_forage() -> None:
    """10 MJ of usual forage at 10 MJ/kg and 1 kg DM are the same for 1,000 head-days: a tonne."""
    assert tonnes_short(2.0, "kg DM", 1000.0) == pytest.approx(2.0)
    assert tonnes_short(105.0, "MJ", 1000.0) == pytest.approx(tonnes_short(1.0, "MJ", 1000.0) * 105)
    assert 8.0 < tonnes_short(105.0, "MJ", 1000.0) < 13.0
    assert tonnes_short(5.0, "g", 1000.0) == 0.0


def test_a_face_loses_its_least_whatever_is_fed() -> None:
    """1 m a week of 3.5 t, nine tenths of it edible: 6.3 t in a fortnight; none without a face."""
    assert least_taken_t(SILAGE, 14.0) == pytest.approx(3.5 * 0.9 * 2.0)
    assert least_taken_t(replace(SILAGE, face=None), 14.0) == 0.0


@pytest.mark.parametrize(
    ("used", "slow"), [((6.3, 6.3), False), ((6.4, 6.2), True), ((0.0, 6.4), False)]
)
def test_a_face_that_is_used_is_slow_below_its_least_alone(
    used: tuple[float, float], slow: bool
) -> None:
    """Shut or at its least is right; opened and fed less than 6.3 t a fortnight is slow."""
    fortnight = SimpleNamespace(days=14.0)
    yard: Any = SimpleNamespace(stocks={"clamp": SILAGE}, periods=(fortnight, fortnight))
    plan: Any = SimpleNamespace(stores=(SimpleNamespace(store="clamp", used_t_dm=used),))
    assert slow_faces(yard, plan) == (("clamp",) if slow else ())


@pytest.mark.parametrize(
    ("first", "used", "said"),
    [
        (date(2026, 10, 28), 5.0, True),
        (date(2026, 10, 29), 5.0, False),
        (date(2026, 10, 28), 0.0, False),
    ],
)
def test_a_clamp_rests_for_four_weeks(first: date, used: float, said: bool) -> None:
    """Filled on 1 October: fed from 28 October on is said, from the 29th on is not."""
    size = {"filled": "2026-10-01"}
    clamp = Store("clamp", "Clamp", "clamp", "grass_silage_1st_typical", size, None, None)
    yard: Any = SimpleNamespace(farm=winter_farm(), periods=(SimpleNamespace(first=first),))
    plan: Any = SimpleNamespace(used_t_dm=(used,))
    texts = list(_opened_early(yard, clamp, plan))
    assert bool(texts) == said
    assert all("keep it shut for four weeks, to 2026-10-29" in text for text in texts)


def test_waste_at_the_trough_is_paid_for() -> None:
    """A tenth wasted: 1/0.9 kg put out for a kg eaten; of other columns and feeds nothing."""
    run: Any = SimpleNamespace(waste={"hay": 0.1})
    columns = (("feed", "hay"), ("feed", "barley"), ("short", "hay"))
    assert [_put_out(run, Column(key)) for key in columns] == pytest.approx([1.0 / 0.9, 1.0, 1.0])


def _ewes(days: float, periods: tuple[int, ...]) -> Any:
    facts: dict[str, float | str] = {
        "live_weight_kg": 70.0, "lambs_carried": 2.0, "days_to_lambing": days, "kept": "housed",
    }  # fmt: skip
    group = Group("ewes", "Ewes", "ewe_pregnant", 10, "to_appetite", facts)
    offers = (Offer("rolls", "Rolls", tables()["ewe_rolls_18"], True, 300.0),)
    block = SimpleNamespace(
        group=group, needs=group_needs(group, Margins()), offers=offers,
        feed=lambda offer: ("feed", offer.id, *map(str, periods)), key=lambda *words: words,
    )  # fmt: skip
    return SimpleNamespace(block=block, periods=periods)


def test_concentrate_of_ewes_steps_up_by_a_quarter_of_a_kilo_a_fortnight() -> None:
    """Between runs that follow one another and come nearer to lambing; 0.25 kg, 0.5 in 28 days."""
    first, second, third = _ewes(50.0, (0,)), _ewes(36.0, (1,)), _ewes(22.0, (2,))
    runs = [first, second, third]
    assert list(step_pairs(runs)) == [(first, second), (second, third)]
    assert list(step_pairs([first, third])) == []
    assert list(step_pairs([first, _ewes(55.0, (1,))])) == []
    periods: Any = [SimpleNamespace(days=days) for days in (14.0, 28.0, 7.0)]
    up = [row for row in step_rows(runs, periods) if row.key[0] == "step_up"]
    assert [row.high for row in up] == [0.25, 0.5]


def test_what_costs_least_comes_first_among_bought_feeds(monkeypatch: pytest.MonkeyPatch) -> None:
    """10 t at 100 before 4 t at 300, though dearer a tonne; what is not bought is left out."""
    feeds = tables()
    offers = (
        Offer("soya", "Soya", feeds["soya_meal_48"], True, 300.0),
        Offer("barley", "Barley", feeds["barley"], True, 100.0),
        Offer("oats", "Oats", feeds["oats"], True, 150.0),
    )
    bought = {"soya": 4.0, "barley": 10.0, "oats": 0.0}
    yard: Any = SimpleNamespace(farm=SimpleNamespace(offers=offers, yard_rules=None))
    monkeypatch.setattr(rules, "ordered_t", lambda yard, offer, kg: bought[offer.id])
    monkeypatch.setattr(rules, "least_order_t", lambda of_yard, offer: 20.0)
    counted = [(offer.id, t) for offer, t in rules.counted_feeds(yard, {})]
    assert counted == [("barley", 10.0), ("soya", 4.0)]
    small = [(offer.id, t, least) for offer, t, least in rules.small_orders(yard, {})]
    assert small == [("barley", 10.0, 20.0), ("soya", 4.0, 20.0)]


def test_going_short_costs_more_than_any_feed() -> None:
    """A hundred times the dearest kilogram, while a start is looked for."""
    farm = winter_farm()
    model = WinterModel(make_yard(farm, WinterOptions(), stocks(PLENTY)))
    dearest = max(offer.price_per_kg_dm for offer in farm.offers)
    prices = [model.short_costs[part.short] / part.weight for part in model.parts]
    assert prices == pytest.approx([100.0 * dearest] * len(prices))
