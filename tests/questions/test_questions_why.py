"""Questions that a farmer asks over a winter, as the command that answers them, each figure found
again another way.
"""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.farm.farm import Farm
from rationlp.farm.group import FeedLimit
from rationlp.folders import examples_folder
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.ration import make_blocks
from rationlp.needs import expected_gain
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm

EXAMPLES = examples_folder()


def answer(*words: str) -> dict[str, Any]:
    """What a command answers, as JSON."""
    done = CliRunner().invoke(app, [*words, "--format", "json"])
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def farm(name: str) -> Farm:
    """An example on its first day."""
    return farm_on(read_farm(EXAMPLES / name))


def cost(of: Farm, group: str, **price: float) -> float:
    """The least cost of a group with some prices changed [a head a day]."""
    block = make_blocks(of, [group])[0]
    offers = tuple(
        replace(one, price_per_t_fresh=price.get(one.id, one.price_per_t_fresh))
        for one in block.offers
    )
    found = solve_block(replace(block, offers=offers))
    assert isinstance(found, Optimum)
    return found.objective


def test_question_6_which_group_should_get_the_poorer_silage() -> None:
    """`ration --explain`: the second cut is near to coming in for the dry cows alone, not for the
    high yielders.

    Found again: with the first cut taken away, the dry cows' ration gets dearer by less a head than
    the high yielders'.
    """
    near = {}
    for group in answer("ration", str(EXAMPLES / "dairy"), "--explain")["groups"]:
        for one in group["why"]["near"]:
            if one["offer"] == "second_cut":
                near[group["group"]] = one["change"]
    assert list(near) == ["dry"]
    dairy = farm("dairy")
    dearer = {}
    for group in ("dry", "high"):
        block = make_blocks(dairy, [group])[0]
        without = replace(block, offers=tuple(one for one in block.offers if one.id != "first_cut"))
        found = solve_block(without)
        assert isinstance(found, Optimum)
        dearer[group] = found.objective - cost(dairy, group)
    assert 0.0 <= dearer["dry"] < dearer["high"]


def test_question_11_finishing_on_maize_and_straw_with_what_protein(tmp_path: Path) -> None:
    """`ration` after the grass silage is gone: mostly maize silage, and a protein feed that brings
    the crude protein up.

    Found again: the crude protein of the mix by hand, with and without the protein feed.
    """
    folder = tmp_path / "farm"
    shutil.copytree(EXAMPLES / "dairy", folder)
    path = folder / "farm.toml"
    head, tail = path.read_text(encoding="utf-8").split('id = "finishers"')
    kept_out = [
        "first_cut",
        "second_cut",
        "hay",
        "barley",
        "wheat",
        "dairy_nuts",
        "beet_pulp_molassed_dry",
    ]
    tail = f'id = "finishers"\nbarred = {json.dumps(kept_out)}{tail}'
    path.write_text(head + tail, encoding="utf-8")
    found = answer("ration", str(folder), "--group", "finishers")
    given = {one["offer"]: one["kg_dm"] for one in found["groups"][0]["amounts"]}
    protein = {
        offer["id"]: offer["feed"]["figures"]["cp_g_per_kg_dm"]["value"]
        for offer in found["offers"]
    }
    assert given["maize"] > 4.0
    asked = next(
        one["low"] for one in found["groups"][0]["supply"] if one["quantity"] == "cp_g_per_kg_dm"
    )
    rich = [key for key in given if protein[key] > 250.0]
    assert rich

    def crude(keys: list[str]) -> float:
        return sum(given[key] * protein[key] for key in keys) / sum(given[key] for key in keys)

    assert crude(list(given)) >= asked - 1e-6
    assert crude([key for key in given if key not in rich]) < asked - 10.0


def test_question_13_how_much_straw_can_a_dry_cow_take() -> None:
    """`ration --explain`: how far straw could go at 1 % more cost; with half a kg more the ration
    is dearer than that.
    """
    group = answer("ration", str(EXAMPLES / "dairy"), "--group", "dry", "--explain")["groups"][0]
    straw = next(one for one in group["why"]["ranges"] if one["offer"] == "straw")
    beside = {one["offer"] for one in group["amounts"]} - {"straw"}
    assert "first_cut" in beside
    block = make_blocks(farm("dairy"), ["dry"])[0]
    least = solve_block(block)
    assert isinstance(least, Optimum)

    def with_straw(kg: float) -> float:
        held = (*block.group.feed_limits, FeedLimit("straw", min_kg_fresh=kg))
        found = solve_block(replace(block, group=replace(block.group, feed_limits=held)))
        return found.objective if isinstance(found, Optimum) else float("inf")

    assert with_straw(straw["most_kg_fresh"]) <= 1.0101 * least.objective
    assert with_straw(straw["most_kg_fresh"] + 0.5) > 1.0101 * least.objective


def test_question_16_how_long_thirty_bales_last_the_ewes() -> None:
    """`ration`: kg fresh a head times the head; the bales' weight over that. Found again from dry
    matter and the bale's own.
    """
    found = answer("ration", str(EXAMPLES / "hill"), "--group", "dry_ewes")
    group = found["groups"][0]
    bale = next(one for one in group["amounts"] if one["offer"] == "good_bales")
    days = 30 * 500.0 / (bale["kg_fresh"] * group["head"])
    dm = next(offer for offer in found["offers"] if offer["id"] == "good_bales")["feed"]["figures"][
        "dm_g_per_kg"
    ]["value"]
    assert days == pytest.approx(30 * 500.0 * dm / 1000.0 / (bale["kg_dm"] * group["head"]))
    assert (
        0.5
        < bale["kg_dm"]
        + sum(one["kg_dm"] for one in group["amounts"] if one["offer"] != "good_bales")
        < 2.5
    )


def test_question_32_heifers_on_the_worst_silage(tmp_path: Path) -> None:
    """`supply` with second cut alone: the gain that its energy carries. Found again by the growth
    equations asked backwards.
    """
    fed = tmp_path / "fed.csv"
    fed.write_text("group,feed,kg_dm\nyoung,second_cut,7.0\n", encoding="utf-8")
    group = answer("supply", str(EXAMPLES / "dairy"), str(fed))["groups"][0]
    carried = group["why"]["carried"]
    dairy = farm("dairy")
    animal = next(one for one in dairy.groups if one.id == "young")
    feed = next(one.feed for one in dairy.offers if one.id == "second_cut")
    me = 7.0 * (feed.value("me_mj_per_kg_dm") or 0.0)
    assert carried["by_energy"] == pytest.approx(expected_gain(animal, me, 7.0), rel=1e-9)
    assert carried["asked"] == animal.number("gain_kg_per_day")
