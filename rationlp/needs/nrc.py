"""NRC (2001) for dairy cows: one published equation a function. It judges rations here and plans
none: what its energy and protein ask of a cow, and what a ration brings by it.

NRC (2001) Nutrient Requirements of Dairy Cattle, not itself at hand: status (b) unless said; (c)
common practice or our own choice.
Symbols: D dry matter eaten [kg/d]; W live weight [kg]; TDN1x, DE1x of a feed at maintenance [% of
DM, Mcal/kg DM]; T their mean over the ration [%]; C share of concentrate [%]; δ discount [-].
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from math import exp, pow
from types import MappingProxyType

from rationlp.farm.feed import Feed
from rationlp.folders import packaged_rows
from rationlp.needs.supply import FRACTIONS
from rationlp.records import dataclass

MJ_PER_MCAL = 4.184
SHRUNK = 0.96
DOMD_PER_ME = 100.0 / 16.0
"""Digestible organic matter of a forage from its ME [% of DM per MJ/kg DM]: our own way (c), as a
laboratory measures digestibility and no lignin.
"""
FAT_DIGESTED = 0.86
MCP_PER_MP, EATEN_MP_G_PER_KG = 0.64, 4.72
RUMEN_G_PER_KG_TDN, RUMEN_PER_RDP = 130.0, 0.85
EMPTY_KINDS = frozenset({"mineral", "npn"})
"""Kinds without energy by this standard."""
_NEEDED = ("cp_g_per_kg_dm", "oil_g_per_kg_dm", "ndf_g_per_kg_dm", "ash_g_per_kg_dm")


@dataclass(frozen=True)
class FeedClass:
    """What our tables do not hold of a feed, by its class: share of protein bound to fibre [% of
    CP], lignin [% of NDF], processing factor, digestibility of the protein that passes [%].
    """

    ndicp: float
    lignin: float
    paf: float
    paf_dry: float
    drup: float


@cache
def _classes() -> Mapping[str, FeedClass]:
    found = {}
    for row in packaged_rows("nrc-classes.csv"):
        figures = (row[name] for name in list(row)[2:7])
        feed_class = FeedClass(*(float(figure) for figure in figures))
        found.update(dict.fromkeys(row["feeds"].split(), feed_class))
    return MappingProxyType(found)


def feed_class(feed: Feed) -> FeedClass | None:
    """The class of a feed by its key, else by its sort; None where it has none."""
    return _classes().get(feed.key) or _classes().get(feed.sort)


def is_known(feed: Feed) -> bool:
    """Whether everything is known of a feed that this standard asks for."""
    if feed.kind in EMPTY_KINDS:
        return True
    if feed.kind == "fat":
        return feed.value("oil_g_per_kg_dm") is not None
    if feed_class(feed) is None or any(feed.value(name) is None for name in _NEEDED):
        return False
    protein = all(feed.value(name) is not None for name in FRACTIONS)
    return protein and (not feed.is_forage or feed.value("me_mj_per_kg_dm") is not None)


def _percent(feed: Feed, name: str) -> float:
    return (feed.value(name) or 0.0) / 10.0


def _digested(feed: Feed) -> tuple[float, float]:
    """(protein, fatty acids beyond the first 1 % of fat), both truly digested [% of DM]: tdCP = CP
    e^(−1.2 ADICP/CP) of a forage, CP − 0.4 ADICP of a concentrate; ADICP 3 % of CP if unknown (c).
    """
    crude = _percent(feed, "cp_g_per_kg_dm")
    adin = feed.value("adin_g_n_per_kg_dm")
    bound = 0.03 * crude if adin is None else 0.625 * adin
    fat = max(_percent(feed, "oil_g_per_kg_dm") - 1.0, 0.0)
    if feed.is_forage and crude > 0.0:
        return crude * exp(-1.2 * bound / crude), fat
    return crude - 0.4 * bound, fat


def tdn_and_de(feed: Feed) -> tuple[float, float]:
    """(TDN1x [% of DM], DE1x [Mcal/kg DM]) of a feed that is known, fat and minerals left out.

    TDN1x = tdNFC + tdCP + 2.25 FA + tdNDF − 7, DE1x = 0.042 (tdNFC + tdNDF) + 0.056 tdCP + 0.094
    FA − 0.3. Forages by digestibility: TDN1x = DOMD + 1.25 FA (c).
    """
    protein, fat = _digested(feed)
    if feed.is_forage:
        tdn = DOMD_PER_ME * (feed.value("me_mj_per_kg_dm") or 0.0) + 1.25 * fat
        rest = tdn + 7.0 - protein - 2.25 * fat
    else:
        rest = _carbohydrate(feed)
        tdn = rest + protein + 2.25 * fat - 7.0
    return tdn, 0.042 * rest + 0.056 * protein + 0.094 * fat - 0.3


def _carbohydrate(feed: Feed) -> float:
    """tdNFC + tdNDF [% of DM]: 0.98 NFC PAF, and 0.75 (n − L) (1 − (L/n)^0.667), n NDF without its
    protein, L lignin.
    """
    its = feed_class(feed)
    assert its is not None
    crude, ndf = _percent(feed, "cp_g_per_kg_dm"), _percent(feed, "ndf_g_per_kg_dm")
    fibre = ndf - its.ndicp / 100.0 * crude
    rest = crude + _percent(feed, "oil_g_per_kg_dm") + _percent(feed, "ash_g_per_kg_dm")
    paf = its.paf_dry if feed.dm_g_per_kg > 400.0 else its.paf
    digested = 0.98 * max(100.0 - fibre - rest, 0.0) * paf
    lignin = its.lignin / 100.0 * ndf
    if fibre > lignin:
        digested += 0.75 * (fibre - lignin) * (1.0 - pow(lignin / fibre, 0.667))
    return digested


def discount(tdn_kg: float, dm_kg: float, live_weight_kg: float) -> float:
    """δ = [T − (0.18 T − 10.3)(m − 1)]/T, 1 where T < 60 or m ≤ 1; m TDN eaten over that of
    maintenance, 0.035 (0.96 W)^0.75 kg.
    """
    share = 100.0 * tdn_kg / dm_kg
    multiple = tdn_kg / (0.035 * pow(SHRUNK * live_weight_kg, 0.75))
    if share < 60.0 or multiple <= 1.0:
        return 1.0
    return (share - (0.18 * share - 10.3) * (multiple - 1.0)) / share


def net_energy(feed: Feed, delta: float) -> float:
    """NEL [Mcal/kg DM] of a feed at a discount: ME = 1.01 δ DE − 0.45 + 0.0046 (EE − 3), NEL =
    0.703 ME − 0.19 + (0.097 ME + 0.19)(EE − 3)/97, the terms of fat above 3 % only. Pure fat 0.8 ·
    0.094 · 0.86 EE, undiscounted; minerals and urea 0.
    """
    fat = _percent(feed, "oil_g_per_kg_dm")
    if feed.kind in EMPTY_KINDS:
        return 0.0
    if feed.kind == "fat":
        return 0.8 * 0.094 * FAT_DIGESTED * fat
    over = max(fat - 3.0, 0.0)
    me = 1.01 * delta * tdn_and_de(feed)[1] - 0.45 + 0.0046 * over
    return 0.703 * me - 0.19 + (0.097 * me + 0.19) * over / 97.0


def passage(feed: Feed, intake_percent: float, concentrate_percent: float) -> float:
    """kp [%/h]: concentrate 2.904 + 1.375 I − 0.020 C; dry forage 3.362 + 0.479 I − 0.017 NDF −
    0.007 C; wet forage 3.054 + 0.614 I; I = 100 D/W. Forage over 80 % dry matter is dry (c).
    """
    if not feed.is_forage:
        return 2.904 + 1.375 * intake_percent - 0.020 * concentrate_percent
    if feed.dm_g_per_kg > 800.0:
        ndf = _percent(feed, "ndf_g_per_kg_dm")
        return 3.362 + 0.479 * intake_percent - 0.017 * ndf - 0.007 * concentrate_percent
    return 3.054 + 0.614 * intake_percent


def degraded(feed: Feed, kp: float) -> tuple[float, float]:
    """(RDP, RUP) [g/kg DM] at a passage [%/h]: CP [A + B Kd/(Kd + kp)], and the rest."""
    crude = feed.value("cp_g_per_kg_dm") or 0.0
    a, b, c = (feed.value(name) or 0.0 for name in FRACTIONS)
    rate = 100.0 * c
    share = a + (b * rate / (rate + kp) if b > 0.0 else 0.0)
    return crude * share, crude * (1.0 - share)


@dataclass(frozen=True)
class NrcSupply:
    """What a ration brings a head a day. nel_mcal; mcp_g microbial protein, rup_g digested passing
    protein, mp_g; delta the discount, dm_kg.
    """

    dm_kg: float
    delta: float
    nel_mcal: float
    mcp_g: float
    rup_g: float
    mp_g: float


def nrc_supply(parts: Sequence[tuple[Feed, float]], live_weight_kg: float) -> NrcSupply | None:
    """What a ration of (feed, kg DM) brings a cow; None where something is unknown of a feed.

    MCP = min(130 g/kg discounted TDN, 0.85 RDP); MP = 0.64 MCP + Σ dRUP RUP + 4.72 D.
    """
    fed = [(feed, kg) for feed, kg in parts if kg > 0.0]
    dm = sum(kg for _, kg in fed)
    if dm <= 0.0 or not all(is_known(feed) for feed, _ in fed):
        return None
    tdn = sum(kg * _tdn(feed) / 100.0 for feed, kg in fed)
    delta = discount(tdn, dm, live_weight_kg)
    concentrate = 100.0 * sum(kg for feed, kg in fed if not feed.is_forage) / dm
    rdp = rup = 0.0
    for feed, kg in fed:
        kp = passage(feed, 100.0 * dm / live_weight_kg, concentrate)
        broken, passing = degraded(feed, kp)
        its = feed_class(feed)
        rdp += kg * broken
        rup += kg * passing * (its.drup / 100.0 if its is not None else 0.0)
    mcp = min(RUMEN_G_PER_KG_TDN * delta * tdn, RUMEN_PER_RDP * rdp)
    mp = MCP_PER_MP * mcp + rup + EATEN_MP_G_PER_KG * dm
    nel = sum(kg * net_energy(feed, delta) for feed, kg in fed)
    return NrcSupply(dm, delta, nel, mcp, rup, mp)


def _tdn(feed: Feed) -> float:
    if feed.kind in EMPTY_KINDS:
        return 0.0
    if feed.kind == "fat":
        return 2.25 * FAT_DIGESTED * _percent(feed, "oil_g_per_kg_dm")
    return tdn_and_de(feed)[0]
