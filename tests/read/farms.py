"""A small valid farm as text, and ways to spoil it."""

from __future__ import annotations

from pathlib import Path

FARM = """\
[farm]
name = "Test farm"
currency = "GBP"

[winter]
start = 2026-10-15
turnout = 2027-04-10

[home_grown]
price = "cost"

[margins]
me = 1.05
mp = 1.05

[[stores]]
id = "pit"
feed = "grass_silage_1st_typical"
kind = "clamp"
length_m = 30
width_m = 10
height_m = 2.5
cost_per_t_fresh = 36

[[stores]]
id = "straw"
feed = "straw_barley"
kind = "bales"
count = 100
weight_kg = 400
cost_per_t_fresh = 80

[[bought]]
feed = "barley"
price_per_t_fresh = 205
least_t = 1
most_t = 60

[[bought]]
feed = "soya_meal_48"
price_per_t_fresh = 385

[[groups]]
id = "cows"
class = "dairy_cow_milking"
head = 60
live_weight_kg = 650
milk_kg_per_day = 28
milk_fat_g_per_kg = 41
milk_protein_g_per_kg = 33
week_of_lactation = 12
barred = ["straw"]

[[groups.feed_limits]]
feed = "barley"
max_kg_fresh = 5

[[groups.quantity_limits]]
quantity = "cp_g_per_kg_dm"
per = "kg_dm"
at_least = 140

[[groups]]
id = "sucklers"
class = "suckler_cow_dry"
head = 20
live_weight_kg = 650
days_to_calving = 200
"""

FED = "group,feed,kg_fresh\ncows,pit,40\ncows,soya_meal_48,2\n"


def write_farm(folder: Path, text: str = FARM, **files: str | bytes) -> Path:
    """Write a farm folder; files are named without their ending (`lab="…"` becomes lab.csv)."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    for name, content in files.items():
        data = content if isinstance(content, bytes) else content.encode("utf-8")
        (folder / f"{name}.csv").write_bytes(data)
    return folder


def changed(old: str, new: str) -> str:
    """The valid farm with one piece of text replaced; the piece must be there."""
    assert old in FARM, old
    return FARM.replace(old, new, 1)


def snapshot(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its content, to see that nothing was written."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
