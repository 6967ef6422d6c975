"""Pearson squares as stated groups, and rations worked out by hand as rations already fed: both
through a farm folder.

Every source stands beside its data in blending.json; a failing test names it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from published_farm import GROUP, Blend, blend_of, offer, write_blend
from published_problems import Record, ids, near, records

from rationlp.model.fed import fed_supply
from rationlp.model.ration import solve_rations
from rationlp.quantities import dm_from_fresh, fresh_from_dm, price_per_kg_dm
from rationlp.read.farm import read_farm
from rationlp.read.fed import read_fed
from rationlp.result import FedSupply, GroupRation

SQUARES = ids("square")
HAND_RATIONS = [name for name in ids("evaluate") if "amounts" in records()[name]]
DAILY_MOST = 200.0
"""Largest amount that a ration already fed may hold [kg a head a day]; a batch is entered as a
tenth or a hundredth.
"""


def square(record: Record, per_kg: bool = False) -> Blend:
    """A square as a blend: the equations alone fix the ration, so every feed gets the same
    price.
    """
    return blend_of(
        {**record, "costs": dict.fromkeys((v["name"] for v in record["variables"]), 0.1)}, per_kg
    )


def solved(blend: Blend, folder: Path) -> GroupRation:
    """The one group of the blend, written, read and solved."""
    (answer,) = solve_rations(read_farm(write_blend(blend, folder))).groups
    return answer


def eaten(answer: GroupRation) -> dict[str, float]:
    """kg fresh by the names of the record."""
    return {amount.offer.removeprefix("own_"): amount.kg_fresh for amount in answer.amounts}


@pytest.mark.parametrize(
    "name", [name for name in SQUARES if "primal" in records()[name]["printed"]]
)
def test_the_printed_amounts_of_a_square(name: str, tmp_path: Path) -> None:
    """Two or three feeds and as many equations have one answer: the printed one."""
    record = records()[name]
    blend = square(record)
    if name == "sq-ewe-forage-plus-concentrate":
        # The page gives the hay in dry matter and the concentrate as fed, with its energy per kg as
        # fed.
        blend.basis, blend.dm = "fresh", {"concentrate_fresh": 860.0}
    answer = solved(blend, tmp_path)
    assert answer.status == "proven"
    found = eaten(answer)
    for feed, amount in record["printed"]["primal"].items():
        assert near(record, amount, found[feed]), f"{feed}: {record['source']}"


@pytest.mark.parametrize(
    "name", [name for name in SQUARES if "parts" in records()[name]["printed"]]
)
@pytest.mark.parametrize("per_kg", [False, True])
def test_the_printed_parts_of_a_square(name: str, per_kg: bool, tmp_path: Path) -> None:
    """The printed parts (the differences across the square) are in the ratio of the amounts, also
    with CP in shares.
    """
    record = records()[name]
    found = eaten(solved(square(record, per_kg), tmp_path))
    parts = record["printed"]["parts"]
    for feed, part in parts.items():
        assert part / sum(parts.values()) == pytest.approx(found[feed], rel=2e-3), record["source"]


def test_every_square_is_tried() -> None:
    """The tests above take every square but the double one, whose last step the source does not
    print.
    """
    tried = [name for name in SQUARES if {"primal", "parts"} & set(records()[name]["printed"])]
    assert set(SQUARES) - set(tried) == {"sq-four-feeds"}
    assert len(SQUARES) == 10
    assert len(HAND_RATIONS) == 7


def test_a_square_whose_target_lies_outside_is_refused(tmp_path: Path) -> None:
    """Colorado State University extension, fact sheet 1.618: barley at 12 % and corn at 10 % cannot
    make 14 %.
    """
    blend = Blend({"barley": 0.1, "corn": 0.1}, {"protein": {"barley": 12.0, "corn": 10.0}})
    blend.limits = [("dm_kg", "head_day", 1.0, 1.0), ("protein", "head_day", 14.0, 14.0)]
    answer = solved(blend, tmp_path)
    assert answer.status == "none_exists"
    assert answer.amounts == ()
    (short,) = answer.shortfalls
    assert (short.need, short.needed) == ("protein", 14.0)
    assert short.short == pytest.approx(2.0)


def fed_farm(composition: dict[str, dict[str, float]]) -> Blend:
    """A farm with these feeds whose group limits nothing, but shows a line for every quantity."""
    names = sorted(
        {name for contents in composition.values() for name in contents} - {"cost", "DM"}
    )
    blend = Blend({feed: contents.get("cost", 0.1) for feed, contents in composition.items()})
    blend.dm = {feed: 1000.0 * contents.get("DM", 1.0) for feed, contents in composition.items()}
    for name in names:
        contents = {feed: given.get(name, 0.0) for feed, given in composition.items()}
        blend.contents[name.lower()] = contents
        blend.limits += [(name.lower(), "head_day", 0.0, None), (name.lower(), "kg_dm", 0.0, None)]
    blend.limits.append(("dm_kg", "head_day", 0.0, None))
    return blend


def supplied(blend: Blend, amounts: dict[str, float], folder: Path) -> FedSupply:
    """What these kg fresh supply, read from a folder and from a CSV of what was fed."""
    farm = read_farm(write_blend(blend, folder))
    path = folder / "fed.csv"
    rows = [f"{GROUP},{offer(feed)},{kg!r}" for feed, kg in amounts.items()]
    path.write_text("\n".join(["group,feed,kg_fresh", *rows]) + "\n", encoding="utf-8")
    (answer,) = fed_supply(farm, read_fed(path, farm))
    return answer


def totals(answer: FedSupply) -> dict[str, Any]:
    """Amount a day by quantity, and `quantity per kg`."""
    found: dict[str, Any] = {}
    for line in answer.supply:
        found[f"{line.quantity} per kg" if "/" in line.unit else line.quantity] = line.supply
    return found


def scale(record: Record) -> float:
    """The power of ten that brings a batch down to what a head may be fed."""
    most = max(record["amounts"].values())
    return 1.0 if most <= DAILY_MOST else 0.01 if most > 10.0 * DAILY_MOST else 0.1


def printed_figure(record: Record, figure: Any) -> tuple[float, Record]:
    """A printed figure with the tolerance that belongs to it: its own, or the record's."""
    if isinstance(figure, dict):
        return figure["value"], {"rel_tol": 0.0, **figure}
    return figure, record


@pytest.mark.parametrize("name", HAND_RATIONS)
def test_the_printed_totals_of_a_hand_ration(name: str, tmp_path: Path) -> None:
    """What the ration supplies of each nutrient is what the source adds up to; also per kg where it
    prints that.
    """
    record = records()[name]
    blend = fed_farm(record["composition"])
    blend.basis = "fresh"
    times = scale(record)
    answer = supplied(blend, {feed: kg * times for feed, kg in record["amounts"].items()}, tmp_path)
    found = totals(answer)
    found["cost"] = answer.feed_cost
    for nutrient, figure in record["printed"]["totals"].items():
        value, tolerance = printed_figure(record, figure)
        assert near(tolerance, value, found[nutrient.lower()] / times), (
            f"{nutrient}: {record['source']}"
        )
    for nutrient, figure in record["printed"].get("density", {}).items():
        value, tolerance = printed_figure(record, figure)
        assert near(tolerance, value, found[f"{nutrient.lower()} per kg"]), (
            f"{nutrient}: {record['source']}"
        )


@pytest.mark.parametrize(
    "name", [name for name in HAND_RATIONS if "by_feed" in records()[name]["printed"]]
)
def test_the_printed_share_of_each_feed(name: str, tmp_path: Path) -> None:
    """Each feed fed alone supplies what the source prints in its row, and the rows add up to the
    whole.
    """
    record = records()[name]
    blend = fed_farm(record["composition"])
    times = scale(record)
    for feed, rows in record["printed"]["by_feed"].items():
        found = totals(supplied(blend, {feed: record["amounts"][feed] * times}, tmp_path))
        for nutrient, value in rows.items():
            assert near(record, value, found[nutrient.lower()] / times), (
                f"{feed} {nutrient}: {record['source']}"
            )


@pytest.mark.parametrize("number", [0, 1])
def test_the_two_premixes_of_the_double_square(number: int, tmp_path: Path) -> None:
    """Montana State University extension: half soybean meal, half gluten feed is 39 % CP; corn and
    hulls 10.8 %.
    """
    mix = records()["sq-four-feeds"]["printed"]["premixes"][number]
    blend = fed_farm({feed: {"CP": content} for feed, content in mix["contents"].items()})
    assert totals(supplied(blend, mix["amounts"], tmp_path))["cp"] == pytest.approx(mix["total"])
    for feed, part in mix["by_feed"].items():
        assert totals(supplied(blend, {feed: mix["amounts"][feed]}, tmp_path))[
            "cp"
        ] == pytest.approx(part)


def test_rationed_silage_of_a_suckler_cow(tmp_path: Path) -> None:
    """Farm-press article with an adviser panel: 21 kg fresh are 7.5 kg DM and 74 MJ, composition as
    these imply (a).
    """
    record = records()["ev-suckler-rationed-silage"]
    blend = Blend(
        {"silage": 0.03}, {"me_mj_per_kg_dm": {"silage": record["computed"]["me_mj_per_kg_dm"]}}
    )
    blend.dm = {"silage": record["computed"]["dm_g_per_kg"]}
    blend.limits = [("me_mj_per_kg_dm", "head_day", 0.0, None)]
    answer = supplied(blend, {"silage": record["printed"]["fresh_kg"]}, tmp_path)
    assert answer.dm_kg == pytest.approx(record["printed"]["dm_kg"])
    assert answer.me_mj_per_kg_dm * answer.dm_kg == pytest.approx(record["printed"]["me_mj"])
    assert [
        line.supply for line in answer.supply if line.quantity == "me_mj_per_kg_dm"
    ] == pytest.approx([74.0])


@pytest.mark.parametrize(
    ("found", "number"),
    [(fresh_from_dm(12.0, 250.0), 0), (fresh_from_dm(12.0, 400.0), 1), (dm_from_fresh(1000.0,
    200.0), 2),
     (dm_from_fresh(650.0, 300.0), 3)],
)  # fmt: skip
def test_the_printed_conversions_of_dry_matter(found: float, number: int) -> None:
    """Farm-press articles (Wales; Ireland): 12 kg DM of silage as fed, the dry matter in a tonne
    and in a bale (a).
    """
    assert found == pytest.approx(
        records()["ev-dm-conversion"]["printed"]["steps"][number]["printed"]
    )


@pytest.mark.parametrize(
    ("found", "number"),
    [(100.0 * price_per_kg_dm(150.0, 900.0), 0), (100.0 * price_per_kg_dm(150.0, 900.0) / 13.0, 1),
     (100.0 * price_per_kg_dm(300.0, 850.0) / 8.0, 2), (100.0 * price_per_kg_dm(350.0,
     850.0) / 10.0, 3)],
)  # fmt: skip
def test_the_printed_cost_of_energy(found: float, number: int) -> None:
    """Lot-feeding guide of New South Wales and feed-costing guide of Victoria: cents a kg DM and a
    MJ (a, DM inferred).
    """
    step = records()["ev-cost-per-MJ"]["printed"]["steps"][number]
    assert found == pytest.approx(step["printed"], abs=step["abs_tol"])
