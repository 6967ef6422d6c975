"""A small invented farm with a short winter, so that questions of several solves are answered
quickly.
"""

from __future__ import annotations

from pathlib import Path

FARM = """\
[farm]
name = "Small Croft, invented"
currency = "GBP"

[winter]
start = 2026-11-01
turnout = 2026-12-27
periods = "month"

[home_grown]
price = "cost"

[margins]
me = 1.05
mp = 1.05

[[stores]]
id = "pit"
name = "Clamp"
feed = "grass_silage_1st_typical"
kind = "clamp"
length_m = 10
width_m = 3
height_m = 1.4
cost_per_t_fresh = 30

[[stores]]
id = "hay"
name = "Hay"
feed = "hay_average"
kind = "bales"
count = 40
weight_kg = 240
cost_per_t_fresh = 95

[[stores]]
id = "straw"
name = "Straw"
feed = "straw_barley"
kind = "plain"
amount_t_fresh = 12
cost_per_t_fresh = 80

[[bought]]
feed = "barley"
price_per_t_fresh = 205

[[bought]]
feed = "soya_meal_48"
price_per_t_fresh = 385

[[bought]]
id = "minerals"
feed = "minerals_cattle_general"
price_per_t_fresh = 620

[[growing]]
id = "pit"
name = "Grass"
feed = "grass_silage_1st_typical"
yield_t_dm_per_ha = 9
cost_per_ha = 1200
most_ha = 20

[[growing]]
id = "straw"
name = "Straw"
feed = "straw_barley"
stored = "bales"
yield_t_dm_per_ha = 3
cost_per_ha = 240
losses = 0.05

[[groups]]
id = "cows"
class = "suckler_cow_dry"
head = 16
live_weight_kg = 650
days_to_calving = 150

[[groups]]
id = "stores"
class = "growing_cattle"
head = 12
live_weight_kg = 320
gain_kg_per_day = 0.9
sex = "steer"
maturity = "medium"
"""


def small_farm(
    folder: Path, *changes: tuple[str, str], files: dict[str, str] | None = None
) -> Path:
    """The farm in a folder, pieces of its text replaced; each piece must stand in it."""
    text = FARM
    for old, new in changes:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    for name, content in (files or {}).items():
        (folder / name).write_text(content, encoding="utf-8")
    return folder
