"""What a farmer asks of his stores across a winter, as he would type it; each figure is worked out
here once more.
"""

from __future__ import annotations

import json
import shutil
from datetime import date, timedelta
from math import radians, tan
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.folders import examples_folder

FARMS = examples_folder()
START, TURNOUT = date(2026, 10, 15), date(2027, 4, 10)
WASTE = 0.03
FED = {
    "high": (62, {"first_cut": 24.0, "maize": 20.0}),
    "late": (70, {"first_cut": 30.0, "maize": 12.0}),
}
"""Head and kg fresh a head a day of the dairy example's fed.csv, silages only."""
MAIZE_OPENS = date(2026, 10, 29)
"""A fortnight begins, four weeks and more after it was filled on 28 September."""
DM = {"first_cut": 0.312, "maize": 0.324}


def asked(*words: str) -> dict[str, Any]:
    """The JSON answer of a command."""
    result = CliRunner(env={"COLUMNS": "80"}).invoke(app, [*words, "--format", "json"])
    assert result.exit_code == 0, result.stderr
    document: dict[str, Any] = json.loads(result.stdout)
    return document


def store_of(answer: dict[str, Any], name: str, days: int = 0) -> dict[str, Any]:
    """One store of `last`, under the turnout so many days later."""
    spring = next(one for one in answer["springs"] if one["days"] == days)
    found: dict[str, Any] = next(one for one in spring["stores"] if one["store"] == name)
    return found


def drawn_t_dm_a_day(name: str, share: float = 1.0) -> float:
    """What the fed ration takes out of a store a day, waste at the trough included [t DM]."""
    kg = sum(head * kg.get(name, 0.0) for head, kg in FED.values()) * DM[name] * share
    return kg / (1.0 - WASTE) / 1000.0


def runs_out(edible: float, a_day: float) -> date:
    """The day on which a store is empty."""
    return START + timedelta(days=int(edible / a_day))


def test_1_will_my_silage_see_me_to_turnout() -> None:
    """ "Will my silage see me to turnout, and on which date does each forage run out?" """
    answer = asked("last", str(FARMS / "dairy"), "--fed", str(FARMS / "dairy" / "fed.csv"))
    held = {
        one["store"]: one["edible_t_dm"] for one in asked("clamp", str(FARMS / "dairy"))["stocks"]
    }
    one = store_of(answer, "first_cut")
    for how in ("low", "typical"):
        expected = runs_out(held["first_cut"][how], drawn_t_dm_a_day("first_cut"))
        assert abs((date.fromisoformat(one["runs_out"][how]) - expected).days) <= 1
    days = (TURNOUT - START).days
    short = drawn_t_dm_a_day("first_cut") * days - held["first_cut"]["typical"]
    assert one["short_t_dm"]["typical"] == pytest.approx(short, abs=0.05)
    maize = store_of(answer, "maize")
    left = held["maize"]["typical"] - drawn_t_dm_a_day("maize") * days
    assert left > 0.0
    assert maize["left"][-1]["t_dm"]["typical"] == pytest.approx(left, abs=0.05)


def test_2_turnout_is_three_weeks_late() -> None:
    """ "Turnout is three weeks late - what then?" """
    answer = asked("last", str(FARMS / "dairy"), "--fed", str(FARMS / "dairy" / "fed.csv"))
    more = drawn_t_dm_a_day("first_cut") * 21
    late, now = store_of(answer, "first_cut", 21), store_of(answer, "first_cut")
    assert late["turnout"] == (TURNOUT + timedelta(days=21)).isoformat()
    assert late["short_t_dm"]["typical"] - now["short_t_dm"]["typical"] == pytest.approx(
        more, abs=0.05
    )
    early = store_of(answer, "maize", -21)["left"][-1]["t_dm"]["typical"]
    left = store_of(answer, "maize")["left"][-1]["t_dm"]["typical"]
    assert early - left == pytest.approx(drawn_t_dm_a_day("maize") * 21, abs=0.05)


def test_3_how_many_tonnes_are_in_that_clamp() -> None:
    """ "How many tonnes (fresh, DM) are in that clamp with a ramp? How sure are we?" """
    stock = asked("clamp", str(FARMS / "dairy"), "--store", "first_cut")["stocks"][0]
    text = (FARMS / "dairy" / "farm.toml").read_text(encoding="utf-8")
    block = text.split('id = "first_cut"')[1].split("[[")[0]
    size = {
        key: float(block.split(f"{key} = ")[1].split()[0])
        for key in ("length_m", "width_m", "height_m")
    }
    ramp = size["height_m"] / tan(radians(45.0))
    volume = (size["length_m"] - ramp / 2.0) * size["width_m"] * size["height_m"]
    assert stock["volume_m3"] == pytest.approx(volume, rel=1e-6)
    t_dm = volume * stock["density_kg_dm_per_m3"]["typical"] / 1000.0
    assert stock["t_dm"]["typical"] == pytest.approx(t_dm)
    assert stock["t_fresh"]["typical"] == pytest.approx(t_dm / DM["first_cut"])
    assert stock["t_dm"]["low"] == pytest.approx(0.88 * t_dm)
    assert stock["t_dm"]["high"] == pytest.approx(1.12 * t_dm)
    assert stock["edible_t_dm"]["typical"] == pytest.approx(t_dm * 0.97 * 0.97)


def test_4_the_face_moved_a_step_in_a_week(tmp_path: Path) -> None:
    """ "I have measured the face moving 0.9 m in a week - correct my tonnage." """
    farm = tmp_path / "farm"
    shutil.copytree(FARMS / "dairy", farm)
    path = farm / "farm.toml"
    text = path.read_text(encoding="utf-8")
    mark, fed_t = "height_m = 2.6 ", 16.8
    assert mark in text
    steps = f"step_m_per_week = 0.9\nfed_t_fresh_per_week = {fed_t}\n{mark}"
    path.write_text(text.replace(mark, steps), encoding="utf-8")
    before = asked("clamp", str(FARMS / "dairy"), "--store", "first_cut")["stocks"][0]
    after = asked("clamp", str(farm), "--store", "first_cut")["stocks"][0]
    face = after["face"]
    density = fed_t * 1000.0 * DM["first_cut"] / (face["width_m"] * face["height_m"] * 0.9)
    assert after["density_kg_dm_per_m3"]["typical"] == pytest.approx(density, rel=0.02)
    assert after["volume_m3"] == pytest.approx(before["volume_m3"])
    assert after["t_dm"]["typical"] == pytest.approx(
        after["volume_m3"] * density / 1000.0, rel=0.02
    )


def test_15_eleven_cows_and_a_wide_clamp() -> None:
    """ "I have a few cows and a wide clamp: will it spoil? Bales or clamp next year? How wide may
    it be?"
    """
    answer = asked(
        "clamp", str(FARMS / "few"), "--store", "wide_clamp", "--head", "11", "--kg-fresh", "30"
    )
    use, stock = answer["uses"][0], answer["stocks"][0]
    kept = stock["edible_t_dm"]["typical"] / stock["t_dm"]["typical"]
    a_day = 11 * 30.0 * 0.294 / (1.0 - stock["trough_loss"]) / (1.0 - stock["losses"]["face"])
    advance = 7.0 * a_day / stock["face"]["kg_dm_per_m"]
    assert use["advance_m_per_week"] == pytest.approx(advance, rel=0.02)
    assert use["verdict"] == "fail"
    assert use["keep_as"] == "bales"
    density = stock["face"]["kg_dm_per_m"] / stock["face"]["area_m2"]
    assert use["widest_face_m"] == pytest.approx(
        7.0 * a_day / density / stock["face"]["warn_m_per_week"] / 1.9, rel=0.02
    )
    plan = asked("winter", str(FARMS / "few"))
    clamp = next(one for one in plan["stores"] if one["store"] == "wide_clamp")
    least = kept * stock["face"]["kg_dm_per_m"] * stock["face"]["fail_m_per_week"] / 7.0 / 1000.0
    spoiled, eaten = sum(clamp["spoiled_t_dm"]), sum(clamp["eaten_t_dm"])
    lengths = [
        (date.fromisoformat(period["last"]) - date.fromisoformat(period["first"])).days
        for period in plan["periods"]
    ]
    open_days = sum(
        days for days, used in zip(lengths, clamp["eaten_t_dm"], strict=True) if used > 1e-6
    )
    for used, thrown in zip(clamp["eaten_t_dm"], clamp["spoiled_t_dm"], strict=True):
        assert used > 1e-6 or thrown <= 1e-6
    assert spoiled > 2.0 * eaten
    assert spoiled + eaten + sum(clamp["wasted_t_dm"]) == pytest.approx(least * open_days, rel=0.02)


def test_17_a_bale_opened_on_monday() -> None:
    """ "A bale opened on Monday: is it still good on Thursday?" Not where it lasts a week: it keeps
    two days in winter.
    """
    answer = asked(
        "clamp", str(FARMS / "few"), "--store", "bales", "--head", "8", "--kg-fresh", "20"
    )
    use = answer["uses"][0]
    assert use["bale_days"] == pytest.approx(650.0 / (8 * 20.0), rel=1e-6)
    assert any("2" in one for one in use["words"])
    many = asked(
        "clamp", str(FARMS / "few"), "--store", "bales", "--head", "20", "--kg-fresh", "20"
    )["uses"][0]
    assert many["bale_days"] < 2.0
    assert many["words"] == []
    # In the plan of the winter the slowest fortnight counts.
    plan = asked("winter", str(FARMS / "few"))
    bales = next(one for one in plan["stores"] if one["store"] == "bales")
    lengths = [
        (date.fromisoformat(period["last"]) - date.fromisoformat(period["first"])).days
        for period in plan["periods"]
    ]
    slowest = max(
        0.65 * 0.4 * days / (eaten + wasted)
        for days, eaten, wasted in zip(
            lengths, bales["eaten_t_dm"], bales["wasted_t_dm"], strict=True
        )
        if eaten > 1e-6
    )
    assert any(f"{slowest:.1f} days; it keeps 2 days in winter" in one for one in plan["remarks"])


def test_18_a_grass_and_a_maize_clamp_open_at_once() -> None:
    """ "Can I keep both a grass and a maize clamp open with this herd?" Both faces move on, by what
    the plan takes of each, faster than the advance below which they spoil.
    """
    answer = asked("clamp", str(FARMS / "dairy"), "--store", "first_cut", "--store", "maize")
    assert [one["verdict"] for one in answer["uses"]] == ["ok", "ok"]
    plan = asked("winter", str(FARMS / "dairy"))
    for stock in answer["stocks"]:
        used = next(one for one in plan["stores"] if one["store"] == stock["store"])
        kept = stock["edible_t_dm"]["typical"] / stock["t_dm"]["typical"]
        for n, period in enumerate(plan["periods"]):
            days = (date.fromisoformat(period["last"]) - date.fromisoformat(period["first"])).days
            taken = (used["eaten_t_dm"][n] + used["wasted_t_dm"][n]) * 1000.0 / kept
            if stock["store"] == "maize" and date.fromisoformat(period["last"]) <= MAIZE_OPENS:
                assert taken == 0.0
                continue
            assert (
                7.0 * taken / days / stock["face"]["kg_dm_per_m"] > stock["face"]["fail_m_per_week"]
            )
        assert sum(used["spoiled_t_dm"]) == 0.0
    few = asked(
        "clamp", str(FARMS / "dairy"), "--store", "maize", "--head", "20", "--kg-fresh", "24"
    )["uses"][0]
    assert few["verdict"] == "fail"
    assert few["smallest_herd"] > 20


def test_34_at_half_ration_until_the_first_grass(tmp_path: Path) -> None:
    """ "How long can I still feed at half ration until the first grass?" """
    fed = tmp_path / "half.csv"
    rows = [
        f"{group},{feed},{kg / 2.0}"
        for group, (_, feeds) in FED.items()
        for feed, kg in feeds.items()
    ]
    fed.write_text("group,feed,kg_fresh\n" + "\n".join(rows) + "\n", encoding="utf-8")
    answer = asked("last", str(FARMS / "dairy"), "--fed", str(fed))
    held = {
        one["store"]: one["edible_t_dm"] for one in asked("clamp", str(FARMS / "dairy"))["stocks"]
    }
    days = held["first_cut"]["typical"] / drawn_t_dm_a_day("first_cut", 0.5)
    assert days > (TURNOUT - START).days
    one = store_of(answer, "first_cut")
    assert (
        one["runs_out"]["typical"] is None
        or date.fromisoformat(one["runs_out"]["typical"]) > TURNOUT
    )
    left = (
        held["first_cut"]["typical"] - drawn_t_dm_a_day("first_cut", 0.5) * (TURNOUT - START).days
    )
    assert one["left"][-1]["t_dm"]["typical"] == pytest.approx(left, abs=0.05)
