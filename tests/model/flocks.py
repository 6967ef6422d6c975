"""Invented flocks for the winter: hill ewes with hoggs, an October and an April flock in one file,
a flock on poor hay.
"""

from __future__ import annotations

from pathlib import Path

from rationlp.farm.farm import Farm
from rationlp.read.farm import read_farm

HEAD = """
[farm]
name = "An invented flock"
currency = "GBP"
[winter]
start = {start}
turnout = {turnout}
[home_grown]
price = "cost"
"""
BOUGHT = """
[[bought]]
id = "rolls"
feed = "ewe_rolls_18"
price_per_t_fresh = 320
[[bought]]
feed = "barley"
price_per_t_fresh = 205
[[bought]]
feed = "soya_meal_48"
price_per_t_fresh = 400
[[bought]]
id = "minerals"
feed = "minerals_sheep_no_copper"
price_per_t_fresh = 700
"""


def bales(name: str, feed: str, count: int, kg: float, cost: float) -> str:
    """A store of bales."""
    return (
        f'\n[[stores]]\nid = "{name}"\nfeed = "{feed}"\nkind = "bales"\ncount = {count}\nweight_kg'
        f' = {kg}\nshape = "round"\ncost_per_t_fresh = {cost}\n'
    )


def ewes(
    name: str, head: int, lambs: int, lambing: str, more: str = "", flock: str = "lowland"
) -> str:
    """Ewes in lamb, lambing over four weeks, then in milk."""
    return (
        f'\n[[groups]]\nid = "{name}"\nclass = "ewe_pregnant"\nhead = {head}\nlive_weight_kg ='
        f" {62 if flock == 'hill' else 72}\nlambs_carried = {lambs}\nlambing ="
        f' {lambing}\nspread_weeks = 4\n{more}[groups.after]\nclass = "ewe_milking"\nlambs_suckled'
        f' = {lambs}\nflock = "{flock}"\n'
    )


HOGGS = """
[[groups]]
id = "hoggs"
class = "ewe_lamb"
head = 90
live_weight_kg = 36
gain_kg_per_day = 0.05
kept = "{kept}"
"""
DRY = '\n[[groups]]\nid = "dry"\nclass = "ewe_dry"\nhead = 30\nlive_weight_kg = 60\n'

HILL = (
    HEAD.format(start="2026-12-01", turnout="2027-05-10")
    + bales("silage", "grass_silage_big_bale", 260, 620, 45)
    + bales("hay", "hay_average", 200, 220, 90)
    + BOUGHT
    + ewes("singles", 150, 1, "2027-04-12", flock="hill")
    + ewes("twins", 150, 2, "2027-04-12", flock="hill")
    + HOGGS.format(kept="lowland")
    + DRY
)
MIXED = (
    HEAD.format(start="2026-10-01", turnout="2027-05-01")
    + bales("silage", "grass_silage_big_bale", 420, 620, 45)
    + bales("hay", "hay_good", 160, 220, 110)
    + BOUGHT
    + ewes("october", 60, 2, "2026-10-05")
    + ewes("april", 180, 2, "2027-04-05", "tupping = 2026-11-10\ncondition_score = 2.5\n")
    + ewes("april_singles", 100, 1, "2027-04-05", "condition_score = 3.5\n")
)
POOR_HAY = (
    HEAD.format(start="2026-11-15", turnout="2027-04-20")
    + bales("hay", "hay_poor", 400, 220, 60)
    + bales("better", "hay_average", 150, 220, 100)
    + BOUGHT
    + ewes("singles", 60, 1, "2027-04-01")
    + ewes("twins", 60, 2, "2027-04-01")
    + HOGGS.format(kept="housed").replace("head = 90", "head = 20")
)
FLOCKS = {"hill": HILL, "october and april": MIXED, "poor hay": POOR_HAY}


def flock(name: str, folder: Path) -> Farm:
    """One of the flocks, read from a folder."""
    (folder / "farm.toml").write_text(FLOCKS[name], encoding="utf-8")
    return read_farm(folder)
