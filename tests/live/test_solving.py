"""The processes that solve: settled first, then the plan that the command gives."""

from __future__ import annotations

import os
import queue
import signal
import time
from pathlib import Path
from threading import Event, RLock, Thread
from typing import Any

import pytest

from rationlp.ask.held import appetite
from rationlp.folders import examples_folder
from rationlp.live.phases import NONE, PROVED, SETTLED
from rationlp.live.solving import ENDED, Job, Process, Told, prove, settle
from rationlp.live.told import figure
from rationlp.live.warm import WarmWinter
from rationlp.planned import WinterPlan
from rationlp.read.changed import begin, changed, parse_change
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions


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


def shown_rations(answer: dict[str, Any], plan: WinterPlan) -> dict[tuple[str, int], Any]:
    """kg fresh by feed, for every group and period of a plan, as a page shows them on its days."""
    shown = {}
    for card in answer["groups"]:
        for period in plan.periods:
            day = period.first.isoformat()
            fed = [one for one in card["rations"] if one["first"] <= day < one["last"]]
            for ration in fed:
                shown[card["id"], period.number] = {
                    feed["id"]: feed["kg"] for feed in ration["feeds"]
                }
    return shown


def fed_rations(plan: WinterPlan) -> dict[tuple[str, int], Any]:
    """The same of a plan itself, in as many digits as are sent."""
    return {
        (ration.group, ration.period): {
            one.offer: figure(one.kg_fresh) for one in ration.amounts if one.kg_fresh > 0.0
        }
        for ration in plan.rations
    }


def test_the_page_has_the_figures_of_the_command(folder: Path) -> None:
    """The proved answer is the plan of a fresh solve; before it comes a day's and a settled one."""
    farm = changed(begin(folder), [parse_change("cows.head=10")])
    fresh = solve_winter(farm.farm, WinterOptions(ceilings=True), farm.stocks)
    proved = _answers(prove, folder, 1)[0]
    assert proved.phase == PROVED
    assert proved.answer is not None
    assert proved.answer["cost"] == fresh.cost
    assert shown_rations(proved.answer, fresh) == fed_rations(fresh)
    assert [one.phase for one in _answers(settle, folder, 1)] == [SETTLED]


MUCH = "x" * 2_000_000
"""More than a pipe holds."""


def echoes(jobs: Any) -> None:
    """The life of a process whose jobs and answers are larger than a pipe."""
    while True:
        try:
            job = jobs.recv()
        except EOFError:
            return
        jobs.send(Told(job.number, PROVED, {"much": MUCH}))


def test_who_asks_never_waits_for_the_process() -> None:
    """Whoever asks again and again holds what answers have to be heard with: no one waits for the
    other, and the newest job is answered.
    """
    table, last = RLock(), Event()

    def hear(told: Told) -> None:
        with table:
            if told.number == 30:
                last.set()

    process = Process(echoes, hear)

    def ask() -> None:
        with table:
            for number in range(1, 31):
                process.ask(Job(number, MUCH, (), None))  # type: ignore[arg-type]
                time.sleep(0.02)

    asking = Thread(target=ask, daemon=True)
    asking.start()
    asking.join(30.0)
    assert not asking.is_alive()
    assert last.wait(30.0)
    process.end()


def ends_at_once(jobs: Any) -> None:
    """The life of a process that is ended from outside."""
    jobs.recv()
    os._exit(1)


def test_a_process_that_is_killed_is_told_and_begun_again(folder: Path) -> None:
    """Nobody waits for an answer that will not come."""
    told: queue.Queue[Told] = queue.Queue()
    process = Process(ends_at_once, told.put)
    job = Job(3, "read", (), changed(begin(folder), []))
    for _ in range(2):
        process.ask(job)
        ended = told.get(timeout=60.0)
        assert (ended.number, ended.phase, ended.trouble) == (3, NONE, ENDED)
    process.end()


def ends_for_nobody(jobs: Any) -> None:
    """The life of a process that does not listen to who ends it."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    jobs.recv()
    jobs.send(Told(1, SETTLED))
    time.sleep(60.0)


@pytest.mark.skipif(os.name == "nt", reason="there a process cannot but listen")
def test_a_slider_does_not_wait_for_the_end_of_a_process(folder: Path) -> None:
    """One that is stopped is let go at once, alive or not, and ended behind."""
    told = Event()
    process = Process(ends_for_nobody, lambda _: told.set())
    process.ask(Job(2, "read", (), changed(begin(folder), [])))
    assert told.wait(60.0)
    old = process._process
    process.stop()
    assert process._process is None
    assert old.is_alive()
    old.join(30.0)
    assert not old.is_alive()


def test_an_open_winter_takes_over_what_is_the_same() -> None:
    """Other heads, silage and turnout on a short winter like the one before: as planned from
    nothing.
    """
    begun = begin(examples_folder() / "calving")
    short = parse_change("winter.turnout=2026-12-01")
    longer = parse_change("winter.turnout=2026-12-08")
    heads = parse_change("heifers.head+=2")
    silage = parse_change("clamp.dm_g_per_kg+=8")
    warm = WarmWinter("read", (short,), changed(begun, [short]))
    for changes in ((short, heads), (short, silage), (longer,)):
        farm = changed(begun, changes)
        warm = WarmWinter("read", changes, farm, warm)
        plan = warm.plan(farm.farm)
        fresh = WarmWinter("read", changes, farm).plan(farm.farm)
        assert plan is not None
        assert fresh is not None
        assert plan.cost == pytest.approx(fresh.cost, rel=1e-9)
        assert fed_rations(plan).keys() == fed_rations(fresh).keys()
        assert warm.appetite(farm.farm).eaten == pytest.approx(appetite(farm.farm).eaten, rel=1e-6)


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
