"""Every row of the files of practice, both ways: a ration just inside passes, and one just outside
is refused by the row of the model, priced, put right or said, whichever the file has it.

The figures are read from feeds/*.csv by themselves and turned into kg of dry matter here; each has
its source and status in its row, and every wall the reason why it is one.
"""

from __future__ import annotations

import pytest
from limit_blocks import (
    ANIMALS,
    OF_LIMITS,
    block_of,
    broken,
    dm_per_kg_fresh,
    rows_of,
    weight_of,
)

from rationlp.model.rows import diet, mineral, practice
from rationlp.model.rows.block import Block
from rationlp.model.tidy import faults
from rationlp.needs.limits import class_row, diet_limits, with_protein_by_weight
from rationlp.quantities import quantities
from rationlp.report.tables.ration import ABOVE_ADVICE, BELOW_ADVICE, standing
from rationlp.result import SupplyLine

INSIDE, OUTSIDE = 0.995, 1.005
EATEN_KG_DM = 10.0
LIMITS = rows_of("limits.csv")
FAMILIES = rows_of("family-limits.csv")
DIET = rows_of("diet-limits.csv")
PRACTICE = {
    (row["limits_key"], row["figure"]): float(row["value"]) for row in rows_of("practice.csv")
}
CLASSES = sorted({row["class"] for row in LIMITS})


def filled(feed: str, kg_dm: float, eaten: float = EATEN_KG_DM) -> dict[str, float]:
    """So much of a feed in so much dry matter; the rest another feed, which no row here names."""
    other = "hay_average" if feed != "hay_average" else "straw_barley"
    return {feed: kg_dm, other: eaten - kg_dm}


def test_every_class_of_the_files_has_an_animal() -> None:
    """No class and no column of the diet is left out below."""
    assert set(CLASSES) == set(OF_LIMITS)
    assert {row["diet_column"] for row in DIET} == set(ANIMALS) - {"bull"}


def most_of(row: dict[str, str], weight: float) -> float | None:
    """The least of a row's limits in kilograms [kg DM a head a day]."""
    dm = dm_per_kg_fresh(row["feed_key"])
    per_kg, a_day = row["max_g_per_kg_live_weight"], row["max_kg_fresh_per_day"]
    caps = [float(per_kg) * weight * dm / 1000.0] if per_kg else []
    return min([*caps, *([float(a_day) * dm] if a_day else [])], default=None)


@pytest.mark.parametrize("limits_key", CLASSES)
def test_a_feed_just_inside_and_just_outside_its_limits(limits_key: str) -> None:
    """Kilograms fresh a day, grams by live weight, share of the dry matter, for every feed."""
    column = OF_LIMITS[limits_key]
    weight = weight_of(column)
    for row in (row for row in LIMITS if row["class"] == limits_key):
        feed = row["feed_key"]
        share, kg = row["max_share_of_dm"], most_of(row, weight)
        by_kg, by_share = f"practice_kg {feed}", f"practice_share {feed}"

        def passed(kg_dm: float, eaten: float, feed: str = feed) -> set[str]:
            return broken(column, practice.practice, filled(feed, kg_dm, eaten))

        if kg is not None:
            assert by_kg not in passed(INSIDE * kg, 4.0 * kg)
            assert by_kg in passed(OUTSIDE * kg + 1e-6, 4.0 * kg + 1.0), row
        if share:
            at = float(share) * EATEN_KG_DM
            assert by_share not in passed(INSIDE * at, EATEN_KG_DM)
            if float(share) < 1.0:
                assert by_share in passed(OUTSIDE * at + 1e-6, EATEN_KG_DM), row


@pytest.mark.parametrize("limits_key", CLASSES)
def test_a_mineral_goes_in_at_its_printed_rate(limits_key: str) -> None:
    """What is fixed is fed at its rate, no gram more or less; the farm's own figure opens it."""
    column = OF_LIMITS[limits_key]
    weight = weight_of(column)
    rates = {}
    for row in (row for row in LIMITS if row["class"] == limits_key):
        by_weight, a_day = row["fixed_g_per_kg_live_weight"], row["fixed_g_per_day"]
        grams = float(a_day) if a_day else float(by_weight or 0.0) * weight
        if grams > 0.0:
            rates[row["feed_key"]] = grams * dm_per_kg_fresh(row["feed_key"]) / 1000.0
    assert rates
    for feed, kg in rates.items():
        for share, kept in ((1.0, True), (INSIDE, False), (OUTSIDE, False)):
            found = broken(column, practice.minerals, filled(feed, share * kg))
            assert ("minerals" not in found) == kept, (feed, kg)


def family_sum(row: dict[str, str], member: str, weight: float) -> tuple[float, float]:
    """(kg DM of one member at which a family's cap is reached in 10 kg of dry matter, all of it
    forage but for that member; its share of the sum for a kg DM).
    """
    feed, _, factor = member.partition("*")
    each, cap = float(factor or 1.0), float(row["cap"])
    if "fresh" in row["basis"]:
        each /= dm_per_kg_fresh(feed)
    scale = {"share_of_dm": EATEN_KG_DM, "share_of_forage_dm": EATEN_KG_DM}.get(row["basis"], 1.0)
    if "live_weight" in row["basis"]:
        scale = weight / 1000.0
    return cap * scale / each, each


@pytest.mark.parametrize("limits_key", CLASSES)
def test_near_cousins_together_just_inside_and_just_outside(limits_key: str) -> None:
    """Every family of the class: all of it as its first member, and as first and last by halves."""
    column = OF_LIMITS[limits_key]
    weight = weight_of(column)
    for number, row in enumerate(row for row in FAMILIES if row["class"] == limits_key):
        members = row["members"].split()
        key = f"family {row['family']} {number}"
        for share, kept in ((INSIDE, True), (OUTSIDE, False)):
            for parts in ((members[0],), (members[0], members[-1])):
                kg = {
                    part.partition("*")[0]: share * family_sum(row, part, weight)[0] / len(parts)
                    for part in parts
                }
                if row["basis"].startswith("share"):
                    if sum(kg.values()) > EATEN_KG_DM:
                        continue
                    kg["linseed_whole"] = 0.0
                    rest = EATEN_KG_DM - sum(kg.values())
                    other = "hay_average" if "hay_average" not in kg else "hay_good"
                    kg[other] = rest
                found = broken(column, practice.families, kg)
                assert (key not in found) == kept, (row, kg)


def contents(block: Block, quantity: str) -> dict[str, float]:
    """Contents of a quantity by feed, of feeds that have a figure."""
    known = ((offer.id, block.content(offer, quantity)) for offer in block.offers)
    return {feed: value for feed, value in known if value is not None}


def mixed(values: dict[str, float], wanted: float) -> dict[str, float] | None:
    """10 kg of the poorest and the richest feed with so much in a kg of dry matter."""
    low, high = min(values, key=lambda key: values[key]), max(values, key=lambda key: values[key])
    if not values[low] <= wanted <= values[high] or values[low] == values[high]:
        return None
    share = (wanted - values[low]) / (values[high] - values[low])
    return {low: (1.0 - share) * EATEN_KG_DM, high: share * EATEN_KG_DM}


@pytest.mark.parametrize("row", DIET, ids=lambda row: f"{row['diet_column']} {row['quantity']}")
def test_a_diet_just_inside_and_just_outside(row: dict[str, str]) -> None:
    """A row of the model keeps it (`row`), lets it pass at a price (`priced`), or it is said as
    below or above advice and no row knows of it (`reported`).
    """
    for side, text in (("least", row["at_least"]), ("most", row["at_most"])):
        if text:
            bound = float(text)
            if row["quantity"] == UREA and row["kind"] == "row":
                bound = least_urea(row["diet_column"], bound)
            step = 0.005 * (bound or 1.0) * (1.0 if side == "most" else -1.0)
            way = {"row": walled, "priced": priced, "reported": advised}[row["kind"]]
            way(row, side, bound - step, bound + step)


UREA = "urea_g_per_kg_dm"


def least_urea(column: str, printed: float) -> float:
    """Urea by live weight and by litres may be held lower than the column prints it, never
    higher.
    """
    limits = block_of(column).needs.limits
    held = [one.at_most for one in limits if (one.quantity, one.kind) == (UREA, "row")]
    assert all(most is not None and most <= printed for most in held)
    return min(most for most in held if most is not None)


def walled(row: dict[str, str], side: str, inside: float, outside: float) -> None:
    """A row of the model is kept inside and broken outside."""
    column, quantity = row["diet_column"], row["quantity"]
    sheep = column.startswith(("ewe", "lamb"))
    for value, kept in ((inside, True), (outside, False)):
        kg = mixed(contents(block_of(column, sheep), quantity), value)
        if kg is None:
            # None at all is allowed (urea): nothing lies on the inner side.
            assert kept, row
            assert inside < 0.0, row
            continue
        found = broken(column, diet.diet_limits, kg, sheep)
        assert (f"diet {quantity} {side}" not in found) == kept, row


def priced(row: dict[str, str], side: str, inside: float, outside: float) -> None:
    """What lies outside counts at a price, and no row of the model refuses it."""
    column, quantity = row["diet_column"], row["quantity"]
    block = block_of(column)
    (limit,) = mineral.priced_limits_of(block)
    for value, kept in ((inside, True), (outside, False)):
        kg = mixed(contents(block, quantity), value)
        assert kg is not None
        assert (mineral.over_limit_g(block, limit, kg) == 0.0) == kept
        assert kept or mineral.priced_shortage(block, kg) > 0.0
        assert f"diet {quantity} {side}" not in broken(column, diet.diet_limits, kg)


def advised(row: dict[str, str], side: str, inside: float, outside: float) -> None:
    """Outside is said in words, inside nothing."""
    assert said(row, inside) == ""
    assert said(row, outside) == {"least": BELOW_ADVICE, "most": ABOVE_ADVICE}[side]


def said(row: dict[str, str], supply: float) -> str:
    """How a supply stands to the advice of a row alone."""
    low, high = (float(row[side]) if row[side] else None for side in ("at_least", "at_most"))
    title = quantities()[row["quantity"]].title
    line = SupplyLine(
        row["quantity"], title, row["unit"], supply, None, None, low, high, False, None, ""
    )
    advice = [limit for limit in diet_limits(row["diet_column"]) if limit.kind == "reported"]
    return standing(line, advice)


@pytest.mark.parametrize("row", rows_of("protein-advice.csv"), ids=lambda row: row["diet_column"])
def test_protein_advice_by_weight_is_said_both_ways(row: dict[str, str]) -> None:
    """Advice goes by the weight it is printed for: said just outside, silent just inside."""
    weight = float(row["live_weight_to_kg"] or 900.0)
    advice = with_protein_by_weight(diet_limits(row["diet_column"]), row["diet_column"], weight)
    (limit,) = (one for one in advice if one.quantity == "cp_g_per_kg_dm" and one.kind != "row")
    most = float(row["at_most"]) if row["at_most"] else None
    assert (limit.at_least, limit.at_most) == (float(row["at_least"]), most)

    def word(supply: float) -> str:
        low, high = limit.at_least, limit.at_most
        line = SupplyLine(
            limit.quantity, "", limit.unit, supply, None, None, low, high, False, None, ""
        )
        return standing(line, [limit])

    low = limit.at_least or 0.0
    assert (word(low * OUTSIDE), word(low * INSIDE)) == ("", BELOW_ADVICE)
    if most is not None:
        assert (word(most * INSIDE), word(most * OUTSIDE)) == ("", ABOVE_ADVICE)


STOMACH = {
    "forage_share_least": ("forage_floor", ("hay_average", "barley"), "least"),
    "forage_ndf_most": ("forage_ndf_most", ("hay_average",), "most"),
    "silage_most_kg_fresh": ("silage_most", ("grass_silage_2nd",), "most"),
    "ration_dm_least": ("ration_dm", ("hay_average", "swedes"), "least"),
    "long_forage_least_kg_dm": ("long_forage", ("hay_average", "barley"), "least"),
}
"""Row of the model, the feeds that a ration for it is made of, and its side."""


def stomach_ration(figure: str, value: float, weight: float) -> dict[str, float]:
    """A ration that stands at a figure of the stomach exactly [kg DM]."""
    feeds = STOMACH[figure][1]
    if figure == "forage_share_least":
        return {feeds[0]: value * EATEN_KG_DM, feeds[1]: (1.0 - value) * EATEN_KG_DM}
    if figure == "forage_ndf_most":
        ndf = contents(block_of("growing"), "ndf_g_per_kg_dm")[feeds[0]]
        return {feeds[0]: value * weight * 1000.0 / ndf}
    if figure == "silage_most_kg_fresh":
        return {feeds[0]: value * dm_per_kg_fresh(feeds[0])}
    if figure == "ration_dm_least":
        dry, wet = (dm_per_kg_fresh(feed) for feed in feeds)
        # x kg DM of the dry one in 10: 10 = value * (x / dry + (10 - x) / wet).
        x = EATEN_KG_DM * (1.0 / value - 1.0 / wet) / (1.0 / dry - 1.0 / wet)
        return {feeds[0]: x, feeds[1]: EATEN_KG_DM - x}
    return {feeds[0]: value, feeds[1]: EATEN_KG_DM - value}


@pytest.mark.parametrize(
    ("limits_key", "figure"), [key for key in PRACTICE if key[1] in STOMACH], ids=str
)
def test_a_stomach_just_inside_and_just_outside(limits_key: str, figure: str) -> None:
    """Forage share, silage in kilograms, NDF of forage, dry matter of the mix, long forage."""
    column = "finishing_cereal" if limits_key == "finishing_cattle" else OF_LIMITS[limits_key]
    weight = weight_of(column)
    row, _, side = STOMACH[figure]
    value = PRACTICE[limits_key, figure]
    within, beyond = (OUTSIDE, INSIDE) if side == "least" else (INSIDE, OUTSIDE)
    for factor, kept in ((within, True), (beyond, False)):
        kg = stomach_ration(figure, factor * value, weight)
        found = broken(column, practice.stomach, kg)
        assert (row not in found) == kept, (limits_key, figure, kg)


LEAST = {
    "least_molasses_kg_fresh": "molasses_cane",
    "least_wet_kg_fresh": "swedes",
    "least_long_forage_kg_fresh": "hay_average",
    "least_straight_kg_fresh": "barley",
    "least_free_mineral_kg_fresh": "limestone",
}


@pytest.mark.parametrize(
    ("limits_key", "figure"), [key for key in PRACTICE if key[1] in LEAST], ids=str
)
def test_a_feed_just_worth_its_labour_and_just_not(limits_key: str, figure: str) -> None:
    """Put right, never refused: below its least useful amount a feed is a fault of the ration."""
    block = block_of(OF_LIMITS[limits_key])
    feed = LEAST[figure]
    kg = PRACTICE[limits_key, figure] * dm_per_kg_fresh(feed)
    # A straight is worth its labour from 2.5 % of the dry matter too: so little of it is eaten here
    # that the printed kilograms count.
    rest = "grass_silage_2nd" if feed != "barley" else "hay_good"
    for factor, kept in ((OUTSIDE, True), (INSIDE, False)):
        fed = {feed: factor * kg, rest: 10.0 * kg if feed == "barley" else EATEN_KG_DM}
        too_little = "too little to weigh and mix"
        named = [fault.offer.id for fault in faults(block, fed) if fault.why == too_little]
        assert (feed not in named) == kept, (limits_key, figure)


@pytest.mark.parametrize("limits_key", CLASSES)
def test_so_many_bought_feeds_and_no_more(limits_key: str) -> None:
    """As many feeds besides forage and minerals as a yard mixes; one more is put right."""
    block = block_of(OF_LIMITS[limits_key])
    most = int(PRACTICE[limits_key, "bought_feeds_most"])
    straights = ("barley", "oats", "peas", "lupins", "field_beans", "soya_hulls", "maize_grain")
    for number, kept in ((most, True), (most + 1, False)):
        fed = {"hay_average": 10.0, **dict.fromkeys(straights[:number], 2.0)}
        whys = [fault.why for fault in faults(block, fed)]
        assert (f"more than {most} feeds besides forage and minerals" not in whys) == kept


def test_every_wall_has_its_reason_beside_it() -> None:
    """Limits of feeds and families, rows of the diet and of the stomach: why, whence, how sure."""
    walls = [*LIMITS, *FAMILIES, *(row for row in DIET if row["kind"] == "row")]
    walls += [row for row in rows_of("practice.csv") if row["figure"] in STOMACH]
    for row in walls:
        assert row["reason"].strip() not in ("", "other"), row
        assert row["source"].strip(), row
        assert row["status"] in ("a", "b", "c"), row


def test_an_animal_reads_the_column_it_stands_for() -> None:
    """The animals above are what they are said to be."""
    for column, (limits_key, animal_class, facts) in ANIMALS.items():
        row = class_row(animal_class, facts)
        assert row.limits_key == limits_key
        assert row.diet_column == column or column == "bull"
