"""The independent reference under NRC (2001): a sweep over digestible nutrients, dry matter and
share of concentrate, at each of which discount and passage are numbers and the cheapest ration is
one small programme. The equations are written apart from the program. Status as in needs/nrc.py
(b).
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from functools import cache
from math import exp, inf

import numpy as np
from scipy.optimize import linprog
from sweep import COLOSTRUM, OWN, Sweep

from rationlp.farm.feed import Feed
from rationlp.folders import feeds_folder
from rationlp.model.rows.block import Block
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.rules.limits import practice_figure

MJ = 4.184
OWN.update({"tdn_sum", "concentrate_sum"})
_CUTS = 40


@cache
def _classes() -> dict[str, dict[str, str]]:
    with (feeds_folder() / "nrc-classes.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    return {word: row for row in rows for word in row["feeds"].split()}


def _class(feed: Feed) -> dict[str, str]:
    other = "other_forage" if feed.is_forage else "other_concentrate"
    return _classes().get(feed.key) or _classes().get(feed.sort) or _classes()[other]


def _of(feed: Feed, name: str) -> float:
    return feed.value(name) or 0.0


def tdn_de(feed: Feed) -> tuple[float, float]:
    """(TDN1x [kg/kg DM], DE1x [Mcal/kg DM])."""
    if feed.kind in ("mineral", "npn"):
        return 0.0, 0.0
    cp, fat, ndf, ash = (
        _of(feed, f"{name}_g_per_kg_dm") / 10.0 for name in ("cp", "oil", "ndf", "ash")
    )
    if feed.kind == "fat":
        return 2.25 * 0.86 * fat / 100.0, 0.094 * 0.86 * fat
    adicp = 0.625 * _of(feed, "adin_g_n_per_kg_dm")
    if feed.value("adin_g_n_per_kg_dm") is None:
        adicp = 0.03 * cp
    acids = max(fat - 1.0, 0.0)
    if feed.is_forage:
        protein = cp * exp(-1.2 * adicp / cp)
        tdn = _of(feed, "me_mj_per_kg_dm") / 0.16 + 1.25 * acids
        fibre = tdn + 7.0 - protein - 2.25 * acids
    else:
        row = _class(feed)
        protein = cp - 0.4 * adicp
        bound = float(row["ndicp_percent_of_cp"]) * cp / 100.0
        lignin = float(row["lignin_percent_of_ndf"]) * ndf / 100.0
        paf = float(row["paf_dry"] if feed.dm_g_per_kg > 400.0 else row["paf"])
        clean = ndf - bound
        fibre = 0.98 * paf * max(100.0 - clean - cp - fat - ash, 0.0)
        if clean > lignin:
            fibre += 0.75 * (clean - lignin) * (1.0 - (lignin / clean) ** 0.667)
        tdn = fibre + protein + 2.25 * acids - 7.0
    return tdn / 100.0, 0.042 * fibre + 0.056 * protein + 0.094 * acids - 0.3


def energies(feed: Feed, delta: float) -> tuple[float, float, float]:
    """(NEL, NEm, NEg) of a kg DM [Mcal]."""
    de, fat = tdn_de(feed)[1], _of(feed, "oil_g_per_kg_dm") / 10.0
    if feed.kind == "fat":
        return 0.8 * de, 0.8 * de, 0.55 * de
    if feed.kind in ("mineral", "npn"):
        return 0.0, 0.0, 0.0
    me = 1.01 * delta * de - 0.45
    nel = 0.703 * me - 0.19
    if fat > 3.0:
        me += 0.0046 * (fat - 3.0)
        nel = 0.703 * me - 0.19 + (0.097 * me + 0.19) / 97.0 * (fat - 3.0)
    nem = 1.37 * me - 0.138 * me * me + 0.0105 * me**3 - 1.12
    return nel, nem, 1.42 * me - 0.174 * me * me + 0.0122 * me**3 - 1.65


def protein(feed: Feed, intake: float, share: float) -> tuple[float, float]:
    """(RDP, digested RUP) of a kg DM [g] at an intake and a share of concentrate [%]."""
    if not feed.is_forage:
        kp = 2.904 + 1.375 * intake - 0.020 * share
    elif feed.dm_g_per_kg > 800.0:
        ndf = _of(feed, "ndf_g_per_kg_dm") / 10.0
        kp = 3.362 + 0.479 * intake - 0.017 * ndf - 0.007 * share
    else:
        kp = 3.054 + 0.614 * intake
    cp, a, b = (_of(feed, n) for n in ("cp_g_per_kg_dm", "prot_a_fraction", "prot_b_fraction"))
    kd = 100.0 * _of(feed, "prot_c_per_h")
    rdp = cp * a
    if b > 0.0 and kd > 0.0:
        rdp += cp * b * kd / (kd + kp)
    digested = 0.0
    if feed.kind not in ("mineral", "npn", "fat"):
        digested = float(_class(feed)["drup_percent"]) / 100.0
    return rdp, digested * (cp - rdp)


def discount(tdn: float, dm: float, weight: float) -> float:
    """δ of TDN and dry matter eaten [kg] by an animal of a weight [kg]."""
    t, m = 100.0 * tdn / dm, tdn / (0.035 * (0.96 * weight) ** 0.75)
    if t < 60.0 or m <= 1.0:
        return 1.0
    return (t - (0.18 * t - 10.3) * (m - 1.0)) / t


def short_of(block: Block, kg_dm: Mapping[str, float]) -> list[str]:
    """What a ration lacks when added up from its kilograms by the printed sums."""
    need = block.needs.energy
    assert isinstance(need, NrcEnergy)
    fed = [(offer.feed, kg_dm.get(offer.id, 0.0)) for offer in block.offers]
    dm = sum(kg for _, kg in fed)
    tdn = sum(kg * tdn_de(feed)[0] for feed, kg in fed)
    delta = discount(tdn, dm, need.live_weight_kg)
    nel, nem, neg = (sum(kg * energies(feed, delta)[n] for feed, kg in fed) for n in range(3))
    keep, grow = (need.required_mj(0.0) - need.eg) / MJ, need.eg / MJ
    lacks = []
    used = keep / nel
    if need.rears:
        used = keep / nem + (grow / neg if grow else 0.0)
    if used > 1.0 + 1e-6:
        lacks.append(f"energy: {used:.7f} of what is fed would be needed")
    share = 100.0 * sum(kg for feed, kg in fed if not feed.is_forage) / dm
    parts = [(protein(feed, 100.0 * dm / need.live_weight_kg, share), kg) for feed, kg in fed]
    rdp, rup = (sum(kg * part[n] for part, kg in parts) for n in range(2))
    mcp = min(130.0 * delta * tdn, 0.85 * rdp)
    mp = 0.64 * mcp + rup + 4.72 * dm
    wanted = (block.needs.mp_g or 0.0) + 30.0 * dm - 0.08 * mcp + 4.72 * dm / 0.67
    if mp < wanted * (1.0 - 1e-6):
        lacks.append(f"protein {mp:.4f} of {wanted:.4f} g")
    return lacks


class NrcSweep(Sweep):
    """The programme of a block with TDN, dry matter and share of concentrate held."""

    def __init__(self, block: Block) -> None:
        super().__init__(block)
        need = block.needs.energy
        assert isinstance(need, NrcEnergy)
        self.need, self.weight = need, need.live_weight_kg
        self.tdn = np.array([tdn_de(feed)[0] for feed in self.feeds])
        self.not_forage = np.array([float(not feed.is_forage) for feed in self.feeds])
        # A fresh cow's protein is short at the price of colostrum's.
        self.cost[self._at("last")] = COLOSTRUM * block.mj_price
        # The first row holds the metabolisability of AFRC (1993) to its range.
        del self.a_ub[0], self.b_ub[0]

    def _state_rows(self, tdn: float, dm: float, share: float) -> list[tuple[np.ndarray, float]]:
        needs, delta = self.block.needs, discount(tdn, dm, self.weight)
        of_feeds = [energies(feed, delta) for feed in self.feeds]
        nel = MJ * np.array([each[0] for each in of_feeds])
        rows = []
        if not self.need.rears:
            rows.append((self._row(-nel), -self.need.required_mj(0.0)))
            if needs.energy_ceiling is not None:
                most = needs.energy_ceiling * self.need.required_mj(0.0)
                rows.append((self._row(nel, over=-1.0), most))
        if needs.mp_g is None:
            return rows
        parts = [protein(feed, 100.0 * dm / self.weight, 100.0 * share) for feed in self.feeds]
        rdp, rup = (np.array([part[number] for part in parts]) for number in range(2))
        used = 130.0 * delta * self.tdn
        least = practice_figure(needs.limits_key, "rumen_protein_least") or 0.0
        kept = rup + 4.72 - 30.0 - 4.72 / 0.67
        return [
            *rows,
            (self._row(-used, microbes=1.0), 0.0),
            (self._row(-0.85 * rdp, microbes=1.0), 0.0),
            (self._row(-kept, microbes=-0.72, last=-1.0), -needs.mp_g - needs.priced_mp_g),
            (self._row(least * used - 0.85 * rdp, rumen=-1.0), 0.0),
        ]

    def held(self, tdn: float, dm: float, share: float) -> float:
        """Least cost of a ration with these totals; inf where there is none."""
        more = self._state_rows(tdn, dm, share)
        equal = np.array(
            [
                self._row(self.tdn),
                self._row(np.ones(self.n)),
                self._row(self.not_forage),
            ]
        )
        for _ in range(_CUTS):
            answer = linprog(
                self.cost,
                A_ub=np.array([*self.a_ub, *(row for row, _ in more)]),
                b_ub=np.array([*self.b_ub, *(high for _, high in more)]),
                A_eq=equal,
                b_eq=[tdn, dm, share * dm],
                bounds=self.bounds,
                method="highs-ds",
            )
            if answer.status != 0:
                return inf
            cut = self._cut(answer.x[: self.n], discount(tdn, dm, self.weight))
            if cut is None:
                return float(answer.fun)
            more.append(cut)
        return inf

    def _cut(self, kg: np.ndarray, delta: float) -> tuple[np.ndarray, float] | None:
        """A tangent of Em/Nm + RE/Ng ≤ 1 where a heifer's ration breaks it."""
        if not self.need.rears:
            return None
        keep, grow = (self.need.required_mj(0.0) - self.need.eg) / MJ, self.need.eg / MJ
        of_feeds = [energies(feed, delta) for feed in self.feeds]
        nem, neg = (np.array([each[number] for each in of_feeds]) for number in (1, 2))
        n, g = float(nem @ kg), max(float(neg @ kg), 1e-3)
        if keep / n + grow / g <= 1.0 + 1e-8:
            return None
        # keep/n' + grow/g' ≥ 2 (keep/n + grow/g) − keep n'/n² − grow g'/g²
        row = -(keep / n**2) * nem - (grow / g**2) * neg
        return self._row(row), 1.0 - 2.0 * (keep / n + grow / g)

    def cheapest(
        self,
        grid: tuple[int, int, int] = (7, 8, 6),
        rounds: int = 4,
        near: tuple[float, float, float] | None = None,
    ) -> tuple[float, tuple[float, float, float]]:
        """(least cost, its totals) over a grid refined about the best; `near` is looked at too."""
        cap = self.block.needs.intake
        most = 30.0 if cap is None else cap.cap_kg_dm
        poor, rich = (float(f(self.tdn[self.tdn > 0.0])) for f in (np.min, np.max))
        dms = np.linspace(0.35 * most, most, grid[0])
        shares = np.linspace(0.0, 0.7, grid[2])
        densities = np.linspace(poor, rich, grid[1] + 2)[1:-1]
        places = [(t * dm, dm, c) for dm in dms for t in densities for c in shares]
        widths = [rich * most / grid[1], most / grid[0], 0.7 / grid[2]]
        best, where = self._best(places)
        if near is not None:
            own, at = self._best(_around(near, [0.02 * near[0], 0.02 * near[1], 0.02]))
            if own <= best:
                best, where, widths = own, at, [0.02 * near[0], 0.02 * near[1], 0.02]
        for _ in range(rounds):
            if best == inf:
                break
            widths = [0.5 * width for width in widths]
            found, at = self._best(_around(where, widths))
            if found < best:
                best, where = found, at
        return best, where

    def _best(
        self, places: Iterable[tuple[float, float, float]]
    ) -> tuple[float, tuple[float, float, float]]:
        return min((self.held(*place), place) for place in places)


def _around(
    middle: tuple[float, float, float], widths: list[float]
) -> list[tuple[float, float, float]]:
    steps = (-1.0, -0.5, 0.0, 0.5, 1.0)
    return [
        (middle[0] + a * widths[0], middle[1] + b * widths[1], max(middle[2] + c * widths[2], 0.0))
        for a in steps
        for b in steps
        for c in (-1.0, 0.0, 1.0)
    ]
