"""Published diets and mixes as real farm folders: read, solved, proved, and held against the
printed answers.

Every source stands beside its data in blending.json; a failing test names it.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from published_farm import GROUP, Blend, blend_of, money_unit, offer, write_blend
from published_problems import Record, near, records

from rationlp.model.proof import certify
from rationlp.model.ration import make_blocks, solve_rations
from rationlp.model.rows import build
from rationlp.model.solve import LiveModel
from rationlp.read.farm import read_farm
from rationlp.result import GroupRation

PRINTED = [
    "lp-hog", "lp-feedmix-protein-fibre", "lp-feedmix-calcium", "lp-blend-2meats", "lp-blend-6",
    "lp-diet-8foods",
    "lp-diet-8foods-price1", "lp-diet-9foods", "lp-diet-4foods", "lp-turkey", "lp-cattle-2brands",
    "lp-diet-6foods",
    "lp-diet-servings", "lp-two-feeds-fibre",
]  # fmt: skip
ONLY_COMPUTED = [
    "lp-own-cattle-3grains", "lp-own-cattle-fodder", "lp-own-dairy-alfalfa-corn",
    "lp-own-beef-3feeds",
    "lp-cattle-deterministic",
]  # fmt: skip
AS_SHARES = [
    "lp-feedmix-protein-fibre", "lp-feedmix-calcium", "lp-blend-2meats", "lp-blend-6",
    "lp-cattle-deterministic",
]  # fmt: skip
WRONG = "lp-soy-oats-WRONG"


COST_SLACK = 1e-12
AMOUNT_SLACK = 1e-8
"""What the solver's own rounding may move besides the rounding of the print, as a share of the cost
and of a unit.
"""


def ration(blend: Blend, folder: Path) -> GroupRation:
    """The blend written to a folder, read back and solved."""
    (answer,) = solve_rations(read_farm(write_blend(blend, folder))).groups
    return answer


def amounts(answer: GroupRation, record: Record) -> dict[str, float]:
    """Units eaten by the names of the record, 0 where none."""
    eaten = {amount.offer: amount.kg_dm for amount in answer.amounts}
    return {
        variable["name"]: eaten.get(offer(variable["name"]), 0.0)
        for variable in record["variables"]
    }


def cost(answer: GroupRation, record: Record) -> float:
    """Feed cost in the money of the record."""
    assert answer.feed_cost is not None
    return answer.feed_cost / money_unit(record)


def exact(record: Record) -> float:
    """The optimum computed in fractions."""
    return float(Fraction(record["computed"]["objective_exact"]))


def same(expected: dict[str, float]) -> Any:
    """Amounts equal but for rounding."""
    return pytest.approx(expected, rel=AMOUNT_SLACK, abs=AMOUNT_SLACK)


@pytest.mark.parametrize("name", PRINTED)
def test_the_printed_optimum_and_amounts(name: str, tmp_path: Path) -> None:
    """A published diet as a farm: proved, at the printed cost and with the printed amounts within
    their rounding.
    """
    record = records()[name]
    answer = ration(blend_of(record), tmp_path)
    assert answer.status == "proven"
    assert answer.proof is not None
    assert answer.proof.passed
    printed, paid, found = record["printed"], cost(answer, record), amounts(answer, record)
    close = paid == pytest.approx(printed["objective"], rel=COST_SLACK)
    assert close or near(record, printed["objective"], paid), record["source"]
    wrong = {key: (value, found[key]) for key, value in printed.get("primal", {}).items()
             if not near(record, value,
             found[key]) and abs(value - found[key]) > AMOUNT_SLACK}  # fmt: skip
    assert wrong == {}, record["source"]


@pytest.mark.parametrize("name", [*PRINTED, *ONLY_COMPUTED, WRONG])
def test_the_exact_optimum(name: str, tmp_path: Path) -> None:
    """The cost is the optimum computed in fractions, also where the source prints none or a wrong
    one.
    """
    record = records()[name]
    answer = ration(blend_of(record), tmp_path)
    assert cost(answer, record) == pytest.approx(exact(record), rel=COST_SLACK)
    assert amounts(answer, record) == same(record["computed"]["primal"])


@pytest.mark.parametrize("name", AS_SHARES)
def test_the_same_mix_written_in_shares(name: str, tmp_path: Path) -> None:
    """Limits per kg of the mix instead of amounts in the batch give the same ration at the same
    cost.
    """
    record = records()[name]
    blend = blend_of(record, per_kg=True)
    assert {per for _, per, _, _ in blend.limits} == {"head_day", "kg_dm"}
    answer = ration(blend, tmp_path)
    assert cost(answer, record) == pytest.approx(exact(record), rel=COST_SLACK)
    assert amounts(answer, record) == same(record["computed"]["primal"])


@pytest.mark.parametrize("name", ["lp-diet-8foods", "lp-hog", "lp-diet-servings"])
def test_wet_feeds_change_the_weight_and_not_the_cost(name: str, tmp_path: Path) -> None:
    """The same problem with feeds of 250 to 1000 g DM/kg: kg DM and cost stay, kg fresh follow the
    dry matter.
    """
    record = records()[name]
    blend = blend_of(record)
    blend.dm = {
        feed: 250.0 + 750.0 * number / len(blend.prices) for number, feed in enumerate(blend.prices)
    }
    answer = ration(blend, tmp_path)
    assert cost(answer, record) == pytest.approx(exact(record), rel=COST_SLACK)
    assert amounts(answer, record) == same(record["computed"]["primal"])
    dm = {offer(feed): grams for feed, grams in blend.dm.items()}
    assert all(a.kg_fresh == pytest.approx(a.kg_dm * 1000.0 / dm[a.offer]) for a in answer.amounts)


def test_a_printed_slip_is_not_reproduced(tmp_path: Path) -> None:
    """A question page prints 52 for soybean meal and oats: the farm finds 2205/43, and the printed
    point is not proved.
    """
    record = records()[WRONG]
    folder = write_blend(blend_of(record), tmp_path)
    farm = read_farm(folder)
    (answer,) = solve_rations(farm).groups
    assert not near(record, record["printed"]["objective"], cost(answer, record))
    live = LiveModel(build(make_blocks(farm)))
    solution = live.solve(cold=True)
    printed = record["printed"]["primal"]
    point = {
        column.key: printed.get(column.key[1].removeprefix("own_"), 0.0)
        for column in live.program.columns
    }
    point = {
        key: sum(printed.values()) if key[0] == "dm" else value for key, value in point.items()
    }
    wrong = certify(live.numbers(), solution, tuple(point.values()))
    assert wrong.primal <= 1e-9
    assert not wrong.passed


def test_the_shadow_prices_of_the_hog_feed(tmp_path: Path) -> None:
    """Hillier & Lieberman, hog feed: one more unit of carbohydrate costs the printed 0.007714286,
    vitamins nothing.
    """
    answer = ration(blend_of(records()["lp-hog"]), tmp_path)
    lines = {line.quantity: line for line in answer.supply}
    assert lines["carbohydrate"].price == pytest.approx(0.007714286, rel=1e-6)
    assert lines["carbohydrate"].at_limit
    assert lines["vitamin"].price == pytest.approx(0.0, abs=1e-12)
    assert lines["vitamin"].supply == pytest.approx(157, abs=0.5)
    assert not lines["vitamin"].at_limit


def test_what_if_the_hogs_need_less(tmp_path: Path) -> None:
    """Hillier & Lieberman, hog feed: with 185 units of carbohydrate instead of 200 the printed cost
    is 2.30.
    """
    record = records()["lp-hog"]
    blend = blend_of(record)
    blend.limits = [("carbohydrate", "head_day", 185.0,
    None) if limit[0] == "carbohydrate" else limit
                    for limit in blend.limits]  # fmt: skip
    assert cost(ration(blend, tmp_path), record) == pytest.approx(2.30, abs=0.005)


def test_a_percentage_point_of_protein(tmp_path: Path) -> None:
    """Taha, special feed mix: 31 % instead of 30 % protein costs 7600/17, that is 9.41 more (exact,
    computed).
    """
    record = records()["lp-feedmix-protein-fibre"]
    blend = blend_of(record, per_kg=True)
    name = "protein_30pct"
    blend.limits = [
        (name, "kg_dm", 0.31, None) if limit[0] == name else limit for limit in blend.limits
    ]
    assert cost(ration(blend, tmp_path), record) == pytest.approx(7600 / 17, rel=COST_SLACK)


def test_the_price_of_a_share_is_per_unit_of_the_share(tmp_path: Path) -> None:
    """Taha, special feed mix: the dual 20/17 per lb of protein is 20/17 × 800 lb for a share of 1
    (exact, computed).
    """
    answer = ration(blend_of(records()["lp-feedmix-protein-fibre"], per_kg=True), tmp_path)
    (line,) = [line for line in answer.supply if line.quantity == "protein_30pct"]
    assert line.price == pytest.approx(800.0 * 20 / 17)


def infeasible(sodium: float) -> Blend:
    """The eight foods with a sodium cap."""
    blend = blend_of(records()["lp-diet-8foods-infeasible"])
    blend.limits = [
        (name, per, low, sodium if name == "na" else high) for name, per, low, high in blend.limits
    ]
    return blend


def test_a_diet_that_cannot_be_made(tmp_path: Path) -> None:
    """The AMPL book, ch. 2: with 40 000 of sodium the eight foods cannot reach 700 of B2, and that
    is what is said.
    """
    answer = ration(infeasible(40_000.0), tmp_path)
    assert answer.status == "none_exists"
    assert answer.amounts == ()
    assert answer.proof is None
    (short,) = answer.shortfalls
    assert (short.need, short.needed, short.unit) == ("b2", 700.0, "units")
    assert any("na" in words for words in answer.at_limit)


def test_the_shortfall_is_tight(tmp_path: Path) -> None:
    """B2 lowered by the shortfall said can be reached, by a hair less it cannot."""
    (tmp_path / "short").mkdir()
    (short,) = ration(infeasible(40_000.0), tmp_path / "short").shortfalls
    statuses = []
    for number, share in enumerate((1.0001, 0.999)):
        blend = infeasible(40_000.0)
        blend.limits = [(n, per, 700.0 - share * short.short if n == "b2" else low, high)
                        for n, per, low, high in blend.limits]  # fmt: skip
        (tmp_path / str(number)).mkdir()
        statuses.append(ration(blend, tmp_path / str(number)).status)
    assert statuses == ["proven", "none_exists"]


@pytest.mark.parametrize(("cap", "status"), [(48_186.0, "proven"), (48_185.0, "none_exists")])
def test_the_smallest_sodium_cap(cap: float, status: str, tmp_path: Path) -> None:
    """Computed exactly on the eight foods: 48 186 is the least sodium with which a diet exists."""
    assert ration(infeasible(cap), tmp_path).status == status


def test_the_group_is_the_one_written(tmp_path: Path) -> None:
    """The folder's one group comes back by its id, with the currency of the farm."""
    farm = read_farm(write_blend(blend_of(records()["lp-turkey"]), tmp_path))
    assert [group.id for group in farm.groups] == [GROUP]
    assert farm.currency == "USD"
