"""Invented farms as a feeder would walk through them: a herd that calves at Christmas, cereal
bulls, straw stores, a smallholder, an organic block with roots, a flock with nothing but poor hay.
"""

from __future__ import annotations

from flocks import HEAD, bales


def clamp(name: str, feed: str, tonnes: float, cost: float) -> str:
    """A store of so many tonnes fresh."""
    return (
        f'\n[[stores]]\nid = "{name}"\nfeed = "{feed}"\nkind = "plain"\namount_t_fresh = {tonnes}\n'
        f"cost_per_t_fresh = {cost}\n"
    )


def buy(**price: float) -> str:
    """Bought feeds by key, with prices a tonne fresh."""
    return "".join(
        f'\n[[bought]]\nfeed = "{feed}"\nprice_per_t_fresh = {money}\n'
        for feed, money in price.items()
    )


def group(name: str, animal_class: str, head: int, facts: str, after: str = "") -> str:
    """A group; facts and what it is afterwards as lines of farm.toml."""
    lines = f'\n[[groups]]\nid = "{name}"\nclass = "{animal_class}"\nhead = {head}\n{facts}'
    return f"{lines}[groups.after]\n{after}" if after else lines


SUCKLER = 'class = "suckler_cow_milking"\nmilk_kg_per_day = 9\n'
STEER = 'sex = "steer"\nmaturity = "medium"\n'
BULL = 'sex = "bull"\nmaturity = "late"\n'

CHRISTMAS = (
    HEAD.format(start="2026-11-01", turnout="2027-04-05")
    + clamp("silage", "grass_silage_1st_typical", 1300, 36)
    + clamp("second", "grass_silage_2nd", 500, 33)
    + bales("straw", "straw_barley", 160, 250, 80)
    + buy(dairy_compound_18=300, barley=200, rapeseed_meal_extracted=280, soya_meal_48=390)
    + buy(beet_pulp_molassed_dry=240, minerals_cattle_general=620, minerals_dry_cow=700)
    + buy(calcined_magnesite=480, limestone=120)
    + group(
        "cows",
        "dairy_cow_dry",
        70,
        "live_weight_kg = 640\ncalving = 2026-12-15\ncalving_last = 2027-02-10\n",
        'class = "dairy_cow_milking"\nlive_weight_kg = 610\nmilk_kg_per_day = 30\n'
        "milk_fat_g_per_kg = 42\nmilk_protein_g_per_kg = 34\n",
    )
    + group(
        "stale",
        "dairy_cow_milking",
        30,
        "live_weight_kg = 620\nmilk_kg_per_day = 15\nmilk_fat_g_per_kg = 44\n"
        "milk_protein_g_per_kg = 36\nweek_of_lactation = 40\ndays_pregnant = 190\n",
    )
    + group(
        "heifers",
        "in_calf_heifer",
        18,
        'live_weight_kg = 530\ngain_kg_per_day = 0.6\nmaturity = "late"\nmature_weight_kg = 640\n'
        "calving = 2026-12-20\nspread_weeks = 4\n",
    )
)
BULLS = (
    HEAD.format(start="2026-10-15", turnout="2027-03-15")
    + bales("straw", "straw_barley", 260, 250, 75)
    + buy(barley=185, soya_meal_48=390, rapeseed_meal_extracted=275, beet_pulp_molassed_dry=235)
    + buy(minerals_cattle_general=600, limestone=110)
    + group(
        "young",
        "finishing_cattle",
        30,
        f'system = "cereal_based"\nlive_weight_kg = 220\ngain_kg_per_day = 1.25\n{BULL}',
    )
    + group("calves", "calf", 30, f"live_weight_kg = 130\ngain_kg_per_day = 1.0\n{BULL}")
)
STRAW = (
    HEAD.format(start="2026-11-01", turnout="2027-04-10")
    + bales("straw", "straw_barley", 500, 250, 75)
    + bales("hay", "hay_average", 60, 220, 100)
    + buy(barley=190, wheat_distillers=250, rapeseed_meal_extracted=270, feed_urea=600)
    + buy(minerals_cattle_general=620)
    + group("stores", "growing_cattle", 60, f"live_weight_kg = 330\ngain_kg_per_day = 0.6\n{STEER}")
    + group(
        "sucklers",
        "suckler_cow_dry",
        40,
        "live_weight_kg = 660\ncalving = 2027-04-05\nspread_weeks = 7\n"
        "condition_score_change = -0.5\ncondition_change_days = 120\n",
        SUCKLER,
    )
)
SMALLHOLDER = (
    HEAD.format(start="2026-11-10", turnout="2027-04-20")
    + bales("hay", "hay_average", 110, 200, 100)
    + bales("bale", "grass_silage_big_bale", 22, 600, 45)
    + bales("straw", "straw_oat", 12, 160, 85)
    + buy(barley=230, ewe_rolls_18=360, minerals_suckler_high_mg=720, minerals_sheep_no_copper=760)
    + group(
        "cows",
        "suckler_cow_dry",
        3,
        "live_weight_kg = 600\ncalving = 2027-03-10\nspread_weeks = 3\n",
        SUCKLER,
    )
    + group("stores", "growing_cattle", 2, f"live_weight_kg = 290\ngain_kg_per_day = 0.5\n{STEER}")
    + group(
        "ewes",
        "ewe_pregnant",
        10,
        "live_weight_kg = 68\nlambs_carried = 2\nlambing = 2027-04-01\nspread_weeks = 3\n",
    )
)
ORGANIC = (
    HEAD.format(start="2026-11-10", turnout="2027-04-15")
    + clamp("clover", "red_clover_silage", 300, 40)
    + clamp("grass", "grass_silage_2nd", 500, 34)
    + clamp("beet", "fodder_beet", 250, 30)
    + clamp("swedes", "swedes", 120, 28)
    + bales("straw", "straw_oat", 90, 230, 80)
    + buy(oats=310, field_beans=440, peas=450, minerals_suckler_high_mg=720)
    + buy(minerals_cattle_general=650, minerals_sheep_no_copper=700)
    + group(
        "sucklers",
        "suckler_cow_milking",
        30,
        "live_weight_kg = 620\nmilk_kg_per_day = 9\nweek_of_lactation = 10\n",
    )
    + group(
        "finishers",
        "finishing_cattle",
        20,
        "live_weight_kg = 480\ngain_kg_per_day = 0.9\nsale_weight_kg = 590\n"
        'sex = "steer"\nmaturity = "early"\n',
    )
    + group("stores", "growing_cattle", 24, f"live_weight_kg = 260\ngain_kg_per_day = 0.6\n{STEER}")
    + group(
        "ewes",
        "ewe_pregnant",
        120,
        "live_weight_kg = 72\nlambs_carried = 2\nlambing = 2027-03-25\nspread_weeks = 4\n",
    )
)
ONLY_POOR_HAY = (
    HEAD.format(start="2026-12-01", turnout="2027-04-25")
    + bales("hay", "hay_poor", 260, 230, 60)
    + buy(ewe_rolls_18=320, barley=205, soya_meal_48=400, minerals_sheep_no_copper=700)
    + "".join(
        group(
            name,
            "ewe_pregnant",
            50,
            f"live_weight_kg = 75\nlambs_carried = {lambs}\nlambing = 2027-03-20\n"
            "spread_weeks = 3\ncondition_score = 2.5\n",
        )
        for name, lambs in (("singles", 1), ("twins", 2))
    )
)
FARMS = {
    "christmas": CHRISTMAS,
    "bulls": BULLS,
    "straw": STRAW,
    "smallholder": SMALLHOLDER,
    "organic": ORGANIC,
    "only poor hay": ONLY_POOR_HAY,
}
