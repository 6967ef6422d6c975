"""One block inside the solver: a model of one part and without ties."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from math import inf

from rationlp.model.answer import Answer, Part
from rationlp.model.energy import ME_DENSITY_MOST, EnergyCurve, LinearRow, energy_curve, least_dm
from rationlp.model.lp import Key, Program
from rationlp.model.rows import build
from rationlp.model.rows.block import Block
from rationlp.model.settle import SettledModel
from rationlp.model.solution import Status
from rationlp.model.solve import unit_of_money
from rationlp.needs.nrc import NrcFigures
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.needs.nrc_state import NrcState

_SHORT_PRICE = 1000.0
"""Price of a MJ short while a search looks for a start [multiple of the dearest kg DM]."""


class BlockModel(SettledModel):
    """A block inside the solver, which may also be searched from several starts and bounded.

    `infeasible` is True when no ration satisfies the rows even without the energy requirement.
    `range_of_levels`: least and greatest level of feeding [-] that a ration could have, once they
    have been asked for. `without`: keys of rows to leave out, for questions about fewer rows than
    all. `need_by_q`: the metabolisability of a ration alone tells what it must bring.
    """

    need_by_q = True

    def __init__(
        self, block: Block, without: Collection[Key] = (), program: Program | None = None
    ) -> None:
        program = build([block]) if program is None else program
        if without:
            rows = tuple(row for row in program.rows if row.key not in without)
            program = Program(program.columns, rows)
        feeds = [column.cost for column in program.columns if column.key[0] == "feed"]
        dearest = max(map(abs, feeds), default=1.0)
        short_price = _SHORT_PRICE * (max(dearest, block.over_energy_price) or 1.0)
        beside = self.rows_beside(block, program)
        super().__init__(beside, [Part(block)], short_price, unit_of_money(program))
        self.block, self.part = block, self.parts[0]
        self.need, self.dm, self.me = self.part.need, self.part.dm, self.part.me
        self.short, self.over = self.part.short, self.part.over
        self.range_of_levels: tuple[float, float] | None = None
        self.infeasible = False

    def rows_beside(self, block: Block, program: Program) -> Program:
        """The programme with what a model of its own kind adds to it."""
        return program

    @property
    def curve(self) -> EnergyCurve | None:
        """M*(D) on the interval of D, once that was found."""
        return self.part.curve

    def hold_feeds(self, held: Mapping[str, tuple[float, float]]) -> None:
        """Hold single feeds between bounds [kg DM a head a day] by offer id and set all others
        free.

        The interval of D found before still holds: bounds only take rations away.
        """
        for offer in self.block.offers:
            self.live.set_column_bounds(self.block.feed(offer), *held.get(offer.id, (0.0, inf)))

    def set_level(
        self, yield_level: float, erdp_level: float | None = None, dup_level: float | None = None
    ) -> None:
        """Hold the level of feeding [-] in the protein rows: of yield, of ERDP, of DUP."""
        self.levels[0] = (yield_level, yield_level)
        self.set_levels(0, yield_level, erdp_level or yield_level, dup_level or yield_level)

    def hold(self, row: LinearRow, low: float, high: float) -> None:
        """Set the energy row and the interval of D."""
        self.hold_energy(0, row, low, high)

    def amounts(self, answer: Answer) -> dict[str, float]:
        """kg DM a head a day of every feed in an answer, by offer id."""
        return self.amounts_of(answer.solution.values)

    def amounts_of(self, values: Sequence[float]) -> dict[str, float]:
        """The same of values by column."""
        pairs = zip(self.block.offers, values, strict=False)
        return {offer.id: max(value, 0.0) for offer, value in pairs}

    def find_interval(self) -> None:
        """The interval of D: from the least D at which the richest feed would suffice to the most
        that can be eaten.

        Protein rows are left out of it, so that the interval holds at every level of feeding.
        """
        assert self.need is not None
        wanted = self.block.needs.mp_wanted_g
        rows = []
        if self.block.needs.mp_g is not None:
            rows = self.protein_rows()
        self.live.set_costs({self.dm: -1.0})
        if self.part.by_point:
            self.live.set_row_bounds(self.part.energy, -inf, inf)
        for key in rows:
            self.live.set_row_bounds(key, -inf, inf)
        most = self.live.solve()
        self.live.set_costs(self.costs)
        for key in rows:
            self.live.set_row_bounds(key, wanted, inf)
        low = least_dm(self.need, densest(self.block))
        if most.status is not Status.OPTIMAL or low >= self.live.value(most, self.dm):
            self.infeasible = True
            return
        high = self.live.value(most, self.dm)
        ceiling, multiple = None, self.block.needs.energy_ceiling
        if multiple is not None:
            ceiling = EnergyCurve(self.need, multiple, low, high)
        self.take_interval(energy_curve(self.need, low, high), ceiling)

    def take_interval(self, curve: EnergyCurve, ceiling: EnergyCurve | None) -> None:
        """An interval of D from before, with the curves of need and of its ceiling on it."""
        self.part.curve, self.part.ceiling = curve, ceiling
        if ceiling is not None and self._cuts == 0:
            for touch in (curve.low, 0.5 * (curve.low + curve.high), curve.high):
                self.cut_ceiling(self.part, touch)

    def stands(self, values: Sequence[float]) -> bool:
        """A ration keeps to what a model of its own kind asks for besides its needs."""
        return True

    def protein_rows(self) -> list[Key]:
        """The rows that ask for protein."""
        return [self.block.key("protein")]

    def bound(self, low: float, high: float) -> Answer | None:
        """The cheapest of the programme that asks no adequate ration for too much, or None."""
        assert self.curve is not None
        self.hold(self.curve.bound_row(low, high), low, high)
        return self.solve()

    def search_from(self, starts: tuple[float, ...] = ()) -> Answer | None:
        """The cheapest settled answer over several starts [kg DM], the lower-bound programme's own
        D among them; without any, the most that can be eaten and the middle.
        """
        assert self.curve is not None
        low, high = self.curve.low, self.curve.high
        lower = self.bound(low, high)
        if lower is None:
            return None
        starts = starts or (high, 0.5 * (low + high))
        return self.search([(start,) for start in (*starts, lower.dm_kg)])


def densest(block: Block) -> float:
    """Energy of the richest feed [MJ/kg DM]: ME, or net energy without a discount."""
    if isinstance(block.needs.energy, NrcEnergy):
        return max(_richest_net(block, block.needs.energy), 1e-9)
    richest = max((me for _, me in block.contents("me_mj_per_kg_dm")), default=ME_DENSITY_MOST)
    return max(richest, 1e-9)


def _richest_net(block: Block, need: NrcEnergy) -> float:
    """Most net energy that a kg of any feed could count for [MJ/kg DM]."""
    fed = [one for one in block.protein if isinstance(one, NrcFigures)]
    plain = NrcState(1.0, 1.0, 0.0, 1.0)
    states = (need.weighed(plain, share) for share in (0.05, 0.3, 0.5, 0.7, 0.9))
    return min(max((one.energy_mj(state) for one in fed), default=0.0) for state in states)


def opened(
    block: Block, without: Collection[Key] = (), program: Program | None = None
) -> BlockModel:
    """A block in the solver with its interval of D, where it has an energy requirement. program:
    its own, where it is at hand.
    """
    model = BlockModel(block, without, program)
    if model.need is not None:
        model.find_interval()
    return model
