"""The rows of a sheep's forage: how much of it she takes, and how concentrate beyond the usual pushes it out."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from rationlp.model.lp import Row
from rationlp.model.rows.block import Block
from rationlp.needs.forage import USUAL_CONCENTRATE_KG_DM, forage_percent, substitution

WHOSE = "levy-board figures of what a ewe takes of such forage at this stage, from memory"


def forage_capacities(block: Block) -> dict[str, tuple[float, float]]:
    """By offer id: most kg DM of that forage alone, and kg of it that a kg of concentrate pushes out."""
    needs = block.needs
    if needs.forage_stage is None or needs.live_weight_kg is None:
        return {}
    found = {}
    for offer in block.offers:
        percent = forage_percent(needs.forage_stage, offer.feed)
        if percent is not None:
            found[offer.id] = (percent * needs.live_weight_kg / 100.0, substitution(offer.feed))
    return found


def forage_appetite(block: Block) -> Iterator[Row]:
    """Σ x_i/F_i ≤ 1 over forages, F_i what she takes of that forage alone [kg DM]; and, with C the concentrate [kg DM],
    Σ x_i/F_i + s (C − usual) ≤ 1.

    s is the greatest r_i/F_i of the forages at hand, r_i the kg of it that a kg of concentrate pushes out: with several
    forages the row asks for no more intake than the one that gives way most would leave.
    """
    capacities = forage_capacities(block)
    if not capacities:
        return
    filled = {block.feed(offer): 1.0 / capacities[offer.id][0] for offer in block.offers if offer.id in capacities}
    title = "forage that she takes"
    yield Row(block.key("forage_appetite"), filled, -inf, 1.0, "limit", "of her appetite for forage", title, WHOSE)
    pushed = max(rate / most for most, rate in capacities.values())
    usual = USUAL_CONCENTRATE_KG_DM[block.needs.forage_stage or ""]
    concentrates = {block.feed(offer): pushed for offer in block.offers if offer.feed.is_concentrate}
    if concentrates:
        yield Row(
            block.key("forage_pushed_out"),
            {**filled, **concentrates},
            -inf,
            1.0 + pushed * usual,
            "limit",
            "of her appetite for forage",
            "forage beside concentrate",
            f"concentrate above {usual:g} kg of dry matter replaces forage: trials with ewes in late pregnancy",
        )
