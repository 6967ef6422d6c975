"""What leaves the animal, a head a day: nitrogen, phosphorus, methane. Information with its source;
never a limit.

Nitrogen and phosphorus are a mass balance: eaten, less milk, gain and the unborn. Methane by two
published equations.
"""

from __future__ import annotations

from collections.abc import Sequence

from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.objects import PREGNANCY_MP, GroupNeeds
from rationlp.needs.produced import (
    MILK_P_G_PER_KG,
    N_PER_CP,
    gain_nitrogen,
    gain_of,
    gain_phosphorus,
    is_sheep,
    milk_nitrogen,
    milk_of,
)
from rationlp.needs.standards import STANDARDS
from rationlp.records import dataclass

IPCC_GE_MJ_PER_KG_DM = 18.45
METHANE_MJ_PER_KG = 55.65
YM_CATTLE, YM_CATTLE_CONCENTRATE, YM_SHEEP = 6.5, 3.0, 6.7
"""Methane energy [% of gross]: IPCC cattle (2006), on 90 % concentrate; sheep (2019); (b)."""

MOSTLY_CONCENTRATE = 0.90
ME_PER_DE = 0.82
"""Metabolisable over digestible energy [-]; ARC (1980), from memory (b)."""

IPCC = "IPCC guidelines (2006, sheep 2019), tier 2, from memory"
BLAXTER_CLAPPERTON = (
    "Blaxter and Clapperton (1965), from memory; digestibility from ME by ARC (1980)"
)
BALANCE = "mass balance; contents of gain and milk from memory of published mass balances"


@dataclass(frozen=True)
class Excretion:
    """What leaves a head a day. Nitrogen and phosphorus [g], methane [g].

    n_efficiency: (milk N + gain N)/N eaten [-], None where neither milk nor gain is made. p_*: None
    where a feed that is eaten has no phosphorus figure (`p_unknown` names it). methane_second_g: by
    the second equation, None without a level of feeding. ym: methane energy by the first, % of
    gross energy; second_percent by the second.
    per_kg: amounts for a kg of `product` (milk or gain), by name; empty where nothing is made.
    """

    n_eaten_g: float
    n_milk_g: float
    n_gain_g: float
    n_unborn_g: float
    n_excreted_g: float
    n_efficiency: float | None
    p_eaten_g: float | None
    p_excreted_g: float | None
    p_unknown: tuple[str, ...]
    methane_g: float
    ym: float
    methane_second_g: float | None
    second_percent: float | None
    product: str
    product_kg: float
    per_kg: dict[str, float]
    sources: tuple[str, ...] = (BALANCE, IPCC, BLAXTER_CLAPPERTON)


def ipcc_methane(dm_kg: float, ym: float) -> float:
    """CH4 [g/d] = 1000 · 18.45 · DMI · Ym/100 / 55.65, Ym [% of gross energy]. IPCC (2006), tier 2,
    from memory; (b).

    Range: Ym 6.5 ± 1 for cattle on forage-based rations.
    """
    return 1000.0 * IPCC_GE_MJ_PER_KG_DM * dm_kg * ym / 100.0 / METHANE_MJ_PER_KG


def blaxter_clapperton(digestibility: float, level: float) -> float:
    """CH4 [% of gross energy] = 1.30 + 0.112 Dm + L (2.37 − 0.050 Dm), Dm digestibility of energy
    at maintenance [%].

    Blaxter and Clapperton (1965), from memory; status (b). Range: L 1 to about 3, Dm 50–85.
    """
    return 1.30 + 0.112 * digestibility + level * (2.37 - 0.050 * digestibility)


def excretion(
    group: Group, needs: GroupNeeds, parts: Sequence[tuple[Feed, float]], level: float | None
) -> Excretion | None:
    """What leaves a head on a ration of (feed, kg DM); None for an empty ration or no class."""
    dm = sum(kg for _, kg in parts)
    unknown_protein = any(feed.value("cp_g_per_kg_dm") is None for feed, _ in parts)
    if dm <= 0.0 or needs.energy is None or unknown_protein:
        return None
    milk, gain = milk_of(group) or 0.0, gain_of(group)
    eaten = _eaten_g(parts, "cp_g_per_kg_dm") * N_PER_CP
    in_milk, in_gain = milk_nitrogen(group, milk), gain_nitrogen(group, gain)
    unborn = _unborn(needs)
    retained = in_milk + max(in_gain, 0.0)
    unknown = tuple(feed.name for feed, _ in parts if feed.value("p_g_per_kg_dm") is None)
    p_eaten = p_out = None
    if not unknown:
        p_eaten = _eaten_g(parts, "p_g_per_kg_dm")
        p_out = p_eaten - MILK_P_G_PER_KG * milk - gain_phosphorus(group, gain)
    ym = _ym(group, parts, dm)
    second = _second(parts, dm, level)
    n_out, methane = eaten - in_milk - in_gain - unborn, ipcc_methane(dm, ym)
    product, product_kg = _product(milk, gain)
    amounts = {"n_excreted_g": n_out, "methane_g": methane}
    if p_out is not None:
        amounts["p_excreted_g"] = p_out
    n_efficiency = None
    if retained > 0.0 and eaten > 0.0:
        n_efficiency = retained / eaten
    return Excretion(
        n_eaten_g=eaten,
        n_milk_g=in_milk,
        n_gain_g=in_gain,
        n_unborn_g=unborn,
        n_excreted_g=n_out,
        n_efficiency=n_efficiency,
        p_eaten_g=p_eaten,
        p_excreted_g=p_out,
        p_unknown=unknown,
        methane_g=methane,
        ym=ym,
        methane_second_g=_second_g(dm, second),
        second_percent=second,
        product=product,
        product_kg=product_kg,
        per_kg={name: amount / product_kg for name, amount in amounts.items() if product},
    )


def retained_nitrogen(group: Group, needs: GroupNeeds) -> float:
    """Nitrogen kept in milk, gain and the unborn [g a head a day], less that of weight lost."""
    milk = milk_nitrogen(group, milk_of(group) or 0.0)
    return milk + gain_nitrogen(group, gain_of(group)) + _unborn(needs)


def _unborn(needs: GroupNeeds) -> float:
    """N laid down in the unborn [g/d]: MP of pregnancy × efficiency of the standard / 6.25."""
    mp = sum(step.value for step in needs.steps if step.key == PREGNANCY_MP)
    return mp * STANDARDS[needs.standard].pregnancy_efficiency * N_PER_CP


def _eaten_g(parts: Sequence[tuple[Feed, float]], name: str) -> float:
    return sum(kg * (feed.value(name) or 0.0) for feed, kg in parts)


def _second_g(dm_kg: float, percent: float | None) -> float | None:
    if percent is None:
        return None
    return ipcc_methane(dm_kg, percent) * GE_MJ_PER_KG_DM / IPCC_GE_MJ_PER_KG_DM


def _product(milk_kg: float, gain_kg: float) -> tuple[str, float]:
    """What it is held against, and how much of it [kg a head a day]."""
    if milk_kg > 0.0:
        return "milk", milk_kg
    if gain_kg > 0.0:
        return "gain", gain_kg
    return "", 0.0


def _ym(group: Group, parts: Sequence[tuple[Feed, float]], dm_kg: float) -> float:
    if is_sheep(group):
        return YM_SHEEP
    concentrate = sum(kg for feed, kg in parts if feed.is_concentrate)
    if concentrate >= MOSTLY_CONCENTRATE * dm_kg:
        return YM_CATTLE_CONCENTRATE
    return YM_CATTLE


def _second(parts: Sequence[tuple[Feed, float]], dm_kg: float, level: float | None) -> float | None:
    if level is None:
        return None
    q = (
        sum(kg * (feed.value("me_mj_per_kg_dm") or 0.0) for feed, kg in parts)
        / dm_kg
        / GE_MJ_PER_KG_DM
    )
    return blaxter_clapperton(100.0 * q / ME_PER_DE, level)
