"""A farm on paper: two forages, straw and a meal, needs stated a head a day, so that every figure
can be worked out by hand.

Forages hold 500 g DM in a kg and the meal 900; prices a kg DM are 0.10, 0.08 and 0.30. F = kg DM of
the two forages, s = share of the second, meal = 10 − F. Crude protein: F (150 (1 − s) + 80 s) + 400
(10 − F) ≥ 1300, so F ≤ 2700 / (250 + 70 s): no meal up to s = 2/7, meal beyond. Cost: F (0.10 (1 −
s) + 0.08 s) + 0.30 (10 − F).
"""

from __future__ import annotations

from pathlib import Path

FEEDS = """\
key,name,kind,dm_g_per_kg,cp_g_per_kg_dm
own_grass,Grass,forage,500,150
own_maize,Maize,forage,500,80
own_meal,Meal,pulse_oilseed,900,400
"""
FARM = """\
[farm]
name = "A farm on paper"
currency = "GBP"

[winter]
start = 2026-11-01
turnout = 2027-02-09

[[stores]]
id = "grass"
name = "Grass"
feed = "own_grass"
kind = "plain"
amount_t_fresh = {grass}
loss_trough = 0
cost_per_t_fresh = 50

[[stores]]
id = "maize"
name = "Maize"
feed = "own_maize"
kind = "plain"
amount_t_fresh = {maize}
loss_trough = 0
cost_per_t_fresh = 40

[[bought]]
feed = "own_meal"
id = "meal"
name = "Meal"
price_per_t_fresh = 270

[[groups]]
id = "cows"
name = "Cows"
class = "stated"
head = 10

[[groups.quantity_limits]]
quantity = "dm_kg"
per = "head_day"
at_least = 10
at_most = 10

[[groups.quantity_limits]]
quantity = "cp_g_per_kg_dm"
per = "head_day"
at_least = 1300
"""
HEAD_DAYS = 10 * 100


def paper_farm(folder: Path, grass: float = 200.0, maize: float = 200.0, more: str = "") -> Path:
    """Write the farm into a folder that is made; `more` is added to farm.toml."""
    folder.mkdir()
    (folder / "feeds.csv").write_text(FEEDS, encoding="utf-8")
    (folder / "farm.toml").write_text(
        FARM.format(grass=grass, maize=maize) + more, encoding="utf-8"
    )
    return folder


def forage_kg(share: float) -> float:
    """F [kg DM a head a day]."""
    return min(10.0, 2700.0 / (250.0 + 70.0 * share))


def least_cost(share: float, maize_price: float = 0.08) -> float:
    """Cost [currency a head a day]."""
    forage = forage_kg(share)
    return forage * (0.10 * (1.0 - share) + maize_price * share) + 0.30 * (10.0 - forage)
