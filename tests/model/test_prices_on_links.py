"""Prices on the rows that tie a winter, beside one programme: the same cost within both gaps, each
certified, and the same bytes every time.

Random winters of every kind, with what may tie them besides stores: outlets, bought feed in limited
amounts, one mix for two groups, bedding, grazing, crops still to be grown, loads that are bought
whole. RATIONLP_FULL=1 solves two hundred, plain pytest ten. A failure names kind and seed.
"""

from __future__ import annotations

import os
import random
from dataclasses import replace
from datetime import timedelta

import pytest
from random_winters import KINDS, random_winter
from winter_farms import START, tables

from rationlp.farm.farm import Crop, Farm, Mix
from rationlp.farm.group import Bedding, Grazing
from rationlp.farm.store import Outlet, StoreStock
from rationlp.planned import WinterPlan
from rationlp.wintering import search
from rationlp.wintering.growing import Growing
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

FULL = os.environ.get("RATIONLP_FULL") == "1"
WINTERS = [(kind, seed) for kind in KINDS for seed in range(67 if FULL else 3)]
PLAIN = WinterOptions(faces="off", tidy=False, shortage=False)
ROUNDING = 2e-6
"""Costs of the two that differ by less are the same [share of the cost]."""


def tied_winter(seed: int, kind: str) -> tuple[Farm, dict[str, StoreStock], WinterOptions]:
    """A random winter with more that ties it."""
    farm, held = random_winter(seed, kind)
    rng = random.Random(f"ties {kind} {seed}")
    options, offers, groups = PLAIN, list(farm.offers), list(farm.groups)
    stores = [store.id for store in farm.stores]
    if rng.random() < 0.5:
        price, most = rng.uniform(20.0, 160.0), rng.choice((None, 30.0))
        outlet = Outlet("digester", "Digester", tuple(stores[:2]), None, price, None, most)
        farm = replace(farm, outlets=(outlet,))
    bought = [number for number, offer in enumerate(offers) if offer.bought]
    for number in rng.sample(bought, 2):
        offers[number] = replace(offers[number], most_t=rng.uniform(2.0, 40.0))
    if rng.random() < 0.2:
        offers[bought[0]] = replace(offers[bought[0]], load_t=5.0, whole_loads=True)
    if rng.random() < 0.3:
        grass = Grazing(START, START + timedelta(days=30), 1.0, tables()["grazed_grass_autumn"])
        groups[0] = replace(groups[0], grazing=(grass,))
    if rng.random() < 0.3:
        farm = replace(farm, beddings=(Bedding(stores[0], groups[0].id, 0.5),))
    if len(groups) > 1 and rng.random() < 0.5:
        top_up = frozenset(offer.id for offer in offers if offer.bought)
        portions = {groups[0].id: 1.0, groups[1].id: rng.uniform(0.6, 1.2)}
        farm = replace(farm, mixes=(Mix("one mix", portions, top_up),))
    if rng.random() < 0.2:
        crop = Crop(stores[0], "crop", tables()[stores[0]], 9.0, 600.0, 0.2)
        options = replace(PLAIN, growing=Growing((crop,), rng.choice((None, 40.0)), 0.1))
    return replace(farm, offers=tuple(offers), groups=tuple(groups)), held, options


@pytest.fixture
def large(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """Every winter counts as large."""
    monkeypatch.setattr(search, "LARGE", 1)
    return monkeypatch


def gap(plan: WinterPlan) -> float:
    """How far a plan's cost may lie above its bound [currency]."""
    assert plan.proof is not None
    assert plan.cost is not None
    return plan.proof.cost - plan.proof.lower_bound


@pytest.mark.parametrize(("kind", "seed"), WINTERS)
def test_prices_and_one_programme_agree(
    kind: str, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same winter both ways: both have a plan or neither, both are certified, and their costs
    lie no further apart than their gaps together.
    """
    farm, held, options = tied_winter(seed, kind)
    one = solve_winter(farm, options, held)
    monkeypatch.setattr(search, "LARGE", 1)
    other = solve_winter(farm, options, held)
    assert one.status == other.status, (kind, seed)
    if one.proof is None or other.proof is None:
        assert one.proof is None
        assert other.proof is None
        return
    assert one.proof.passed == other.proof.passed, (kind, seed)
    apart = abs(one.proof.cost - other.proof.cost)
    assert apart <= gap(one) + gap(other) + ROUNDING * abs(one.proof.cost), (kind, seed)
    again = solve_winter(farm, options, held)
    assert repr(again.rations) == repr(other.rations), (kind, seed)
    assert repr(again.proof) == repr(other.proof), (kind, seed)
