"""Invented herds that calve in the winter, small: every one gets a plan, or the true reason why
not.
"""

from __future__ import annotations

STORES = """
[farm]
name = "An invented herd"
currency = "GBP"
[winter]
start = {start}
turnout = {turnout}
[home_grown]
price = "cost"
[[stores]]
id = "silage"
feed = "grass_silage_1st_typical"
kind = "plain"
amount_t_fresh = 3000
cost_per_t_fresh = 36
[[stores]]
id = "straw"
feed = "straw_barley"
kind = "plain"
amount_t_fresh = 200
cost_per_t_fresh = 80
[[bought]]
feed = "barley"
price_per_t_fresh = 205
[[bought]]
feed = "soya_meal_48"
price_per_t_fresh = 385
[[bought]]
feed = "soya_hulls"
price_per_t_fresh = 230
[[bought]]
feed = "rapeseed_meal_extracted"
price_per_t_fresh = 275
[[bought]]
feed = "minerals_cattle_general"
price_per_t_fresh = 620
[[bought]]
feed = "minerals_dry_cow"
price_per_t_fresh = 700
[[bought]]
feed = "limestone"
price_per_t_fresh = 110
[[bought]]
feed = "calcined_magnesite"
price_per_t_fresh = 480
[[bought]]
feed = "salt"
price_per_t_fresh = 190
"""

COWS = """
[[groups]]
id = "cows"
class = "dairy_cow_dry"
head = {head}
live_weight_kg = 650
calving = {calving}
calving_last = {last}
{more}
[groups.after]
class = "dairy_cow_milking"
live_weight_kg = 620
{milk}
milk_fat_g_per_kg = 41
milk_protein_g_per_kg = 33
"""

HEIFERS = """
[[groups]]
id = "heifers"
class = "in_calf_heifer"
head = 20
live_weight_kg = 560
gain_kg_per_day = 0.6
maturity = "late"
mature_weight_kg = 640
calving = 2026-11-10
spread_weeks = 6
"""

MILKING = """
[[groups]]
id = "late"
class = "dairy_cow_milking"
head = 40
live_weight_kg = 640
milk_kg_per_day = 24
milk_fat_g_per_kg = 41
milk_protein_g_per_kg = 33
week_of_lactation = 20
days_pregnant = 60
out = 2027-02-10
"""

SUCKLERS = """
[[groups]]
id = "sucklers"
class = "suckler_cow_dry"
head = 30
live_weight_kg = 640
days_to_calving = 60
"""

AUTUMN = STORES.format(start="2026-10-10", turnout="2027-03-28") + COWS.format(
    head=80, calving="2026-09-25", last="2026-11-20", more="", milk="milk_kg_per_day = 33"
)
SPRING = STORES.format(start="2026-12-01", turnout="2027-03-25") + COWS.format(
    head=90,
    calving="2027-02-01",
    last="2027-03-30",
    more="pens = true",
    milk="milk_305_day_kg = 6300",
)
YOUNG = STORES.format(start="2026-10-10", turnout="2027-03-28") + HEIFERS + MILKING
ALL_YEAR = (
    STORES.format(start="2026-10-10", turnout="2027-03-28")
    + COWS.format(
        head=60,
        calving="2026-09-20",
        last="2027-03-10",
        more="pens = true",
        milk="milk_kg_per_day = 34",
    )
    + MILKING
)
BEEF = STORES.format(start="2026-12-01", turnout="2027-03-25") + SUCKLERS
