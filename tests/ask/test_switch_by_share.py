"""The switch by share: on paper, against dense grids of independent solves, and what bars it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from paper_farm import least_cost, paper_farm

from rationlp.ask.breaks import Reading, find_turns
from rationlp.ask.switch import CURVE_TOLERANCE, GroupSwitch, switch_by_share
from rationlp.farm.farm import Farm
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.ration import make_blocks
from rationlp.model.rows.block import Block, Pair
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def paper(tmp_path_factory: pytest.TempPathFactory) -> Farm:
    """The farm on paper."""
    return read_farm(paper_farm(tmp_path_factory.mktemp("paper") / "farm"))


@pytest.fixture(scope="module")
def on_paper(paper: Farm) -> GroupSwitch:
    """Its switch from grass to maize."""
    return switch_by_share(paper, ("grass", "maize")).groups[0]


@pytest.fixture(scope="module")
def dairy() -> Farm:
    """The dairy example on its first day."""
    return farm_on(read_farm(ROOT / "examples" / "dairy"))


@pytest.fixture(scope="module")
def finishers(dairy: Farm) -> GroupSwitch:
    """Its finishing steers, from first cut to maize."""
    return switch_by_share(dairy, ("first_cut", "maize"), ["finishers"]).groups[0]


def test_one_breakpoint_at_two_sevenths(on_paper: GroupSwitch) -> None:
    """There the meal comes in and the protein need begins to press; nowhere else does the ration
    turn.
    """
    turns = [point for point in on_paper.points if point.turn]
    assert [point.share for point in turns] == [pytest.approx(2.0 / 7.0, abs=1e-6)]
    assert turns[0].enters == ("Meal",)
    assert turns[0].leaves == ()
    assert turns[0].begins


def test_the_curve_is_the_one_on_paper(on_paper: GroupSwitch) -> None:
    """Every point costs what the formula says, and is its own bound: the needs are fixed."""
    assert len(on_paper.points) >= 3
    for point in on_paper.points:
        assert point.cost == pytest.approx(least_cost(point.share), abs=1e-9)
        assert point.lower_bound == pytest.approx(point.cost, abs=1e-9)
        assert point.proven


def test_between_points_a_straight_line_is_close_enough(on_paper: GroupSwitch) -> None:
    """On a dense grid the line through the points is within the stated tolerance of the formula."""
    for a, b in zip(on_paper.points, on_paper.points[1:], strict=False):
        for n in range(1, 20):
            share = a.share + (b.share - a.share) * n / 20.0
            line = a.cost + (b.cost - a.cost) * n / 20.0
            assert line == pytest.approx(least_cost(share), rel=1.5 * CURVE_TOLERANCE)


def test_the_best_share_and_its_price_on_paper(on_paper: GroupSwitch) -> None:
    """Cheapest at 2/7; the whole switch pays where 8.4375 kg of maize and 1.5625 of meal cost 1.00;
    it comes in below 50 a tonne.
    """
    assert on_paper.best is not None
    assert on_paper.best.share == pytest.approx(2.0 / 7.0, abs=1e-9)
    assert on_paper.pays_below == pytest.approx(500.0 * (1.0 - 0.3 * 1.5625) / 8.4375, abs=0.02)
    assert on_paper.comes_in_below == pytest.approx(50.0, abs=0.02)


def test_what_bought_feed_brings(on_paper: GroupSwitch) -> None:
    """At the whole switch 1.5625 kg of meal with 400 g of protein each."""
    assert on_paper.points[-1].bought_cp_g == pytest.approx(625.0)
    assert on_paper.points[-1].bought_cost == pytest.approx(0.46875)
    assert on_paper.whole_change == pytest.approx(0.14375)


def held(block: Block, share: float) -> Optimum:
    """A share solved afresh with its proof, the other forages but straw left out."""
    offers = tuple(
        offer
        for offer in block.offers
        if offer.id in ("first_cut", "maize")
        or offer.feed.kind == "straw"
        or not offer.feed.is_forage
    )
    found = solve_block(replace(block, offers=offers, pair=Pair("first_cut", "maize", share)))
    assert isinstance(found, Optimum)
    return found


def test_breakpoints_against_a_dense_grid(dairy: Farm, finishers: GroupSwitch) -> None:
    """Where needs move: between two points next to each other no independent solve leaves the line
    by more than the tolerance.
    """
    block = make_blocks(dairy, ["finishers"])[0]
    points = finishers.points
    for n in range(1, 60):
        share = n / 60.0
        a = max((point for point in points if point.share <= share), key=lambda point: point.share)
        b = min((point for point in points if point.share >= share), key=lambda point: point.share)
        part = 0.0 if b.share == a.share else (share - a.share) / (b.share - a.share)
        line = a.cost + part * (b.cost - a.cost)
        assert held(block, share).objective == pytest.approx(line, rel=3.0 * CURVE_TOLERANCE)


def test_feeds_are_the_same_between_breakpoints(dairy: Farm, finishers: GroupSwitch) -> None:
    """Solved afresh just before and just after a breakpoint, the feeds differ by what it says comes
    in and goes out.
    """
    block = make_blocks(dairy, ["finishers"])[0]
    names = {offer.id: offer.name for offer in block.offers}
    turns = [point for point in finishers.points if point.turn and (point.enters or point.leaves)]
    assert len(turns) >= 3
    for point in turns:
        before, after = (
            {names[key] for key, kg in held(block, point.share + step).values.items() if kg > 1e-7}
            for step in (-2e-5, 2e-5)
        )
        assert after - before == set(point.enters)
        assert before - after == set(point.leaves)


def test_every_point_is_within_its_proof(finishers: GroupSwitch) -> None:
    """The bound lies below the cost and within 0.01 % of it."""
    for point in finishers.points:
        assert point.proven
        assert point.lower_bound <= point.cost
        assert point.cost - point.lower_bound <= 1e-4 * point.cost


def test_the_best_share_is_the_free_ration(finishers: GroupSwitch) -> None:
    """No point of the curve is cheaper than the share that the ration takes by itself."""
    assert finishers.best is not None
    assert min(point.cost for point in finishers.points) >= finishers.best.cost - 1e-6


def test_the_whole_switch_pays_at_its_price(dairy: Farm, finishers: GroupSwitch) -> None:
    """Solved afresh a tenth below the break-even price the whole switch is cheaper than none, a
    tenth above it is dearer.
    """
    block = make_blocks(dairy, ["finishers"])[0]
    assert finishers.pays_below is not None

    def priced(price: float) -> Block:
        offers = tuple(
            replace(o, price_per_t_fresh=price) if o.id == "maize" else o for o in block.offers
        )
        return replace(block, offers=offers)

    stay = held(block, 0.0).objective
    assert held(priced(finishers.pays_below - 0.1), 1.0).objective < stay
    assert held(priced(finishers.pays_below + 0.1), 1.0).objective > stay


def test_shares_without_a_ration_are_named(dairy: Farm) -> None:
    """Late cows cannot live on maize and nuts alone: the last shares are barred, by the limits on
    maize and starch among others.
    """
    late = switch_by_share(dairy, ("first_cut", "maize"), ["late"]).groups[0]
    assert [(round(barred.high, 6), barred.low > 0.9) for barred in late.barred] == [(1.0, True)]
    assert "maize silages together" in late.barred[0].by
    assert late.points[-1].share == pytest.approx(late.barred[0].low)


def test_limits_of_the_farm_bar_a_share(tmp_path: Path) -> None:
    """Maize held to 40 % and meal to 10 % of the dry matter: at least 9 kg of forage, 4 of maize,
    no share beyond 4/9.
    """
    limits = (("maize", 0.4), ("meal", 0.1))
    more = "".join(
        f'[[groups.feed_limits]]\nfeed = "{key}"\nmax_share_of_dm = {share}\n'
        for key, share in limits
    )
    farm = read_farm(paper_farm(tmp_path / "farm", more=more))
    found = switch_by_share(farm, ("grass", "maize")).groups[0]
    assert [barred.by for barred in found.barred] == [("Dry matter", "Maize", "Meal")]
    assert found.barred[0].low == pytest.approx(4.0 / 9.0, abs=1e-6)


def test_limits_that_take_turns_are_no_breakpoint() -> None:
    """Two limits that coincide change places without a kink; a real kink between other limits
    stays.
    """

    def read(at: float) -> Reading:
        press = "one" if at < 0.3 else "other" if at < 0.6 else "third"
        return Reading(at, 1.0 + at + max(at - 0.6, 0.0), (frozenset({"hay"}), frozenset({press})))

    turns, places = find_turns(read, [n / 10.0 for n in range(11)], 1e-7, 1e-4)
    assert [turn.at for turn in turns] == [pytest.approx(0.6, abs=1e-6)]
    assert places[0] == 0.0


def test_a_group_that_eats_neither_is_said(tmp_path: Path) -> None:
    """Meal at a tenth of a penny: the cheapest ration holds neither forage, and the switch says
    so.
    """
    folder = paper_farm(tmp_path / "farm")
    text = (folder / "farm.toml").read_text(encoding="utf-8").replace("= 270", "= 1")
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    found = switch_by_share(read_farm(folder), ("grass", "maize")).groups[0]
    assert found.points == ()
    assert "neither" in found.reason


def test_a_group_without_any_ration_is_said(tmp_path: Path) -> None:
    """Where no ration exists the group is answered with the reason."""
    more = (
        '[[groups.quantity_limits]]\nquantity = "cp_g_per_kg_dm"\nper = "kg_dm"\nat_least = 500\n'
    )
    found = switch_by_share(
        read_farm(paper_farm(tmp_path / "farm", more=more)), ("grass", "maize")
    ).groups[0]
    assert (found.best, found.whole_change) == (None, None)
    assert "no ration exists" in found.reason


def test_milk_and_days_to_change_over(dairy: Farm) -> None:
    """Cows in milk have the cost a kg of milk; a whole change of forage takes days."""
    high = switch_by_share(dairy, ("first_cut", "maize"), ["high"]).groups[0]
    assert high.whole_change is not None
    assert high.cost_per_kg_milk == pytest.approx(high.whole_change / 34.0)
    assert high.change is not None
    assert high.change.days >= 10
