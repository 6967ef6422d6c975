"""A lower bound on every ration of a block whose rows move with the whole ration (NRC 2001).

On a box of digestible nutrients N, dry matter D and share of concentrate C every sum is replaced by
one that no ration in the box exceeds. Discounted nutrients are P = δN = 1.18 N − 0.103 D − (0.18 N²
− 0.103 N D)/M0: the square lies above its tangents, the product below the planes through its
corners (McCormick). Net energy is k P plus what the feeds differ from that, at the best end of δ;
protein is degraded at the slowest passage of the box and passes at the fastest. The bound is the
dual objective worked out from our own numbers. Rations leaner than 60 % N or at maintenance have no
discount: they are boxes of their own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf

from rationlp.model.box import Box, Interval
from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.proof import dual_bound
from rationlp.model.rows.rumen import least_share
from rationlp.model.search import BlockModel
from rationlp.model.solution import Solution, Status
from rationlp.model.solve import LiveModel
from rationlp.needs.nrc import (
    MJ_PER_MCAL,
    MP_OF_MICROBES,
    RUMEN_G_PER_KG_TDN,
    RUMEN_PER_RDP,
    NrcFigures,
)
from rationlp.needs.nrc_energy import LEAN_PERCENT, LIMIT, SLOPE, NrcEnergy, Totals
from rationlp.needs.nrc_state import NrcState

TANGENTS = 3
LEAST_CUT = 0.15
"""A box is cut at its own answer, but never closer to an end than this share of its width [-]."""
_DIMENSIONS = ("tdn", "dm", "share")
GAIN_SHARES = (0.4, 0.55, 0.65, 0.75)
"""Ng/Nm at which the energy of growing animals is bounded by a tangent at first [-]."""
MOST_GAIN_SHARES, TOUCHES = 40, 1e-5
"""Most such tangents, and the share by which an answer may lie above them before one is added."""
_BROKEN = 1e-4
_PRICED = ("energy", "net_least", "microbes_energy", "microbes_nitrogen", "protein", "rumen")
_MOVED = ("me_sum", "microbes_energy", "microbes_nitrogen", "protein", "rumen")
_NO_BOUND = (-inf, inf)


class Boxes:
    """A block's programme in the solver, bounded box by box. It stands for the model's own rows,
    costs and bounds as they are when it is made.
    """

    def __init__(self, model: BlockModel) -> None:
        block, need, curve = model.block, model.need, model.curve
        assert isinstance(need, NrcEnergy) and curve is not None
        self.block, self.need = block, need
        pairs = zip(block.feed_keys, block.protein, strict=True)
        self.feeds = [(key, one) for key, one in pairs if isinstance(one, NrcFigures)]
        self.share = least_share(block)
        self.p = block.key("discounted")
        self.live = LiveModel(self._program(model), model.live.unit)
        richest = max((figures.tdn for _, figures in self.feeds), default=1.0)
        self.whole = ((0.0, richest * curve.high), (curve.low, curve.high), (0.0, 1.0))
        with_energy = [one for _, one in self.feeds if one.fixed is None]
        per_tdn = sorted(1.01 * 0.703 * MJ_PER_MCAL * one.de / one.tdn for one in with_energy)
        index, none = self.live.column_index, NrcState(0.0, 1.0, 0.0, 1.0)
        # Net energy of milk is a line in δ: its slope, and what is left without it.
        self._lines = [
            (index[key], one.energy_slope_mj(none), one.energy_mj(none), one.tdn)
            for key, one in self.feeds
        ]
        self._shares = list(GAIN_SHARES) if need.rears else []
        self._k = per_tdn[len(per_tdn) // 2] if per_tdn else 1.0

    def roots(self) -> list[Box]:
        """Boxes that hold every ration together."""
        (_, most), dm, share = self.whole
        full = self.need.maintenance_tdn_kg
        lean = LEAN_PERCENT / 100.0
        boxes = []
        if full < most:
            boxes.append(Box((full, most), dm, share, "discounted"))
            boxes.append(Box((full, min(most, lean * dm[1])), dm, share, "lean"))
        boxes.append(Box((0.0, min(full, most)), dm, share, "maintained"))
        return [box for box in boxes if box.tdn[0] <= box.tdn[1]]

    def _program(self, model: BlockModel) -> Program:
        live, block = model.live, self.block
        free = {block.key("tdn"), block.key("dm"), block.key("concentrate")}
        shut = {model.short, model.part.short_protein}
        columns = []
        for j, column in enumerate(live.program.columns):
            low, high = live.col_low[j], live.col_high[j]
            if column.key in free or column.key in shut:
                low, high = 0.0, 0.0 if column.key in shut else inf
            cost = model.costs.get(column.key, 0.0)
            columns.append(replace(column, cost=cost, low=low, high=high))
        columns.append(Column(self.p, unit="kg", title="digestible nutrients, discounted"))
        keys = list(live.column_index)
        rows = []
        for i, row in enumerate(live.rows):
            coefs = {keys[j]: value for j, value in live.coefs[i].items() if value}
            bounds = live.row_low[i], live.row_high[i]
            own = self.row_anywhere(row, coefs, bounds)
            if own is not None:
                rows.append(own)
        return Program(tuple(columns), (*rows, *self._own_rows()))

    def row_anywhere(self, row: Row, coefs: dict[Key, float], bounds: Interval) -> Row | None:
        """A row of the model without what moves from box to box; None for one that is left out."""
        block, (low, high) = self.block, bounds
        if row.key == block.key("me_sum"):
            return None
        if row.key in {block.key(name) for name in _MOVED}:
            coefs = self.still(coefs)
        if row.key == block.key("protein"):
            low = block.needs.mp_wanted_g if low > -inf else low
        if row.key == block.key("energy"):
            low = self.need.required_mj(0.0)
        if row.key in (block.key("microbes_energy"), block.key("microbes_nitrogen")):
            low, high = -inf, 0.0
        if row.key == block.key("rumen"):
            low, high = 0.0, inf
        if row.key == block.key("microbes_energy"):
            coefs[self.p] = -RUMEN_G_PER_KG_TDN
        return replace(row, coefs=coefs, low=low, high=high)

    def still(self, coefs: dict[Key, float]) -> dict[Key, float]:
        """What of a row that moves with the ration does not move."""
        moving = {*self.block.feed_keys, *(self.block.key(n) for n in ("tdn", "dm", "concentrate"))}
        return {key: value for key, value in coefs.items() if key not in moving}

    def _own_rows(self) -> list[Row]:
        """Rows that are moved from box to box."""
        block = self.block
        e, n, d, c = (block.key(name) for name in ("me", "tdn", "dm", "concentrate"))
        rows = [
            Row(block.key("net", str(number)), {e: 1.0}, -inf, 0.0, "definition", "MJ")
            for number in range(len(GAIN_SHARES) if self.need.rears else 1)
        ]
        if not self.need.rears and block.needs.energy_ceiling is not None:
            rows.append(Row(block.key("net_least"), {e: 1.0}, 0.0, inf, "definition", "MJ"))
        for number in range(2 * TANGENTS):
            key = block.key("discount", str(number))
            rows.append(Row(key, {self.p: 1.0}, -inf, 0.0, "definition", "kg"))
        rows.append(Row(block.key("share_low"), {c: 1.0, d: 0.0}, 0.0, inf, "definition", "kg"))
        rows.append(Row(block.key("share_high"), {c: 1.0, d: -1.0}, -inf, 0.0, "definition", "kg"))
        lean = {n: 1.0, d: -LEAN_PERCENT / 100.0}
        rows.append(Row(block.key("lean"), lean, -inf, inf, "definition", "kg"))
        return rows

    def delta(self, box: Box) -> Interval:
        """Least and greatest discount in a box: it falls with TDN and rises with dry matter."""
        if box.kind != "discounted":
            return 1.0, 1.0
        ends = ((box.tdn[1], box.dm[0]), (box.tdn[0], box.dm[1]))
        low, high = (self._formula(*end) for end in ends)
        return min(low, 1.0), min(high, 1.0)

    def _formula(self, tdn: float, dm: float) -> float:
        full = self.need.maintenance_tdn_kg
        return 1.0 - (SLOPE - LIMIT * dm / tdn) * (tdn / full - 1.0)

    def bound(self, box: Box) -> tuple[float, Solution] | None:
        """A lower bound on every ration of a box [currency a head a day], and the programme's own
        answer; None where there is none.
        """
        self.ask(box)
        solution = self.live.solve()
        while solution.status is Status.OPTIMAL and self.touched(box, solution):
            solution = self.live.solve()
        if solution.status is not Status.OPTIMAL:
            return None
        return dual_bound(self.live.numbers_now(), solution.row_duals), solution

    def ask(self, box: Box) -> None:
        """Set the rows for a box."""
        live, block = self.live, self.block
        n, d = block.key("tdn"), block.key("dm")
        live.set_column_bounds(n, *box.tdn)
        live.set_column_bounds(d, *box.dm)
        live.set_coefficient(block.key("share_low"), d, -box.share[0])
        live.set_coefficient(block.key("share_high"), d, -box.share[1])
        bounds = {"discounted": (0.0, inf), "lean": (-inf, 0.0)}.get(box.kind, _NO_BOUND)
        live.set_row_bounds(block.key("lean"), *bounds)
        self._ask_discount(box)
        self._ask_energy(self.delta(box)[1], self.delta(box)[0])
        if block.needs.mp_g is not None:
            self._ask_protein(box)

    def _ask_discount(self, box: Box) -> None:
        """P ≤ what the tangents of N² and the planes over N·D allow."""
        full = self.need.maintenance_tdn_kg
        (low_n, high_n), (low_d, high_d) = box.tdn, box.dm
        if box.kind != "discounted":
            for number in range(2 * TANGENTS):
                self._plane(number, -1.0, 0.0, 0.0)
            return
        corners = ((low_n, high_d), (high_n, low_d))
        for number in range(TANGENTS):
            touch = low_n + (high_n - low_n) * number / (TANGENTS - 1)
            for way, (at_n, at_d) in enumerate(corners):
                # N D ≤ at_n D + at_d N − at_n at_d
                by_n = 1.0 + SLOPE - (2.0 * SLOPE * touch - LIMIT * at_d) / full
                by_d = -LIMIT + LIMIT * at_n / full
                level = (SLOPE * touch**2 - LIMIT * at_n * at_d) / full
                self._plane(2 * number + way, -by_n, -by_d, level)

    def _plane(self, number: int, by_n: float, by_d: float, level: float) -> None:
        live, block = self.live, self.block
        key = block.key("discount", str(number))
        live.set_coefficients(key, {block.key("tdn"): by_n, block.key("dm"): by_d})
        live.set_row_bounds(key, -inf, level)

    def _ask_energy(self, best: float, worst: float) -> None:
        """E ≤ k P + what the feeds differ from k·TDN; of growing animals, tangents at the best
        discount. E ≥ what they are worth at the worst, for a ceiling on it.
        """
        if self.need.rears:
            for number, share in enumerate(self._shares):
                coefs = self._tangent(best, share)
                self.live.set_coefficients(self.block.key("net", str(number)), coefs)
            return
        k, row = self._k, self.live.row_index
        most = [(self.live.column_index[self.p], -k)]
        least = []
        for column, slope, rest, tdn in self._lines:
            differs = slope - k * tdn
            most.append((column, -(max(differs * best, differs * worst) + rest)))
            least.append((column, -(slope * worst + rest)))
        self.live.set_entries(row[self.block.key("net", "0")], most)
        if self.block.needs.energy_ceiling is not None:
            self.live.set_entries(row[self.block.key("net_least")], least)

    def _tangent(self, delta: float, share: float) -> dict[Key, float]:
        """What feeds are worth to a growing animal whose ration has Ng/Nm of a share [MJ]."""
        state = self.need.weighed(NrcState(delta, 1.0, 0.0, 1.0), share)
        return {key: -one.energy_mj(state) for key, one in self.feeds}

    def touched(self, box: Box, solution: Solution) -> bool:
        """Add the tangent at an answer that counts on more energy than it has; True if added."""
        if not self.need.rears or len(self._shares) >= MOST_GAIN_SHARES:
            return False
        values, index = solution.values, self.live.column_index
        best = self.delta(box)[1]
        fed = [(one, values[index[key]]) for key, one in self.feeds if values[index[key]] > 0.0]
        share = self.need.gain_share(fed, best)
        coefs = self._tangent(best, share)
        worth = -sum(value * values[index[key]] for key, value in coefs.items())
        counted = values[index[self.block.key("me")]]
        if counted <= worth * (1.0 + TOUCHES) + TOUCHES:
            return False
        key = self.block.key("net", str(len(self._shares)))
        self._shares.append(share)
        own = {self.block.key("me"): 1.0}
        self.live.add_row(Row(key, {**coefs, **own}, -inf, 0.0, "definition", "MJ"))
        return True

    def _ask_protein(self, box: Box) -> None:
        """Degraded at the slowest passage of a box, passing at the fastest."""
        live, block = self.live, self.block
        used = (self.share or 0.0) * RUMEN_G_PER_KG_TDN * self.delta(box)[0]
        nitrogen, passing, rumen = [], [], []
        for column, tdn, degraded, through in self.protein_ends(box):
            nitrogen.append((column, -degraded))
            passing.append((column, through))
            rumen.append((column, degraded - used * tdn))
        row = live.row_index
        live.set_entries(row[block.key("microbes_nitrogen")], nitrogen)
        live.set_entries(row[block.key("protein")], passing)
        if self.share is not None:
            live.set_entries(row[block.key("rumen")], rumen)

    def protein_ends(self, box: Box) -> Iterator[tuple[int, float, float, float]]:
        """(column, TDN [kg], most degraded, most passing protein [g]) of a kg DM of each feed."""
        for (_, one), (column, *_) in zip(self.feeds, self._lines, strict=True):
            slow, fast = self.passages(one, box)
            yield column, one.tdn, one.protein(slow)[0], one.protein(fast)[1]

    def passages(self, one: NrcFigures, box: Box) -> Interval:
        """Slowest and fastest passage of a feed in a box [%/h]."""
        low, high = (100.0 * dm / self.need.live_weight_kg for dm in box.dm)
        least, most = (100.0 * part for part in box.share)
        return one.passage.at(low, most), one.passage.at(high, least)

    def where_to_split(self, box: Box, solution: Solution) -> tuple[str, float]:
        """The dimension in which the bound loses most, and where to cut it."""
        index, values = self.live.column_index, solution.values
        n, d, c = (values[index[self.block.key(name)]] for name in ("tdn", "dm", "concentrate"))
        lost = self._lost(box, solution, Totals(n, max(d, 1e-9), c))
        dimension = max(lost, key=lambda name: lost[name])
        low, high = box.along(dimension)
        own = {"tdn": n, "dm": d, "share": c / max(d, 1e-9)}[dimension]
        margin = LEAST_CUT * (high - low)
        if low + margin < own < high - margin:
            return dimension, own
        return dimension, 0.5 * (low + high)

    def _lost(self, box: Box, solution: Solution, at: Totals) -> dict[str, float]:
        """What the bound of a box may lose by its width in each dimension [currency], about."""
        wide = {name: box.along(name)[1] - box.along(name)[0] for name in _DIMENSIONS}
        extents = zip(wide, self.whole, strict=True)
        lost = {name: 1e-9 * wide[name] / (full[1] - full[0]) for name, full in extents}
        price = self.prices(solution)
        by_dm, by_share = self._lost_by_passage(price, solution, at)
        lost["dm"] += by_dm * wide["dm"]
        lost["share"] += by_share * wide["share"]
        if box.kind != "discounted":
            return lost
        full = self.need.maintenance_tdn_kg
        energy = price["energy"] * self._k + price["microbes_energy"] * RUMEN_G_PER_KG_TDN
        bilinear = energy * LIMIT / full * wide["tdn"] * wide["dm"] / 4.0
        squares = energy * SLOPE / full * (wide["tdn"] / 4.0) ** 2
        # What takes δ at its worst: the ceiling, the rumen, growing animals, and a little of all.
        loose = 0.02 * energy + price["net_least"] * self._k
        loose += (self.share or 0.0) * price["rumen"] * RUMEN_G_PER_KG_TDN
        if self.need.rears:
            loose += energy
        lost["tdn"] += bilinear + squares + loose * at.tdn_kg * SLOPE / full * wide["tdn"]
        lost["dm"] += bilinear + loose * at.tdn_kg * LIMIT / full * wide["dm"]
        return lost

    def prices(self, solution: Solution) -> dict[str, float]:
        """What the rows count for that a box makes loose [currency a unit]: their marginal values;
        where the answer breaks a row as it truly stands, at least the whole cost over the whole
        need.
        """
        row, prices = self.live.row_index, {}
        for name in _PRICED:
            number = row.get(self.block.key(name))
            prices[name] = 0.0 if number is None else abs(solution.row_duals[number])
        for name, price in self._broken(solution).items():
            prices[name] = max(prices[name], price)
        return prices

    def _broken(self, solution: Solution) -> dict[str, float]:
        """Rows that an answer breaks by what its feeds are truly worth, and a price for them."""
        block, index, values = self.block, self.live.column_index, solution.values
        fed = [(one, values[index[key]]) for key, one in self.feeds if values[index[key]] > 0.0]
        if not fed or values[index[block.key("dm")]] <= 0.0:
            return {}
        state, cost = self.need.state(fed), abs(solution.objective)
        sums = [sum(kg * part for part, kg in pairs) for pairs in self._worth(fed, state)]
        energy, by_energy, by_nitrogen, passing = sums
        counted, needed = values[index[block.key("me")]], self.need.required_mj(0.0)
        broken = {}
        if counted > energy * (1.0 + _BROKEN):
            broken["energy"] = cost / max(needed, 1.0)
        if counted < energy * (1.0 - _BROKEN) and self.block.needs.energy_ceiling is not None:
            broken["net_least"] = cost / max(needed, 1.0)
        if block.needs.mp_g is None:
            return broken
        wanted, microbes = block.needs.mp_wanted_g, RUMEN_G_PER_KG_TDN * by_energy
        brought = MP_OF_MICROBES * min(microbes, by_nitrogen) + passing
        if brought < wanted * (1.0 - _BROKEN):
            broken["protein"] = cost / max(wanted, 1.0)
            tighter = "microbes_energy" if microbes < by_nitrogen else "microbes_nitrogen"
            broken[tighter] = MP_OF_MICROBES * broken["protein"]
        return broken

    def _worth(
        self, fed: list[tuple[NrcFigures, float]], state: NrcState
    ) -> tuple[list[tuple[float, float]], ...]:
        """Energy, discounted TDN, degraded and passing protein of the feeds, each with its kg."""
        figures = [(one.energy_mj(state), *one.at(state), kg) for one, kg in fed]
        return tuple([(row[part], row[4]) for row in figures] for part in range(4))

    def _lost_by_passage(
        self, price: dict[str, float], solution: Solution, at: Totals
    ) -> tuple[float, float]:
        """What a kg of dry matter, and a whole of the share of concentrate, between slowest and
        fastest passage may lose [currency].
        """
        weight, values = self.need.live_weight_kg, solution.values
        intake = 100.0 * at.dm_kg / weight
        share = 100.0 * at.concentrate_kg / at.dm_kg
        nitrogen = RUMEN_PER_RDP * (price["microbes_nitrogen"] + price["rumen"])
        by_dm = by_share = 0.0
        for (_, one), (column, *_) in zip(self.feeds, self._lines, strict=True):
            steep = values[column] * one.cp_g
            if steep <= 0.0:
                continue
            steep *= -one.slow(one.passage.at(intake, share))[1]
            each = steep * (price["protein"] * one.digested + nitrogen)
            by_dm += each * one.passage.per_intake * 100.0 / weight
            by_share += each * one.passage.per_concentrate * 100.0
        return by_dm, by_share
