"""The processes that solve: settled first, then the plan that the command gives."""

from __future__ import annotations

from pathlib import Path
from threading import Event

from rationlp.live.phases import PROVED, SETTLED
from rationlp.live.solving import Job, Process, Told, prove, settle
from rationlp.live.warm import WarmWinter
from rationlp.read.changed import begin, changed, parse_change
from rationlp.wintering.plan import WinterOptions, solve_winter


def _answers(life: object, folder: Path, number: int) -> list[Told]:
    done, told = Event(), list[Told]()

    def hear(one: Told) -> None:
        told.append(one)
        if len(told) == number:
            done.set()

    process = Process(life, hear)  # type: ignore[arg-type]
    change = parse_change("cows.head=10")
    process.ask(Job(1, "read", (change,), changed(begin(folder), [change])))
    assert done.wait(60.0)
    process.end()
    return told


def test_the_page_has_the_figures_of_the_command(folder: Path) -> None:
    """The proved answer is the plan of a fresh solve; before it comes a day's and a settled one."""
    farm = changed(begin(folder), [parse_change("cows.head=10")])
    fresh = solve_winter(farm.farm, WinterOptions(ceilings=True), farm.stocks)
    proved = _answers(prove, folder, 1)[0]
    assert proved.phase == PROVED
    assert proved.answer is not None
    assert proved.answer["cost"] == fresh.cost
    shown = {
        (card["id"], ration["period"], feed["id"]): feed["kg"]
        for card in proved.answer["groups"]
        for ration in card["rations"]
        for feed in ration["feeds"]
    }
    assert shown == {
        (ration.group, ration.period, amount.offer): amount.kg_fresh
        for ration in fresh.rations
        for amount in ration.amounts
        if amount.kg_fresh > 0.0
    }
    assert [one.phase for one in _answers(settle, folder, 1)] == [SETTLED]


def test_an_open_winter_at_other_prices_is_the_winter_planned_anew(folder: Path) -> None:
    """Settled on the open winter or from the beginning: the same cost within the settling."""
    begun = begin(folder)
    warm = WarmWinter("read", (), changed(begun, []))
    change = parse_change("barley.price_per_t_fresh=240")
    assert warm.fits("read", (change,))
    assert not warm.fits("read", (change, parse_change("cows.head=10")))
    farm = changed(begun, [change])
    settled = warm.plan(farm.farm)
    options = WinterOptions(tidy=False, prove=False, faces="off")
    anew = solve_winter(farm.farm, options, farm.stocks)
    assert settled is not None
    assert settled.cost is not None
    assert anew.cost is not None
    assert abs(settled.cost - anew.cost) <= 1e-3 * abs(anew.cost)
