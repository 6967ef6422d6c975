"""A small valid farm with everything that the winter asks of stores and groups, as text."""

from __future__ import annotations

WINTER_FARM = """
[farm]
name = "F"
currency = "GBP"
[winter]
start = 2026-11-01
turnout = 2027-04-20
periods = "month"
[prices]
milk_per_litre = 0.36
[[stores]]
id = "pit"
feed = "grass_silage_1st_typical"
kind = "plain"
amount_t_fresh = 900
cost_per_t_fresh = 36
[[stores]]
id = "straw"
feed = "straw_barley"
kind = "plain"
amount_t_fresh = 60
cost_per_t_fresh = 80
[[bought]]
feed = "barley"
price_per_t_fresh = 205
load_t = 10
most_t = 60
whole_loads = true
keeps_days = 60
space_t = 15
[[outlets]]
id = "digester"
name = "A digester"
stores = ["pit"]
price_per_t_fresh = 30
least_t_fresh = 20
most_t_fresh = 100
[[bedding]]
store = "straw"
group = "dry"
kg_fresh_per_head_day = 2.5
[[mixes]]
id = "tub"
groups = [{group = "dry", portion = 0.5}, "stores"]
top_up = ["barley"]
[[groups]]
id = "dry"
class = "suckler_cow_dry"
head = 40
live_weight_kg = 650
days_to_calving = 200
housed = 2026-11-15
out = 2027-04-01
[[groups.grazing]]
from = 2027-03-10
until = 2027-03-20
kg_dm_per_day = 3
feed = "grazed_grass_spring"
cost_per_t_dm = 40
analysis = {me_mj_per_kg_dm = 11.0}
[[groups]]
id = "stores"
class = "growing_cattle"
head = 30
live_weight_kg = 300
gain_kg_per_day = 0.7
sex = "steer"
maturity = "medium"
"""
