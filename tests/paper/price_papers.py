"""Eight invented price lists of different shapes, with what they say. No real merchant's layout."""

from __future__ import annotations

from typing import NamedTuple


class PriceCase(NamedTuple):
    """A list: the file's name, its text, answers given ahead, and prices a tonne fresh by feed."""

    name: str
    text: str
    answers: dict[str, str]
    prices: dict[str, float]
    loads: tuple[tuple[str, float], ...] = ()


LISTS = [
    PriceCase(
        "lines.txt",
        """Invented Feeds, November 2026: delivered in bulk, per tonne
Rolled barley £185
Rolled wheat £198.50
Hipro soya £365
Rape meal £268
Maize gluten £205
Barley straw £95
Telephone 01234 567890
""",
        {},
        {
            "barley": 185, "wheat": 198.5, "soya_meal_48": 365, "rapeseed_meal_extracted": 268,
            "maize_gluten_feed": 205, "straw_barley": 95,
        },
    ),
    PriceCase(
        "table.pdf",
        """Invented Merchants                      Prices from 2/11/2026

Product                  GBP/t           Delivered
Barley                   185.00          yes
Soya hulls               192.00          yes
Wheatfeed                201.50          yes
Palm kernel              176.00          yes
""",
        {},
        {"barley": 185, "soya_hulls": 192, "wheatfeed": 201.5, "palm_kernel_expeller": 176},
    ),
    PriceCase(
        "bags.csv",
        """Product;Bag;Price per bag, delivered
Rolled oats;25 kg;7,50
Field beans;20 kg;5,40
Linseed cake;25 kg;11,25
""",
        {},
        {"oats": 300, "field_beans": 270, "linseed_expeller": 450},
    ),
    PriceCase(
        "loads.txt",
        """Delivered loads
Brewers grains, load of 28 t, £1,400 per load
Pressed pulp: £1,160 per load of 29 t
Stock potatoes, 25 t loads £900/load
""",
        {},
        {"brewers_grains": 50, "beet_pulp_pressed": 40, "potatoes": 36},
        (("brewers_grains", 28), ("beet_pulp_pressed", 29), ("potatoes", 25)),
    ),
    PriceCase(
        "two-prices.xlsx",
        """Commodity|Ex store per tonne|Delivered per tonne
Barley|175|187
Wheat|190|202
Triticale|181|193
""",
        {},
        {"barley": 187, "wheat": 202, "triticale": 193},
    ),
    PriceCase(
        "fetched.txt",
        """Straights, ex farm, £ per tonne
Field beans   238
Peas          245
""",
        {"haulage": "12"},
        {"field_beans": 250, "peas": 257},
    ),
    PriceCase(
        "months.pdf",
        """Forward prices per tonne delivered

Feed            Nov         Jan         Mar
Barley          £185        £188        £192
Rape meal       £268        £271        £275
""",
        {"price column": "Jan"},
        {"barley": 188, "rapeseed_meal_extracted": 271},
    ),
    PriceCase(
        "bare.txt",
        """Rolled barley 185
Feed wheat 198
Sugar beet nuts 240
Cattle minerals 25 kg bag 16.50
""",
        {},
        {"barley": 185, "wheat": 198, "beet_pulp_molassed_dry": 240, "minerals": 660},
    ),
]  # fmt: skip
