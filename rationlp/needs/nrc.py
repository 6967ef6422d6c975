"""NRC (2001) for dairy cattle: what a feed is, one published equation a function. What an animal
needs by it stands in nrc_classes.py, the need in the model in nrc_energy.py.

NRC (2001) Nutrient Requirements of Dairy Cattle, not itself at hand: status (b) unless said; (c)
common practice or our own choice.
Symbols: D dry matter eaten [kg/d]; W live weight [kg]; TDN1x, DE1x of a feed at maintenance [% of
DM, Mcal/kg DM]; T their mean over the ration [%]; C share of concentrate [%]; δ discount [-].
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from math import exp, pow
from types import MappingProxyType

from rationlp.farm.feed import DIGESTED_SHARE, Feed
from rationlp.folders import packaged_rows
from rationlp.needs.nrc_state import NrcState
from rationlp.needs.protein import FRACTIONS
from rationlp.records import dataclass

MJ_PER_MCAL = 4.184
SHRUNK = 0.96
DOMD_PER_ME = 100.0 / 16.0
"""Digestible organic matter of a forage from its ME [% of DM per MJ/kg DM]: our own way (c), as a
laboratory measures digestibility and no lignin.
"""
FAT_DIGESTED = 0.86
RUMEN_G_PER_KG_TDN, RUMEN_PER_RDP = 130.0, 0.85
EMPTY_KINDS = frozenset({"mineral", "npn"})
"""Kinds without energy by this standard."""
_OF_CONCENTRATE = ("cp_g_per_kg_dm", "oil_g_per_kg_dm", "ndf_g_per_kg_dm", "ash_g_per_kg_dm")
_OF_FORAGE = ("cp_g_per_kg_dm", "oil_g_per_kg_dm", "ndf_g_per_kg_dm", "me_mj_per_kg_dm")
OTHER_FORAGE, OTHER_CONCENTRATE = "other_forage", "other_concentrate"
"""Classes of feeds that have none of their own (c)."""
EATING_G_PER_KG_DM = 30.0
MP_EFFICIENCY, PREGNANCY_EFFICIENCY = 0.67, 0.33
EATEN_COSTS_G_PER_KG_DM = EATING_G_PER_KG_DM + 4.72 / MP_EFFICIENCY - 4.72
"""MP that a kg of DM eaten costs beyond what it brings itself [g]: 30 D + 4.72 D/0.67 − 4.72 D."""
MP_OF_MICROBES = 0.64 + 0.5 * (0.64 / 0.8 - 0.64)
"""MP from a g of microbial crude protein [g]: 0.64, and 0.08 of what eating asks for that microbes
spare: 0.5 (MPb/0.8 − MPb).
"""


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


def feed_class(feed: Feed) -> FeedClass:
    """The class of a feed by its key, else by its sort, else of other forages or concentrates."""
    classes = _classes()
    other = OTHER_FORAGE if feed.is_forage else OTHER_CONCENTRATE
    return classes.get(feed.key) or classes.get(feed.sort) or classes[other]


def figures_missing(feed: Feed) -> tuple[str, ...]:
    """Columns that this standard's energy needs and a feed lacks."""
    if feed.kind in EMPTY_KINDS:
        return ()
    needed: tuple[str, ...] = _OF_FORAGE if feed.is_forage else _OF_CONCENTRATE
    if feed.kind == "fat":
        needed = ("oil_g_per_kg_dm",)
    return tuple(name for name in needed if feed.value(name) is None)


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
    share = 1.0
    if feed.is_forage:
        tdn = DOMD_PER_ME * (feed.value("me_mj_per_kg_dm") or 0.0) + 1.25 * fat
        rest = tdn + 7.0 - protein - 2.25 * fat
    else:
        rest = _carbohydrate(feed)
        tdn = rest + protein + 2.25 * fat - 7.0
        share = feed.value(DIGESTED_SHARE) or 1.0
    de = 0.042 * rest + 0.056 * protein + 0.094 * fat - 0.3
    return share * tdn, share * de


def _carbohydrate(feed: Feed) -> float:
    """tdNFC + tdNDF [% of DM]: 0.98 NFC PAF, and 0.75 (n − L) (1 − (L/n)^0.667), n NDF without its
    protein, L lignin.
    """
    its = feed_class(feed)
    crude, ndf = _percent(feed, "cp_g_per_kg_dm"), _percent(feed, "ndf_g_per_kg_dm")
    fibre = ndf - its.ndicp / 100.0 * crude
    rest = crude + _percent(feed, "oil_g_per_kg_dm") + _percent(feed, "ash_g_per_kg_dm")
    paf = its.paf_dry if feed.dm_g_per_kg > 400.0 else its.paf
    digested = 0.98 * max(100.0 - fibre - rest, 0.0) * paf
    lignin = its.lignin / 100.0 * ndf
    if fibre > lignin:
        digested += 0.75 * (fibre - lignin) * (1.0 - pow(lignin / fibre, 0.667))
    return digested


@dataclass(frozen=True)
class Energies:
    """Net energy of a kg DM of a feed at a discount [Mcal], for milk, maintenance and gain."""

    milk: float
    keep: float
    gain: float


def me_of(de: float, delta: float, over: float) -> float:
    """ME [Mcal/kg DM] = 1.01 δ DE − 0.45 + 0.0046 over, over being fat above 3 % of DM."""
    return 1.01 * delta * de - 0.45 + 0.0046 * over


def net_energies(de: float, delta: float, over: float) -> Energies:
    """NEL = 0.703 ME − 0.19 + (0.097 ME + 0.19) over/97; NEm = 1.37 ME − 0.138 ME² + 0.0105 ME³ −
    1.12; NEg = 1.42 ME − 0.174 ME² + 0.0122 ME³ − 1.65 [Mcal/kg DM].
    """
    me = me_of(de, delta, over)
    milk = 0.703 * me - 0.19 + (0.097 * me + 0.19) * over / 97.0
    keep = 1.37 * me - 0.138 * me**2 + 0.0105 * me**3 - 1.12
    gain = 1.42 * me - 0.174 * me**2 + 0.0122 * me**3 - 1.65
    return Energies(milk, keep, gain)


@dataclass(frozen=True)
class Passage:
    """kp [%/h] = base + per_intake I − per_concentrate C."""

    base: float
    per_intake: float
    per_concentrate: float

    def at(self, intake_percent: float, concentrate_percent: float) -> float:
        """kp [%/h], I = 100 D/W and C the share of concentrate [%]."""
        per_c = self.per_concentrate * concentrate_percent
        return self.base + self.per_intake * intake_percent - per_c


def passage(feed: Feed) -> Passage:
    """Concentrate 2.904 + 1.375 I − 0.020 C; dry forage 3.362 + 0.479 I − 0.017 NDF − 0.007 C; wet
    forage 3.054 + 0.614 I. Forage over 80 % dry matter is dry (c).
    """
    if not feed.is_forage:
        return Passage(2.904, 1.375, 0.020)
    if feed.dm_g_per_kg > 800.0:
        return Passage(3.362 - 0.017 * _percent(feed, "ndf_g_per_kg_dm"), 0.479, 0.007)
    return Passage(3.054, 0.614, 0.0)


@dataclass(frozen=True)
class NrcFigures:
    """A feed under NRC (2001), by the kg DM. tdn: TDN1x [kg]; de: DE1x [Mcal]; over: fat above 3 %
    of DM; fixed: net energy whatever the discount [Mcal], of fat and minerals, else None. cp_g;
    fractions a, b [-] and Kd [%/h]; digested: share of passing protein.
    """

    tdn: float
    de: float
    over: float
    fixed: Energies | None
    cp_g: float
    fractions: tuple[float, float, float]
    digested: float
    passage: Passage
    concentrate: bool

    def energy_mj(self, state: NrcState) -> float:
        """What a kg DM counts for towards the need of energy [MJ]."""
        own = self.fixed or net_energies(self.de, state.delta, self.over)
        mcal = state.of_milk * own.milk + state.of_keep * own.keep + state.of_gain * own.gain
        return MJ_PER_MCAL * mcal

    def energy_slope_mj(self, state: NrcState) -> float:
        """What the same grows by for a whole of the discount [MJ]."""
        if self.fixed is not None:
            return 0.0
        me, me_slope = me_of(self.de, state.delta, self.over), 1.01 * self.de
        milk = 0.703 + 0.097 * self.over / 97.0
        keep = 1.37 - 0.276 * me + 0.0315 * me**2
        gain = 1.42 - 0.348 * me + 0.0366 * me**2
        weighed = state.of_milk * milk + state.of_keep * keep + state.of_gain * gain
        return MJ_PER_MCAL * me_slope * weighed

    def slow(self, kp: float) -> tuple[float, float]:
        """(B Kd/(Kd + kp) of the protein degraded [-], its slope in kp)."""
        _, b, rate = self.fractions
        if b <= 0.0 or rate <= 0.0:
            return 0.0, 0.0
        return b * rate / (rate + kp), -b * rate / (rate + kp) ** 2

    def protein(self, kp: float) -> tuple[float, float]:
        """(0.85 RDP, digested RUP less what eating costs) [g] at a passage [%/h]; RDP = CP [A + B
        Kd/(Kd + kp)].
        """
        degraded = self.cp_g * (self.fractions[0] + self.slow(kp)[0])
        passing = self.digested * (self.cp_g - degraded) - EATEN_COSTS_G_PER_KG_DM
        return RUMEN_PER_RDP * degraded, passing

    def at(self, state: float | NrcState) -> tuple[float, float, float]:
        """(discounted TDN [kg], 0.85 RDP [g], digested RUP less what eating costs [g]) of a kg DM:
        what microbes can use by energy and by nitrogen, and what passes.
        """
        assert isinstance(state, NrcState)
        kp = self.passage.at(state.intake_percent, state.concentrate_percent)
        return (state.delta * self.tdn, *self.protein(kp))


def nrc_figures(feed: Feed) -> NrcFigures:
    """A feed of which everything is known that this standard asks for."""
    a, b, c = (feed.value(name) or 0.0 for name in FRACTIONS)
    fat = _percent(feed, "oil_g_per_kg_dm")
    fixed, tdn, de, over = Energies(0.0, 0.0, 0.0), 0.0, 0.0, 0.0
    if feed.kind == "fat":
        full = 0.094 * FAT_DIGESTED * fat
        fixed = Energies(0.8 * full, 0.8 * full, 0.55 * full)
        tdn = 2.25 * FAT_DIGESTED * fat / 100.0
    elif feed.kind not in EMPTY_KINDS:
        tdn, de = tdn_and_de(feed)
        return NrcFigures(
            tdn / 100.0, de, max(fat - 3.0, 0.0), None, feed.value("cp_g_per_kg_dm") or 0.0,
            (a, b, 100.0 * c), feed_class(feed).drup / 100.0, passage(feed), not feed.is_forage,
        )  # fmt: skip
    return NrcFigures(
        tdn, de, over, fixed, feed.value("cp_g_per_kg_dm") or 0.0,
        (a, b, 100.0 * c), 0.0, passage(feed), True,
    )  # fmt: skip


def mp_of_eating(dm_kg: float, mcp_g: float) -> float:
    """MP that goes with eating [g/d] = 30 D + 4.72 D/0.67 − 0.5 (MPb/0.8 − MPb), MPb = 0.64 MCP."""
    bacterial = 0.64 * mcp_g
    eaten = (EATING_G_PER_KG_DM + 4.72 / MP_EFFICIENCY) * dm_kg
    return eaten - 0.5 * (bacterial / 0.8 - bacterial)


def microbial_yield(_: object) -> float:
    """g microbial CP from a kg of discounted TDN: 130, whatever the level of feeding."""
    return RUMEN_G_PER_KG_TDN
