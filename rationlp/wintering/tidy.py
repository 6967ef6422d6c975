"""A plan that a yard can feed: what is too little to weigh, load or order, or one feed too many, is
dropped or brought up.

The cheapest plan comes first and keeps its proof. Then, in rounds, every fault of every ration is
put right at once and the plan is settled again: a feed of a group is brought up to its least useful
amount where it is near it on average, dropped where it is not, in all its periods alike. What makes
the plan impossible is tried the other way, and left as it is when neither way works. Where the
first round costs more than `WORTH_A_SEARCH`, one search over all feeds at once (choose.py) is taken
instead, and the rounds mend what it left. Forages are held for four weeks before that (hold.py), so
that amounts are put right for the weeks together. Feeds too many on the farm, and orders that are
too small, come last (orders.py).
"""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from rationlp.model.lp import Key
from rationlp.model.tidy import Fault
from rationlp.planned import SmallAmount, SmallOrder
from rationlp.records import dataclass
from rationlp.wintering.choose import Held, choose, smoothed
from rationlp.wintering.hold import add_hold_rows, hold_rations
from rationlp.wintering.levels import AcceptedPlan, settle_plan
from rationlp.wintering.one_way import add_one_way_rows, groups_that_come_and_go, move_one_way
from rationlp.wintering.orders import add_order_rows, mend_feeds, mend_orders
from rationlp.wintering.rules import has_rules, run_faults
from rationlp.wintering.rules_bound import least_by_rules
from rationlp.wintering.search import WinterModel
from rationlp.wintering.steady import ask_for_steadiness
from rationlp.wintering.trial import Trial

MOST_ROUNDS = 8
NEAR = 0.5
"""Share of the least useful amount from which a feed is brought up to it rather than dropped [-].
"""
WORTH_A_SEARCH = 2e-3
"""What the first round may cost before all feeds are searched at once [share of the plan's cost].
"""

NEAR_ENOUGH = 2e-3
"""A plan so near to the bound of all plans needs none of those that keep the rules [share]."""


@dataclass(frozen=True)
class TidyPlan:
    """The settled tidy plan, and how many amounts were dropped or brought up.

    stays: what was left although too small. orders: what is bought below its least order. too_many:
    bought feeds above the farm's most. costs: of the cheapest plan and of those after it, by the
    rule that was kept next, without the price of changes [currency]. above_least: most by which the
    best plan that holds the same groups is cheaper [currency].
    steady_groups: parts whose forages are held for four weeks; unheld: names of those that could
    be. come_and_go: names of those with a concentrate that comes and goes.
    """

    accepted: AcceptedPlan
    dropped: int
    raised: int
    stays: tuple[SmallAmount, ...]
    orders: tuple[SmallOrder, ...]
    too_many: int
    costs: dict[str, float]
    above_least: float
    steady_groups: tuple[str, ...]
    unheld: list[str]
    come_and_go: list[str]


def tidy_plan(
    model: WinterModel, cheapest: AcceptedPlan, lower_bound: float = -inf
) -> TidyPlan | None:
    """The plan made steady and without what can be put right; None where that gives none. Consumes
    the model.

    Every plan on the way passes the check of the cheapest plan, or it is no step. lower_bound: no
    plan costs less [currency], so none that keeps the rules does; -inf without one.
    """
    plain = dict(model.costs)
    add_order_rows(model)
    add_hold_rows(model)
    add_one_way_rows(model)
    ask_for_steadiness(model)
    steady = settle_plan(model, cheapest.touches, guarded=False)
    if steady is None or not steady.passed:
        return None
    trial = Trial(model, steady)
    costs = {"cheapest": cheapest.cost, "steady": _plain(trial, plain)}
    hold_rations(trial)
    costs["held_weeks"] = _plain(trial, plain)
    held_only = trial.best
    _first_round(trial)
    _rounds(trial)
    trial.shut_idle_faces()
    costs["least_amounts"] = _plain(trial, plain)
    move_one_way(trial, _rounds)
    costs["one_way"] = _plain(trial, plain)
    too_many = mend_feeds(trial, _rounds)
    costs["bought_feeds"] = _plain(trial, plain)
    orders = mend_orders(trial, _rounds)
    trial.shut_idle_faces()
    costs["orders"] = _plain(trial, plain)
    best, steady_groups = trial.best, tuple(sorted(trial.steady_groups))
    unheld, come_and_go = _unheld(trial), groups_that_come_and_go(trial)
    least = _least_possible(trial, plain, held_only, lower_bound)
    stays = _stays(trial)
    trial.release()
    dropped = sum(_drops(trial, steady, mark) for mark in trial.held)
    raised = sum(
        high > 0.0 and _raises(trial, steady, mark) for mark, (_, high) in trial.held.items()
    )
    return TidyPlan(
        best, dropped, raised, stays, orders, too_many, costs,
        max(costs["orders"] - least, 0.0), steady_groups, unheld, come_and_go,
    )  # fmt: skip


def _unheld(trial: Trial) -> list[str]:
    """Names of the parts whose forages could be held and are not."""
    could = {row.key[1] for row in trial.model.live.rows if row.key[0] == "hold"}
    names = {run.block.group.id: run.block.group.name for run in trial.model.runs}
    return [name for part, name in names.items() if part in could - trial.steady_groups]


def _plain(trial: Trial, prices: Mapping[Key, float]) -> float:
    """Cost of the plan in hand without the price of changes [currency]."""
    index, values = trial.model.live.column_index, trial.best.solution.values
    return sum(price * values[index[key]] for key, price in prices.items())


def _least_possible(
    trial: Trial, prices: dict[Key, float], held_only: AcceptedPlan, lower_bound: float
) -> float:
    """No plan costs less that keeps the least amounts and holds the forages of the same groups
    [currency], whatever its orders; the bound of all plans where that is as good.
    """
    model = trial.model
    near = _plain(trial, prices) - lower_bound <= NEAR_ENOUGH * abs(lower_bound)
    if near or lower_bound == -inf or model.live.has_whole_numbers:
        return lower_bound
    trial.release(groups_too=False)
    model.costs = prices
    plan = settle_plan(model, held_only.touches, guarded=False)
    if plan is None:
        return lower_bound
    return max(lower_bound, least_by_rules(model, plan))


def _stays(trial: Trial) -> tuple[SmallAmount, ...]:
    """What is still at fault in the plan in hand: a feed of a group once."""
    stays: dict[tuple[str, str], SmallAmount] = {}
    for number, run in enumerate(trial.model.runs):
        group = run.block.group
        for fault in (
            run_faults(trial.model.yard, run, trial.kg_of_run(number)) if has_rules(run) else ()
        ):
            amount = SmallAmount(group.id, group.name, fault.offer.id, fault.offer.name, fault.why)
            stays.setdefault((group.id, fault.offer.id), amount)
    return tuple(stays.values())


def _drops(trial: Trial, steady: AcceptedPlan, mark: tuple[int, str]) -> bool:
    """Whether a feed that the steady plan has was dropped."""
    return trial.held[mark][1] == 0.0 and trial.kg(steady, mark) > 1e-6


def _raises(trial: Trial, steady: AcceptedPlan, mark: tuple[int, str]) -> bool:
    """Whether a feed that the steady plan has too little of was brought up."""
    return 1e-6 < trial.kg(steady, mark) < trial.held[mark][0] * (1.0 - 1e-6)


def _first_round(trial: Trial) -> None:
    """The first round, or the search over all feeds where that is cheaper."""
    steady = trial.best
    wrong = _wrong(trial)
    if not wrong:
        return
    mended = _mend(trial, wrong)
    if mended is not None and mended[1].cost - steady.cost <= WORTH_A_SEARCH * abs(steady.cost):
        trial.take(*mended)
        return
    trial.release(groups_too=False)
    choice = choose(trial.model, steady)
    plans = [] if mended is None else [mended]
    if choice is not None:
        for held in (choice.held, smoothed(trial.model, choice.held)):
            plan = trial.settled(held, steady.touches)
            plans += [] if plan is None else [(held, plan)]
    if plans:
        trial.take(*min(plans, key=lambda way: way[1].cost))


def _rounds(trial: Trial) -> None:
    """Rounds until no ration has a fault, or none that can be put right."""
    for _ in range(MOST_ROUNDS):
        wrong = _wrong(trial)
        if not wrong:
            return
        mended = _mend(trial, wrong)
        if mended is not None:
            trial.take(*mended)
            continue
        of_groups = {trial.model.runs[number].block.group.id for number, _ in wrong}
        if of_groups & trial.one_way_groups:
            trial.one_way_groups -= of_groups
        elif of_groups & trial.steady_groups:
            trial.steady_groups -= of_groups
        else:
            trial.given_up |= wrong.keys()


def _wrong(trial: Trial) -> dict[tuple[int, str], Fault]:
    """Up to two faults of every run's ration that were not given up: the next round finds what is
    left.
    """
    found: dict[tuple[int, str], Fault] = {}
    for number, run in enumerate(trial.model.runs):
        if not has_rules(run):
            continue
        kg = trial.kg_of_run(number)
        first: dict[tuple[int, str], Fault] = {}
        for fault in run_faults(trial.model.yard, run, kg):
            if (number, fault.offer.id) not in trial.given_up:
                first[(number, fault.offer.id)] = fault
            if len(first) == 2:
                break
        found |= first
    return found


def _mend(trial: Trial, wrong: Mapping[tuple[int, str], Fault]) -> tuple[Held, AcceptedPlan] | None:
    """The plan with all of these put right, tried both ways round; None when neither gives a
    plan.
    """
    model = trial.model
    shares: dict[tuple[str, str], list[float]] = {}
    for (number, name), fault in wrong.items():
        block = model.runs[number].block
        if fault.least_kg_dm:
            shares.setdefault((block.group.id, name), []).append(
                trial.kg(trial.best, (number, name)) / fault.least_kg_dm
            )
    for near in (NEAR, 0.0, inf):
        held = dict(trial.held)
        for (number, name), fault in wrong.items():
            of_group = shares.get((model.runs[number].block.group.id, name), [])
            held[(number, name)] = _bounds(fault, of_group, near)
        plan = trial.settled(held, trial.best.touches)
        if plan is not None:
            return held, plan
    return None


def _bounds(fault: Fault, of_group: list[float], near: float) -> tuple[float, float]:
    """A feed brought up where its group is near the least on average or short without it, else
    dropped.
    """
    if fault.least_kg_dm is None:
        return 0.0, 0.0
    up = bool(of_group) and sum(of_group) / len(of_group) >= near
    up = up or (fault.wanted and near < inf)
    return (fault.least_kg_dm, inf) if up else (0.0, 0.0)
