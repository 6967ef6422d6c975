"""Random winters with more that ties them than stores: outlets, bought feed in limited amounts, one
mix for two groups, bedding, grazing, crops still to be grown, faces that must advance, and whole
numbers (loads, bags, clamps that are open or shut).
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from random_winters import random_winter
from winter_farms import START, TURNOUT, tables

from rationlp.farm.farm import Crop, Farm, Mix
from rationlp.farm.group import Bedding, Grazing
from rationlp.farm.store import Face, Outlet, Spread, StoreStock
from rationlp.report.json_answer import document, json_text
from rationlp.wintering.growing import Growing
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

PLAIN = WinterOptions(faces="off", tidy=False, shortage=False, beside=False, worded=False)
WEEKS = (TURNOUT - START).days / 7.0
LOADS_T = (0.025, 1.0, 5.0, 20.0)
"""A bag, a tonne bag, a trailer, a lorry [t fresh]."""


def tied_winter(seed: int, kind: str) -> tuple[Farm, dict[str, StoreStock], WinterOptions]:
    """A random winter with more that ties it, and how its faces are to be planned."""
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
    if rng.random() < 0.3:
        for number in rng.sample(bought, rng.choice((1, 1, 2))):
            load = rng.choice(LOADS_T)
            offers[number] = replace(offers[number], load_t=load, whole_loads=True)
    if rng.random() < 0.3:
        grass = Grazing(START, START + timedelta(days=30), 1.0, tables()["grazed_grass_autumn"])
        groups[0] = replace(groups[0], grazing=(grass,))
    if rng.random() < 0.3 and held[stores[0]].edible_t_dm.typical > 30.0:
        farm = replace(farm, beddings=(Bedding(stores[0], groups[0].id, 0.2),))
    if len(groups) > 1 and rng.random() < 0.5:
        top_up = frozenset(offer.id for offer in offers if offer.bought)
        portions = {groups[0].id: 1.0, groups[1].id: rng.uniform(0.6, 1.2)}
        farm = replace(farm, mixes=(Mix("one mix", portions, top_up),))
    if rng.random() < 0.2:
        crop = Crop(stores[0], "crop", tables()[stores[0]], 9.0, 600.0, 0.2)
        nothing = Spread(0.0, 0.0, 0.0)
        grown = replace(held[stores[0]], t_fresh=nothing, t_dm=nothing, edible_t_dm=nothing)
        farm, held = replace(farm, beddings=()), {**held, stores[0]: grown}
        options = replace(PLAIN, growing=Growing((crop,), rng.choice((None, 40.0)), 0.1))
    elif rng.random() < 0.5:
        held = {**held, **with_faces(rng, {name: held[name] for name in stores[:2]})}
        options = replace(PLAIN, faces=rng.choice(("auto", "auto", "course", "on")))
    return replace(farm, offers=tuple(offers), groups=tuple(groups)), held, options


def with_faces(rng: random.Random, stocks: Mapping[str, StoreStock]) -> dict[str, StoreStock]:
    """Stores as clamps that must advance by so much that they last from half a winter to three."""
    faced = {}
    for name, stock in stocks.items():
        length_m = rng.uniform(4.0, 40.0)
        behind = stock.t_dm.typical * 1000.0 / length_m
        least = length_m / WEEKS / rng.uniform(0.5, 3.0)
        face = Face(8.0, 2.0, 16.0, behind, 1.5 * least, least, length_m)
        faced[name] = replace(stock, face=face)
    return faced


def told_plan(winter: tuple[str, int]) -> str:
    """The whole answer of a winter by kind and seed as text, as `--format json` writes it: a
    function of a module, for any process.
    """
    kind, seed = winter
    farm, held, options = tied_winter(seed, kind)
    return json_text(document("winter_plan", solve_winter(farm, options, held)))
