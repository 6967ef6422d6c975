"""Prices on the rows that tie a winter, beside one programme: the same cost within both gaps, each
certified, and the same bytes every time.

Random winters of every kind with all that may tie them (tied_winters.py). RATIONLP_FULL=1 solves
two hundred, plain pytest nine. A failure names kind and seed.
"""

from __future__ import annotations

import os
from dataclasses import replace

import pytest
from random_winters import KINDS
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix
from tied_winters import tied_winter

from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.planned import WinterPlan
from rationlp.wintering import search
from rationlp.wintering.bound import link_prices, run_costs
from rationlp.wintering.courses import courses
from rationlp.wintering.links import Yard
from rationlp.wintering.plan import settled_winter, solve_winter, solve_yard
from rationlp.wintering.priced_blocks import take_apart
from rationlp.wintering.prices import Master, start_by_prices
from rationlp.wintering.run_values import CLOSE, RunValues
from rationlp.wintering.search import WinterModel, begin
from rationlp.wintering.yard import WinterOptions, make_yard

FULL = os.environ.get("RATIONLP_FULL") == "1"
FEW = [(kind, seed) for kind in KINDS for seed in range(2)]
FACED = [("cattle", 6), ("cattle", 26), ("sheep", 3), ("mixed", 19), ("mixed", 49)]
"""Whole loads, bags, clamps asked or by course; the last has two plans a hair apart."""
EVERY = [(kind, seed) for kind in KINDS for seed in range(67)]
WINTERS = EVERY if FULL else [*FEW, *FACED]
ROUNDING = 2e-6
"""Costs of the two that differ by less are the same [share of the cost]."""
WIDEST = 0.02
"""No gap of a small winter is wider [share of the cost]."""


def by_course(farm: Farm, held: dict[str, StoreStock], options: WinterOptions) -> Yard:
    """A yard whose clamps are all open all winter, with what spoils."""
    yard = make_yard(farm, options, held)
    faces = tuple(name for name, stock in held.items() if stock.face is not None)
    yard = replace(yard, open_clamps=faces)
    *_, always = courses(yard)
    return replace(yard, course=always)


def planned(farm: Farm, held: dict[str, StoreStock], options: WinterOptions) -> WinterPlan:
    """The plan with its proof, that of a course as well."""
    if options.faces == "course":
        return solve_yard(by_course(farm, held, options), options)
    return solve_winter(farm, options, held)


def gap(plan: WinterPlan) -> float:
    """How far a plan's cost may lie above its bound [currency]."""
    assert plan.proof is not None
    assert plan.cost is not None
    return plan.proof.cost - plan.proof.lower_bound


@pytest.mark.parametrize(("kind", "seed"), WINTERS)
def test_prices_and_one_programme_agree(
    kind: str, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same winter both ways: both have a plan or neither, both are certified, and their costs
    lie no further apart than their gaps together.
    """
    farm, held, options = tied_winter(seed, kind)
    one = planned(farm, held, options)
    monkeypatch.setattr(search, "LARGE", 1)
    other = planned(farm, held, options)
    assert one.feeds_all == other.feeds_all, (kind, seed)
    if one.proof is None or other.proof is None:
        assert one.status == other.status, (kind, seed)
        return
    assert one.proof.passed, (kind, seed)
    assert other.proof.passed, (kind, seed)
    apart = abs(one.proof.cost - other.proof.cost)
    assert apart <= gap(one) + gap(other) + ROUNDING * abs(one.proof.cost), (kind, seed)
    assert max(gap(one), gap(other)) < WIDEST * abs(one.proof.cost), (kind, seed)
    again = planned(farm, held, options)
    assert repr(again.rations) == repr(other.rations), (kind, seed)
    assert repr(again.proof) == repr(other.proof), (kind, seed)


def test_a_good_part_of_the_winters_has_faces_and_whole_numbers() -> None:
    """Of two hundred a quarter each at least, with faces asked for in every way."""
    every = [tied_winter(seed, kind) for kind, seed in EVERY]
    faced = [one for one in every if one[2].faces != "off"]
    loads = [one for one in every if any(offer.whole_loads for offer in one[0].offers)]
    assert len(faced) >= 50
    assert len(loads) >= 50
    assert {options.faces for _, _, options in faced} == {"auto", "course", "on"}
    assert len({round(offer.load_t or 0.0, 3) for farm, _, _ in loads for offer in farm.offers}) > 3


def opened(kind: str, seed: int) -> WinterModel:
    """A random winter in the solver, where its search begins."""
    farm, held, options = tied_winter(seed, kind)
    model = WinterModel(make_yard(farm, options, held))
    model.allow_shortage(True)
    model.touch(begin(model))
    return model


def least_cost(model: WinterModel) -> float:
    """The optimum of the programme as it stands, by scipy."""
    numbers = model.live.numbers()
    matrix = lil_matrix((len(numbers.coefs), len(numbers.cost)))
    for i, j, value in numbers.entries:
        matrix[i, j] = value
    answer = milp(
        numbers.cost,
        constraints=LinearConstraint(matrix.tocsr(), numbers.row_low, numbers.row_high),
        bounds=Bounds(numbers.col_low, numbers.col_high),
    )
    assert answer.success
    return float(answer.fun)


@pytest.mark.parametrize(("kind", "seed"), [("mixed", 2), ("cattle", 2)])
def test_no_price_promises_more_than_the_least_cost(
    kind: str, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """L(y) bounds the programme whatever the prices are, and comes up to its optimum as scipy finds
    it (linear-programming duality): first with the rows that the search begins with, then with
    those that the blocks settled. The joint programme stands at its optimum then.
    """
    bounds: dict[int, list[float]] = {}
    move = Master.move

    def watched(self: Master, bound: float, prices: list[float]) -> None:
        bounds.setdefault(id(self), []).append(bound)
        move(self, bound, prices)

    monkeypatch.setattr(Master, "move", watched)
    model = opened(kind, seed)
    least = least_cost(model)
    touches = start_by_prices(model, begin(model))
    model.allow_shortage(True)
    model.touch(touches)
    settled = least_cost(model)
    for found, optimum, gap_of in zip(bounds.values(), (least, settled), (1e-4, 1e-8), strict=True):
        assert max(found) <= optimum * (1.0 + 1e-8)
        assert max(found) >= optimum * (1.0 - gap_of)
    answer = model.solve()
    assert answer is not None
    assert answer.objective == pytest.approx(settled, rel=1e-8)


@pytest.mark.parametrize(("kind", "seed"), WINTERS)
def test_values_of_a_plan_prove_no_more_than_its_runs_cost(
    kind: str, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a plan's marginal values say of a run in an interval of D is no more than the programme
    of that run alone, priced and held to the interval, costs; and at the plan's own D it is what
    the plan feeds.
    """
    monkeypatch.setattr(search, "LARGE", 1)
    farm, held, options = tied_winter(seed, kind)
    model = WinterModel(make_yard(farm, options, held))
    settled = settled_winter(model)
    if settled is None or not model.is_large:
        return
    solution = settled[0].solution
    told = RunValues(model, solution.values, solution.row_duals)
    _, prices = link_prices(model, solution.row_duals)
    for number, single in enumerate(model.singles):
        curve, weight = single.curve, model.runs[number].weight
        if curve is None or single.by_point:
            continue
        alone = single.again()
        alone.costs = run_costs(model, number, prices)
        alone.live.set_costs(alone.costs)
        alone.hold_level(0, *model.levels[number])
        # A ceiling on energy is a curve, which tangents hold to a millionth: it takes the plan's.
        for row in model.live.rows[model.first_link :]:
            if row.kind == "ceiling" and row.key[-2:] == single.dm[-2:]:
                alone.take_cut(row)
        at = model.live.value(solution, single.dm)
        fed = told.fed[number]
        size = 1e-7 * max(abs(fed), weight)
        assert told.least(number, curve, at, at) == pytest.approx(fed, abs=size)
        low, high, proved = told.around(number, curve, weight)
        assert curve.low <= low <= at + 1e-9
        assert at - 1e-9 <= high <= curve.high
        assert proved >= fed - CLOSE * max(abs(fed), 1e-3 * weight) - size
        for a, b in ((curve.low, curve.high), (low, high), (curve.low, low), (high, curve.high)):
            answer = alone.bound(a, b)
            if answer is not None:
                assert told.least(number, curve, a, b) <= answer.objective * weight + size


def test_a_face_that_many_eat_from_ties_blocks() -> None:
    """Rows of a face in a period are among the tying rows, what spoils and whether it is open
    beside the blocks.
    """
    winters = (tied_winter(seed, kind) for kind, seed in EVERY)
    farm, held, options = next(
        one for one in winters if one[2].faces == "course" and len(one[0].groups) > 2
    )
    model = WinterModel(by_course(farm, held, options))
    model.allow_shortage(True)
    model.touch(begin(model))
    tied, rows = take_apart(model), model.live.program.rows
    faces = {i for i, row in enumerate(rows) if row.key[0] in ("face", "shut")}
    assert faces
    assert faces <= set(tied.tying)
    beside = {model.live.program.columns[j].key[0] for j in tied.beside}
    assert {"open", "spoiled"} <= beside


def test_groups_of_one_mix_are_one_block() -> None:
    """Rows of a mix tie two runs, so they lie inside a block; stores tie blocks. Every column and
    row belongs somewhere, once.
    """
    kind, seed = next(one for one in WINTERS if tied_winter(one[1], one[0])[0].mixes)
    model = opened(kind, seed)
    tied, rows = take_apart(model), model.live.program.rows
    assert len(tied.blocks) == len(model.yard.farm.groups) - 1
    assert any(row.key[0] == "mix" for row in rows)
    assert not any(rows[i].key[0] == "mix" for i in tied.tying)
    assert {rows[i].key for i in tied.tying} >= {
        row.key for row in rows if row.key[0] == "store" and len(row.coefs) > 2
    }
    every = sorted(j for block in tied.columns for j in block) + sorted(tied.beside)
    assert sorted(every) == list(range(len(model.live.cost)))
    assert sorted([*tied.tying, *(i for block in tied.rows for i in block)]) == list(
        range(len(rows))
    )


def test_whole_numbers_are_one_programme(monkeypatch: pytest.MonkeyPatch) -> None:
    """Loads bought whole have no prices: such a winter never counts as large."""
    monkeypatch.setattr(search, "LARGE", 1)
    winters = (tied_winter(seed, kind)[0] for kind, seed in WINTERS)
    farm, held, options = next(
        tied_winter(seed, kind)
        for (kind, seed), farm in zip(WINTERS, winters, strict=True)
        if any(offer.whole_loads for offer in farm.offers)
    )
    assert not WinterModel(make_yard(farm, options, held)).is_large
