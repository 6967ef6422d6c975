"""`check` and `switch` answer within their first lines, on every example, through the command."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rationlp.ask.held import held_against_appetite
from rationlp.ask.switch_steps import SHARES, switch_steps, usual_pair
from rationlp.cli.app import app
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.folders import examples_folder
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm
from rationlp.report.held import enough_line
from rationlp.report.tables.switch import notes, pays_line, stock_lines
from rationlp.report.tables.table import tonnes_words
from rationlp.stock.dry_matter import farm_stocks

NAMES = ("dairy", "beef", "few", "hill", "short")
FIRST_LINES = 10


def first_lines(*arguments: str) -> str:
    """The first ten lines of an answer at 80 columns, as one line; no line of the answer is
    wider.
    """
    result = CliRunner(env={"COLUMNS": "80"}).invoke(app, list(arguments))
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    return " ".join(" ".join(lines[:FIRST_LINES]).split())


def example(name: str) -> str:
    """The folder of an example."""
    return str(examples_folder() / name)


@pytest.mark.parametrize("name", NAMES)
def test_check_says_first_whether_there_is_enough(name: str) -> None:
    """Tonnes held, tonnes that would be eaten, days, and a verdict."""
    text = first_lines("check", example(name))
    assert re.match(r"Have I enough\? (Yes|No|Only just)", text)
    assert re.search(r"\d+ t DM held, \d+ t would be eaten to \d+ (April|May)", text)
    assert re.search(r"at that rate it lasts (\d+ days|more than a year)", text)


def test_a_farm_short_of_forage_is_told_so_before_any_plan() -> None:
    """The example short of forage: no, by how much, which crop, and when it ends."""
    text = first_lines("check", example("short"))
    farm = read_farm(examples_folder() / "short")
    held = held_against_appetite(farm)
    grass = next(crop for crop in held.crops if crop.crop == "grass_silage")
    assert held.whole.short_t_dm > 1.0
    assert text.startswith(f"Have I enough? No: {held.whole.short_t_dm:.0f} t DM short in all")
    assert f"Short: grass silage {grass.short_t_dm:.0f} t DM (lasts to " in text


def test_what_is_held_is_the_stock_and_a_crop_is_the_sum_of_its_stores() -> None:
    """Against `clamp`: edible tonnes of the two grass silages together; days are held by what is
    eaten a day.
    """
    farm = read_farm(examples_folder() / "dairy")
    stocks, held = farm_stocks(farm), held_against_appetite(farm)
    grass = next(crop for crop in held.crops if crop.crop == "grass_silage")
    assert grass.stores == ("first_cut", "second_cut")
    tonnes = sum(stocks[store].edible_t_dm.typical for store in grass.stores)
    assert grass.held_t_dm.typical == pytest.approx(tonnes)
    assert grass.short_t_dm == pytest.approx(grass.would_eat_t_dm - tonnes)
    assert grass.days == pytest.approx(held.days * tonnes / grass.would_eat_t_dm)
    assert held.whole.would_eat_t_dm == pytest.approx(
        sum(crop.would_eat_t_dm for crop in held.crops)
    )


def test_what_would_be_eaten_does_not_depend_on_what_is_held(tmp_path: Path) -> None:
    """A clamp a tenth as long leaves the appetite as it is: only so can short show."""
    folder = tmp_path / "farm"
    shutil.copytree(examples_folder() / "short", folder)
    whole = held_against_appetite(read_farm(folder))
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    assert re.search(r"\nlength_m = [\d.]+", text)
    (folder / "farm.toml").write_text(
        re.sub(r"\nlength_m = [\d.]+", "\nlength_m = 8.0", text), encoding="utf-8"
    )
    less = held_against_appetite(read_farm(folder))
    assert less.whole.would_eat_t_dm == pytest.approx(whole.whole.would_eat_t_dm, rel=1e-6)
    assert less.whole.short_t_dm > whole.whole.short_t_dm


def test_check_shows_every_key_only_in_full() -> None:
    """Groups, stores and feeds as read are behind --full; totals of heads and stores are not."""
    runner = CliRunner(env={"COLUMNS": "80"})
    short, full = (
        runner.invoke(app, ["check", example("dairy"), *more]).stdout for more in ([], ["--full"])
    )
    assert "219 head, 5 groups, 5 stores, 11 bought feeds" in " ".join(short.split())
    assert "\nStores\n" not in short
    assert "\nGroups\n" in full
    assert "\nStores\n" in full
    assert len(full.splitlines()) > len(short.splitlines())


def test_check_goes_on_where_a_ration_lacks_a_figure(monkeypatch: pytest.MonkeyPatch) -> None:
    """What would be eaten cannot be worked out: the first line says why and what to do, the totals
    follow, JSON holds null.
    """

    def lacking(farm: Farm) -> None:
        raise InputError([Finding("IN210", 'feed "hay"', "no figure for MP", "give it in lab.csv")])

    monkeypatch.setattr("rationlp.cli.check.held_against_appetite", lacking)
    text = first_lines("check", example("few"))
    assert text.startswith(
        'Have I enough? Not worked out: feed "hay": no figure for MP (give it in lab.csv).'
    )
    assert "11 head, 1 group, 3 stores, 2 bought feeds" in text
    result = CliRunner().invoke(app, ["check", example("few"), "--format", "json"])
    assert json.loads(result.stdout)["have_i_enough"] is None


def test_a_farm_with_nothing_in_store_is_told_so() -> None:
    """No stores: nothing is held."""
    farm = replace(read_farm(examples_folder() / "few"), stores=())
    assert enough_line(farm, held_against_appetite(farm)) == "Have I enough? No forage is in store."


@pytest.mark.parametrize("name", NAMES)
def test_switch_answers_first_for_the_farm(name: str) -> None:
    """Without --from and --to: whether it pays, how many tonnes can go over, and the table in kg
    fresh a head.
    """
    text = first_lines("switch", example(name))
    assert re.match(r"(Cheapest at about \d+ % |No switch pays: keep )", text)
    assert " a week for " in text
    assert re.search(r"t fresh( of .* can go over|\b)", text)
    assert "kg fresh a head a day" in text


@pytest.mark.parametrize(("t", "words"), [(2.04, "2.0 t"), (0.76, "760 kg"), (0.024, "24 kg")])
def test_what_is_bought_a_week_is_told_as_it_is_bought(t: float, words: str) -> None:
    """Kilograms below a tonne: no 0.00 t of limestone."""
    assert tonnes_words(t) == words


def test_no_switch_pays_is_an_answer() -> None:
    """Hay instead of the clamp costs more at every share."""
    assert first_lines("switch", example("short")).startswith(
        "No switch pays: keep First cut, half a clamp."
    )


def test_a_store_that_the_cheapest_share_empties_is_told() -> None:
    """Day and store, and the cheapest share at which both last; nothing where the stores hold out,
    or what is bought has no end.
    """
    farm = farm_on(read_farm(examples_folder() / "dairy"))
    switch = switch_steps(farm, ("first_cut", "maize"))
    assert switch.best is not None
    ends = switch.best.lasts["first_cut"]
    assert ends is not None
    (line,) = stock_lines(switch)
    assert line.startswith(f"But First-cut clamp runs out on {ends.day} ")
    lasting = [step for step in switch.steps if set(step.lasts.values()) == {None}]
    least = min(lasting, key=lambda step: step.cost)
    assert (
        f"both last to turnout is {100.0 * least.share:.0f} %, for GBP"
        f" {least.cost - switch.best.cost:,.0f} a week" in line
    )
    assert stock_lines(replace(switch, steps=tuple(lasting))) == []
    (line,) = stock_lines(replace(switch, steps=switch.steps[:1]))
    assert "at none of these shares do both last" in line


def test_the_usual_pair_is_grass_and_maize_silage() -> None:
    """The larger grass silage to the maize; without maize the two forages held most, straw
    never.
    """
    assert usual_pair(read_farm(examples_folder() / "dairy")) == ("first_cut", "maize")
    for name in NAMES[1:]:
        farm = read_farm(examples_folder() / name)
        kinds = {offer.id: offer.feed.kind for offer in farm.offers}
        assert all(kinds[one] != "straw" for one in usual_pair(farm))


def test_steps_add_up_to_the_farm() -> None:
    """Mean kg a head, cost a week and tonnes bought are those of the groups; the dry matter has the
    share asked for.
    """
    farm = farm_on(read_farm(examples_folder() / "dairy"))
    switch = switch_steps(farm, usual_pair(farm))
    dm = {offer.id: offer.feed.dm_g_per_kg / 1000.0 for offer in farm.offers}
    for step in switch.steps:
        at = [(group.head, group.at(step.share)) for group in switch.groups]
        assert all(one is not None for _, one in at)
        cost = sum(7.0 * head * one.feed_cost for head, one in at if one is not None)
        assert step.cost == pytest.approx(cost)
        kg = sum(head * one.kg_of("maize") for head, one in at if one is not None) / step.head
        assert step.kg_fresh["maize"] == pytest.approx(kg)
        for _, one in at:
            assert one is not None
            two = [one.kg_of(offer) * dm[offer] for offer in ("first_cut", "maize")]
            assert two[1] / sum(two) == pytest.approx(step.share, abs=1e-6)
    assert set(SHARES) >= {step.share for step in switch.steps}


def test_tonnes_that_can_go_over_are_what_the_store_holds() -> None:
    """At the share told, on the line between two steps, the groups use just the edible tonnes to
    turnout.
    """
    farm = farm_on(read_farm(examples_folder() / "dairy"))
    switch = switch_steps(farm, ("first_cut", "maize"))
    stock = farm_stocks(farm)["maize"]
    dm = next(offer.feed.dm_g_per_kg for offer in farm.offers if offer.id == "maize") / 1000.0
    held = stock.edible_t_dm.typical * (1.0 - stock.trough_loss) / dm
    assert switch.can_go_over_t == pytest.approx(held)
    days = (farm.turnout - switch.day).days
    low, high = (
        next(step for step in order if bound(step.share))
        for order, bound in (
            (switch.steps[::-1], lambda share: share <= switch.up_to_share),
            (switch.steps, lambda share: share > switch.up_to_share),
        )
    )
    part = (switch.up_to_share - low.share) / (high.share - low.share)
    use = low.kg_fresh["maize"] + part * (high.kg_fresh["maize"] - low.kg_fresh["maize"])
    assert use * low.head * days / 1000.0 == pytest.approx(held)


def test_a_group_without_a_ration_at_a_share_is_named() -> None:
    """Late lactation has none at 100 %: the farm has no such row, and the answer says why."""
    farm = farm_on(read_farm(examples_folder() / "dairy"))
    switch = switch_steps(farm, ("first_cut", "maize"))
    assert 1.0 not in {step.share for step in switch.steps}
    assert "Late lactation: no ration at 100 %" in " ".join(notes(switch))
    assert switch.best is not None
    costs = [step.cost for step in switch.steps]
    assert switch.best.cost <= min(costs) * (1.0 + 1e-3)
    words = (
        "No switch pays: keep First-cut clamp."
        if switch.best.share == 0.0
        else "Cheapest at about "
    )
    assert pays_line(switch).startswith(words)


def test_the_breakpoints_are_behind_full() -> None:
    """The table of breakpoints is the whole answer with --full and no part of it without."""
    runner = CliRunner(env={"COLUMNS": "100"})
    arguments = ["switch", example("few"), "--from", "wide_clamp", "--to", "bales"]
    short, full = (runner.invoke(app, [*arguments, *more]).stdout for more in ([], ["--full"]))
    assert "From here on" in full
    assert "From here on" not in short


def test_json_holds_steps_and_curve() -> None:
    """Both: keys are only added."""
    result = CliRunner().invoke(app, ["switch", example("few"), "--format", "json"])
    document = json.loads(result.stdout)
    assert document["groups"][0]["points"]
    assert [step["share"] for step in document["steps"]["steps"]] == list(SHARES)


def test_one_forage_named_without_the_other_is_refused() -> None:
    """IN811 says to give both; a farm with one forage in store is told to name two (IN810)."""
    result = CliRunner().invoke(app, ["switch", example("dairy"), "--from", "maize"])
    assert result.exit_code == 2
    assert "IN811" in result.stderr
    farm = read_farm(examples_folder() / "dairy")
    with pytest.raises(InputError) as trouble:
        usual_pair(replace(farm, stores=farm.stores[:1]))
    assert trouble.value.findings[0].code == "IN810"
