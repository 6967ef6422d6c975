"""An independent reference: the cheapest ration of a block by a sweep over its metabolisability,
every point one small programme.

Written apart from the search of the program. With q held, ΣME = 18.8·q·ΣDM, and requirement and
level of feeding L are numbers, so the sweep is exact at each point for every dry matter. Energy,
protein, intake, fibre, minerals and penalties are put down here from the equations of AFRC (1993)
(of CSIRO (2007) in sweep_csiro.py) and the figures of the needs; of the model only the rows of
practice (what a feed or a family of feeds may be) are taken, as plain data. Solved by
scipy.optimize.linprog.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import exp, inf

import numpy as np
import sweep_csiro
from scipy.optimize import linprog

from rationlp.farm.feed import Feed
from rationlp.farm.group import CSIRO
from rationlp.model.rows import block_rows
from rationlp.model.rows.block import Block
from rationlp.needs.objects import DietLimit
from rationlp.rules.limits import practice_figure

GROSS = 18.8
OWN = {
    "dm_sum", "me_sum", "energy", "density", "intake", "appetite", "ndf_fill", "microbes_energy",
    "microbes_nitrogen",
    "protein", "mineral", "priced", "rumen",
}  # fmt: skip
"""Rows of the model that are put down here anew."""
WOOL, LAST, COLOSTRUM, RUMEN = 0.055, 0.09, 0.55, 0.165
"""Penalties for a gram of MP short, and of ERDP short for the rumen, in MJ of bought feed, as the
guide states them; common practice, no source (c).
"""


def degraded(feed: Feed, level: float) -> tuple[float, float]:
    """(ERDP, DUP) of a kg DM [g]: 0.8 a CP + b c/(c + r) CP; 0.9 (CP − a CP − b c/(c + r) CP − 6.25
    ADIN). AFRC (1993).
    """
    crude = feed.value("cp_g_per_kg_dm")
    if not crude:
        return 0.0, 0.0
    names = ("prot_a_fraction", "prot_b_fraction", "prot_c_per_h", "adin_g_n_per_kg_dm")
    a, b, c, bound = (feed.value(name) or 0.0 for name in names)
    outflow = -0.024 + 0.179 * (1.0 - exp(-0.278 * level))
    slow = b * c / (c + outflow) if b else 0.0
    return (0.8 * a + slow) * crude, max(0.9 * ((1.0 - a - slow) * crude - 6.25 * bound), 0.0)


def level_of(block: Block, q: float) -> float:
    """L: ME before the correction for L and before the margin, over maintenance ME."""
    need = block.needs.energy
    assert need is not None
    if block.needs.standard == CSIRO:
        return sweep_csiro.level_of(need, GROSS * q)
    return need.terms(q)[0] / (need.em / (0.35 * q + 0.503))


def required(block: Block, q: float) -> float:
    """ME [MJ]: margin · terms · (1 + 0.018 (L − 1))."""
    need = block.needs.energy
    assert need is not None
    if block.needs.standard == CSIRO:
        return sweep_csiro.required(need, GROSS * q)
    factor = 1.0 + 0.018 * (level_of(block, q) - 1.0) if need.feeding_level_applies else 1.0
    return need.margin * need.terms(q)[0] * factor


def protein_of(block: Block, feed: Feed, level: float) -> tuple[float, float, float]:
    """(FME [MJ], ERDP, DUP [g]) of a kg DM by the standard of a block."""
    if block.needs.standard == CSIRO:
        return sweep_csiro.supply(feed, level)
    return (feed.value("fme_mj_per_kg_dm") or 0.0, *degraded(feed, level))


def microbes(block: Block, level: float) -> tuple[float, float]:
    """(g microbial protein/MJ FME, MP of a gram of it) by the standard of a block."""
    if block.needs.standard == CSIRO:
        return sweep_csiro.microbes(level), sweep_csiro.MP_PER_MICROBE
    return 7.0 + 6.0 * (1.0 - exp(-0.35 * level)), 0.6375


class Sweep:
    """The programme of a block with q open. Columns: the feeds, then microbes, wool, the last of
    milk or gain, colostrum, rumen, over energy, minerals.
    """

    def __init__(self, block: Block) -> None:
        self.block, self.feeds = block, [offer.feed for offer in block.offers]
        self.n = len(self.feeds)
        needs = block.needs
        self.names = ["microbes", "wool", "last", "colostrum", "rumen", "over"]
        self.names += [f"short {need.quantity}" for need in needs.minerals]
        self.names += ["short ca_to_p", *(f"over {limit.quantity}" for limit in self._priced())]
        self.width = self.n + len(self.names)
        self.me = self._figures("me_mj_per_kg_dm")
        self.a_ub: list[np.ndarray] = []
        self.b_ub: list[float] = []
        mj = block.mj_price
        prices = {
            "wool": WOOL * mj,
            "last": LAST * mj,
            "colostrum": COLOSTRUM * mj,
            "rumen": RUMEN * mj,
            "over": block.over_energy_price,
        }
        for need in needs.minerals:
            in_feed = block.mineral_shortage_price / need.absorption.mineral
            prices[f"short {need.quantity}"] = in_feed
        self.cost = np.zeros(self.width)
        self.cost[: self.n] = [offer.price_per_kg_dm for offer in block.offers]
        for name in self.names[1:]:
            self.cost[self._at(name)] = prices.get(name, block.mineral_shortage_price)
        last = needs.mp_margin * needs.priced_mp_g
        most = {"wool": needs.wool_wanted_g, "last": last, "colostrum": needs.colostrum_mp_g}
        self.bounds: list[tuple[float, float | None]] = [(0.0, None)] * self.width
        for name, high in most.items():
            self.bounds[self._at(name)] = (0.0, high)
        if not needs.ceiling_priced:
            self.bounds[self._at("over")] = (0.0, 0.0)
        self._animal()
        self._minerals()
        self._practice()

    def _priced(self) -> list[DietLimit]:
        return [limit for limit in self.block.needs.limits if limit.kind == "priced"]

    def _at(self, name: str) -> int:
        return self.n + self.names.index(name)

    def _figures(self, name: str) -> np.ndarray:
        return np.array([feed.value(name) or 0.0 for feed in self.feeds])

    def _row(self, feeds: np.ndarray | list[float], **others: float) -> np.ndarray:
        row = np.zeros(self.width)
        row[: self.n] = feeds
        for name, value in others.items():
            row[self._at(name)] = value
        return row

    def _most(self, row: np.ndarray, high: float) -> None:
        self.a_ub.append(row)
        self.b_ub.append(high)

    def _animal(self) -> None:
        """Σ(ME − 15.04) x ≤ 0; intake, appetite and the NDF that the rumen holds. No feed here is a
        free mineral.
        """
        needs = self.block.needs
        assert not any(feed.kind == "mineral" for feed in self.feeds)
        self._most(self._row(self.me - 0.8 * GROSS), 0.0)
        if needs.intake is not None:
            moved = [needs.intake.per_kg_concentrate * feed.is_concentrate for feed in self.feeds]
            eaten = self._row(1.0 - np.array(moved))
            self._most(eaten, needs.intake.cap_kg_dm)
            if needs.appetite_floor_share is not None:
                self._most(-eaten, -needs.appetite_floor_share * needs.intake.cap_kg_dm)
        if needs.appetite_floor_kg_dm is not None:
            self._most(self._row(-np.ones(self.n)), -needs.appetite_floor_kg_dm)
        if needs.ndf_fill_kg is not None:
            self._most(self._row(self._figures("ndf_g_per_kg_dm") / 1000.0), needs.ndf_fill_kg)

    def _minerals(self) -> None:
        for need in self.block.needs.minerals:
            absorbed = np.array([need.absorption.of(feed) for feed in self.feeds]) * self._figures(
                need.quantity
            )
            row = self._row(need.absorbed_g_per_kg_dm - absorbed)
            row[self._at(f"short {need.quantity}")] = -1.0
            self._most(row, -need.absorbed_g)
        if {"ca_g_per_kg_dm", "p_g_per_kg_dm"} <= {
            need.quantity for need in self.block.needs.minerals
        }:
            both = [
                1.3 * p - ca if ca is not None and p is not None else 0.0
                for ca, p in (
                    (feed.value("ca_g_per_kg_dm"), feed.value("p_g_per_kg_dm"))
                    for feed in self.feeds
                )
            ]
            row = self._row(both)
            row[self._at("short ca_to_p")] = -1.0
            self._most(row, 0.0)
        for limit in self._priced():
            values = [feed.value(limit.quantity) for feed in self.feeds]
            row = self._row(
                [0.0 if value is None else value - (limit.at_most or 0.0) for value in values]
            )
            row[self._at(f"over {limit.quantity}")] = -1.0
            self._most(row, 0.0)

    def _practice(self) -> None:
        """Limits on feeds, families, shares and forage, as plain data; a sum of feeds stands for
        the dry matter.
        """
        column = {self.block.feed(offer): number for number, offer in enumerate(self.block.offers)}
        for plain in block_rows(self.block):
            if plain.key[0] in OWN:
                continue
            row = np.zeros(self.width)
            for key, value in plain.coefs.items():
                if key == self.block.key("dm"):
                    row[: self.n] += value
                else:
                    row[column[key]] += value
            if plain.high < inf:
                self._most(row, plain.high)
            if plain.low > -inf:
                self._most(-row, -plain.low)

    def _protein(self, q: float) -> list[tuple[np.ndarray, float]]:
        """m ≤ y ΣFME, m ≤ ΣERDP, 0.6375 m + ΣDUP + wool + last + colostrum ≥ MP;
        y = 7 + 6 (1 − e^(−0.35 L)); other figures by another standard. For the
        rumen ΣERDP + rumen ≥ share · y ΣFME.
        """
        needs = self.block.needs
        if needs.mp_g is None:
            return []
        level = level_of(self.block, q)
        y, each = microbes(self.block, level)
        parts = [protein_of(self.block, feed, level) for feed in self.feeds]
        fme, erdp, dup = (np.array([part[number] for part in parts]) for number in range(3))
        wanted = needs.mp_margin * (needs.mp_g + needs.wool_mp_g + needs.priced_mp_g)
        wanted += needs.colostrum_mp_g
        used = y * fme
        share = practice_figure(needs.limits_key, "rumen_protein_least") or 0.0
        return [
            (self._row(-used, microbes=1.0), 0.0),
            (self._row(-erdp, microbes=1.0), 0.0),
            (self._row(-dup, microbes=-each, wool=-1.0, last=-1.0, colostrum=-1.0), -wanted),
            (self._row(share * used - erdp, rumen=-1.0), 0.0),
        ]

    def ceiling(self, dm: float) -> float:
        """Most ME [MJ] of so much dry matter: the root of E = ceiling · requirement(E/(18.8 D)), by
        halving.
        """
        low, high = 0.0, 1.2
        for _ in range(60):
            q = 0.5 * (low + high)
            enough = required(self.block, q)
            if enough == inf or GROSS * dm * q < (self.block.needs.energy_ceiling or 1.0) * enough:
                low = q
            else:
                high = q
        return GROSS * dm * high

    def at(self, q: float) -> tuple[float, dict[str, float]]:
        """(least cost, kg DM by offer id) at a metabolisability; inf where there is no ration."""
        need = required(self.block, q)
        if need == inf:
            return inf, {}
        more = [(self._row(-self.me), -need), *self._protein(q)]
        equal = self._row(self.me - GROSS * q)
        for _ in range(12):
            answer = linprog(
                self.cost,
                A_ub=np.array([*self.a_ub, *(row for row, _ in more)]),
                b_ub=np.array([*self.b_ub, *(high for _, high in more)]),
                A_eq=equal[None, :],
                b_eq=[0.0],
                bounds=self.bounds,
                method="highs-ds",
                options={"presolve": False},
            )
            if answer.status != 0:
                return inf, {}
            if self.block.needs.energy_ceiling is None:
                break
            dm, me = float(sum(answer.x[: self.n])), float(self.me @ answer.x[: self.n])
            over = float(answer.x[self._at("over")])
            top, step = self.ceiling(dm), 1e-4 * dm
            if me - over <= top * (1.0 + 1e-6):
                break
            slope = (self.ceiling(dm + step) - self.ceiling(dm - step)) / (2.0 * step)
            more.append((self._row(self.me - slope, over=-1.0), top - slope * dm))
        amounts = {offer.id: float(answer.x[n]) for n, offer in enumerate(self.block.offers)}
        return float(answer.fun), amounts

    def cheapest(
        self, points: int = 28, rounds: int = 3, near: float | None = None
    ) -> tuple[float, float]:
        """(least cost, its q) over all metabolisabilities of the feeds, refined about the best;
        `near` is looked at as well.
        """
        low, high = (
            float(self.me[self.me > 0.0].min()) / GROSS,
            min(float(self.me.max()) / GROSS, 0.8),
        )
        grid = list(np.linspace(low, high, points))
        if near is not None:
            grid = sorted([*grid, near - 0.002, near, near + 0.002])
        best, where = inf, low
        for _ in range(rounds):
            costs = [self.at(q)[0] for q in grid]
            number = int(np.argmin(costs))
            if costs[number] < best:
                best, where = costs[number], grid[number]
            grid = list(
                np.linspace(grid[max(number - 1, 0)], grid[min(number + 1, len(grid) - 1)], 8)
            )
        return best, where


def short_of(block: Block, kg_dm: Mapping[str, float]) -> list[str]:
    """What a ration lacks when added up from its kilograms, at its own q and level of feeding."""
    fed = [(offer.feed, kg_dm.get(offer.id, 0.0)) for offer in block.offers]
    dm = sum(kg for _, kg in fed)
    me = sum(kg * (feed.value("me_mj_per_kg_dm") or 0.0) for feed, kg in fed)
    q = me / dm / GROSS
    level = level_of(block, q)
    parts = [(protein_of(block, feed, level), kg) for feed, kg in fed]
    fme, erdp, dup = (sum(kg * part[number] for part, kg in parts) for number in range(3))
    y, each = microbes(block, level)
    mp = each * min(y * fme, erdp) + dup
    lacks = []
    if me < required(block, q) * (1.0 - 1e-6):
        lacks.append(f"energy {me:.6f} of {required(block, q):.6f} MJ")
    wanted = block.needs.mp_margin * (block.needs.mp_g or 0.0)
    if block.needs.mp_g is not None and mp < wanted * (1.0 - 1e-6):
        lacks.append(f"protein {mp:.6f} of {wanted:.6f} g")
    return lacks
