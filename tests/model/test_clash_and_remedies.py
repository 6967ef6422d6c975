"""When there is no ration: the clash is minimal and proved, every remedy is enough; tried on random
blocks that have none.

A dry matter held fixed makes the energy requirement one linear row, so whether a set of needs is
impossible can be asked without the search: on a grid of dry matters, with protein at its easiest
level of feeding.
RATIONLP_FULL=1 looks at three hundred blocks without a ration, plain pytest and the long tests
together at thirty.
"""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import cache, lru_cache
from math import inf
from time import process_time

import pytest
from random_groups import random_block, tables

from rationlp.errors import ProofFailed
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Figure, Offer
from rationlp.farm.group import FeedLimit, Group, QuantityLimit
from rationlp.model import clash as clash_module
from rationlp.model.block_ration import NoOptimum, Optimum, solve_block
from rationlp.model.clash import (
    ENERGY,
    MOST_LEVEL,
    MOST_OF_APPETITE,
    PROTEIN,
    find_clash,
    possible,
    smallest_clash,
)
from rationlp.model.energy import EnergyCurve
from rationlp.model.explain import _energy_size
from rationlp.model.remedies import enough, find_remedies
from rationlp.model.rows import block_rows
from rationlp.model.rows.block import Block, make_block
from rationlp.model.search import BlockModel
from rationlp.model.solution import Status
from rationlp.needs import group_needs
from rationlp.needs.energy import EnergyNeed
from rationlp.result import Remedy

FULL = os.environ.get("RATIONLP_FULL") == "1"
CHUNKS = 10
WANTED = 30 if FULL else 3
"""Blocks without a ration in each chunk."""

FIRST_SEED = 5000
_GRID, _BANDS = 40, 30


def farm_of(block: Block) -> Farm:
    """A farm that has what the block has."""
    first, last = date(2026, 11, 1), date(2027, 4, 1)
    group = (block.group,)
    return Farm(
        "", "Random", "GBP", first, last, Margins(), "cost", 0.1, block.offers, (), group, tables()
    )


@lru_cache(maxsize=CHUNKS)
def without_ration(chunk: int) -> tuple[Block, ...]:
    """The first blocks of a chunk of seeds for which it is proved that no ration exists."""
    found: list[Block] = []
    seed = FIRST_SEED + 10_000 * chunk
    while len(found) < WANTED:
        block = random_block(seed)
        answer = solve_block(block)
        if isinstance(answer, NoOptimum) and answer.proved:
            found.append(block)
        seed += 1
    return tuple(found)


def impossible_at_every_dm(block: Block, kept: tuple[tuple[str, ...], ...]) -> bool:
    """No ration on a grid of dry matters: the requirement is then a bound, protein at the level
    that asks least in each band of energy density.
    """
    need = block.needs.energy
    cap = block.needs.intake
    assert need is not None
    assert cap is not None
    needs = block.needs
    if PROTEIN not in kept:
        needs = replace(needs, mp_g=None, wool_mp_g=0.0, priced_mp_g=0.0, colostrum_mp_g=0.0)
    less = replace(block, needs=replace(needs, energy_ceiling=None))
    loose = {
        row.key for row in block_rows(less) if row.kind in ("need", "limit") and row.key not in kept
    }
    # The range of the energy equations (q up to 0.8) belongs to the energy requirement.
    stay = {
        less.key("energy"),
        less.key("protein"),
        *([less.key("density")] if ENERGY in kept else []),
    }
    model = BlockModel(less, loose - stay)
    model.live.set_row_bounds(less.key("energy"), -inf, inf)
    levels = [need.feeding_level(0.7)]
    for q_low, q_high in bands(block) if PROTEIN in kept else ((0.0, 1.0),):
        if PROTEIN in kept:
            levels = [
                level for q in (q_low, q_high) if (level := need.feeding_level(q)) < inf
            ] or levels
            levels = levels if ENERGY in kept else [min(level, MOST_LEVEL) for level in levels]
            model.set_level(max(levels) + 0.02, min(levels) - 0.02, max(levels) + 0.02)
        for number in range(1, _GRID + 1):
            dm = MOST_OF_APPETITE * cap.cap_kg_dm * number / _GRID
            asked = EnergyCurve(need, 1.0, 0.0, inf).value(dm) if ENERGY in kept else 0.0
            low, high = (
                max(asked, 18.8 * q_low * dm),
                min(18.8 * q_high * dm, ceiling_at(block, kept, dm)),
            )
            if low > high:
                continue
            model.live.set_column_bounds(model.dm, dm, dm)
            model.live.set_column_bounds(model.me, low, high)
            if model.live.solve().status is Status.OPTIMAL:
                return False
    return True


def ceiling_at(block: Block, kept: tuple[tuple[str, ...], ...], dm_kg: float) -> float:
    """The most ME that a hard ceiling, which belongs to the energy requirement, allows at a dry
    matter [MJ].
    """
    needs = block.needs
    if (
        ENERGY not in kept
        or needs.energy is None
        or needs.energy_ceiling is None
        or needs.ceiling_priced
    ):
        return inf
    return EnergyCurve(needs.energy, needs.energy_ceiling, 0.0, inf).value(dm_kg)


def bands(block: Block) -> list[tuple[float, float]]:
    """Bands of metabolisability that the feeds span, the richest first."""
    densities = [me / 18.8 for _, me in block.contents("me_mj_per_kg_dm")]
    low, high = min(densities), min(max(densities), 0.8)
    edges = [low + (high - low) * number / _BANDS for number in range(_BANDS + 1)]
    return list(itertools.pairwise(edges))[::-1]


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_clashes_are_minimal(chunk: int) -> None:
    """What is named cannot be kept together on any dry matter looked at; without any one part there
    is a ration.
    """
    for block in without_ration(chunk):
        found = smallest_clash(block)
        assert found is not None, block.group
        core, minimal = found
        assert minimal, (block.group, core)
        assert impossible_at_every_dm(block, core), core
        for one in core:
            assert possible(block, [other for other in core if other != one]) is True


def changed(block: Block, remedy: Remedy) -> Block:
    """The block after a remedy, put together here and not by the code that found it."""
    group = block.group
    if remedy.kind == "intake":
        assert block.needs.intake is not None
        cap = replace(block.needs.intake, cap_kg_dm=remedy.becomes)
        return replace(block, needs=replace(block.needs, intake=cap))
    if remedy.kind == "produce":
        fact = "milk_kg_per_day" if remedy.about == "milk" else "gain_kg_per_day"
        less = replace(group, facts={**group.facts, fact: remedy.becomes})
        return replace(block, group=less, needs=group_needs(less, Margins()))
    if remedy.kind == "forage":
        offers = [
            richer(offer, remedy.change) if offer.id == remedy.about else offer
            for offer in block.offers
        ]
        return replace(block, offers=tuple(offers))
    if remedy.kind == "allow":
        limits = [limit for limit in group.feed_limits if limit.offer != remedy.about]
        mine = FeedLimit(remedy.about, max_kg_fresh=remedy.becomes, max_share_of_dm=1.0)
        return replace(block, group=replace(group, feed_limits=(*limits, mine)))
    assert remedy.kind == "buy", remedy
    feed = tables()[remedy.about]
    bought = Offer(remedy.about, feed.name, feed, True, 200.0)
    farm = farm_of(block)
    limits = (*group.feed_limits, FeedLimit(remedy.about, max_kg_fresh=remedy.becomes))
    more = replace(group, feed_limits=limits)
    return make_block(
        replace(farm, offers=(*farm.offers, bought)), more, block.needs, (*block.offers, bought)
    )


def richer(offer: Offer, more_mj: float) -> Offer:
    """An offer with more ME, and as much more fermentable."""
    figures = dict(offer.feed.figures)
    for name in ("me_mj_per_kg_dm", "fme_mj_per_kg_dm"):
        figures[name] = Figure(figures[name].value + more_mj, "farm", "test")
    return replace(offer, feed=replace(offer.feed, figures=figures))


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_remedies_are_enough_and_in_time(chunk: int) -> None:
    """Each change gives the group a ration by the full solve; clash and changes of a group within
    seconds.
    """
    said = 0
    for block in without_ration(chunk):
        start = process_time()
        found = find_remedies(farm_of(block), block, find_clash(block))
        assert process_time() - start < 4.0
        assert [one.size for one in found] == sorted(one.size for one in found)
        for remedy in found:
            assert isinstance(solve_block(changed(block, remedy)), Optimum), (
                block.group,
                remedy.words,
            )
            assert remedy.change > 0.0
        said += bool(found)
    assert said >= WANTED / 2


@cache
def remedies_of(seed: int) -> tuple[Block, tuple[Remedy, ...]]:
    """A random block without a ration, and what would help it."""
    block = random_block(seed)
    return block, tuple(find_remedies(farm_of(block), block))


def test_the_least_less_milk_is_the_least() -> None:
    """A tenth of a kg more milk than the remedy says has no ration."""
    block, found = remedies_of(139)
    remedy = next(one for one in found if one.kind == "produce")
    facts = {**block.group.facts, "milk_kg_per_day": remedy.becomes + 0.1}
    more = replace(block.group, facts=facts)
    assert not enough(replace(block, group=more, needs=group_needs(more, Margins())))


def test_the_least_of_a_bought_feed_is_the_least() -> None:
    """With a tenth less of the feed than the remedy says there is no ration."""
    block, found = remedies_of(139)
    remedy = next(one for one in found if one.kind == "buy")
    assert enough(changed(block, remedy))
    assert not enough(changed(block, replace(remedy, becomes=0.9 * remedy.becomes)))


def test_a_block_with_a_ration_has_no_clash() -> None:
    """Nothing clashes where a ration exists."""
    assert find_clash(random_block(0)) is None


def test_a_feed_kept_from_a_class_is_never_a_remedy() -> None:
    """No remedy for sheep brings a feed whose copper is not known, or one that its printed limit
    shuts out.
    """
    seen = 0
    for seed in (56, 68, 95, 122):
        for remedy in remedies_of(seed)[1]:
            if remedy.kind == "buy":
                seen += 1
                assert tables()[remedy.about].value("cu_mg_per_kg_dm") is not None
    assert seen >= 3


def test_a_limit_for_safety_is_never_loosened() -> None:
    """The compound with copper stays shut to sheep although it is part of the clash."""
    block, found = remedies_of(95)
    clash = find_clash(block)
    assert clash is not None
    assert any("Dairy compound" in part.what for part in clash.parts)
    assert found
    assert all(
        not (one.kind == "allow" and one.about.startswith("dairy_compound")) for one in found
    )


def test_a_feed_that_brings_money_without_end_is_named() -> None:
    """A stated group with a feed at a price below nothing and no limit has no least cost: the feed
    is told.
    """
    limits = (QuantityLimit("me_mj_per_kg_dm", "head_day", at_least=50.0),)
    group = Group("g", "Stated", "stated", 10, "rationed", {}, quantity_limits=limits)
    feed = tables()["barley"]
    paid = Offer("barley", "Barley that is paid for", feed, True, -10.0)
    block = make_block(farm_of(random_block(0)), group, group_needs(group, Margins()), (paid,))
    with pytest.raises(
        ProofFailed, match="Barley that is paid for brings money in and nothing limits it"
    ):
        solve_block(block)


def test_limits_of_the_farm_that_contradict_one_another_are_the_clash() -> None:
    """5 kg of a feed asked for and 2 kg of dry matter allowed: these two, and a remedy for the
    floor that is enough.
    """
    limits = (QuantityLimit("dm_kg", "head_day", at_most=2.0),)
    floors = (FeedLimit("barley", min_kg_fresh=5.0),)
    group = Group(
        "g", "Stated", "stated", 10, "rationed", {}, feed_limits=floors, quantity_limits=limits
    )
    offer = Offer("barley", "Barley", tables()["barley"], True, 150.0)
    farm = farm_of(random_block(0))
    block = make_block(farm, group, group_needs(group, Margins()), (offer,))
    clash = find_clash(block)
    assert clash is not None
    assert {part.whose for part in clash.parts} == {"the farm's own figure"}
    assert len(clash.parts) == 2
    found = {one.about: one for one in find_remedies(farm, block, clash)}
    assert 0.0 < found["barley"].becomes < 5.0
    assert found["barley"].change == pytest.approx(5.0 - found["barley"].becomes)
    assert found["dm_kg"].change == pytest.approx(found["dm_kg"].becomes - 2.0)
    lower = (FeedLimit("barley", min_kg_fresh=found["barley"].becomes),)
    higher = (QuantityLimit("dm_kg", "head_day", at_most=found["dm_kg"].becomes),)
    for changed_group in (
        replace(group, feed_limits=lower),
        replace(group, quantity_limits=higher),
    ):
        needs = group_needs(changed_group, Margins())
        assert enough(make_block(farm, changed_group, needs, (offer,)))


def test_bands_that_decide_nothing_are_halved_so_often_and_no_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """24 bands, each halved twice: 24 · (1 + 2 + 4) questions, and then neither is shown."""
    monkeypatch.setattr(clash_module, "_MOST_HALVINGS", 2)
    asked = []

    def undecided(model: BlockModel, levels: tuple[float, float]) -> None:
        asked.append(levels)
        assert len(asked) <= 24 * 7

    assert clash_module._by_density(random_block(1), (), undecided) is None
    assert len(asked) == 24 * 7


def test_a_shortage_of_energy_is_held_against_the_need_of_a_middling_ration() -> None:
    """At q 0.6; 100 MJ where no ration of that energy makes the gain."""
    block = random_block(1)
    need = block.needs.energy
    assert need is not None
    assert _energy_size(block) == need.required_mj(0.6)
    beyond = EnergyNeed("exponential", em=30.0, eg=300.0)
    assert _energy_size(replace(block, needs=replace(block.needs, energy=beyond))) == 100.0


def test_feeds_seldom_sold_come_last_among_the_remedies(monkeypatch: pytest.MonkeyPatch) -> None:
    """Half as much linseed as distillers would do, and a little less gain: the linseed, which no
    merchant has, stands last (common practice).
    """

    def remedy(kind: str, about: str, size: float) -> Remedy:
        return Remedy(kind, about, size, size, "kg", size, about)

    def found(*changes: Remedy) -> Callable[[object], list[Remedy]]:
        return lambda *_: list(changes)

    linseed, grains = remedy("buy", "linseed_whole", 0.01), remedy("buy", "maize_distillers", 0.02)
    for name, changes in (
        ("_produce", found(remedy("produce", "gain", 0.03))), ("_intake", found()),
        ("_forage", found()), ("_allow", found()), ("_buy", found(linseed, grains)),
        ("_own", found()),
    ):  # fmt: skip
        monkeypatch.setattr(f"rationlp.model.remedies.{name}", changes)
    block = random_block(3)
    assert [one.about for one in find_remedies(farm_of(block), block)] == [
        "maize_distillers", "gain", "linseed_whole",
    ]  # fmt: skip
