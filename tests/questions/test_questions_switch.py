"""Questions that a farmer asks across a winter, about switching and worth: the command typed, its
figure checked another way.
"""

from __future__ import annotations

import csv
import io
import json
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.ration import make_blocks
from rationlp.model.rows.block import Block
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def asked(*words: str) -> dict[str, Any]:
    """The answer of a command as a document."""
    done = CliRunner().invoke(app, [*words, "--format", "json"])
    assert done.exit_code == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def block_of(farm: Farm, group: str, day: str | None = None) -> Block:
    """A group of an example farm on a day."""
    from datetime import date

    today = farm_on(farm) if day is None else farm_on(farm, date.fromisoformat(day))
    return make_blocks(today, [group])[0]


def solved(block: Block, **prices: float) -> Optimum:
    """The proven ration with prices changed [currency/t fresh]."""
    offers = tuple(
        replace(o, price_per_t_fresh=prices.get(o.id, o.price_per_t_fresh)) for o in block.offers
    )
    found = solve_block(replace(block, offers=offers))
    assert isinstance(found, Optimum)
    return found


def bought_too(farm: Farm, key: str) -> Farm:
    """The farm with a feed of the tables for sale, at a price that a test sets."""
    feed = farm.feeds[key]
    from rationlp.rules.blanks import complete

    return replace(
        farm, offers=(*farm.offers, Offer(key, feed.name, complete(feed), True, 20_000.0))
    )


def test_question_7_is_bought_maize_silage_worth_it() -> None:
    """At what price do I stop? Below it the weanlings' ration holds bought maize silage, above it
    none, solved afresh.
    """
    folder = EXAMPLES / "short"
    key = "maize_silage_typical"
    document = asked("worth", str(folder), "--feed", key, "--group", "weanlings")
    stop = document["feeds"][0]["turns_at"]
    block = block_of(bought_too(read_farm(folder), key), "weanlings")
    assert solved(block, **{key: stop - 0.3}).values[key] > 1e-4
    assert solved(block, **{key: stop + 0.3}).values[key] <= 1e-6
    assert 20.0 < stop < 120.0


def test_question_8_break_even_of_bales() -> None:
    """Bales of 650 kg at 40: the tonne is 61.5, and the answer prices the bale; buying pays only
    where that is above 40.
    """
    folder = EXAMPLES / "short"
    key = "grass_silage_big_bale"
    document = asked(
        "worth", str(folder), "--feed", "silage_bought", "--group", "weanlings", "--lot", "0.65"
    )
    assert document["lot_t_fresh"] == 0.65
    worth = document["feeds"][0]["turns_at"]
    block = block_of(read_farm(folder), "weanlings")
    assert next(offer for offer in block.offers if offer.id == "silage_bought").feed.key == key
    at_forty = solved(block, silage_bought=40.0 / 0.65).values["silage_bought"]
    assert (at_forty > 1e-6) == (worth * 0.65 > 40.0)


def test_question_9_a_standing_crop() -> None:
    """What can I pay a hectare of wholecrop that brings 28 t fresh to the trough: that many tonnes
    at the price where it comes in.
    """
    folder = EXAMPLES / "short"
    key = "wholecrop_wheat_fermented"
    done = CliRunner().invoke(
        app,
        ["worth", str(folder), "--feed", key, "--group", "cows", "--lot", "28", "--format", "csv"],
    )
    assert done.exit_code == 0
    cells = next(iter(csv.DictReader(io.StringIO(done.stdout))))
    tonne = asked("worth", str(folder), "--feed", key, "--group", "cows")["feeds"][0]["turns_at"]
    assert float(cells["lot_value"]) == pytest.approx(28.0 * tonne)
    block = block_of(bought_too(read_farm(folder), key), "cows")
    assert solved(block, **{key: tonne - 0.3}).values[key] > 1e-4
    assert solved(block, **{key: tonne + 0.3}).values[key] <= 1e-6


def test_question_10_sell_maize_or_feed_it() -> None:
    """What a tonne of maize in the clamp takes the place of: sell above it, feed below. A plan with
    50 kg less costs the same.
    """
    folder = EXAMPLES / "dairy"
    document = asked("worth", str(folder), "--feed", "maize", "--group", "high")
    assert document["stores"] == []
    document = asked("worth", str(folder), "--feed", "maize")
    store = document["stores"][0]
    farm = read_farm(folder)
    stocks = farm_stocks(farm)
    edible = stocks["maize"].edible_t_dm
    less = {
        **stocks,
        "maize": replace(
            stocks["maize"], edible_t_dm=replace(edible, typical=edible.typical - 0.05)
        ),
    }
    plain = WinterOptions(faces="off", prove=False)
    before, after = (solve_winter(farm, plain, held).proof for held in (stocks, less))
    assert before is not None
    assert after is not None
    lost = (after.cost - before.cost) / 0.05
    assert store["marginal"] == pytest.approx(lost, abs=1e-6)
    maize = next(offer for offer in farm.offers if offer.id == "maize")
    # Maize is left over at turnout: a tonne more takes the place of nothing, and is worth what it
    # would fetch.
    assert lost == pytest.approx(0.0, abs=1e-6)
    assert maize.price_per_kg_dm > 0.0
    assert store["replaces_per_t_fresh"] == 0.0


def test_question_12_from_grass_to_maize() -> None:
    """A cow, a litre, how many days: the two ends solved afresh with the other forages barred, over
    34 kg of milk.
    """
    folder = EXAMPLES / "dairy"
    document = asked(
        "switch", str(folder), "--from", "first_cut", "--to", "maize", "--group", "high"
    )
    group = document["groups"][0]
    block = block_of(read_farm(folder), "high")
    costs = []
    for only in ("first_cut", "maize"):
        offers = tuple(
            o
            for o in block.offers
            if o.id == only or o.feed.kind == "straw" or not o.feed.is_forage
        )
        found = solved(replace(block, offers=offers))
        costs.append(sum(found.values[offer.id] * offer.price_per_kg_dm for offer in offers))
    assert group["whole_change"] == pytest.approx(costs[1] - costs[0], abs=1e-3)
    assert group["cost_per_kg_milk"] == pytest.approx((costs[1] - costs[0]) / 34.0, abs=1e-4)
    assert group["change"]["days"] >= 10
    assert any("7 to 10 days" in said for said in group["change"]["sentences"])


def test_question_26_soya_goes_up_by_sixty() -> None:
    """There is no soya in their ration: 60 dearer nothing moves. It would come in below its own
    price, and rape meal goes out above its own.
    """
    folder = EXAMPLES / "dairy"
    document = asked(
        "worth",
        str(folder),
        "--feed",
        "soya_meal_48",
        "--feed",
        "rapeseed_meal_extracted",
        "--group",
        "high",
    )
    soya, rape = document["feeds"]
    block = block_of(read_farm(folder), "high")
    now, dearer = solved(block).values, solved(block, soya_meal_48=445.0).values
    moved = max(abs(dearer[key] - now[key]) for key in now)
    assert (soya["kg_dm"], soya["same_high"]) == (0.0, None)
    assert moved < 1e-6
    assert solved(block, soya_meal_48=soya["turns_at"] - 0.3).values["soya_meal_48"] > 1e-4
    assert solved(block, soya_meal_48=soya["turns_at"] + 0.3).values["soya_meal_48"] <= 1e-6
    assert (
        solved(block, rapeseed_meal_extracted=rape["turns_at"] - 0.3).values[
            "rapeseed_meal_extracted"
        ]
        > 1e-4
    )
    assert (
        solved(block, rapeseed_meal_extracted=rape["turns_at"] + 0.3).values[
            "rapeseed_meal_extracted"
        ]
        <= 1e-6
    )


@pytest.mark.parametrize("group", ["singles", "twins"])
def test_question_27_better_silage_or_more_concentrate_before_lambing(group: str) -> None:
    """Three weeks before lambing, from late hay to good bales: the dearer end and the bought feed
    at both, solved afresh.
    """
    folder = EXAMPLES / "hill"
    day = "2027-03-15"
    words = ["--from", "late_hay", "--to", "good_bales", "--group", group, "--on", day]
    answer = asked("switch", str(folder), *words)["groups"][0]
    block = block_of(read_farm(folder), group, day)
    for point in (answer["points"][0], answer["points"][-1]):
        only = "late_hay" if point["share"] < 0.5 else "good_bales"
        if point["share"] in (0.0, 1.0):
            # The other forage stays at hand at a price that nobody pays: how much forage
            # concentrate pushes out goes by the one at hand that gives way most.
            other = {"late_hay", "good_bales"} - {only}
            offers = tuple(
                o
                for o in block.offers
                if o.id in (only, *other) or o.feed.kind == "straw" or not o.feed.is_forage
            )
            found = solved(replace(block, offers=offers), **dict.fromkeys(other, 1e5))
            assert point["cost"] == pytest.approx(found.objective, rel=1e-4)
            bought = sum(found.values[o.id] * o.price_per_kg_dm for o in offers if o.bought)
            assert point["bought_cost"] == pytest.approx(bought, abs=2e-3)
    assert answer["points"][-1]["share"] == 1.0


def test_a_farm_of_ones_own_is_answered_like_an_example(tmp_path: Path) -> None:
    """The same folder elsewhere gives the same document."""
    shutil.copytree(EXAMPLES / "dairy", tmp_path / "mine")
    words = ["--from", "first_cut", "--to", "maize", "--group", "finishers"]
    assert asked("switch", str(tmp_path / "mine"), *words) == asked(
        "switch", str(EXAMPLES / "dairy"), *words
    )
