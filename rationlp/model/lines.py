"""A ration against its needs: one line a quantity, from the amounts alone, found or fed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from rationlp.farm.feed import Offer
from rationlp.model.rows.block import Block
from rationlp.model.rows.diet import OWN, share_scale
from rationlp.model.rows.mineral import (
    CALCIUM_TO_PHOSPHORUS,
    COMMON,
    calcium_to_phosphorus,
    mineral_supplies,
)
from rationlp.model.rows.practice import free_minerals
from rationlp.model.rows.rumen import least_share, rumen_share
from rationlp.needs.energy import GE_MJ_PER_KG_DM, Level
from rationlp.needs.minerals import COPPER, LEAST_CALCIUM_TO_PHOSPHORUS, POTASSIUM, cation_balance
from rationlp.needs.standards import STANDARDS
from rationlp.needs.supply import RationSupply
from rationlp.records import dataclass
from rationlp.result import SupplyLine

AT_LIMIT_TOLERANCE = 1e-6
_SHOWN = (
    "cp_g_per_kg_dm",
    "ndf_g_per_kg_dm",
    "forage_ndf_g_per_kg_dm",
    "starch_and_sugar_g_per_kg_dm",
    "oil_g_per_kg_dm",
    "forage_share",
)
"""Shown for every class with an energy need, whether or not a limit stands on them."""
_A_DAY = {f"{name}_g_per_kg_dm": f"{name}_g" for name in ("ca", "p", "mg", "na")}
RUMEN_SHARE = "rumen_protein_share"
_WATCHED = (POTASSIUM, COPPER)


@dataclass(frozen=True)
class Eaten:
    """A ration as eaten: kg DM a head a day by offer id, and its supply at its own level."""

    amounts: Mapping[str, float]
    supply: RationSupply
    level: Level | None
    duals: Mapping[tuple[str, ...], float]

    @property
    def q(self) -> float:
        """Metabolisability of the ration [-]."""
        supply = self.supply
        if supply.dm_kg > 0.0:
            return supply.me_mj / supply.dm_kg / GE_MJ_PER_KG_DM
        return 0.0


@dataclass(frozen=True)
class _Bounds:
    """What a line is held against; keys: rows whose marginal cost it carries, times `per_unit`."""

    need: float | None = None
    target: float | None = None
    low: float | None = None
    high: float | None = None
    whose: str = ""
    keys: tuple[tuple[str, ...], ...] = ()
    unit: str | None = None
    per_unit: float = 1.0
    unknown: tuple[str, ...] = ()


def _line(block: Block, eaten: Eaten, quantity: str, supply: float, bounds: _Bounds) -> SupplyLine:
    known = block.quantity(quantity)
    limits = [bound for bound in (bounds.target, bounds.low, bounds.high) if bound is not None]
    slack = ((bound, AT_LIMIT_TOLERANCE * max(1.0, abs(bound))) for bound in limits)
    at_limit = any(abs(supply - bound) <= tolerance for bound, tolerance in slack)
    duals = [eaten.duals[key] for key in bounds.keys if key in eaten.duals]
    return SupplyLine(
        quantity=quantity,
        title=known.title,
        unit=bounds.unit or known.unit,
        supply=supply,
        need=bounds.need,
        target=bounds.target,
        low=bounds.low,
        high=bounds.high,
        at_limit=at_limit,
        price=sum(duals) * bounds.per_unit if duals else None,
        whose=bounds.whose,
        unknown=bounds.unknown,
    )


def supply_lines(block: Block, eaten: Eaten) -> tuple[SupplyLine, ...]:
    """Every quantity of a ration against what is needed or allowed, in a fixed order."""
    return (
        *_energy_and_protein(block, eaten),
        *_eating(block, eaten),
        *_diet(block, eaten),
        *_minerals(block, eaten),
        *_watched(block, eaten),
        *_own(block, eaten),
    )


def _energy_and_protein(block: Block, eaten: Eaten) -> Iterator[SupplyLine]:
    needs, supply = block.needs, eaten.supply
    known = STANDARDS[needs.standard]
    standard = known.title
    if needs.energy is not None:
        target = needs.energy.required_mj(eaten.q)
        ceiling = None
        if needs.energy_ceiling is not None:
            ceiling = needs.energy_ceiling * target
        bare, key = target / needs.energy.margin, block.key("energy")
        bounds = _Bounds(bare, target, None, ceiling, standard, (key,))
        yield _line(block, eaten, known.energy, supply.energy_mj, bounds)
    if needs.mp_g is not None and supply.mp_g is not None and eaten.level is not None:
        bare = needs.mp_g + needs.wool_mp_g + needs.priced_mp_g + needs.colostrum_mp_g
        eating = supply.mp_of_eating_g
        target, key = needs.mp_wanted_g + eating, block.key("protein")
        bounds = _Bounds(bare + eating, target, whose=standard, keys=(key,))
        yield _line(block, eaten, "mp_g", supply.mp_g + eating, bounds)
    if supply.erdp_g is not None and eaten.level is not None:
        used = supply.microbes_by_energy_g or 0.0
        bounds = _Bounds(whose=f"microbes could use {used:.0f} g with the energy of this ration")
        yield _line(block, eaten, "erdp_g", supply.erdp_g, bounds)
    share = rumen_share(supply)
    if share is not None:
        whose = f"{standard} wants 1 or more; at least this much by common practice"
        keys, used = (block.key("rumen"),), supply.microbes_by_energy_g or 0.0
        bounds = _Bounds(low=least_share(block), whose=whose, keys=keys, per_unit=used)
        yield _line(block, eaten, RUMEN_SHARE, share, bounds)


def _eating(block: Block, eaten: Eaten) -> Iterator[SupplyLine]:
    needs, supply = block.needs, eaten.supply
    high, low = None, needs.appetite_floor_kg_dm
    if needs.intake is not None:
        fed = block.fed(eaten.amounts)
        concentrates = sum(kg for offer, kg in fed if offer.feed.is_concentrate)
        moved = needs.intake.per_kg_concentrate * concentrates
        high = needs.intake.cap_kg_dm + moved
        if needs.appetite_floor_share is not None:
            low = needs.appetite_floor_share * needs.intake.cap_kg_dm + moved
    if low is not None:
        low += sum(eaten.amounts.get(offer.id, 0.0) for offer in free_minerals(block))
    whose = "" if needs.intake is None else needs.intake.source
    keys = (block.key("intake"), block.key("appetite"))
    own = {limit.quantity for limit in needs.own_limits}
    if low is not None or high is not None or "dm_kg" not in own:
        bounds = _Bounds(low=low, high=high, whose=whose, keys=keys)
        yield _line(block, eaten, "dm_kg", supply.dm_kg, bounds)
    if needs.ndf_fill_kg is not None:
        amount = _per_day(block, eaten, "ndf_g_per_kg_dm")
        if amount is not None:
            fill, key = needs.ndf_fill_kg, block.key("ndf_fill")
            bounds = _Bounds(high=fill, whose="NDF that the rumen holds", keys=(key,))
            yield _line(block, eaten, "ndf_kg", amount / 1000.0, bounds)


def _per_day(block: Block, eaten: Eaten, quantity: str) -> float | None:
    """Amount a head a day of a quantity; None where a feed eaten has no figure."""
    total = 0.0
    for offer, kg in block.fed(eaten.amounts):
        value = block.content(offer, quantity)
        if value is None:
            return None
        total += kg * value
    return total


def _diet(block: Block, eaten: Eaten) -> Iterator[SupplyLine]:
    limits = block.needs.limits
    names = [limit.quantity for limit in limits]
    if block.needs.energy is not None:
        names = [*_SHOWN, *names]
    for name in dict.fromkeys(names):
        if name in _WATCHED and block.needs.minerals:
            continue
        amount = _per_day(block, eaten, name)
        if amount is None or eaten.supply.dm_kg <= 0.0:
            continue
        of_this = [limit for limit in limits if limit.quantity == name]
        low = max((limit.at_least for limit in of_this if limit.at_least is not None), default=None)
        high = min((limit.at_most for limit in of_this if limit.at_most is not None), default=None)
        whose = "; ".join(dict.fromkeys(limit.whose for limit in of_this))
        keys = tuple(block.key("diet", name, side) for side in ("least", "most"))
        price = _share_price(eaten, name)
        bounds = _Bounds(low=low, high=high, whose=whose, keys=keys, per_unit=price)
        yield _line(block, eaten, name, amount / eaten.supply.dm_kg, bounds)


def _share_price(eaten: Eaten, quantity: str) -> float:
    """What turns a share row's dual into money per unit: Σ (v_i − r) x_i ≥ 0, dz/dr = dual·D."""
    return eaten.supply.dm_kg / share_scale(quantity)


def _minerals(block: Block, eaten: Eaten) -> Iterator[SupplyLine]:
    """Grams in the feed against what it must hold at its own absorption; calcium to phosphorus."""
    for mineral_supply in mineral_supplies(block, eaten.amounts):
        need, target = mineral_supply.need, mineral_supply.needed_in_feed_g
        whose = need.source
        if need.absorption.forage < 1.0:
            whose += f"; {100 * mineral_supply.share_absorbed:.0f} % absorbed"
        if need.target_low is not None and need.target_high is not None:
            span = f"{need.target_low:g}"
            if need.target_high > need.target_low:
                span += f"–{need.target_high:g}"
            whose += f"; usual {span} g/kg DM"
        keys, absorbed = (block.key("mineral", need.quantity),), mineral_supply.share_absorbed
        blank = _names(mineral_supply.blank)
        bounds = _Bounds(target, target, whose=whose, keys=keys, per_unit=absorbed, unknown=blank)
        yield _line(block, eaten, _A_DAY[need.quantity], mineral_supply.in_feed_g, bounds)
    both = calcium_to_phosphorus(block, eaten.amounts)
    if both is not None and both[1] > 0.0:
        low = LEAST_CALCIUM_TO_PHOSPHORUS
        keys = (block.key("mineral", CALCIUM_TO_PHOSPHORUS),)
        bounds = _Bounds(low=low, whose=COMMON, keys=keys, per_unit=both[1])
        yield _line(block, eaten, CALCIUM_TO_PHOSPHORUS, both[0] / both[1], bounds)


def _watched(block: Block, eaten: Eaten) -> Iterator[SupplyLine]:
    """Potassium and copper against their limits, blank figures named; cation balance."""
    if not block.needs.minerals or eaten.supply.dm_kg <= 0.0:
        return
    fed = block.fed(eaten.amounts)
    for quantity in _WATCHED:
        contents = [(offer, block.content(offer, quantity), kg) for offer, kg in fed]
        dm = sum(kg for _, value, kg in contents if value is not None)
        if dm <= 0.0:
            continue
        limits = [limit for limit in block.needs.limits if limit.quantity == quantity]
        most = [(limit.at_most, limit.whose) for limit in limits if limit.at_most is not None]
        bounds = _Bounds(
            high=min((bound for bound, _ in most), default=None),
            whose="; ".join(dict.fromkeys(whose for _, whose in most)),
            keys=(block.key("priced", quantity), block.key("diet", quantity, "most")),
            per_unit=_share_price(eaten, quantity),
            unknown=_names(offer for offer, value, _ in contents if value is None),
        )
        total = sum(value * kg for _, value, kg in contents if value is not None)
        yield _line(block, eaten, quantity, total / dm, bounds)
    balance = cation_balance([(offer.feed, kg) for offer, kg in fed])
    if balance is not None:
        bounds = _Bounds(whose="only where every feed was analysed")
        yield _line(block, eaten, "dcad_meq_per_kg_dm", balance, bounds)


def _names(offers: Iterable[Offer]) -> tuple[str, ...]:
    return tuple(offer.name for offer in offers)


def _own(block: Block, eaten: Eaten) -> Iterator[SupplyLine]:
    for limit in block.needs.own_limits:
        amount = _per_day(block, eaten, limit.quantity)
        if amount is None:
            continue
        mark, unit, per_unit = "own", block.quantity(limit.quantity).amount_unit, 1.0
        if limit.per == "kg_dm":
            if eaten.supply.dm_kg <= 0.0:
                continue
            mark, unit = "own_share", block.quantity(limit.quantity).unit
            amount /= eaten.supply.dm_kg
            per_unit = _share_price(eaten, limit.quantity)
        keys = tuple(block.key(mark, limit.quantity, side) for side in ("least", "most"))
        low, high = limit.at_least, limit.at_most
        bounds = _Bounds(None, None, low, high, OWN, keys, unit, per_unit)
        yield _line(block, eaten, limit.quantity, amount, bounds)
