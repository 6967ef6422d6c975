"""What the winter plans is what the yard feeds: every day's sheets against the plan, and all of
them added up.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from ask_plans import FED, copied, plan_of_example

from rationlp.after.exact import as_plain, from_plain
from rationlp.after.followed import day_of_plan
from rationlp.after.kept import plan_files, plan_in_force, plan_text, read_kept
from rationlp.after.since import since_kept
from rationlp.ask.in_force import CHEAPEST, IN_FORCE, MADE_NOW, followed, kept_for
from rationlp.errors import InputError
from rationlp.planned import WinterPlan
from rationlp.read.changed import begin, changed, parse_change
from rationlp.read.farm import read_farm
from rationlp.report.answers.day import made_from
from rationlp.report.in_force import made_from_lines
from rationlp.report.keeping import keep_plan
from rationlp.yard.sheets import YardSheets, yard_sheets


@pytest.mark.parametrize("name", FED)
def test_a_kept_plan_comes_back_to_the_last_bit(name: str, tmp_path: Path) -> None:
    """Every figure of every ration, store, purchase and proof; and nothing of the farm counts as
    changed.
    """
    farm = read_farm(copied(name, tmp_path))
    kept = plan_in_force(farm)
    assert kept is not None
    assert replace(kept.plan, farm=plan_of_example(name).farm) == plan_of_example(name)
    assert since_kept(kept, farm) is None


def _days(plan: WinterPlan) -> list[date]:
    first, last = plan.periods[0].first, plan.periods[-1].last
    return [first + timedelta(days=n) for n in range((last - first).days)]


def _sheets(farm_path: Path, day: date) -> YardSheets:
    followed_plan = followed(read_farm(farm_path), day)
    feeding = followed_plan.rations()
    assert followed_plan.how == IN_FORCE
    assert feeding is not None
    return yard_sheets(feeding.rations)


@pytest.mark.parametrize("name", FED)
def test_for_any_day_the_sheets_name_the_kilograms_of_the_plan(name: str, tmp_path: Path) -> None:
    """First, middle and last day of every step of the winter: each group that is fed, each feed, kg
    fresh a head.
    """
    path = copied(name, tmp_path)
    plan = plan_of_example(name)
    for period in plan.periods:
        for day in {
            period.first,
            period.first + timedelta(days=period.days // 2),
            period.last - timedelta(days=1),
        }:
            sheets = {sheet.group: sheet for sheet in _sheets(path, day).sheets}
            planned = {
                one.group: one
                for one in plan.rations
                if one.period == period.number and one.amounts
            }
            assert set(sheets) <= set(planned)
            for group, sheet in sheets.items():
                ration = planned[group]
                assert sheet.head == ration.head
                if sheet.mix is not None and len(sheet.mix.shared_out) > 1:
                    continue
                assert dict(sheet.kg_fresh) == pytest.approx(
                    {one.offer: one.kg_fresh for one in ration.amounts}, abs=1e-6
                )


@pytest.mark.parametrize("name", FED)
def test_a_herd_fed_by_the_sheets_ends_the_winter_with_the_stocks_of_the_plan(
    name: str, tmp_path: Path
) -> None:
    """Day after day, what the sheets feed (and the plan's own share left at the trough) taken from
    what was held.
    """
    plan = plan_of_example(name)
    farm = read_farm(copied(name, tmp_path))
    dry = {offer.id: offer.feed.dm_g_per_kg / 1e6 for offer in farm.offers}
    waste = {
        one.offer: ration.waste.get(one.offer, 0.0)
        for ration in plan.rations
        for one in ration.amounts
    }
    gone = dict.fromkeys((store.store for store in plan.stores), 0.0)
    sheets_of: dict[object, YardSheets] = {}
    for day in _days(plan):
        feeding = day_of_plan(plan, farm, day)
        assert feeding is not None
        # The same groups in the same step get the same sheets.
        step = (feeding.period.number, tuple(one.group for one in feeding.rations.groups))
        if step not in sheets_of:
            sheets_of[step] = yard_sheets(feeding.rations)
        for sheet in sheets_of[step].sheets:
            for offer, kg in sheet.kg_fresh.items():
                if offer in gone:
                    gone[offer] += kg * sheet.head * dry[offer] / (1.0 - waste[offer])
    for store in plan.stores:
        beside = sum(store.spoiled_t_dm) + sum(store.sold_t_dm) + sum(store.bedded_t_dm)
        left = store.held_t_dm.typical - gone[store.store] - beside
        assert left == pytest.approx(store.left_t_dm, abs=1e-6 * max(1.0, store.held_t_dm.typical))


def test_without_a_plan_in_force_the_winters_plan_is_made(tmp_path: Path) -> None:
    """Not the day's cheapest ration; and each of the three says what it is and that another is to
    be had.
    """
    farm = read_farm(copied("few", tmp_path, keep=False))
    found = followed(farm, None)
    assert (found.how, found.since, kept_for(farm, None)) == (MADE_NOW, None, None)
    assert found.plan.rations == plan_of_example("few").rations
    assert "none is kept yet" in made_from_lines(found)[0]
    assert "--cheapest-today" in made_from_lines(found)[0]
    assert "not the winter's plan" in made_from_lines(None)[0]
    assert made_from(None).how == CHEAPEST


CHANGES = [
    ("high.head=66", "high.head", 62, 66),
    ("soya_meal_48.price_per_t_fresh=430", "soya_meal_48.price_per_t_fresh", 385.0, 430.0),
    ("maize.length_m=36", "maize.length_m", 40.0, 36.0),
    ("winter.turnout+=14", "winter.turnout", "2027-04-10", "2027-04-24"),
    ("first_cut.dm_g_per_kg=260", "first_cut.dm_g_per_kg", None, 260.0),
    ("margins.me=1.1", "margins.me", 1.05, 1.1),
]


@pytest.mark.parametrize(("change", "path", "before", "now"), CHANGES)
def test_what_changed_on_the_farm_is_named(
    change: str, path: str, before: object, now: object, tmp_path: Path
) -> None:
    """The path as `whatif` writes it, from what to what."""
    folder = copied("dairy", tmp_path)
    kept = plan_in_force(read_farm(folder))
    assert kept is not None
    other = changed(begin(folder), [parse_change(change)])
    since = since_kept(kept, other.farm)
    assert since is not None
    found = {one.path: one for one in since.figures}
    assert found[path].now == now
    assert before is None or found[path].before == before


def test_by_how_much_the_plan_is_out_by_hand(tmp_path: Path) -> None:
    """Four more cows: four times what one gets of each store, every day to turnout; what leaves
    some of one store leaves too little of another. Dearer soya: its tonnes times the rise.
    """
    folder = copied("dairy", tmp_path)
    plan = plan_of_example("dairy")
    kept = plan_in_force(read_farm(folder))
    assert kept is not None
    since = since_kept(kept, changed(begin(folder), [parse_change("high.head=66")]).farm)
    assert since is not None
    more = sum(
        4 * plan.periods[one.period].days * amount.kg_dm / (1.0 - one.waste["maize"]) / 1000.0
        for one in plan.rations
        if one.group == "high"
        for amount in one.amounts
        if amount.offer == "maize"
    )
    maize = next(one for one in since.stores if one.store == "maize")
    assert maize.planned_left_t_dm - maize.now_left_t_dm == pytest.approx(more)
    assert maize.short_from is None
    first_cut = next(one for one in since.stores if one.store == "first_cut")
    assert first_cut.short_from is not None
    assert first_cut.short_from < date(2027, 4, 10)
    soya = next(sum(one.t_fresh) for one in plan.purchases if one.offer == "soya_meal_48")
    dearer = since_kept(
        kept, changed(begin(folder), [parse_change("soya_meal_48.price_per_t_fresh+=10")]).farm
    )
    assert dearer is not None
    assert dearer.cost == pytest.approx(10.0 * soya)
    assert dearer.stores == ()


def test_an_older_plan_stays_dated_and_answers_for_its_own_days(tmp_path: Path) -> None:
    """Kept again: the same plan changes nothing; another takes its place, the older ones keep their
    files, byte by byte.
    """
    folder = copied("few", tmp_path)
    plan, farm = plan_of_example("few"), read_farm(folder)
    first = (folder / "plan.json").read_bytes()
    assert keep_plan(plan, folder).older is None
    assert [path.name for path in plan_files(folder)] == ["plan.json"]
    later = replace(plan, cost=1.0, periods=plan.periods[4:])
    again = replace(plan, cost=2.0)
    assert keep_plan(again, folder).older == folder / "plan-2026-11-01.json"
    assert keep_plan(later, folder).older == folder / "plan-2026-11-01-2.json"
    assert (folder / "plan-2026-11-01.json").read_bytes() == first
    names = ["plan.json", "plan-2026-11-01-2.json", "plan-2026-11-01.json"]
    assert [path.name for path in plan_files(folder)] == names
    before, newest = plan_in_force(farm, date(2026, 11, 5)), plan_in_force(farm)
    assert before is not None
    assert newest is not None
    assert (before.plan.cost, newest.plan.cost) == (2.0, 1.0)


def test_a_workbook_has_its_plan_beside_it(tmp_path: Path) -> None:
    """Named after the workbook, so that two of them in a folder do not share one."""
    book = tmp_path / "home.xlsx"
    done = keep_plan(plan_of_example("few"), book)
    assert done.path == tmp_path / "home-plan.json"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "IN790"),
        ("[]", "IN790"),
        ('{"kind": "winter"}', "IN790"),
        ('{"kind": "plan_in_force", "schema_version": "0.1"}', "IN790"),
        ('{"kind": "plan_in_force", "schema_version": "1.0", "plan": {"farm": 1}}', "IN790"),
    ],
)
def test_a_file_that_holds_no_plan_is_refused(text: str, code: str, tmp_path: Path) -> None:
    """With its code, never a traceback, and the file is left as it is."""
    folder = copied("few", tmp_path, keep=False)
    (folder / "plan.json").write_text(text, encoding="utf-8")
    for act in (
        lambda: plan_in_force(read_farm(folder)),
        lambda: keep_plan(plan_of_example("few"), folder),
    ):
        with pytest.raises(InputError) as trouble:
            act()
        assert [one.code for one in trouble.value.findings] == [code]
    assert (folder / "plan.json").read_text(encoding="utf-8") == text


def test_a_kept_plan_changed_by_hand_is_refused(tmp_path: Path) -> None:
    """A figure of the farm inside it no longer goes with the digest."""
    folder = copied("few", tmp_path)
    path = folder / "plan.json"
    document = json.loads(path.read_text(encoding="utf-8"))
    document["plan"]["farm"]["groups"][0]["head"] += 1
    path.write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(InputError) as trouble:
        read_kept(path, read_farm(folder))
    assert [one.code for one in trouble.value.findings] == ["IN791"]


def test_no_plan_is_not_kept(tmp_path: Path) -> None:
    """A winter without rations."""
    with pytest.raises(InputError) as trouble:
        keep_plan(replace(plan_of_example("few"), rations=()), tmp_path)
    assert [one.code for one in trouble.value.findings] == ["IN799"]
    assert list(tmp_path.iterdir()) == []


def test_the_same_plan_is_the_same_file() -> None:
    """No clock and no path in it."""
    plan = plan_of_example("few")
    elsewhere = replace(plan, farm=replace(plan.farm, place="elsewhere"))
    assert plan_text(plan) == plan_text(elsewhere)


@pytest.mark.parametrize(
    ("wanted", "value"),
    [
        (float, float("inf")),
        (float, -float("inf")),
        (float, 0.1),
        (date, date(2027, 1, 2)),
        (tuple[int, ...], (1, 2)),
        (tuple[str, float], ("a", 1.5)),
        (dict[str, float], {"a": 1.0}),
        (frozenset[str], frozenset({"b", "a"})),
        (float | None, None),
        (float | str, "a"),
    ],
)
def test_values_in_their_plain_form_and_back(wanted: object, value: object) -> None:
    """Through JSON text."""
    assert from_plain(wanted, json.loads(json.dumps(as_plain(value)))) == value


@pytest.mark.parametrize(
    ("wanted", "plain"),
    [(float, "x"), (int, 1.5), (date, "May"), (tuple[str, float], ["a"]), (str, 1)],
)
def test_a_value_of_another_kind_is_refused(wanted: object, plain: object) -> None:
    """Never taken for something else."""
    with pytest.raises(ValueError, match=r"where|expected|Invalid"):
        from_plain(wanted, plain)


def test_grazed_grass_is_eaten_and_not_carried(tmp_path: Path) -> None:
    """It counts towards need and is said beside the sheet; nobody weighs it."""
    folder = copied("few", tmp_path, keep=False)
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    grass = (
        "[[groups.grazing]]\nfrom = 2026-11-01\nuntil = 2026-11-29\nkg_dm_per_day = 3.0\nfeed ="
        ' "grazed_grass_autumn"\n\n'
    )
    (folder / "farm.toml").write_text(
        text.replace("[groups.after]", f"{grass}[groups.after]"), encoding="utf-8"
    )
    feeding = followed(read_farm(folder), date(2026, 11, 10)).rations()
    assert feeding is not None
    (sheet,) = yard_sheets(feeding.rations).sheets
    assert sheet.kg_fresh["grazed_grass"] > 0.0
    assert sheet.pen is not None
    assert "grazed_grass" not in {line.offer for line in sheet.pen.lines}
    assert "grazed_grass" in {amount.offer for amount in sheet.fed.amounts}
    assert "Besides this 3.0 kg DM of grass is grazed a head a day." in sheet.notes


def test_what_a_plan_feeds_shows_itself_as_any_ration(tmp_path: Path) -> None:
    """The public names: tables of the day, exit code 0, the plan's own status."""
    import rationlp

    farm = read_farm(copied("few", tmp_path))
    fed = rationlp.planned_ration(farm, date(2027, 2, 10))
    assert fed is not None
    assert fed.exit_code == 0
    assert "from the winter's plan" in rationlp.as_html(fed).replace("&#x27;", "'").replace(
        "&#39;", "'"
    )
    plan = rationlp.plan_in_force(farm)
    assert plan is not None
    assert rationlp.keep_plan(plan).older is None


def test_a_workbook_is_followed_like_a_folder(tmp_path: Path) -> None:
    """Plan and log beside it, by its name."""
    from typer.testing import CliRunner

    import rationlp
    from rationlp.cli.app import app

    book = tmp_path / "home.xlsx"
    done = CliRunner().invoke(
        app, ["new", "--workbook", str(book), "--from", str(copied("few", tmp_path, keep=False))]
    )
    assert done.exit_code == 0, done.output
    farm = read_farm(book)
    assert rationlp.keep_plan(rationlp.winter(farm)).path == tmp_path / "home-plan.json"
    logged = CliRunner().invoke(app, ["log", str(book), "head", "cows", "7", "--on", "2026-12-01"])
    assert logged.exit_code == 0, logged.output
    assert (tmp_path / "home-log.csv").exists()
    told = CliRunner().invoke(app, ["sheet", str(book), "--on", "2026-12-02"]).stdout
    assert told.startswith("Eleven suckler cows (7 head), 2 December 2026")
    assert "home-plan.json" in told
