"""What the winter asks of stores and groups is read as the farm file says it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from farm_with_winter import WINTER_FARM

from rationlp.farm.farm import Farm, Mix
from rationlp.farm.group import Bedding
from rationlp.farm.store import Outlet
from rationlp.needs.calendar import planned_steps
from rationlp.read.calendar import Winter
from rationlp.read.farm import read_farm
from rationlp.read.winter import periods_of

START, TURNOUT = date(2026, 11, 1), date(2027, 4, 20)


def made(folder: Path, old: str = "", new: str = "") -> Farm:
    """The valid farm, one piece of its text replaced."""
    assert old in WINTER_FARM
    (folder / "farm.toml").write_text(
        WINTER_FARM.replace(old, new, 1) if old else WINTER_FARM, encoding="utf-8"
    )
    return read_farm(folder)


def test_outlets_beddings_and_mixes(tmp_path: Path) -> None:
    """As stated; portions are against the first group's."""
    farm = made(tmp_path)
    assert farm.outlets == (Outlet("digester", "A digester", ("pit",), 30.0, None, 20.0, 100.0),)
    assert farm.beddings == (Bedding("straw", "dry", 2.5),)
    assert farm.mixes == (Mix("tub", {"dry": 1.0, "stores": 2.0}, frozenset({"barley"})),)
    assert farm.notices == ()


def test_loads_and_the_price_of_milk(tmp_path: Path) -> None:
    """On the offer, and on the farm."""
    farm = made(tmp_path)
    barley = farm.offers[2]
    assert (barley.whole_loads, barley.load_t, barley.keeps_days, barley.space_t) == (
        True,
        10.0,
        60.0,
        15.0,
    )
    assert farm.milk_price_per_litre == 0.36


def test_days_and_grazing_of_a_group(tmp_path: Path) -> None:
    """Housed, out, and the grass with the farm's own figure and what follows from it."""
    dry, stores = made(tmp_path).groups
    assert (dry.housed, dry.out) == (date(2026, 11, 15), date(2027, 4, 1))
    assert (stores.housed, stores.out, stores.grazing) == (None, None, ())
    (grass,) = dry.grazing
    assert (grass.start, grass.until, grass.kg_dm, grass.price_per_t_dm) == (
        date(2027, 3, 10),
        date(2027, 3, 20),
        3.0,
        40.0,
    )
    assert grass.feed.figures["me_mj_per_kg_dm"].origin == "farm"
    # ME less 0.035 MJ for each gram of oil, of which the table has 40 g: AFRC (1993), from memory
    # (b).
    assert grass.feed.value("fme_mj_per_kg_dm") == pytest.approx(11.0 - 0.035 * 40.0)


def test_an_outlet_may_pay_by_dry_matter(tmp_path: Path) -> None:
    """Price by the tonne of dry matter, no least, no most."""
    new = "price_per_t_dm = 105\n"
    farm = made(tmp_path, "price_per_t_fresh = 30\nleast_t_fresh = 20\nmost_t_fresh = 100\n", new)
    assert farm.outlets == (Outlet("digester", "A digester", ("pit",), None, 105.0),)


def test_months_follow_the_calendar(tmp_path: Path) -> None:
    """From the first day of the winter, then from the first of every month, to turnout."""
    firsts = [first for first, _ in made(tmp_path).periods]
    assert firsts == [
        START,
        *(date(2026 + month // 12, month % 12 + 1, 1) for month in range(11, 16)),
    ]


@pytest.mark.parametrize(
    ("said", "steps", "last"),
    [
        ('periods = "week"', 25, 2),
        ('periods = "fortnight"', 13, 2),
        ("period_days = 30", 6, 20),
        ("period_starts = [2026-11-01, 2026-12-20, 2027-04-01]", 3, 19),
    ],
)
def test_other_periods(said: str, steps: int, last: int, tmp_path: Path) -> None:
    """170 days in weeks, fortnights, thirties and by their first days: all days covered, the last
    step shorter.
    """
    periods = made(tmp_path, 'periods = "month"', said).periods
    assert len(periods) == steps
    assert (periods[-1][1] - periods[-1][0]).days == last
    assert [after[0] for after in periods[1:]] == [before[1] for before in periods[:-1]]
    assert (periods[0][0], periods[-1][1]) == (START, TURNOUT)


def test_fortnights_where_nothing_is_said(tmp_path: Path) -> None:
    """The farm holds none, and the plan takes fortnights."""
    farm = made(tmp_path, 'periods = "month"\n')
    assert farm.periods == ()
    assert planned_steps(farm) == periods_of(Winter(START, TURNOUT), "fortnight")


def test_days_outside_the_winter_are_said(tmp_path: Path) -> None:
    """A warning with the place; the farm is read all the same."""
    farm = made(tmp_path, "housed = 2026-11-15", "housed = 2026-10-15")
    assert [(one.code, one.where) for one in farm.notices] == [
        ("WA210", 'farm.toml groups[1] "dry".housed')
    ]


def test_a_group_of_no_mix_is_no_fault(tmp_path: Path) -> None:
    """Groups by id alone have the portion 1."""
    farm = made(tmp_path, '[{group = "dry", portion = 0.5}, "stores"]', '["dry", "stores"]')
    assert farm.mixes[0].portions == {"dry": 1.0, "stores": 1.0}


@pytest.mark.parametrize("key", ["spring", "autumn", "winter"])
def test_grazed_grass_is_complete(key: str, tmp_path: Path) -> None:
    """ME, FME, protein with its degradability, fibre and four minerals, from the tables, without a
    laboratory sheet.
    """
    grass = made(tmp_path, "grazed_grass_spring", f"grazed_grass_{key}").groups[0].grazing[0].feed
    wanted = ["me_mj", "fme_mj", "cp_g", "ndf_g", "ca_g", "p_g", "mg_g", "na_g", "k_g"]
    assert [name for name in wanted if grass.value(f"{name}_per_kg_dm") is None] == []
    assert (grass.value("prot_a_fraction") or 0.0) + (grass.value("prot_b_fraction") or 0.0) <= 1.0
