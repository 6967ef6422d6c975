"""The smallest set of needs and limits that cannot be kept together, said in farm words.

A set is impossible when the programme that asks no adequate ration for too much has no solution on
any interval of dry matter at any level of feeding; it is possible when the search finds a ration.
Between the two a set counts as possible, so what is named always clashes. The set is made small by
halving (a set that is impossible beside half of the rest needs nothing of the other half), and at
the end every part is left out once to show that the others then leave a ration.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace
from math import inf

from rationlp.errors import ProofFailed
from rationlp.model.block_ration import NoOptimum, solve_model
from rationlp.model.energy import Q_MOST
from rationlp.model.lp import Key, Row
from rationlp.model.rows import block_rows
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel
from rationlp.model.solution import Status
from rationlp.needs.energy import GE_MJ_PER_KG_DM, EnergyNeed
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.needs.standards import STANDARDS
from rationlp.result import Clash, ClashPart

MOST_OF_APPETITE = 3.0
"""Most dry matter looked at without the limit on intake [multiples of it] (c)."""

MOST_LEVEL = 6.0
"""Highest level of feeding for protein without energy [-]: above that of any animal (c)."""

_BANDS = 24
_NEXT_TO_NOTHING_MJ = 1.0
_IN_A_BAND = 4
_MOST_HALVINGS = 8
ENERGY: Key = ("energy",)
PROTEIN: Key = ("protein",)
_WHOLE = ("energy", "protein")
"""Needs that clash as one."""


def items_of(block: Block) -> tuple[Key, ...]:
    """What may clash: the whole energy requirement as one, protein, and every row that is a need or
    a limit, in the order in which a person would rather hear of them.
    """
    whole = []
    if block.needs.energy is not None:
        whole = [ENERGY]
    if block.needs.mp_g is not None:
        whole.append(PROTEIN)
    return (*whole, *(row.key for row in sorted(_single(block), key=lambda r: r.words.order)))


def _single(block: Block) -> list[Row]:
    """Needs and limits that clash one by one."""
    rows = (row for row in block_rows(block) if row.kind in ("need", "limit"))
    return [row for row in rows if row.words.part_of not in _WHOLE]


def smallest_clash(block: Block) -> tuple[tuple[Key, ...], bool] | None:
    """Keys of the smallest clash of a block that has no ration, and whether every part was shown to
    be needed; None where the whole cannot be proved impossible.
    """
    items = items_of(block)
    if possible(block, items) is not False:
        return None
    core = _smallest(block, (), items, known=False)
    minimal = all(possible(block, [other for other in core if other != one]) for one in core)
    return tuple(item for item in items if item in core), minimal


def find_clash(block: Block) -> Clash | None:
    """The smallest clash in farm words; None where the whole cannot be proved impossible."""
    found = smallest_clash(block)
    if found is None:
        return None
    rows = {row.key: row for row in block_rows(block)}
    return Clash(tuple(_said(block, item, rows) for item in found[0]), found[1])


def _smallest(block: Block, kept: Sequence[Key], among: Sequence[Key], known: bool) -> list[Key]:
    """The least of `among` that clashes beside `kept`; none where `kept` itself does."""
    if known and possible(block, kept) is False:
        return []
    if len(among) == 1:
        return list(among)
    half = (len(among) + 1) // 2
    first, second = among[:half], among[half:]
    of_second = _smallest(block, (*kept, *first), second, known=True)
    return [*_smallest(block, (*kept, *of_second), first, known=bool(of_second)), *of_second]


def possible(block: Block, kept: Iterable[Key]) -> bool | None:
    """Whether a ration keeps these items (and may break others); None where neither is shown."""
    wanted = frozenset(kept)
    needs = block.needs
    if PROTEIN not in wanted:
        needs = replace(needs, mp_g=None, wool_mp_g=0.0, priced_mp_g=0.0, colostrum_mp_g=0.0)
    less = replace(block, needs=needs)
    left_out = {row.key for row in _single(less) if row.key not in wanted}
    if ENERGY not in wanted:
        return _without_energy(less, left_out)
    model = BlockModel(less, left_out)
    model.live.set_column_bounds(model.dm, 0.0, _most_dm(block))
    try:
        answer = solve_model(model)
    except ProofFailed:
        return None
    if not isinstance(answer, NoOptimum):
        return True
    if answer.proved:
        return False
    if isinstance(less.needs.energy, NrcEnergy):
        return None
    return _by_density(less, left_out, _settles)


def _settles(model: BlockModel, levels: tuple[float, float]) -> bool | None:
    """Whether a model has a ration with levels of feeding between these, energy asked."""
    model.set_level(levels[1], levels[0], levels[1])
    model.find_interval()
    curve = model.curve
    if model.infeasible or curve is None or model.bound(curve.low, curve.high) is None:
        return False
    model.set_level(levels[0], levels[1], levels[0])
    answer = model.search_from()
    if answer is not None and answer.adequate:
        return True
    return None


def _keeps_rows(model: BlockModel, levels: tuple[float, float]) -> bool | None:
    """The same where energy is not asked: one programme."""
    model.set_level(levels[1], levels[0], levels[1])
    if model.live.solve(cold=True).status is not Status.OPTIMAL:
        return False
    model.set_level(levels[0], levels[1], levels[0])
    if model.live.solve(cold=True).status is Status.OPTIMAL:
        return True
    return None


def _without_energy(less: Block, left_out: Collection[Key]) -> bool | None:
    """The rows without energy; with protein, which goes by the level, band by band."""
    asks_energy = {row.key for row in block_rows(less) if row.words.part_of == "energy"}
    if isinstance(less.needs.energy, NrcEnergy):
        return _without_net_energy(less, left_out)
    if less.needs.mp_g is not None and less.needs.energy is not None:
        return _by_density(less, {*left_out, *asks_energy}, _keeps_rows)
    needs = replace(less.needs, energy=None, energy_ceiling=None)
    model = BlockModel(replace(less, needs=needs), left_out)
    model.live.set_column_bounds(model.dm, 0.0, _most_dm(less))
    model.live.set_costs({})
    return model.live.solve(cold=True).status is Status.OPTIMAL


def _without_net_energy(less: Block, left_out: Collection[Key]) -> bool | None:
    """The same where the rows move with the whole ration: a need of next to nothing."""
    energy = less.needs.energy
    assert isinstance(energy, NrcEnergy)
    nothing = NrcEnergy(
        energy.form, em=_NEXT_TO_NOTHING_MJ, live_weight_kg=energy.live_weight_kg, rears=False
    )
    needs = replace(less.needs, energy=nothing, energy_ceiling=None)
    model = BlockModel(replace(less, needs=needs), left_out)
    model.live.set_column_bounds(model.dm, 0.0, _most_dm(less))
    try:
        answer = solve_model(model)
    except ProofFailed:
        return None
    if isinstance(answer, NoOptimum):
        return False if answer.proved else None
    return True


def _by_density(
    less: Block,
    left_out: Collection[Key],
    asked: Callable[[BlockModel, tuple[float, float]], bool | None],
) -> bool | None:
    """The same in bands of energy density, in each of which the level of feeding hardly moves."""
    need = less.needs.energy
    assert need is not None
    densities = [me / GE_MJ_PER_KG_DM for _, me in less.contents("me_mj_per_kg_dm")]
    low, high = min(densities), min(max(densities), Q_MOST)
    edges = [low + (high - low) * number / _BANDS for number in range(_BANDS + 1)]
    # Where energy is not asked for, a gain that can hardly be made on so lean a ration has no level
    # to speak of.
    most = MOST_LEVEL if asked is _keeps_rows else inf
    levels, open_bands = (1.0, 1.0), False
    # From the richest band down: where the gain can no longer be made the level is not defined, and
    # the last one that was counts.
    waiting = [(band, 0) for band in itertools.pairwise(edges)]
    while waiting:
        band, halvings = waiting.pop()
        levels = _levels(need, band, most) or levels
        answer = asked(_in_band(BlockModel(less, left_out), _most_dm(less), band), levels)
        if answer:
            return True
        if answer is None and halvings < _MOST_HALVINGS:
            middle = 0.5 * (band[0] + band[1])
            waiting += [((band[0], middle), halvings + 1), ((middle, band[1]), halvings + 1)]
        open_bands |= answer is None and halvings == _MOST_HALVINGS
    return None if open_bands else False


def _levels(need: EnergyNeed, band: tuple[float, float], most: float) -> tuple[float, float] | None:
    """Least and greatest level of feeding in a band of q, widened by a step, or None."""
    span = (band[0] + (band[1] - band[0]) * number / _IN_A_BAND for number in range(_IN_A_BAND + 1))
    levels = [min(level, most) for q in span if (level := need.feeding_level(q)) < inf]
    if not levels:
        return None
    step = max((abs(a - b) for a, b in itertools.pairwise(levels)), default=0.0)
    return min(levels) - step, max(levels) + step


def _in_band(model: BlockModel, most_dm: float, band: tuple[float, float]) -> BlockModel:
    """A model whose rations keep to a band of metabolisability."""
    model.live.set_column_bounds(model.dm, 0.0, most_dm)
    for name, q, low, high in (("band_low", band[0], 0.0, inf), ("band_high", band[1], -inf, 0.0)):
        coefs = {model.me: 1.0, model.dm: -GE_MJ_PER_KG_DM * q}
        model.live.add_row(Row(model.block.key(name), coefs, low, high, "definition", "MJ"))
    return model


def _most_dm(block: Block) -> float:
    cap = block.needs.intake
    if cap is None:
        return inf
    return MOST_OF_APPETITE * cap.cap_kg_dm


def _said(block: Block, item: Key, rows: dict[Key, Row]) -> ClashPart:
    standard = STANDARDS[block.needs.standard].title
    if item == ENERGY:
        ceiling = block.needs.energy_ceiling
        hard = ceiling is not None and not block.needs.ceiling_priced
        more = ""
        if hard:
            more = f", and no more than {100 * (ceiling or 1.0):.0f} % of it"
        return ClashPart(f"its whole need of energy{more}", "need", standard)
    if item == PROTEIN:
        words = f"{block.needs.mp_required_g:.0f} g of metabolisable protein"
        return ClashPart(words, "need", standard)
    row = rows[item]
    return ClashPart(row_in_words(row), row.kind, row.why)


def row_in_words(row: Row) -> str:
    """A need or limit as a farmer would say it: `at most 3.0 kg DM of Rolled barley`."""
    if row.low > -inf:
        side, bound = ("at least", row.low)
    else:
        side, bound = ("at most", row.high)
    side = "exactly" if row.low == row.high else side
    if row.words.bound:
        return f"{side} {row.words.bound}"
    if bound == 0.0:
        return f"none of {row.title}"
    of = row.words.of or row.title
    unit = row.unit.removesuffix(" DM") if of == "dry matter" else row.unit
    return f"{side} {bound:.4g} {unit} of {of}"
