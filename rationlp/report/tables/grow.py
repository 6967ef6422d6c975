"""Tables of what to grow next year."""

from __future__ import annotations

from collections.abc import Mapping

from rationlp.ask.grow import NextYear, StoringFigure
from rationlp.report.tables.table import Column, Table, shown, table_of


def crops_table(answer: NextYear) -> Table:
    """One row a crop: hectares, tonnes, cost, and the most that a hectare may cost."""
    currency = answer.farm.currency
    columns = (
        Column("crop", "Crop", of="name"),
        Column("hectares", "Grow", "ha", 1),
        Column("used_t_dm", "Used", "t DM", 0),
        Column("reserve_t_dm", "Left", "t DM", 0),
        Column("sold_t_dm", "Sold", "t DM", 0, of="surplus_t_dm"),
        Column("cost", "Costs", currency, 0),
        Column("cost_per_t_dm", "At the trough", f"{currency}/t DM", 0),
        Column("cost_per_ha", "A hectare costs", currency, 0),
        Column("worth_per_ha", "One more is worth", currency, 0),
    )
    note = (
        "Used: put out over the winter, waste at the trough in it. One more hectare is worth"
        " what it would save in other feed and in energy above need, which is priced: where"
        " that is less than its cost none is grown, where it is more the land or its most"
        " hectares are used up."
    )
    return table_of("crops", "What to grow for next winter", answer.crops, columns, (note,))


def storing_table(answer: NextYear, cost: Mapping[str, StoringFigure]) -> Table:
    """One row a crop that is ensiled: one clamp and its face, plastic of clamp and bales."""
    columns = (
        Column("crop", "Crop"),
        Column("hold_t_dm", "To hold", "t DM", 0),
        Column("volume_m3", "Volume", "m3", 0),
        Column("face_m2", "Widest face", "m2", 0),
        Column("width_m", "Width", "m", 1),
        Column("height_m", "Height", "m", 1),
        Column("length_m", "Length", "m", 0),
        Column("plastic_clamp_kg", "Plastic, clamp", "kg", 0),
        Column("plastic_bales_kg", "Plastic, bales", "kg", 0),
        Column("words", "Remark"),
    )
    rows = []
    for crop in answer.crops:
        clamp = crop.clamp
        if crop.plastic_bales_kg is None or crop.hectares <= 0.0:
            continue
        size: tuple[float | None, ...] = (None,) * 6
        remark = "in bales"
        if clamp is not None:
            face = clamp.face_m2, clamp.width_m, clamp.height_m
            size = (clamp.t_dm, clamp.volume_m3, *face, clamp.length_m)
            remark = ""
            if clamp.too_small:
                remark = "too little a week for a clamp: bales or a bag"
        rows.append((crop.name, *size, crop.plastic_clamp_kg, crop.plastic_bales_kg, remark))
    bales, pit = cost["cost_bales"], cost["cost_clamp"]
    notes = (
        "A face no wider than this moves on fast enough in winter at the mean use of the plan.",
        (
            f"Published costs, {bales.year}: wrapped bales {shown(bales.value, 0)}, first cut in a"
            f" clamp {shown(pit.value, 0)} {pit.unit} ({bales.source}). Bales suit few animals, odd"
            " parcels and forage to sell; a clamp suits more than some forty cows."
        ),
    )
    title = "One clamp for it, and what it takes to seal"
    if not rows:
        return Table("storing", title, columns, ())
    return Table("storing", title, columns, tuple(rows), notes)


def next_bought_table(answer: NextYear) -> Table:
    """What is bought beside it."""
    names = {offer.id: offer.name for offer in answer.farm.offers}
    columns = (
        Column("feed", "Bought beside it", of=lambda offer: names[offer]),
        Column("t_fresh", "Amount", "t fresh", 1, of=lambda offer: answer.bought_t[offer]),
    )
    return table_of("next_bought", "What is bought beside it", answer.bought_t, columns)


def grow_line(answer: NextYear) -> str:
    """The answer in a sentence or two."""
    currency = answer.farm.currency
    reserve = f"{100.0 * answer.reserve_share:g} % over what is used"
    if answer.cost is None:
        return (
            f"With {reserve}, what can be grown and bought does not feed these animals: more land,"
            " another crop, more to buy."
        )
    grown = "; ".join(
        f"{shown(crop.hectares, 1)} ha {crop.name}" for crop in answer.crops if crop.hectares > 0.05
    )
    land = ""
    if answer.land_ha is not None:
        land = f" of {answer.land_ha:g} ha"
    sentence = f"For a winter like this one, with {reserve}: {grown or 'nothing'}. "
    sentence += f"That is {shown(answer.hectares, 1)} ha in all{land}. "
    sentence += f"Forage and bought feed come to {currency} {answer.cost:,.0f}, "
    sentence += f"of which {answer.bought_cost or 0.0:,.0f} is bought."
    if answer.left_out:
        sentence += (
            f" Left out, because they name a store that is not grown: {', '.join(answer.left_out)}."
        )
    return sentence
