"""What a farmer asks across a winter: the command a person types, and the figure worked out another
way.

Scenarios are held against the farm file changed by hand in a folder of its own and solved by
itself; where the question is one of arithmetic, against that arithmetic.
"""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.errors import Faults
from rationlp.farm.farm import Farm
from rationlp.folders import examples_folder
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.read.feeds import overlay_own
from rationlp.rules.blanks import complete
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions


def asked(*words: str) -> dict[str, Any]:
    """The JSON answer to a command."""
    done = CliRunner().invoke(app, [*words, "--format", "json"])
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def example(name: str) -> str:
    """The folder of an example farm."""
    return str(examples_folder() / name)


def by_hand(folder: Path, name: str, *pieces: tuple[str, str, str]) -> Path:
    """An example farm in a folder of its own, with pieces of its files replaced: file, old text
    (once there), new text.
    """
    made = folder / f"{name}-by-hand"
    shutil.copytree(example(name), made)
    for file, old, new in pieces:
        text = (made / file).read_text(encoding="utf-8")
        assert text.count(old) == 1, (old, text.count(old))
        (made / file).write_text(text.replace(old, new), encoding="utf-8")
    return made


def planned(folder: Path) -> WinterPlan:
    """The cheapest plan of a farm folder."""
    return solve_winter(read_farm(folder), WinterOptions(tidy=False))


@lru_cache(maxsize=2)
def as_it_stands(name: str) -> WinterPlan:
    """The cheapest plan of an example farm, solved once for all questions."""
    return planned(Path(example(name)))


def poorer(farm: Farm) -> Farm:
    """The farm with a second cut of 9.6 MJ and 25 % dry matter, laid over its sheet by hand."""
    offers = []
    for offer in farm.offers:
        figures = {"me_mj_per_kg_dm": 9.6, "dm_g_per_kg": 250.0}
        changed = (
            complete(overlay_own(offer.feed, figures, Faults("by hand")))
            if offer.id == "second_cut"
            else offer.feed
        )
        offers.append(replace(offer, feed=changed))
    return replace(farm, offers=tuple(offers))


def test_question_5_my_second_cut_analysed_poorly() -> None:
    """Low ME and wet: what it costs in the winter, and what in whose ration."""
    change = ["--set", "second_cut.me_mj_per_kg_dm=9.6", "--set", "second_cut.dm_g_per_kg=250"]
    winter = asked("whatif", example("dairy"), *change)["scenarios"][0]
    farm = read_farm(Path(example("dairy")))
    poor, now = solve_winter(poorer(farm), WinterOptions(tidy=False)), as_it_stands("dairy")
    assert poor.cost is not None
    assert now.cost is not None
    assert winter["cost"] == pytest.approx(poor.cost, rel=1e-9)
    assert winter["more_than_now"] == pytest.approx(poor.cost - now.cost, rel=1e-6)
    assert winter["more_than_now"] > 1000.0
    groups = asked("whatif", example("dairy"), *change, "--group", "young", "--group", "finishers")[
        "scenarios"
    ]
    for one in groups:
        ration = solve_rations(farm_on(poorer(farm)), {one["group"]}).groups[0]
        assert one["cost"] == pytest.approx(ration.feed_cost, rel=1e-9)


def test_question_14_a_kg_less_concentrate(tmp_path: Path) -> None:
    """A kg less of nuts for the late cows: how much more silage goes, and for how many fewer days
    it lasts.
    """
    set_to = [f"late.feed_limits.dairy_nuts.{side}_kg_fresh=1" for side in ("min", "max")]
    words = ["--group", "late", *(word for text in set_to for word in ("--set", text))]
    found = asked("whatif", example("dairy"), *words)
    now, less = found["now"][0], found["scenarios"][0]
    fed = [each["fed"] for each in (now, less)]
    assert fed[0]["dairy_nuts"] - fed[1]["dairy_nuts"] == pytest.approx(1.0, abs=1e-6)
    farm = read_farm(
        by_hand(
            tmp_path,
            "dairy",
            ("farm.toml", "min_kg_fresh = 2.0 ", "max_kg_fresh = 1.0\nmin_kg_fresh = 1.0 "),
        )
    )
    ration = solve_rations(farm_on(farm), {"late"}).groups[0]
    silages = ("first_cut", "second_cut", "maize")
    kg = {one.offer: one.kg_fresh for one in ration.amounts}
    more = sum(fed[1].get(name, 0.0) - fed[0].get(name, 0.0) for name in silages)
    assert sum(fed[1].get(name, 0.0) for name in silages) == pytest.approx(
        sum(kg.get(name, 0.0) for name in silages), rel=1e-6
    )
    # A kg of nuts is 0.88 kg DM; as much silage DM at about 30 % would be 2.9 kg fresh, less
    # because other feeds come in.
    assert 0.0 < more < 6.0


def test_question_19_what_each_group_costs_a_day_a_litre_and_a_kg_of_gain() -> None:
    """From the plan's own amounts and the prices of the farm file."""
    found = asked("winter", example("dairy"))
    prices = {one["id"]: one["price_per_kg_dm"] for one in found["offers"]}
    days = [period["days"] for period in found["periods"]]
    money = {one["group"]: one for one in found["money"]}
    for group in ("high", "young"):
        rations = [one for one in found["rations"] if one["origin"] == group]
        cost = sum(
            one["head"] * days[one["period"]] * sum(
                amount["kg_dm"]
                * prices[amount["offer"]]
                / (1.0 - one["waste"].get(amount["offer"], 0.0))
                for amount in one["amounts"]
            )
            for one in rations
        )  # fmt: skip
        head_days = sum(one["head"] * days[one["period"]] for one in rations)
        assert money[group]["feed_cost"] == pytest.approx(cost, rel=1e-6)
        assert money[group]["per_head_day"] == pytest.approx(cost / head_days, rel=1e-6)
    # 62 cows giving 34 kg, 1.03 kg a litre.
    litres = 62 * sum(days) * 34.0 / 1.03
    assert money["high"]["per_litre"] == pytest.approx(
        money["high"]["feed_cost"] / litres, rel=1e-3
    )
    assert money["young"]["per_kg_gain"] > 0.0


def test_question_20_how_much_of_the_diet_is_home_grown() -> None:
    """Dry matter out of the stores over all dry matter eaten, from the stores' own balance."""
    found = asked("winter", example("beef"))
    total = next(one for one in found["money"] if one["group"] == "")
    home = sum(sum(store["eaten_t_dm"]) for store in found["stores"])
    # The bulls leave within a period, on the day that they reach their sale weight.
    bulls = next(group for group in read_farm(Path(example("beef"))).groups if group.id == "bulls")
    eaten = 0.0
    for one in found["rations"]:
        period = found["periods"][one["period"]]
        days = period["days"]
        if one["group"] == "bulls" and bulls.out is not None:
            days = min(days, (bulls.out - date.fromisoformat(period["first"])).days)
        eaten += one["head"] * days * one["dm_kg"] / 1000.0
    assert total["home_share_of_dm"] == pytest.approx(home / eaten, rel=1e-6)
    assert 0.7 < total["home_share_of_dm"] < 1.0


def test_question_21_what_must_be_bought_for_the_whole_winter() -> None:
    """The buying list covers what the rations hold, month by month, and no load is larger than a
    load.
    """
    found = asked("winter", example("dairy"))
    wet = {
        one["id"]: 1000.0 / one["feed"]["figures"]["dm_g_per_kg"]["value"]
        for one in found["offers"]
        if one["bought"]
    }
    days = [period["days"] for period in found["periods"]]
    for purchase in found["purchases"]:
        eaten = sum(
            one["head"] * days[one["period"]] * amount["kg_dm"] * wet[purchase["offer"]] / 1000.0
            for one in found["rations"]
            for amount in one["amounts"]
            if amount["offer"] == purchase["offer"]
        )
        assert sum(purchase["t_fresh"]) == pytest.approx(eaten, rel=1e-6)
    barley = [one for one in found["buying_list"] if one["offer"] == "barley"]
    assert sum(one["t_fresh"] for one in barley) == pytest.approx(
        sum(next(one["t_fresh"] for one in found["purchases"] if one["offer"] == "barley")),
        rel=1e-6,
    )


def test_question_28_store_cattle_keep_or_sell_now() -> None:
    """What keeping them costs in feed: the winter with and without them, to be held against what
    they would bring.
    """
    found = asked("whatif", example("beef"), "--set", "weaned.out=2026-11-02")
    saved = -found["scenarios"][0]["more_than_now"]
    farm = read_farm(Path(example("beef")))
    without = solve_winter(
        replace(farm, groups=tuple(group for group in farm.groups if group.id != "weaned")),
        WinterOptions(tidy=False),
    )
    with_them = as_it_stands("beef")
    assert without.cost is not None
    assert with_them.cost is not None
    # They are still fed on the first day.
    a_day = 38 * 1.5
    assert with_them.cost - without.cost - a_day <= saved <= with_them.cost - without.cost + a_day
    assert saved > 5000.0


def test_question_29_how_much_to_carry_over(tmp_path: Path) -> None:
    """A tenth of the first cut kept back, and a fifth: what each costs this winter."""
    farm = read_farm(Path(example("dairy")))
    fresh = 608.0
    found = asked(
        "whatif",
        example("dairy"),
        "--set",
        f"first_cut.reserve_t_fresh={fresh / 10}:{fresh / 5}:{fresh / 10}",
    )
    costs = [one["more_than_now"] for one in found["scenarios"]]
    assert 0.0 < costs[0] < costs[1]
    kept = tuple(
        replace(store, reserve_t_fresh=fresh / 10) if store.id == "first_cut" else store
        for store in farm.stores
    )
    again = solve_winter(replace(farm, stores=kept), WinterOptions(tidy=False))
    assert again.cost == pytest.approx(found["scenarios"][0]["cost"], rel=1e-9)
    # Worth a tonne of DM: at least what the last tonne is worth now, since the next is never worth
    # less.
    plan = solve_winter(farm, WinterOptions(faces="off", tidy=False))
    worth = next(store.marginal for store in plan.stores if store.store == "first_cut")
    dry = next(offer.feed.dm_g_per_kg for offer in farm.offers if offer.id == "first_cut") / 1000.0
    price = next(offer.price_per_t_fresh for offer in farm.offers if offer.id == "first_cut")
    assert worth is not None
    assert costs[0] > 0.0
    assert costs[0] + fresh / 10 * price >= 0.9 * worth * fresh / 10 * dry


def test_question_30_how_many_hectares_with_a_tenth_in_reserve() -> None:
    """Tonnes used times 1.1, over the yield that reaches the trough; and no cheaper with a hectare
    less of maize.
    """
    found = asked("grow", example("dairy"), "--reserve", "0.1")
    farm = read_farm(Path(example("dairy")))
    for one in found["crops"]:
        crop = next(crop for crop in farm.growing if crop.id == one["crop"])
        assert one["hectares"] == pytest.approx(
            1.1 * one["used_t_dm"] / (crop.yield_t_dm_per_ha * (1.0 - crop.losses)), rel=1e-5
        )
    maize = next(one["hectares"] for one in found["crops"] if one["crop"] == "maize")
    assert 5.0 < maize < 30.0


def test_question_30_a_hectare_less_of_the_best_crop_costs_more(tmp_path: Path) -> None:
    """The hectares found are the cheapest: two less of maize, and the winter is dearer."""
    found = asked("grow", example("dairy"))
    maize = next(one["hectares"] for one in found["crops"] if one["crop"] == "maize")
    held = by_hand(tmp_path, "dairy", ("farm.toml", "most_ha = 30", f"most_ha = {maize - 2.0:.4f}"))
    less = asked("grow", str(held))
    assert less["cost"] + less["penalty"] > found["cost"] + found["penalty"]


def test_question_31_what_waste_cost_me(tmp_path: Path) -> None:
    """The winter with nothing lost at surface, face and trough of the first cut, beside the winter
    as it is.
    """
    words = [
        word
        for name in ("surface", "face", "trough")
        for word in ("--set", f"first_cut.loss_{name}=0")
    ]
    found = asked("whatif", example("dairy"), *words)["scenarios"][0]
    none = "loss_surface = 0\nloss_face = 0\nloss_trough = 0\nfilled = 2026-05-21"
    hand = planned(by_hand(tmp_path, "dairy", ("farm.toml", "filled = 2026-05-21", none)))
    assert hand.cost == pytest.approx(found["cost"], rel=1e-9)
    farm = read_farm(Path(example("dairy")))
    plan = solve_winter(farm, WinterOptions(faces="off", tidy=False))
    store = next(one for one in plan.stores if one.store == "first_cut")
    # 1 / (0.97 · 0.97) as much can be eaten, and 1 / 0.97 of that again is not left at the trough:
    # 9 % in all.
    saved_t = store.held_t_dm.typical * (1.0 / 0.97**2 - 1.0) + sum(store.wasted_t_dm)
    assert saved_t == pytest.approx(0.09 * store.held_t_dm.typical / 0.97**2, rel=0.05)
    assert store.marginal is not None
    price = next(offer.price_per_kg_dm for offer in farm.offers if offer.id == "first_cut") * 1000.0
    # The more there is the less the next tonne is worth, so its worth today is the most that a
    # tonne saved can bring; what is no longer left at the trough was paid for already.
    most = store.marginal * saved_t + price * sum(store.wasted_t_dm)
    assert 0.5 * most < -found["more_than_now"] <= 1.01 * most
    assert plan.periods[0].first == date(2026, 10, 15)
