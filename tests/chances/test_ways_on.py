"""A plan kept for the spread goes on by what the log shows."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from shutil import copytree

import pytest
from typer.testing import CliRunner

from rationlp.after.kept import KeptPlan, plan_in_force
from rationlp.after.ways import plans_fed
from rationlp.ask.carry_on import winter_so_far
from rationlp.ask.in_force import FollowedPlan, kept_for
from rationlp.chances.spread_answer import SpreadAsked
from rationlp.chances.spread_plan import plan_for_spread
from rationlp.chances.ways_on import ways_on
from rationlp.cli.app import app
from rationlp.errors import InputError
from rationlp.planned import WayOn, WinterPlan
from rationlp.read.farm import read_farm
from rationlp.read.logged import LoggedFarm
from rationlp.report.in_force import way_lines
from rationlp.report.keeping import keep_plan
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

FEW = Path(__file__).parents[2] / "examples" / "few"
MARK, LATER = date(2026, 12, 25), date(2027, 1, 5)
Kept = tuple[WinterPlan, tuple[WayOn, ...]]


@pytest.fixture(scope="module")
def kept() -> Kept:
    """The cheapest plan of the small example, which is as good for the spread, and its ways on."""
    farm = read_farm(FEW)
    plan = solve_winter(farm, WinterOptions(prove=False))
    spread = plan_for_spread(farm, SpreadAsked(points=(3, 3, 1)))
    assert spread is not None
    return plan, tuple(ways_on(plan, spread))


@pytest.fixture
def folder(kept: Kept, tmp_path: Path) -> Path:
    """A farm folder with that plan in force."""
    farm = tmp_path / "few"
    copytree(FEW, farm)
    keep_plan(kept[0], farm, kept[1])
    return farm


def _log(folder: Path, *lines: str) -> None:
    text = "\n".join(("date,what,of,figure,unit,note", *lines, ""))
    (folder / "log.csv").write_text(text, encoding="utf-8")


def _on(folder: Path, day: date) -> FollowedPlan:
    plan = kept_for(read_farm(folder), day)
    assert plan is not None
    return plan


def test_ways_begin_with_what_their_stores_hold(kept: Kept) -> None:
    """One lighter and one fuller than thought; each plan begins with those tonnes, feeds all and
    closes its stores' balance.
    """
    plan, ways = kept
    assert len(ways) == 2
    fuller, lighter = sorted(ways, key=lambda way: way.light)
    assert fuller.light == pytest.approx(-lighter.light)
    assert lighter.light > 0.1
    for way in (fuller, lighter):
        assert way.first == MARK
        assert way.plan is not None
        assert way.plan.feeds_all
        assert way.plan.periods[0].first == MARK
        assert way.plan.periods[-1].last == plan.periods[-1].last
        for store in way.plan.stores:
            assert store.held_t_dm.typical == pytest.approx(way.held_t_dm[store.store])
            left = store.held_t_dm.typical - sum(store.used_t_dm)
            assert store.left_t_dm == pytest.approx(left, abs=1e-6)
    stocks = farm_stocks(plan.farm)
    for store in plan.stores:
        thought = stocks[store.store].edible_t_dm.typical
        more = fuller.held_t_dm[store.store] - lighter.held_t_dm[store.store]
        assert 0.0 < more < thought


def test_they_come_back_to_the_last_bit(kept: Kept, folder: Path) -> None:
    """Every figure of every way on, with the farm as the file has it."""
    back = plan_in_force(read_farm(folder))
    assert back is not None
    assert [replace(way, plan=None) for way in back.ways] == [
        replace(way, plan=None) for way in kept[1]
    ]
    for one, way in zip(back.ways, kept[1], strict=True):
        assert one.plan is not None
        assert way.plan is not None
        assert one.plan.rations == way.plan.rations
        assert one.plan.farm == back.plan.farm


def test_before_the_mark_there_is_one_way_whatever_the_log_shows(kept: Kept, folder: Path) -> None:
    """What is measured in autumn changes nothing until the ways part."""
    _log(folder, "2026-12-20,left,wide_clamp,5,t DM,")
    plan = _on(folder, MARK - timedelta(days=1))
    assert plan.way is None
    assert plan.plan.rations == kept[0].rations


def test_nothing_measured_follows_the_middle(kept: Kept, folder: Path) -> None:
    """And says that nothing was."""
    plan = _on(folder, LATER)
    assert plan.plan.rations == kept[0].rations
    assert plan.way is not None
    assert (plan.way.light, plan.way.measured) == (0.0, ())
    assert "none has been measured" in " ".join(way_lines(plan.way))


@pytest.mark.parametrize("day", ["2026-12-18", "2026-12-25", "2027-01-04"])
@pytest.mark.parametrize("way_light", [-1, 0, 1])
def test_the_way_with_the_nearest_stores_is_followed(
    kept: Kept, folder: Path, day: str, way_light: int
) -> None:
    """Measured a tonne below and above each limit between two ways: the one on either side."""
    plan, ways = kept
    light = {1: max(ways, key=lambda way: way.light), -1: min(ways, key=lambda way: way.light)}
    shown = _on(folder, LATER)
    _log(folder, f"{day},left,wide_clamp,30,t DM,")
    shown = _on(folder, LATER)
    assert shown.way is not None
    thought = shown.way.thought_t_dm
    stock = farm_stocks(plan.farm)["wide_clamp"].edible_t_dm.typical
    out = {way: -one.light * stock for way, one in light.items()} | {0: 0.0}
    _log(folder, f"{day},left,wide_clamp,{max(thought + out[way_light], 0.0):.3f},t DM,")
    followed = _on(folder, LATER)
    assert followed.way is not None
    expected = plan.rations
    if way_light:
        chosen = light[way_light].plan
        assert chosen is not None
        expected = chosen.rations
    assert followed.plan.rations == expected
    assert followed.since is None
    (told,) = way_lines(followed.way)
    words = {1: "% light", -1: "% fuller", 0: "go on as planned"}
    assert words[way_light] in told
    assert f"{followed.way.shown_t_dm:.0f} t DM measured" in told


def test_between_two_ways_the_limit_decides(kept: Kept, folder: Path) -> None:
    """A little above the limit told the middle way, a little below the light one."""
    _log(folder, f"{MARK},left,wide_clamp,30,t DM,")
    way = _on(folder, MARK).way
    assert way is not None
    _log(folder, f"{MARK},left,wide_clamp,{way.thought_t_dm:.3f},t DM,")
    middle = _on(folder, MARK).way
    assert middle is not None
    assert middle.below_t_dm is not None
    for more, is_light in ((0.01, False), (-0.01, True)):
        _log(folder, f"{MARK},left,wide_clamp,{middle.below_t_dm + more:.4f},t DM,")
        shown = _on(folder, MARK).way
        assert shown is not None
        assert (shown.light > 0.0) is is_light


def test_what_was_fed_since_is_what_the_way_feeds(kept: Kept, folder: Path) -> None:
    """Stores on a day in January that were not measured then: from the measure at the mark on less
    what the way followed takes of them.
    """
    light = max(kept[1], key=lambda way: way.light)
    assert light.plan is not None
    held = light.held_t_dm["wide_clamp"]
    _log(folder, f"{MARK},left,wide_clamp,{held:.6f},t DM,")
    stocks = winter_so_far(read_farm(folder), LATER).stocks
    assert stocks is not None
    (store,) = (one for one in light.plan.stores if one.store == "wide_clamp")
    fed = 0.0
    for period, used in zip(light.plan.periods, store.used_t_dm, strict=True):
        fed += used * max((min(period.last, LATER) - period.first).days, 0) / period.days
    assert stocks["wide_clamp"].edible_t_dm.typical == pytest.approx(held - fed, abs=1e-5)


def test_an_older_plans_ways_end_where_the_newer_begins(kept: Kept) -> None:
    """A plan kept anew before the ways of the old one part: those never were followed."""
    plan, ways = kept
    newer = replace(plan, periods=plan.periods[2:])
    assert newer.periods[0].first < MARK
    plans = (KeptPlan("plan.json", newer), KeptPlan("old", plan, ways))

    def logged(day: date) -> LoggedFarm:
        raise AssertionError(day)

    assert list(plans_fed(plans, logged, LATER)) == list(plans)


def test_a_way_without_a_plan_feeds_the_middle_one_and_says_so(kept: Kept, folder: Path) -> None:
    """Nobody is fed for stores that the farm's own feeds cannot make up."""
    plan, ways = kept
    keep_plan(plan, folder, tuple(replace(way, plan=None) for way in ways))
    _log(folder, f"{MARK},left,wide_clamp,1,t DM,")
    followed = _on(folder, LATER)
    assert followed.way is not None
    assert not followed.way.planned
    assert followed.plan.rations == plan.rations
    assert "Plan again" in " ".join(way_lines(followed.way))


def test_sheet_and_record_follow_the_same_way(kept: Kept, folder: Path) -> None:
    """The yard's sheet, what it is recorded on and the rations of the day say which."""
    light = max(kept[1], key=lambda way: way.light)
    _log(folder, f"{MARK},left,wide_clamp,{light.held_t_dm['wide_clamp']:.4f},t DM,")
    runner = CliRunner()
    for command in (["sheet"], ["sheet", "--record"], ["supply"]):
        told = runner.invoke(app, [*command, str(folder), "--on", LATER.isoformat()])
        assert told.exit_code == 0, told.output
        words = " ".join(told.output.split())
        assert f"so feed the way for stores {100.0 * light.light:.0f} % light" in words


def test_a_damaged_way_is_refused(folder: Path) -> None:
    """A file changed by hand: refused, never half read."""
    path = folder / "plan.json"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"light":', '"lihgt":', 1), encoding="utf-8")
    with pytest.raises(InputError) as refused:
        kept_for(read_farm(folder), LATER)
    assert [one.code for one in refused.value.findings] == ["IN790"]
