"""A winter planned from a later day: stores not measured again are taken less what the plan feeds
until then, and it is said.
"""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rationlp.ask.carried import plan_from, spent
from rationlp.cli.app import app
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.folders import examples_folder
from rationlp.planned import Period, WinterPlan
from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

DAY = date(2027, 1, 15)
OPTIONS = WinterOptions(start=DAY, faces="off", prove=False, tidy=False)


@lru_cache(maxsize=1)
def beef() -> Farm:
    """The example with beef cattle, whose stores have no date of measuring."""
    return read_farm(examples_folder() / "beef")


@lru_cache(maxsize=1)
def carried() -> WinterPlan:
    """Its plan from the middle of January."""
    return plan_from(beef(), OPTIONS)


def test_what_the_plan_fed_is_taken_off_to_the_tonne() -> None:
    """Held on the day is what was held at first, less the use of the whole winter's plan until
    then, added up by hand.
    """
    whole = solve_winter(beef(), WinterOptions(faces="off", prove=False, tidy=False))
    stocks = farm_stocks(beef())
    for before, now in zip(whole.stores, carried().stores, strict=True):
        used = 0.0
        for period, t in zip(whole.periods, before.used_t_dm, strict=True):
            fed = max(0, (min(period.last, DAY) - period.first).days)
            used += t * fed / period.days
        assert now.held_t_dm.typical == pytest.approx(
            stocks[now.store].edible_t_dm.typical - used, abs=1e-6
        )


def test_it_is_said_in_the_first_lines_and_in_every_form() -> None:
    """First line of the text, `carried` of the document; a plan from the winter's first day says
    nothing.
    """
    words = ["winter", str(examples_folder() / "beef"), "--from", DAY.isoformat()]
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 0
    assert done.stdout.startswith(
        "Stores not measured since 1 November: the plan's feeding to 15 January ("
    )
    document = json.loads(CliRunner().invoke(app, [*words, "--format", "json"]).stdout)
    assert document["carried"]
    assert (
        document["stores"][0]["held_t_dm"]["typical"]
        < farm_stocks(beef())["early_bales"].edible_t_dm.typical
    )
    assert plan_from(beef(), WinterOptions(faces="off", prove=False, tidy=False)).carried == ()


def test_a_store_measured_again_is_taken_as_measured() -> None:
    """Known to be measured: its size counts, the others are carried."""
    known = plan_from(beef(), OPTIONS, [store.id for store in beef().stores])
    assert known.carried == ()
    assert known.stores == solve_winter(beef(), OPTIONS).stores
    one = beef().stores[0]
    part = plan_from(beef(), OPTIONS, [one.id])
    assert part.stores[0].held_t_dm.typical == pytest.approx(
        farm_stocks(beef())[one.id].edible_t_dm.typical
    )
    assert one.name not in " ".join(part.carried)
    assert part.carried


def test_without_a_plan_the_stores_must_be_measured(monkeypatch: pytest.MonkeyPatch) -> None:
    """No plan says what was fed: refused with every store by name (IN730)."""
    whole = solve_winter(beef(), WinterOptions(faces="off", prove=False, tidy=False))
    monkeypatch.setattr("rationlp.ask.carried.solve_winter", lambda *_: replace(whole, proof=None))
    with pytest.raises(InputError, match=r"IN730 store .*not measured since 2026-11-01"):
        plan_from(beef(), OPTIONS)


def test_a_period_counts_by_its_days() -> None:
    """Ten days with 5 t and ten with 3 t: from the third day to the fifteenth it is 4 t and 1.5
    t.
    """
    periods = (
        Period(0, date(2026, 11, 1), date(2026, 11, 11)),
        Period(1, date(2026, 11, 11), date(2026, 11, 21)),
    )
    assert spent(periods, (5.0, 3.0), date(2026, 11, 3), date(2026, 11, 16)) == pytest.approx(
        4.0 + 1.5
    )


def test_an_earlier_plan_with_the_same_sizes_does_not_count_as_measuring(tmp_path: Path) -> None:
    """`--since` with nothing measured: carried; with bales counted again that store is taken as
    counted.
    """
    folder = tmp_path / "farm"
    shutil.copytree(examples_folder() / "beef", folder)
    earlier = tmp_path / "plan.json"
    CliRunner().invoke(app, ["winter", str(folder), "--format", "json", "--output", str(earlier)])
    words = [
        "winter",
        str(folder),
        "--from",
        DAY.isoformat(),
        "--since",
        str(earlier),
        "--format",
        "json",
    ]
    same = json.loads(CliRunner().invoke(app, words).stdout)
    assert "Big bales, first cut" in same["carried"][0]
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    assert "count = " in text
    path.write_text(text.replace("count = ", "count = 1", 1), encoding="utf-8")
    other = json.loads(CliRunner().invoke(app, words).stdout)
    assert other["carried"][0].count("Big bales, first cut") < same["carried"][0].count(
        "Big bales, first cut"
    )
