"""Single figures and rules of the winter plan on paper, without planning one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest
from winter_farms import COWS, PLENTY, STORES, steady, stock, stocks, tables, winter_farm

from rationlp.farm.farm import Margins
from rationlp.farm.feed import Offer
from rationlp.farm.group import Group
from rationlp.farm.store import Face, Spread, Store
from rationlp.model.energy import LinearRow
from rationlp.model.lp import Column
from rationlp.needs import group_needs
from rationlp.wintering import answer as wintering_answer
from rationlp.wintering import choose, hold, rules, shortage
from rationlp.wintering.courses import courses, slow_faces
from rationlp.wintering.ewe_steps import step_pairs, step_rows
from rationlp.wintering.links import least_taken_t
from rationlp.wintering.parts import Run
from rationlp.wintering.remarks import _opened_early
from rationlp.wintering.search import WinterModel, put_out
from rationlp.wintering.short import tonnes_short
from rationlp.wintering.ties import tie_aims
from rationlp.wintering.yard import WinterOptions, bedding_t_dm, make_yard

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


def test_the_courses_of_two_clamps() -> None:
    """Six fortnights; at 6.3 t a fortnight one clamp of 20 t lasts three, one of 14 t two: from the
    first day, to the last, in turn, and all winter with what spoils.
    """
    fortnights = tuple(SimpleNamespace(days=14.0, number=number) for number in range(6))
    yard: Any = SimpleNamespace(
        stocks={"a": SILAGE, "b": SILAGE},
        periods=fortnights,
        free_t_dm={"a": 20.0, "b": 14.0},
        open_clamps=("a", "b"),
    )
    told = [{name: sorted(open_in) for name, open_in in one.items()} for one in courses(yard)]
    assert told == [
        {"a": [0, 1, 2], "b": [0, 1]},
        {"a": [3, 4, 5], "b": [4, 5]},
        {"a": [0, 1, 2], "b": [3, 4]},
        {"a": [0, 1, 2, 3, 4, 5], "b": [0, 1, 2, 3, 4, 5]},
    ]


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
    block: Any = SimpleNamespace(offers=())
    run = Run(block, periods=(), head=(), head_days=(), waste={"hay": 0.1})
    columns = (("feed", "hay"), ("feed", "barley"), ("short", "hay"))
    assert [put_out(run, Column(key)) for key in columns] == pytest.approx([1.0 / 0.9, 1.0, 1.0])


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


@pytest.fixture(scope="module")
def model() -> WinterModel:
    """Steady cows, one run of every period, and stores that grow, before anything is solved."""
    farm = winter_farm((steady(COWS), STORES))
    return WinterModel(make_yard(farm, WinterOptions(), stocks(PLENTY)))


def test_stores_are_used_in_the_farms_order_by_the_middle_of_a_run(model: WinterModel) -> None:
    """A store's place in the list weighs the more the later its run is, by the mean period."""
    yard = model.yard
    several = [run for run in yard.runs if len(run.periods) > 1]
    assert several
    order = tie_aims(model)[-1]
    places = [store.id for store in yard.farm.stores]
    for run in several:
        middle = (run.periods[0] + run.periods[-1]) / 2.0
        for number, offer in enumerate(run.block.offers):
            place = places.index(offer.id) + 1.0 if offer.id in places else 0.0
            fixed = 1e-3 * (number + 2.0) ** 0.5
            expected = fixed - place * (1.0 + middle) / len(yard.periods)
            found = order[run.block.feed(offer)] / (run.weight / 1000.0)
            assert found == pytest.approx(expected)


def test_a_shortage_of_energy_is_held_by_the_tangent_of_the_share_met(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The share is E over the need at q = E/(18.8 D): its slopes by differences, its value at the
    point.
    """
    own = WinterModel(make_yard(winter_farm((steady(COWS),)), WinterOptions(), stocks(PLENTY)))
    shortage._open(own)
    held: list[LinearRow] = []
    monkeypatch.setattr(own, "hold_energy", lambda number, row, low, high: held.append(row))
    monkeypatch.setattr(own, "hold_level", lambda *given: None)
    need = own.singles[0].need
    assert need is not None

    def share(me: float, dm: float) -> float:
        return me / need.required_mj(me / dm / 18.8)

    me, dm, step = 90.0, 9.0, 1e-4
    by_me = (share(me + step, dm) - share(me - step, dm)) / (2.0 * step)
    by_dm = (share(me, dm + step) - share(me, dm - step)) / (2.0 * step)
    shortage._hold(own, 0, (me, dm), {})
    (row,) = held
    assert row.slope == pytest.approx(-by_dm / by_me, rel=1e-5)
    assert row.level == pytest.approx(me - row.slope * dm + (1.0 - share(me, dm)) / by_me, rel=1e-5)


def test_protein_that_is_missed_costs_by_the_share_of_the_need() -> None:
    """Days and heads over the MP that a head needs, so that a share of any need weighs the same."""
    own = WinterModel(make_yard(winter_farm((steady(COWS),)), WinterOptions(), stocks(PLENTY)))
    costs = shortage._open(own)
    single = own.singles[0]
    (key,) = [key for key in costs if "protein" in key]
    assert costs[key] == pytest.approx(single.weight / (single.block.needs.mp_required_g or 0.0))


def test_runs_that_follow_one_another_hold_a_ration() -> None:
    """Stores that grow have a run a period: each holds with the next within four weeks."""
    own = WinterModel(make_yard(winter_farm((STORES,)), WinterOptions(), stocks(PLENTY)))
    assert len(own.runs) >= 4
    pairs = list(hold._pairs(own))
    assert pairs
    assert all(after == before + 1 for before, after in pairs)


def test_feed_costs_count_what_is_put_out() -> None:
    """2 kg at 0.1 a kg, a tenth wasted, and 1 kg at 0.3, for 500 head-days in two runs."""
    offers = (
        SimpleNamespace(id="hay", price_per_kg_dm=0.1),
        SimpleNamespace(id="meal", price_per_kg_dm=0.3),
    )
    block = SimpleNamespace(group=SimpleNamespace(id="cows"), offers=offers)
    waste = {"hay": 1.0 / 0.9, "meal": 1.0}
    run = SimpleNamespace(block=block, weight=500.0, put_out=lambda offer: waste[offer.id])
    trial: Any = SimpleNamespace(
        model=SimpleNamespace(runs=[run, run]), kg_of_run=lambda number: {"hay": 2.0, "meal": 1.0}
    )
    assert hold.feed_costs(trial) == pytest.approx({"cows": 1000.0 * (0.2 / 0.9 + 0.3)})


def test_bedding_is_kilograms_times_head_days_in_dry_matter() -> None:
    """3 kg of straw at 860 g for 400 head-days of two parts of a group: 1.032 t, in their period
    alone.
    """
    offer = SimpleNamespace(id="straw", feed=SimpleNamespace(dm_g_per_kg=860.0))
    beds = [
        SimpleNamespace(store="straw", group="cows", kg_fresh=3.0),
        SimpleNamespace(store="other", group="cows", kg_fresh=9.0),
    ]
    farm: Any = SimpleNamespace(offers=[offer], beddings=beds)
    groups = (("cows", None), ("cows_calved", "cows"), ("ewes", None))
    runs: Any = [
        SimpleNamespace(
            block=SimpleNamespace(group=SimpleNamespace(id=name, origin=origin)),
            periods=(1,), head_days=(200.0,),
        )
        for name, origin in groups
    ]  # fmt: skip
    periods: Any = [SimpleNamespace(number=number) for number in (0, 1)]
    assert bedding_t_dm(farm, "straw", periods, runs) == pytest.approx((0.0, 1.032))


def test_what_is_bought_is_listed_with_its_tonnes_and_cost(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """1 and 2 t DM at 860 g are 3.49 t at 200; a feed that none is bought of is left out."""
    offers = (
        Offer("barley", "Barley", tables()["barley"], True, 200.0),
        Offer("oats", "Oats", tables()["oats"], True, 200.0),
        Offer("hay", "Hay", tables()["hay_average"], False, 90.0),
    )
    bought = {"barley": (1.0, 2.0), "oats": (0.0, 0.0), "hay": (5.0, 5.0)}
    monkeypatch.setattr(
        wintering_answer, "_by_period", lambda yard, model, values, id_: bought[id_]
    )
    yard: Any = SimpleNamespace(farm=SimpleNamespace(offers=offers))
    plan: Any = SimpleNamespace(live=SimpleNamespace(column_index={}))
    (barley,) = wintering_answer._purchases(yard, plan, ())
    dm = tables()["barley"].dm_g_per_kg / 1000.0
    assert barley.cost == pytest.approx(3.0 / dm * 200.0)


def test_no_concentrate_or_as_much_as_a_trough_needs(
    monkeypatch: pytest.MonkeyPatch, model: WinterModel
) -> None:
    """In kg fresh: 1000 over its g of dry matter for a kg DM of each concentrate, against the least
    of the class, here 2 kg, where any is fed.
    """
    monkeypatch.setattr(choose, "practice_figure", lambda key, name: 2.0)
    rows = {}
    search: Any = SimpleNamespace(
        model=model,
        bounds={},
        choose=lambda number, what: ("chosen", number, what),
        values=[10.0] * len(model.live.column_index),
        index=model.live.column_index,
        row=lambda key, coefs, low, high: rows.setdefault(key[0], (coefs, low, high)),
    )
    run = model.runs[0]
    choose._least_in_all(search, 0)
    coefs, low, _ = rows["all_least"]
    for offer in run.block.offers:
        if offer.feed.is_concentrate:
            assert coefs[run.block.feed(offer)] == pytest.approx(1000.0 / offer.feed.dm_g_per_kg)
    assert coefs["chosen", "0", "concentrate"] == pytest.approx(-2.0, rel=0.002)
    assert low == 0.0
