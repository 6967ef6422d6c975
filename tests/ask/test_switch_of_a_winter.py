"""The switch by tonnes and by hectares: breakpoints of a convex curve, against whole plans made
independently.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from paper_farm import paper_farm

from rationlp.ask.stores import NO_PLAN, WHOLE_LOADS
from rationlp.ask.tonnes import (
    Line,
    WinterSwitch,
    breakpoints,
    switch_by_hectares,
    switch_by_tonnes,
)
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

ROOT = Path(__file__).resolve().parents[2]
PLAIN = WinterOptions(faces="off", prove=False)
GROWN = """
[[growing]]
id = "grass"
feed = "own_grass"
yield_t_dm_per_ha = 5.0
losses = 0.2
cost_per_ha = 400

[[growing]]
feed = "own_maize"
yield_t_dm_per_ha = 12.0
losses = 0.25
cost_per_ha = 900
"""


def plan_cost(farm: Farm, change: dict[str, float]) -> float:
    """The cost of a whole plan made afresh with so many t DM more or less in stores."""
    stocks: dict[str, StoreStock] = dict(farm_stocks(farm))
    for name, t in change.items():
        edible = stocks[name].edible_t_dm
        stocks[name] = replace(
            stocks[name], edible_t_dm=replace(edible, typical=edible.typical + t)
        )
    proof = solve_winter(farm, PLAIN, stocks).proof
    assert proof is not None
    return proof.cost


def held_at(moved: WinterSwitch, t: float) -> float:
    """The curve at an amount, on the straight line between its points."""
    a = max((point for point in moved.points if point.moved <= t), key=lambda point: point.moved)
    return a.held_cost + (a.slope or 0.0) * (t - a.moved)


@pytest.fixture(scope="module")
def paper(tmp_path_factory: pytest.TempPathFactory) -> Farm:
    """The farm on paper with 10 t DM of grass, 1 of maize, and how both are grown."""
    return read_farm(
        paper_farm(tmp_path_factory.mktemp("paper") / "farm", grass=20.0, maize=2.0, more=GROWN)
    )


def test_needs_fixed_the_curve_is_that_of_independent_plans(paper: Farm) -> None:
    """On a grid of 24 amounts the straight lines are within 1e-6 of plans made afresh."""
    moved = switch_by_tonnes(paper, ("grass", "maize"))
    assert len(moved.points) >= 3
    for n in range(25):
        t = moved.possible * n / 24.0
        assert held_at(moved, t) == pytest.approx(
            plan_cost(paper, {"grass": -t, "maize": t}), rel=1e-6
        )


def test_breakpoints_on_paper(paper: Farm) -> None:
    """1000 head-days, 10 t DM. All 1 t of maize and 9 of grass are eaten at first; maize may be 2/7
    of the forage before meal comes in.

    Moving t leaves 10 − t of grass and 1 + t of maize: both eaten up to 1 + t = 20/7, each tonne 20
    cheaper. From there every further tonne brings meal: grass g and maize z with 150 g + 80 z + 400
    (10 − g − z) = 1300.
    """
    moved = switch_by_tonnes(paper, ("grass", "maize"))
    turn = 20.0 / 7.0 - 1.0
    assert any(point.moved == pytest.approx(turn, abs=1e-6) for point in moved.points)
    assert moved.points[0].slope == pytest.approx(-20.0, abs=1e-6)
    assert moved.best is not None
    assert moved.best.moved == pytest.approx(turn, abs=1e-6)


def test_the_curve_is_convex(paper: Farm) -> None:
    """Slopes rise, and settling again changes nothing where needs are fixed."""
    moved = switch_by_tonnes(paper, ("grass", "maize"))
    slopes = [point.slope for point in moved.points if point.slope is not None]
    assert slopes == sorted(slopes)
    assert all(point.cost == pytest.approx(point.held_cost, rel=1e-9) for point in moved.points)


def test_moved_whole_it_pays_at_that_difference(paper: Farm) -> None:
    """What maize may cost more than grass, a t DM, is the saving spread over all that is moved."""
    moved = switch_by_tonnes(paper, ("grass", "maize"))
    assert moved.pays is not None
    whole = plan_cost(paper, {"grass": -moved.most, "maize": moved.most})
    assert moved.pays * moved.most == pytest.approx(plan_cost(paper, {}) - whole, abs=1e-3)


def test_needs_that_move_settle_below_the_held_rows() -> None:
    """The short example, hay to clamp: settled, a plan costs no more than at the rows held, and
    what an independent plan costs.
    """
    farm = read_farm(ROOT / "examples" / "short")
    moved = switch_by_tonnes(farm, ("hay", "clamp"))
    assert len(moved.points) >= 3
    assert all(point.cost <= point.held_cost * (1.0 + 1e-7) for point in moved.points)
    for point in (moved.points[0], moved.points[len(moved.points) // 2], moved.points[-1]):
        alone = plan_cost(farm, {"hay": -point.moved, "clamp": point.moved})
        assert point.cost == pytest.approx(alone, rel=1e-4)


def test_hectares_on_paper(paper: Farm) -> None:
    """A hectare moved takes 4 t DM of grass and brings 9 of maize for 500 more; the forages
    themselves cost nothing then.
    """
    moved = switch_by_hectares(paper, ("grass", "maize"))
    assert moved.most == pytest.approx(10.0 / 4.0)
    free = replace(
        paper,
        offers=tuple(
            replace(o, price_per_t_fresh=0.0) if not o.bought else o for o in paper.offers
        ),
    )
    for n in range(9):
        ha = moved.possible * n / 8.0
        alone = plan_cost(free, {"grass": -4.0 * ha, "maize": 9.0 * ha}) + 500.0 * ha
        assert held_at(moved, ha) == pytest.approx(alone, rel=1e-6, abs=1e-6)


def test_the_break_even_yield_breaks_even(tmp_path: Path) -> None:
    """Short of forage, at the yield named the first hectares cost what they save, with more they
    pay, with less they do not.
    """
    farm = read_farm(paper_farm(tmp_path / "farm", grass=10.0, maize=1.0, more=GROWN))
    found = switch_by_hectares(farm, ("grass", "maize")).break_even_yield
    assert found is not None
    one, other = farm.growing
    slopes = []
    for times in (0.99, 1.0, 1.01):
        grown = (one, replace(other, yield_t_dm_per_ha=times * found))
        slopes.append(
            switch_by_hectares(replace(farm, growing=grown), ("grass", "maize")).points[0].slope
            or 0.0
        )
    assert slopes[0] > 1.0
    assert slopes[1] == pytest.approx(0.0, abs=1e-4)
    assert slopes[2] < -1.0


def test_no_more_can_be_moved_than_leaves_a_plan(tmp_path: Path) -> None:
    """Where maize may be no more than 30 % of the dry matter and meal 5 %, not all grass can go."""
    limits = (("maize", 0.3), ("meal", 0.05))
    more = "".join(
        f'[[groups.feed_limits]]\nfeed = "{key}"\nmax_share_of_dm = {share}\n'
        for key, share in limits
    )
    farm = read_farm(paper_farm(tmp_path / "farm", grass=20.0, maize=2.0, more=more))
    moved = switch_by_tonnes(farm, ("grass", "maize"))
    # At least 65 % of 10 t DM must be grass: 3.5 of the 10 t can go.
    assert moved.possible == pytest.approx(3.5, abs=1e-4)
    assert moved.points[-1].moved == moved.possible < moved.most


def test_whole_loads_and_no_plan_have_reasons(tmp_path: Path) -> None:
    """Neither is a curve; the answer says which it is."""
    farm = read_farm(paper_farm(tmp_path / "farm", grass=10.0, maize=2.0))
    offers = tuple(replace(o, load_t=1.0, whole_loads=True) if o.bought else o for o in farm.offers)
    assert switch_by_tonnes(replace(farm, offers=offers), ("grass", "maize")).reason == WHOLE_LOADS
    hungry = read_farm(
        paper_farm(
            tmp_path / "hungry", more='[[groups.feed_limits]]\nfeed = "meal"\nmin_kg_fresh = 20\n'
        )
    )
    assert switch_by_tonnes(hungry, ("grass", "maize")).reason == NO_PLAN


def test_breakpoints_of_a_plain_curve() -> None:
    """max(1 − x, 0.5 − x/4, x − 3): breakpoints at 2/3 and 2.8, found with a line at each and no
    sampling.
    """
    pieces = ((1.0, -1.0), (0.5, -0.25), (-3.0, 1.0))
    asked: list[float] = []

    def line(at: float) -> Line:
        asked.append(at)
        height, slope = max((a + b * at, b) for a, b in pieces)
        return at, height, slope

    found = breakpoints(line, 0.0, 5.0)
    assert [at for at, _, _ in found] == pytest.approx([0.0, 2.0 / 3.0, 2.8, 5.0])
    assert len(asked) <= 8


def test_crops_are_found_by_store_or_by_feed(paper: Farm) -> None:
    """The crop with the store's id comes first, then the only one of its feed; two of one feed and
    no id are said.
    """
    grass, maize = paper.growing
    assert [crop.edible_t_dm_per_ha for crop in paper.growing] == pytest.approx([4.0, 9.0])
    second = replace(maize, id="late_maize", yield_t_dm_per_ha=6.0)
    named = replace(paper, growing=(grass, replace(maize, id="maize"), second))
    held = switch_by_hectares(named, ("grass", "maize")).points
    assert held == switch_by_hectares(paper, ("grass", "maize")).points
    with pytest.raises(InputError, match=r"IN545.*2 crops") as caught:
        switch_by_hectares(
            replace(named, growing=(grass, replace(maize, id="early"), second)), ("grass", "maize")
        )
    assert "the id" in caught.value.findings[0].remedy
    with pytest.raises(InputError, match=r"IN545.*no crops"):
        switch_by_hectares(replace(paper, growing=(grass,)), ("grass", "maize"))
