"""A ration that meets energy and protein with a chosen chance when analyses vary.

Each feed's ME and CP is its figure with a standard deviation, independent of the others and normal;
a store's error is one error. The ME of a ration then has the standard deviation sqrt(Σ (σ_i x_i)²),
and the need is met with chance p where

    Σ ME_i x_i − z sqrt(Σ (σ_i x_i)²) ≥ M*(D),   z the p-quantile of the normal distribution

(a second-order cone: Charnes and Cooper, 1959, Management Science 6, chance-constrained
programming; from memory, b). Protein is the least of two sums, one limited by energy for the
microbes, one by their nitrogen: each has a cone of its own. Chances are those of each row; that all
hold at once is a little less likely. A cone is met by cuts: t ≥ Σ σ_i u_i x_i for every unit vector
u, added at each answer until it keeps to the cone. Cuts never take a ration away that keeps to the
cone, so the lower bound stays one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import hypot, inf, sqrt
from statistics import NormalDist

from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import CSIRO
from rationlp.model.energy import EnergyCurve
from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.nrc_spread import BY_ENERGY, BY_NITROGEN, ENERGY, FeedSpread, Spreads
from rationlp.model.rows.animal import protein_coefficients
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel
from rationlp.model.solution import Solution
from rationlp.needs.csiro import supply_of
from rationlp.needs.energy import GE_MJ_PER_KG_DM, outflow_rate
from rationlp.needs.protein import FRACTIONS, digestible_udp
from rationlp.needs.standards import STANDARDS
from rationlp.needs.supply import feed_protein
from rationlp.records import dataclass

CONE_TOLERANCE = 1e-7
"""Relative violation of a cone at which an answer is accepted [-]."""
_WORDS = {
    ENERGY: "energy that analyses may hide",
    BY_ENERGY: "protein that analyses may hide, where energy limits the microbes",
    BY_NITROGEN: "protein that analyses may hide, where nitrogen limits the microbes",
}


def deviations(
    block: Block, spreads: Spreads, levels: tuple[float, float, float]
) -> dict[str, dict[str, float]]:
    """Standard deviation that a kg DM of each feed brings to each sum [MJ, g], by sum and offer id.

    levels: of feeding at which microbial yield, ERDP and DUP are taken. FME varies with ME, ERDP
    and DUP with CP.
    """
    of_yield, of_erdp, of_dup = levels
    found: dict[str, dict[str, float]] = {ENERGY: {}, BY_ENERGY: {}, BY_NITROGEN: {}}
    standard = block.needs.standard
    y, share_of_microbes = _microbes(block, of_yield)
    for offer in block.offers:
        spread = spreads.get(offer.id, FeedSpread(0.0, 0.0))
        found[ENERGY][offer.id] = spread.me_mj
        if block.needs.mp_g is None:
            continue
        me = offer.feed.value("me_mj_per_kg_dm") or 0.0
        erdp = feed_protein(offer.feed, of_erdp, standard)
        dup = feed_protein(offer.feed, of_dup, standard)
        by_me = 0.0
        if me > 0.0:
            by_me = share_of_microbes * y * dup.fme_mj / me * spread.me_mj
        share = 0.0
        if dup.cp_g > 0.0:
            share = spread.cp_g / dup.cp_g
        passing = _dup_with_cp(offer.feed, of_dup, standard) * spread.cp_g
        found[BY_ENERGY][offer.id] = hypot(by_me, passing)
        found[BY_NITROGEN][offer.id] = share_of_microbes * erdp.erdp_g * share + passing
    return found


def _microbes(block: Block, level: float) -> tuple[float, float]:
    """Microbial yield [g/MJ FME], and MP of a gram of it."""
    standard = STANDARDS[block.needs.standard]
    return standard.microbial_yield(level), standard.mp_per_microbial_cp


def _dup_with_cp(feed: Feed, level: float, standard: str) -> float:
    """Digestible undegraded protein that a gram more of crude protein brings [g/g]: what is bound
    to fibre does not grow with it.
    """
    crude = feed.value("cp_g_per_kg_dm") or 0.0
    if crude <= 0.0:
        return 0.0
    a, b, c = (feed.figures[name].value for name in FRACTIONS)
    if standard == CSIRO:
        return supply_of(feed, crude, (a, b, c), level)[2] / crude
    return digestible_udp(crude, (a, b, c), outflow_rate(level), 0.0) / crude


class SureModel(BlockModel):
    """A block whose energy and protein rows hold with a chance, by cones beside its own rows."""

    need_by_q = False

    def __init__(self, block: Block, spreads: Spreads, chance: float) -> None:
        self.spreads = spreads
        self.z = NormalDist().inv_cdf(chance)
        if block.needs.mp_g is None:
            self.cones = [ENERGY]
        else:
            self.cones = [ENERGY, BY_ENERGY, BY_NITROGEN]
        self.block = block
        self._sd = self.first_deviations()
        self._directions: dict[Key, tuple[str, dict[str, float]]] = {}
        self._cones_cut = 0
        super().__init__(block)

    def first_deviations(self) -> dict[str, dict[str, float]]:
        """What a kg DM of each feed may hide before any ration is known."""
        return deviations(self.block, self.spreads, (1.0, 1.0, 1.0))

    def take_deviations(self, found: dict[str, dict[str, float]]) -> None:
        """What a kg DM of each feed may hide from here on, in the cuts that there are too."""
        self._sd = found
        for row, (cone, direction) in self._directions.items():
            for name, part in direction.items():
                column = self.block.key("feed", name)
                self.live.set_coefficient(row, column, -part * found[cone][name])

    def drop_cuts(self, most: int) -> None:
        """Take all cuts of cones away where there are more than so many: they are found again."""
        if len(self._directions) <= most:
            return
        first = min(self.live.row_index[key] for key in self._directions)
        if all(row.key in self._directions for row in self.live.rows[first:]):
            self.live.drop_rows_from(first)
            self._directions.clear()

    def rows_beside(self, block: Block, program: Program) -> Program:
        """The cones' columns, taken off energy and protein."""
        columns = [Column(block.key(cone), title=_WORDS[cone]) for cone in self.cones]
        rows = []
        for row in program.rows:
            hidden = {block.key(ENERGY): -self.z} if row.key == block.key("energy") else {}
            rows.append(replace(row, coefs={**row.coefs, **hidden}))
        protein = next((row for row in rows if row.key == block.key("protein")), None)
        if protein is not None:
            # The two sums stand without the microbes' column: their coefficients follow with the
            # level of feeding.
            own = {block.key("microbes"), *map(block.feed, block.offers)}
            ways_out = {key: one for key, one in protein.coefs.items() if key not in own}
            for cone in self.cones[1:]:
                coefs = {block.feed(offer): 0.0 for offer in block.offers}
                coefs |= {**ways_out, block.key(cone): -self.z}
                rows.append(replace(protein, key=block.key("sure", cone), coefs=coefs))
        return Program((*program.columns, *columns), tuple(rows))

    def protein_rows(self) -> list[Key]:
        """The sure protein rows beside the plain one."""
        return [*super().protein_rows(), *(self.block.key("sure", c) for c in self.cones[1:])]

    def set_levels(
        self, number: int, yield_level: float, erdp_level: float, dup_level: float
    ) -> None:
        """Protein rows at these levels of feeding; what varies is taken at the other end, so that
        rows and cones lean the same way.
        """
        super().set_levels(number, yield_level, erdp_level, dup_level)
        levels = (erdp_level, yield_level, erdp_level)
        self.take_deviations(deviations(self.block, self.spreads, levels))
        if self.block.needs.mp_g is None:
            return
        by_energy, by_nitrogen, by_passing = protein_coefficients(
            self.block, yield_level, erdp_level, dup_level
        )
        share_of_microbes = _microbes(self.block, yield_level)[1]
        for cone, microbes in ((BY_ENERGY, by_energy), (BY_NITROGEN, by_nitrogen)):
            for key, passing in by_passing.items():
                value = passing - share_of_microbes * microbes[key]
                self.live.set_coefficient(self.block.key("sure", cone), key, value)

    def cut(self, solution: Solution) -> int:
        """Cuts of the ceiling and of the cones."""
        return super().cut(solution) + sum(self._cone_cut(cone, solution) for cone in self.cones)

    def _unsure(self, cone: str, solution: Solution) -> tuple[float, dict[str, float]]:
        """(what the cone's column should be at least, each feed's part of it)."""
        kg = self.amounts_of(solution.values)
        parts = {name: self._sd[cone][name] * amount for name, amount in kg.items()}
        return sqrt(sum(part * part for part in parts.values())), parts

    def _cone_cut(self, cone: str, solution: Solution) -> bool:
        wanted, parts = self._unsure(cone, solution)
        column = self.live.value(solution, self.block.key(cone))
        if wanted <= 0.0 or column >= wanted * (1.0 - CONE_TOLERANCE):
            return False
        direction = {name: part / wanted for name, part in parts.items()}
        key = self.block.key("cone", cone, str(self._cones_cut))
        self._cones_cut += 1
        coefs = {
            self.block.feed(offer): -direction[offer.id] * self._sd[cone][offer.id]
            for offer in self.block.offers
        }
        coefs[self.block.key(cone)] = 1.0
        self.live.add_row(Row(key, coefs, 0.0, inf, "definition", "", _WORDS[cone]))
        self._directions[key] = (cone, direction)
        return True

    def keeps(self, solution: Solution, tolerance: float) -> bool:
        """A solution keeps to the ceiling and to the cones."""
        for cone in self.cones:
            least = self._unsure(cone, solution)[0] * (1.0 - tolerance)
            if self.live.value(solution, self.block.key(cone)) < least:
                return False
        return super().keeps(solution, tolerance)


@dataclass(frozen=True)
class Chances:
    """Chance that a ration meets its need when analyses vary: energy, and each of the two protein
    sums; None without such a need. energy_sd, protein_sd: what the analyses may hide [MJ, g a head
    a day], one standard deviation.
    """

    energy: float
    by_energy: float | None
    by_nitrogen: float | None
    energy_sd: float
    protein_sd: float | None

    @property
    def protein(self) -> float | None:
        """Chance of the less likely of the two protein rows."""
        if self.by_energy is None or self.by_nitrogen is None:
            return None
        return min(self.by_energy, self.by_nitrogen)


def chances(block: Block, kg_dm: Mapping[str, float], spreads: Spreads) -> Chances:
    """Chance of each row for a ration at its own level, against the block's need as it stands."""
    need = block.needs.energy
    assert need is not None
    fed = block.fed(kg_dm)
    dm = sum(kg for _, kg in fed)
    me = sum(kg * (offer.feed.value("me_mj_per_kg_dm") or 0.0) for offer, kg in fed)
    level = need.feeding_level(me / dm / GE_MJ_PER_KG_DM)
    sd = deviations(block, spreads, (level, level, level))
    wide = {cone: spread_over(sd[cone], fed) for cone in sd}
    energy = chance_of(me - EnergyCurve(need, 1.0, dm, dm).value(dm), wide[ENERGY])
    wanted = block.needs.mp_required_g
    if wanted is None:
        return Chances(energy, None, None, wide[ENERGY], None)
    parts = [(feed_protein(offer.feed, level, block.needs.standard), kg) for offer, kg in fed]
    passing = sum(kg * one.dup_g for one, kg in parts)
    fme = sum(kg * one.fme_mj for one, kg in parts)
    y, share_of_microbes = _microbes(block, level)
    by_energy = share_of_microbes * y * fme + passing
    by_nitrogen = share_of_microbes * sum(kg * one.erdp_g for one, kg in parts) + passing
    return Chances(
        energy,
        chance_of(by_energy - wanted, wide[BY_ENERGY]),
        chance_of(by_nitrogen - wanted, wide[BY_NITROGEN]),
        wide[ENERGY],
        max(wide[BY_ENERGY], wide[BY_NITROGEN]),
    )


def spread_over(sd: Mapping[str, float], fed: Sequence[tuple[Offer, float]]) -> float:
    """Standard deviation of a sum over the feeds of a ration."""
    return sqrt(sum((sd.get(offer.id, 0.0) * kg) ** 2 for offer, kg in fed))


def chance_of(excess: float, sd: float) -> float:
    """Chance that a sum is enough which is so much more than the need at its mean [-]."""
    if sd <= 0.0:
        return 1.0 if excess >= -1e-9 else 0.0
    return NormalDist().cdf(excess / sd)
