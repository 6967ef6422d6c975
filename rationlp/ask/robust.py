"""How sure is a ration: what it costs to meet energy and protein with a chosen chance when the
analyses are out.

Three rations of one group side by side: the cheapest by the figures as they stand, the cheapest
with every figure lowered by half its standard deviation (the linear margin), and the cheapest that
meets each row with the chance asked for. Chances are told against the need as it stands, the farm's
margins in it, and against the bare requirement.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from random import Random

from rationlp.errors import Finding, InputError, refused
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Feed
from rationlp.farm.group import NRC
from rationlp.model.block_ration import NoOptimum, Optimum, gap_closed, solve_block, solve_model
from rationlp.model.energy import EnergyCurve
from rationlp.model.nrc_spread import FeedSpread, Spreads, nrc_drawn_shares
from rationlp.model.ration import amounts_of, make_blocks
from rationlp.model.reserves import eased
from rationlp.model.rows.block import Block
from rationlp.model.sure import Chances, SureModel, chances
from rationlp.model.sure_boxes import SureBoxes
from rationlp.model.sure_nrc import NrcSureModel, nrc_chances
from rationlp.needs import group_needs
from rationlp.needs.calendar import expanded, farm_on
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.supply import metabolisable_protein
from rationlp.records import dataclass
from rationlp.result import Amount
from rationlp.rules.spreads import CP, ME, SpreadRow, shifted, spread_of
from rationlp.wintering.parts import with_relief

LINEAR_SHARE = 0.5
"""Standard deviations by which the linear margin lowers a figure [-]: Nott and Combs (1967),
Feedstuffs 39, data processing of feed ingredient composition; from memory of it (b).
"""
LEAST_CHANCE, MOST_CHANCE = 0.5, 0.999
DRAWS = 4000


@dataclass(frozen=True)
class SureAsked:
    """chance: of each row. day: the first where None. seed: of the drawn analyses."""

    chance: float
    spreads: Mapping[str, SpreadRow]
    day: date | None = None
    seed: int = 1


@dataclass(frozen=True)
class SureRation:
    """One of the three rations of a group. chances, bare_chances: against the need as it stands,
    and without the farm's margins; None without a ration. all_met: share of drawn analyses at which
    energy and protein were met at once, margins in. cost: feed, a head a day [currency]; gap:
    between the cost compared and its proven lower bound; status: as of a ration.
    """

    name: str
    status: str
    cost: float | None = None
    amounts: tuple[Amount, ...] = ()
    chances: Chances | None = None
    bare_chances: Chances | None = None
    all_met: float | None = None
    gap: float | None = None


@dataclass(frozen=True)
class SureGroup:
    """The three rations of a group. chance: asked for, of each row; standard: of its needs;
    reserve_mj: energy from the back that they count on [MJ ME-equivalent a head a day].
    """

    group: str
    name: str
    chance: float
    rations: tuple[SureRation, ...]
    standard: str
    reserve_mj: float = 0.0


PLAIN, LINEAR, SURE = (
    "by the figures as they stand",
    "figures lowered by half a standard deviation",
    "with the chance asked for",
)


def sure_rations(farm: Farm, groups: tuple[str, ...], question: SureAsked) -> tuple[SureGroup, ...]:
    """The rations of these groups on a day. Raises InputError for a chance outside 0.5 to 0.999
    (IN538), unknown groups, and groups that state their needs without an energy requirement
    (IN538).
    """
    if not LEAST_CHANCE <= question.chance <= MOST_CHANCE:
        valid = f"give {LEAST_CHANCE} to {MOST_CHANCE}, such as 0.9"
        wrong = f"{question.chance:g} is no chance to feed by"
        raise refused("IN538", "--chance", wrong, valid)
    today = farm_on(farm, question.day)
    # Fresh cows milk off their backs and ewes give way here as they do in the ration itself.
    made = make_blocks(today, expanded(today, groups))
    blocks = [with_relief(today, eased(today, block)) for block in made]
    stated = [block.group.id for block in blocks if block.needs.energy is None]
    wrong, remedy = "its needs are stated without energy", "ask for another group"
    if stated:
        raise InputError(Finding("IN538", f'group "{group}"', wrong, remedy) for group in stated)
    return tuple(_of_group(block, question) for block in blocks)


def _of_group(block: Block, question: SureAsked) -> SureGroup:
    spreads = {}
    for offer in block.offers:
        me_cp = (spread_of(question.spreads, offer.feed, name) for name in (ME, CP))
        spreads[offer.id] = FeedSpread(*me_cp)
    bare = replace(block, needs=group_needs(block.group, Margins(1.0, 1.0)))
    answers = (
        (PLAIN, solve_block(block)),
        (LINEAR, solve_block(lowered(block, spreads, LINEAR_SHARE))),
        (SURE, sure_optimum(block, spreads, question.chance)),
    )
    pair, seed = (block, bare), question.seed
    rations = tuple(_ration(name, answer, pair, spreads, seed) for name, answer in answers)
    needs = block.needs
    return SureGroup(
        *(block.group.id, block.group.name, question.chance),
        rations,
        needs.standard,
        needs.reserve_mj,
    )


def sure_optimum(block: Block, spreads: Spreads, chance: float) -> Optimum | NoOptimum:
    """The cheapest ration that meets each row with a chance."""
    if block.needs.standard == NRC:
        return solve_model(NrcSureModel(block, spreads, chance), SureBoxes)
    return solve_model(SureModel(block, spreads, chance))


def chances_of(block: Block, kg_dm: Mapping[str, float], spreads: Spreads) -> Chances:
    """Chance of each row for a ration, by the standard of its block."""
    if block.needs.standard == NRC:
        return nrc_chances(block, kg_dm, spreads)
    return chances(block, kg_dm, spreads)


def lowered(block: Block, spreads: Spreads, share: float) -> Block:
    """The block with every ME and CP lowered by a share of its standard deviation."""
    offers = []
    for offer in block.offers:
        spread = spreads[offer.id]
        down = {ME: share * spread.me_mj, CP: share * spread.cp_g}
        feed = offer.feed
        values = {name: (feed.value(name) or 0.0) - sd for name, sd in down.items() if sd > 0.0}
        offers.append(replace(offer, feed=shifted(offer.feed, values)))
    return replace(block, offers=tuple(offers))


_NO_RATION = {True: "none_exists", False: "none_found"}
_STATUS = {True: "proven", False: "open"}


def _ration(
    name: str, answer: Optimum | NoOptimum, blocks: tuple[Block, Block], spreads: Spreads, seed: int
) -> SureRation:
    if isinstance(answer, NoOptimum):
        return SureRation(name, _NO_RATION[answer.proved])
    block, bare = blocks
    amounts = amounts_of(block, answer.values)
    return SureRation(
        name=name,
        status=_STATUS[gap_closed(answer)],
        cost=sum(amount.cost for amount in amounts),
        amounts=amounts,
        chances=chances_of(block, answer.values, spreads),
        bare_chances=chances_of(bare, answer.values, spreads),
        all_met=share_met(block, answer.values, spreads, Random(f"{seed}:{block.group.id}")),
        gap=max(answer.objective - answer.lower_bound, 0.0),
    )


def share_met(
    block: Block, kg_dm: Mapping[str, float], spreads: Spreads, random: Random, draws: int = DRAWS
) -> float:
    """Share of drawn analyses at which a ration meets energy and protein at once."""
    return drawn_shares(block, kg_dm, spreads, random, draws)[2]


def drawn_shares(
    block: Block, kg_dm: Mapping[str, float], spreads: Spreads, random: Random, draws: int
) -> tuple[float, float, float]:
    """Shares of drawn analyses, each a whole ration, at which energy, protein and both are met."""
    if block.needs.standard == NRC:
        return nrc_drawn_shares(block, kg_dm, spreads, random, draws)
    need = block.needs.energy
    assert need is not None
    fed = block.fed(kg_dm)
    dm = sum(kg for _, kg in fed)
    feeds = [(offer.feed, spreads[offer.id]) for offer, _ in fed]
    figures = [(feed.value(ME) or 0.0, feed.value(CP) or 0.0, spread) for feed, spread in feeds]
    me = sum(kg * me for (_, kg), (me, _, _) in zip(fed, figures, strict=True))
    level = need.feeding_level(me / dm / GE_MJ_PER_KG_DM)
    least_me = EnergyCurve(need, 1.0, dm, dm).value(dm)
    need_mp_g, standard = block.needs.mp_required_g, block.needs.standard
    met = [0, 0, 0]
    for _ in range(draws):
        drawn = []
        for (offer, kg), (me, cp, spread) in zip(fed, figures, strict=True):
            values = {ME: random.gauss(me, spread.me_mj), CP: random.gauss(cp, spread.cp_g)}
            drawn.append((offer.feed, kg, values))
        energy = sum(kg * values[ME] for _, kg, values in drawn) >= least_me * (1.0 - 1e-9)
        protein = need_mp_g is None
        if need_mp_g is not None:
            parts = [(shifted(feed, _varied(feed, values)), kg) for feed, kg, values in drawn]
            brought = metabolisable_protein(parts, level, standard)
            protein = brought >= need_mp_g * (1.0 - 1e-9)
        for number, is_met in enumerate((energy, protein, energy and protein)):
            met[number] += is_met
    return met[0] / draws, met[1] / draws, met[2] / draws


def _varied(feed: Feed, values: Mapping[str, float]) -> dict[str, float]:
    """The figures that a feed has: none is drawn for one that is blank or nought."""
    return {name: value for name, value in values.items() if (feed.value(name) or 0.0) > 0.0}
