"""A lower bound on every ration that meets its needs with a chance under NRC (2001).

As in boxes.py, with what analyses hide taken off at its least in the box: a ration of the box hides
at least that, so that the bound holds for it. What a feed hides goes by the discount, its slope and
the passage, each between two figures in a box; of growing animals also by what gain counts for,
between those of the leanest and the richest feed.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot, inf, sqrt

import numpy as np

from rationlp.model.box import Box, Interval
from rationlp.model.boxes import Boxes
from rationlp.model.lp import Key, Row
from rationlp.model.nrc_spread import BY_ENERGY, BY_NITROGEN, ENERGY, Moved
from rationlp.model.search import BlockModel
from rationlp.model.solution import Solution, Status
from rationlp.model.sure_nrc import NrcSureModel
from rationlp.needs.nrc import (
    MP_OF_MICROBES,
    RUMEN_G_PER_KG_TDN,
    RUMEN_PER_RDP,
    NrcFigures,
    net_energies,
)
from rationlp.needs.nrc_energy import LEAST_GAIN_SHARE, LIMIT, SLOPE
from rationlp.needs.nrc_state import NrcState

CUT_FROM, MOST_CUTS = 1e-4, 200
"""Share by which a cone is broken from which a cut is added; most cuts of all boxes."""
STRETCHES = 12
"""Into so many the range of Ng/Nm is cut, each bounded by itself."""


class SureBoxes(Boxes):
    """The boxes of a model whose rows hold with a chance."""

    def __init__(self, model: BlockModel) -> None:
        assert isinstance(model, NrcSureModel)
        self.cones, self.moves, self.z = model.cones, model.moves, model.z
        self._directions: list[tuple[Key, str, list[float]]] = []
        super().__init__(model)
        self._moves = [self.moves[offer.id] for offer in self.block.offers]
        self._mixes = Mixes([one for _, one in self.feeds if one.tdn > 0.0])
        self._empty_kg = self._most_without_energy()

    def row_anywhere(self, row: Row, coefs: dict[Key, float], bounds: Interval) -> Row | None:
        """As for all models; cones cut at a ration are left out, since they hold there alone."""
        if row.key[0] == "cone":
            return None
        if row.key[0] == "sure":
            coefs, bounds = self.still(coefs), (self.block.needs.mp_wanted_g, inf)
            if row.key[1] == BY_ENERGY:
                coefs[self.p] = MP_OF_MICROBES * RUMEN_G_PER_KG_TDN
        return super().row_anywhere(row, coefs, bounds)

    def ask(self, box: Box) -> None:
        """The rows for a box, and the least that its rations hide."""
        self._ask_rows(box)
        self._least = self.least_hidden(box)
        row = self.live.row_index
        for key, cone, direction in self._directions:
            least = self._least[cone]
            entries = [
                (column, -part * sd)
                for (column, *_), part, sd in zip(self._lines, direction, least, strict=True)
            ]
            self.live.set_entries(row[key], entries)

    def _ask_rows(self, box: Box) -> None:
        """The rows for a box without its cones."""
        super().ask(box)
        if self.block.needs.mp_g is None:
            return
        by_energy, by_nitrogen = [], []
        for column, _, degraded, passing in self.protein_ends(box):
            by_energy.append((column, passing))
            by_nitrogen.append((column, passing + MP_OF_MICROBES * degraded))
        row, key = self.live.row_index, self.block.key
        self.live.set_entries(row[key("sure", BY_ENERGY)], by_energy)
        self.live.set_entries(row[key("sure", BY_NITROGEN)], by_nitrogen)

    def least_hidden(self, box: Box) -> dict[str, list[float]]:
        """Least standard deviation that a kg DM of each feed brings to each sum in a box."""
        found: dict[str, list[float]] = {cone: [] for cone in (ENERGY, BY_ENERGY, BY_NITROGEN)}
        delta, falls = self.delta(box), self._discount_falls(box)
        dense = self._density(box)
        gain = self._gain_shares(dense, delta)
        worths = [self._worth_of_de(own, delta, gain) for _, own in self.feeds]
        # What all energy of a ration loses by a kg more of TDN through the discount.
        whole = self._energy_by_delta(dense, gain)
        lost = (-whole[1] * box.tdn[1] * falls[1], -whole[0] * box.tdn[0] * falls[0])
        nutrients = self._nutrients_slope(box)
        microbes = tuple(MP_OF_MICROBES * RUMEN_G_PER_KG_TDN * end for end in nutrients)
        ends = microbes[0], microbes[1]
        for (_, own), worth, moved in zip(self.feeds, worths, self._moves, strict=True):
            found[ENERGY].append(hypot(*(_least(worth, m.de, lost, m.tdn) for m in moved)))
            by_energy, by_nitrogen = self._protein_hidden(box, own, moved, ends)
            found[BY_ENERGY].append(by_energy)
            found[BY_NITROGEN].append(by_nitrogen)
        return found

    def _discount_falls(self, box: Box) -> Interval:
        """Least and greatest fall of the discount for a kg more of TDN: 0.18/M0 − 0.103 D/N²."""
        if box.kind != "discounted":
            return 0.0, 0.0
        full = self.need.maintenance_tdn_kg
        low = SLOPE / full - LIMIT * box.dm[1] / box.tdn[0] ** 2
        return max(low, 0.0), SLOPE / full - LIMIT * box.dm[0] / box.tdn[1] ** 2

    def _nutrients_slope(self, box: Box) -> Interval:
        """What discounted TDN grows by for a kg more of TDN: 1.18 − 0.36 N/M0 + 0.103 D/M0."""
        if box.kind != "discounted":
            return 1.0, 1.0
        full = self.need.maintenance_tdn_kg
        low, high = (
            1.0 + SLOPE - (2.0 * SLOPE * tdn - LIMIT * dm) / full
            for tdn, dm in zip(reversed(box.tdn), box.dm, strict=True)
        )
        return low, high

    def _most_without_energy(self) -> float:
        """Most of minerals and urea that a ration can hold [kg DM]; inf where nothing limits it."""
        live, most = self.live, 0.0
        costs = dict(zip(live.column_index, live.cost, strict=True))
        live.set_costs({key: -1.0 for key, one in self.feeds if one.tdn <= 0.0})
        for root in self.roots():
            self._ask_rows(root)
            solution = live.solve()
            if solution.status is Status.OPTIMAL:
                most = max(most, -solution.objective)
            elif solution.status is not Status.INFEASIBLE:
                most = inf
        live.set_costs(costs)
        return most

    def _density(self, box: Box) -> Interval:
        """Least and greatest TDN in a kg DM of the feeds that have any."""
        low, high = box.dm[0] - self._empty_kg, box.dm[1]
        return box.tdn[0] / high if high > 0.0 else 0.0, box.tdn[1] / low if low > 0.0 else inf

    def _gain_shares(self, dense: Interval, delta: Interval) -> Interval:
        """Least and greatest Ng/Nm in a box: both grow with the discount's best end, gain more."""
        if not self.need.rears:
            return 0.0, 0.0
        ends = []
        for at in delta:
            own = [one.fixed or net_energies(one.de, at, one.over) for one in self._mixes.feeds]
            keep, gain = [max(one.keep, 1e-6) for one in own], [one.gain for one in own]
            ends.append(self._mixes.ratio(gain, keep, dense))
        low, high = ends[0][0], ends[1][1]
        return max(low, LEAST_GAIN_SHARE), max(high, LEAST_GAIN_SHARE)

    def _energy_by_delta(self, dense: Interval, gain: Interval) -> Interval:
        """Least and greatest energy that a whole of the discount counts for, by the kg TDN [MJ]."""
        feeds = self._mixes.feeds
        ends = [self._worth_of_de(one, (1.0, 1.0), gain) for one in feeds]
        tdn = [one.tdn for one in feeds]
        low = [worth[0] * one.de for one, worth in zip(feeds, ends, strict=True)]
        high = [worth[1] * one.de for one, worth in zip(feeds, ends, strict=True)]
        return self._mixes.ratio(low, tdn, dense)[0], self._mixes.ratio(high, tdn, dense)[1]

    def _worth_of_de(self, own: NrcFigures, delta: Interval, gain: Interval) -> Interval:
        """Least and greatest worth of a Mcal of DE [MJ]: discounts and Ng/Nm between two each."""
        if own.fixed is not None or own.de <= 0.0:
            return 0.0, 0.0
        if not self.need.rears:
            slope = own.energy_slope_mj(NrcState(1.0, 1.0, 0.0, 1.0)) / own.de
            return slope * delta[0], slope * delta[1]
        ends = [
            at * own.energy_slope_mj(state) / own.de
            for at in delta
            for state in self._stretches(at, gain)
        ]
        return min(ends), max(ends)

    def _stretches(self, delta: float, gain: Interval) -> Iterator[NrcState]:
        """States that count keeping and gain at the least, and at the most, of every stretch of
        Ng/Nm: what keeping counts for rises with it, what gain counts for falls.
        """
        plain = NrcState(delta, 1.0, 0.0, 1.0)
        step = (gain[1] - gain[0]) / STRETCHES
        for number in range(STRETCHES if step > 0.0 else 1):
            left = self.need.weighed(plain, gain[0] + step * number)
            right = self.need.weighed(plain, gain[0] + step * (number + 1))
            yield NrcState(delta, 1.0, 0.0, 1.0, 0.0, left.of_keep, right.of_gain)
            yield NrcState(delta, 1.0, 0.0, 1.0, 0.0, right.of_keep, left.of_gain)

    def _protein_hidden(
        self, box: Box, own: NrcFigures, moved: tuple[Moved, ...], microbes: Interval
    ) -> tuple[float, float]:
        """Least deviation of protein by energy and by nitrogen that a kg DM of a feed brings."""
        slow, fast = self.passages(own, box)
        degraded = [own.fractions[0] + own.slow(kp)[0] for kp in (fast, slow)]
        passing = sorted(own.digested * (1.0 - share) for share in degraded)
        through = (passing[0], passing[1])
        both = sorted(
            MP_OF_MICROBES * RUMEN_PER_RDP * share + own.digested * (1.0 - share)
            for share in degraded
        )
        by_energy = hypot(*(_least(microbes, m.tdn, through, m.cp_g) for m in moved))
        by_nitrogen = hypot(*(_least((both[0], both[1]), m.cp_g) for m in moved))
        return by_energy, by_nitrogen

    def touched(self, box: Box, solution: Solution) -> bool:
        """Also cut the cones that an answer breaks."""
        cut = [self._cut(cone, solution) for cone in self.cones]
        return super().touched(box, solution) or any(cut)

    def _cut(self, cone: str, solution: Solution) -> bool:
        values, column = solution.values, self.block.key(cone)
        least = self._least[cone]
        parts = [sd * values[j] for (j, *_), sd in zip(self._lines, least, strict=True)]
        wanted = sqrt(sum(part * part for part in parts))
        counted = values[self.live.column_index[column]]
        if counted >= wanted * (1.0 - CUT_FROM) - 1e-9 or len(self._directions) >= MOST_CUTS:
            return False
        direction = [part / wanted for part in parts]
        key = self.block.key("cone", cone, str(len(self._directions)))
        coefs = {
            name: -part * sd
            for (name, _), part, sd in zip(self.feeds, direction, least, strict=True)
        }
        self.live.add_row(Row(key, {**coefs, column: 1.0}, 0.0, inf, "definition", ""))
        self._directions.append((key, cone, direction))
        return True

    def prices(self, solution: Solution) -> dict[str, float]:
        """Also what the rows that hold with a chance count for."""
        found = super().prices(solution)
        for cone, name in ((BY_ENERGY, "microbes_energy"), (BY_NITROGEN, "microbes_nitrogen")):
            number = self.live.row_index.get(self.block.key("sure", cone))
            price = 0.0 if number is None else abs(solution.row_duals[number])
            found["protein"] += price
            found[name] += MP_OF_MICROBES * price
        return found


class Mixes:
    """Mixes of feeds with TDN, whose ratios of two sums are bounded. A ratio of sums is greatest
    and least where as few feeds as can be are mixed: one, or two at an end of the density.
    """

    def __init__(self, feeds: list[NrcFigures]) -> None:
        self.feeds = feeds
        self.tdn = np.array([one.tdn for one in feeds])

    def ratio(self, top: list[float], bottom: list[float], dense: Interval) -> Interval:
        """Least and greatest Σ top x / Σ bottom x of mixes with TDN [kg/kg DM] between two; of all
        mixes where there is none between.
        """
        over, under, tdn = np.array(top), np.array(bottom), self.tdn
        found = [*(over / under)[(tdn >= dense[0]) & (tdn <= dense[1])]]
        for end in dense:
            below, above = np.nonzero(tdn < end)[0], np.nonzero(tdn > end)[0]
            if not below.size or not above.size:
                continue
            low, high = np.meshgrid(below, above)
            part = (end - tdn[low]) / (tdn[high] - tdn[low])
            mixed = (1.0 - part) * over[low] + part * over[high]
            found += [*(mixed / ((1.0 - part) * under[low] + part * under[high])).ravel()]
        if not found:
            found = [*(over / under)] or [0.0]
        return float(min(found)), float(max(found))


def _least(of: Interval, times: float, beside: Interval = (0.0, 0.0), more: float = 0.0) -> float:
    """Least absolute value of a·times + b·more, a and b each between two figures."""
    low, high = sorted(end * times for end in of)
    less, most = sorted(end * more for end in beside)
    if low + less > 0.0:
        return low + less
    return max(-(high + most), 0.0)
