"""January's question: the rest of the winter from the log, the same as planned by hand; drift, what
is due, and the checks.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from ask_plans import copied, plan_of_example

from rationlp.after.drift import stores_now
from rationlp.after.kept import KeptPlan
from rationlp.after.sofar import used_until
from rationlp.ask.carry_on import plan_on, stocks_on, winter_so_far
from rationlp.ask.in_force import kept_for
from rationlp.errors import InputError
from rationlp.read.changed import begin, changed, held, parse_change
from rationlp.read.farm import read_farm
from rationlp.read.logbook import LogLine, log_text, read_log
from rationlp.read.logged import logged_farm
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

JANUARY = date(2027, 1, 15)
HEADINGS = "date,what,of,figure,unit,note\n"


def logged(folder: Path, *lines: str) -> Path:
    """The folder with a log of these lines."""
    (folder / "log.csv").write_text(
        HEADINGS + "".join(f"{line}\n" for line in lines), encoding="utf-8"
    )
    return folder


def test_planning_from_the_log_in_january_equals_planning_by_hand(tmp_path: Path) -> None:
    """Every store measured, cows moved, maize tested: the same plan as from a farm file into which
    all of it was typed.
    """
    folder = logged(
        copied("dairy", tmp_path),
        "2026-12-01,head,high,66,head,bought in",
        "2027-01-10,dry_matter,maize,33,%,",
        "2027-01-15,face,first_cut,21,m,",
        "2027-01-15,face,second_cut,16,m,",
        "2027-01-15,face,maize,20.5,m,",
        "2027-01-15,left,hay,60,bales,",
        "2027-01-15,left,straw,205,bales,",
    )
    begun = winter_so_far(read_farm(folder), JANUARY)
    assert begun.stocks is not None
    options = WinterOptions(start=JANUARY)
    plan = plan_on(begun, solve_winter(begun.farm, options, begun.stocks))
    typed = (
        "high.head=66",
        "maize.dm_g_per_kg=330",
        "first_cut.fed_length_m=21",
        "second_cut.fed_length_m=16",
        "maize.fed_length_m=20.5",
        "hay.count=60",
        "straw.count=205",
    )
    by_hand = changed(begin(folder), [parse_change(text) for text in typed])
    other = solve_winter(by_hand.farm, options, by_hand.stocks)
    assert plan.cost == other.cost
    assert plan.rations == other.rations
    assert plan.stores == other.stores


def test_a_store_that_was_not_measured_has_lost_what_the_plan_fed(tmp_path: Path) -> None:
    """Held in autumn less the plan's use until the day; one measured before the day less the use
    since then.
    """
    folder = logged(copied("few", tmp_path), "2027-01-02,left,bales,9,bales,")
    farm, plan = read_farm(folder), plan_of_example("few")
    begun = winter_so_far(farm, JANUARY)
    assert begun.stocks is not None
    for store in plan.stores:
        measured = date(2027, 1, 2) if store.store == "bales" else plan.periods[0].first
        at_first = farm_stocks(farm)[store.store].edible_t_dm.typical * (
            9 / 30 if store.store == "bales" else 1.0
        )
        used = used_until(plan.periods, store.used_t_dm, JANUARY) - used_until(
            plan.periods, store.used_t_dm, measured
        )
        assert begun.stocks[store.store].edible_t_dm.typical == pytest.approx(
            max(at_first - used, 0.0)
        )
    assert stocks_on(farm, JANUARY)["straw"] == begun.stocks["straw"]


def test_drift_from_the_plan_in_tonnes_and_days(tmp_path: Path) -> None:
    """Measured less planned; in days at what the plan feeds a day then. A store that nobody
    measured has none, and is due.
    """
    folder = logged(copied("few", tmp_path), "2027-01-02,face,wide_clamp,7,m,")
    begun = winter_so_far(read_farm(folder), JANUARY)
    assert begun.so_far is not None
    plan = plan_of_example("few")
    clamp = next(one for one in begun.so_far.stores if one.store == "wide_clamp")
    line = next(one for one in plan.stores if one.store == "wide_clamp")
    planned = line.held_t_dm.typical - used_until(plan.periods, line.used_t_dm, date(2027, 1, 2))
    assert clamp.planned_t_dm == pytest.approx(planned)
    assert clamp.drift_t_dm == pytest.approx(clamp.measured_t_dm - planned)
    period = next(one for one in plan.periods if one.first <= date(2027, 1, 2) < one.last)
    rate = line.used_t_dm[period.number] / period.days
    if rate > 0.0:
        assert clamp.drift_days == pytest.approx((clamp.measured_t_dm - planned) / rate)
    assert not clamp.due
    others = [one for one in begun.so_far.stores if one.store != "wide_clamp"]
    assert {one.drift_t_dm for one in others} == {None}
    assert any(one.due for one in others)
    assert [notice.code for notice in begun.farm.notices if notice.code == "WA245"] == ["WA245"]


def test_nothing_is_due_when_all_was_measured(tmp_path: Path) -> None:
    """Three stores on the day itself: no notice."""
    lines = [f"2027-01-15,left,{store},5,t,looked" for store in ("wide_clamp", "bales", "straw")]
    begun = winter_so_far(read_farm(logged(copied("few", tmp_path), *lines)), JANUARY)
    assert begun.so_far is not None
    assert not any(one.due for one in begun.so_far.stores)
    assert not any(notice.code == "WA245" for notice in begun.farm.notices)


def test_measures_without_a_plan_in_force_need_every_store(tmp_path: Path) -> None:
    """Nobody can say what was fed of the others; measured on the day, all is known."""
    folder = logged(copied("few", tmp_path, keep=False), "2027-01-15,face,wide_clamp,7,m,")
    with pytest.raises(InputError) as trouble:
        winter_so_far(read_farm(folder), JANUARY)
    assert [one.code for one in trouble.value.findings] == ["IN800", "IN800"]
    logged(
        folder,
        "2027-01-15,face,wide_clamp,7,m,",
        "2027-01-15,left,bales,9,bales,",
        "2027-01-15,left,straw,30,bales,",
    )
    assert winter_so_far(read_farm(folder), JANUARY).stocks is not None


def test_a_farm_without_log_and_plan_is_planned_as_its_file_has_it(tmp_path: Path) -> None:
    """As before there was a log."""
    farm = read_farm(copied("few", tmp_path, keep=False))
    begun = winter_so_far(farm, JANUARY)
    assert (begun.farm, begun.stocks, begun.so_far) == (farm, None, None)


def test_a_store_sized_anew_in_the_farm_file_counts_as_measured_on_the_day(tmp_path: Path) -> None:
    """Who types the new length into farm.toml has measured; the plan's feeding is not taken off
    once more.
    """
    folder = copied("few", tmp_path)
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    (folder / "farm.toml").write_text(text.replace("count = 30", "count = 10"), encoding="utf-8")
    farm = read_farm(folder)
    begun = winter_so_far(farm, JANUARY)
    assert begun.stocks is not None
    assert begun.stocks["bales"] == farm_stocks(farm)["bales"]
    assert begun.stocks["straw"] != farm_stocks(farm)["straw"]


def test_deliveries_against_what_the_plan_used(tmp_path: Path) -> None:
    """Loads by their size; what is in the yard is delivered less used; a least and a most count
    what was used.
    """
    folder = logged(
        copied("dairy", tmp_path),
        "2026-11-01,bought,barley,3,loads,",
        "2026-12-01,bought,beet_pulp_molassed_dry,12,t,",
    )
    plan = plan_of_example("dairy")
    begun = winter_so_far(read_farm(folder), JANUARY)
    assert begun.so_far is not None
    barley, pulp = begun.so_far.deliveries
    line = next(one for one in plan.purchases if one.offer == "barley")
    used = used_until(plan.periods, line.t_fresh, JANUARY)
    assert (barley.delivered_t, barley.used_t) == (30.0, pytest.approx(used))
    assert barley.in_yard_t == pytest.approx(max(30.0 - used, 0.0))
    assert (pulp.delivered_t, pulp.used_t, pulp.in_yard_t) == (12.0, 0.0, 12.0)
    most = next(offer.most_t for offer in begun.farm.offers if offer.id == "beet_pulp_molassed_dry")
    assert most == 60.0


def test_a_plan_made_from_the_log_is_not_taken_for_changed(tmp_path: Path) -> None:
    """Kept in January with its log, read in February: nothing changed; a head moved after it
    did.
    """
    from rationlp.report.keeping import keep_plan

    folder = logged(copied("few", tmp_path), "2027-01-02,left,bales,9,bales,")
    begun = winter_so_far(read_farm(folder), JANUARY)
    keep_plan(
        plan_on(begun, solve_winter(begun.farm, WinterOptions(start=JANUARY), begun.stocks)), folder
    )
    kept = kept_for(read_farm(folder), date(2027, 2, 1))
    assert kept is not None
    assert (kept.plan.periods[0].first, kept.since) == (JANUARY, None)
    assert kept.plan.stocks == begun.stocks
    logged(
        folder,
        "2027-01-02,left,bales,9,bales,",
        "2027-01-25,head,cows,7,head,",
        "2027-01-30,left,bales,2,bales,",
    )
    moved = kept_for(read_farm(folder), date(2027, 2, 1))
    assert moved is not None
    assert moved.since is not None
    assert all(one.path.startswith("cows.calendar.changes") for one in moved.since.figures)
    before = kept_for(read_farm(folder), date(2026, 12, 1))
    assert before is not None
    assert before.name == "plan-2026-11-01.json"


def test_an_older_plan_covers_the_days_before_the_newer(tmp_path: Path) -> None:
    """From a measure in autumn over two plans: the use of each on its own days."""
    plan = plan_of_example("few")
    ways = ("eaten_t_dm", "wasted_t_dm", "spoiled_t_dm", "sold_t_dm", "bedded_t_dm")
    stores = tuple(
        replace(store, **{way: getattr(store, way)[5:] for way in ways})  # type: ignore[arg-type]
        for store in plan.stores
    )
    second = replace(plan, periods=plan.periods[5:], stores=stores)
    farm = read_farm(copied("few", tmp_path))
    kept = (KeptPlan("plan.json", second), KeptPlan("plan-2026-11-01.json", plan))
    once = stores_now(logged_farm(farm, (), date(2027, 2, 20)), kept[1:], date(2027, 2, 20))[1]
    twice = stores_now(logged_farm(farm, (), date(2027, 2, 20)), kept, date(2027, 2, 20))[1]
    for store in once:
        assert twice[store].edible_t_dm.typical == pytest.approx(once[store].edible_t_dm.typical)


def test_what_is_left_in_tonnes(tmp_path: Path) -> None:
    """t DM is what can be eaten; t fresh is what lies there, losses to come taken off as the
    store's own are.
    """
    farm = read_farm(copied("few", tmp_path, keep=False))
    stock = farm_stocks(farm)["wide_clamp"]
    dm = next(offer.feed.dm_g_per_kg for offer in farm.offers if offer.id == "wide_clamp")
    for unit, figure, eaten in (
        ("t DM", 4.0, 4.0),
        ("t", 20.0, 20.0 * dm / 1000.0 * stock.edible_t_dm.typical / stock.t_dm.typical),
    ):
        line = LogLine(JANUARY, "left", "wide_clamp", figure, unit)
        found = logged_farm(farm, (line,), JANUARY).stocks["wide_clamp"]
        assert found == held(stock, found.edible_t_dm.typical)
        assert found.edible_t_dm.typical == pytest.approx(eaten)


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("2027-01-15,silage,wide_clamp,7,m,", "IN793"),
        ("2027-01-15,face,wide_clam,7,m,", "IN794"),
        ("2027-01-15,face,bales,7,m,", "IN794"),
        ("2027-01-15,bought,straw,7,t,", "IN794"),
        ("2027-01-15,head,bales,7,head,", "IN794"),
        ("2027-01-15,face,wide_clamp,,m,", "IN795"),
        ("2027-01-15,face,wide_clamp,-1,m,", "IN795"),
        ("2027-01-15,face,wide_clamp,seven,m,", "IN795"),
        ("2027-01-15,head,cows,7.5,head,", "IN795"),
        ("2027-01-15,dry_matter,bales,2,%,", "IN795"),
        (f"2027-01-15,face,wide_clamp,7,m,{'x' * 201}", "IN795"),
        ("2027-01-15,face,wide_clamp,7,bales,", "IN796"),
        ("2027-01-15,bought,barley,1,loads,", "IN796"),
        ("2028-01-15,face,wide_clamp,7,m,", "IN797"),
        ("15/01/2027,face,wide_clamp,7,m,", "IN797"),
        ("2027-01-15,face,wide_clamp,14,m,", "IN801"),
        ("2027-01-15,left,bales,31,bales,", "IN801"),
        ("2027-01-15,face,wide_clamp,7,m,\n2027-01-15,left,wide_clamp,7,t,", "IN798"),
        ("2027-01-15,head,cows,7,head,\n2027-01-15,head,cows,6,head,", "IN798"),
    ],
)
def test_a_line_that_cannot_be_is_refused(line: str, code: str, tmp_path: Path) -> None:
    """By its code, with the row of the file."""
    folder = logged(copied("few", tmp_path, keep=False), line)
    with pytest.raises(InputError) as trouble:
        read_log(read_farm(folder))
    found = trouble.value.findings
    assert [one.code for one in found] == [code]
    assert "log.csv row" in found[0].where


def test_columns_of_the_log(tmp_path: Path) -> None:
    """One missing, one unknown."""
    folder = copied("few", tmp_path, keep=False)
    for text in (
        "date,what,of\n2027-01-15,head,cows\n",
        HEADINGS.replace("note", "remark") + "2027-01-15,head,cows,7,head,\n",
    ):
        (folder / "log.csv").write_text(text, encoding="utf-8")
        with pytest.raises(InputError) as trouble:
            read_log(read_farm(folder))
        assert [one.code for one in trouble.value.findings] == ["IN792"]


def test_the_log_is_read_as_it_was_written(tmp_path: Path) -> None:
    """Lines with notes of any kind, in order of date."""
    folder = copied("few", tmp_path, keep=False)
    lines = (
        LogLine(date(2026, 12, 1), "head", "cows", 7.0, "head", 'the old one, "Berta"'),
        LogLine(JANUARY, "face", "wide_clamp", 7.25, "m", "=1+1"),
    )
    (folder / "log.csv").write_text(log_text(lines), encoding="utf-8")
    assert [replace(one, line=0) for one in read_log(read_farm(folder))] == list(lines)
