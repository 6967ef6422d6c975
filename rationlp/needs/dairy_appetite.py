"""What a dairy cow in milk eats of forage: capacity by forage and concentrate, its fibre, and
concentrate in the first weeks.

Total intake rises by g(C) = 0.8371 C − 0.01882 C² with C kg DM of concentrate: Huhtanen et al.
(2008), status (a). So forage falls by h(C) = 0.1629 C + 0.01882 C². With D the intake of NRC (2001)
for the cow and her week and S0 = D − g(0.5 D):

    Σ fill_i S_i + h(C) ≤ S0        S, C kg DM a head a day

h is convex, and its tangents are rows that no solve can pass by more than 0.05 kg to C 19.5. The
share 0.5 is fitted to twelve printed amounts of cake (20–35 litres on silages of 65–75 DMD,
Teagasc; status a), root mean square error 0.7 kg.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import DRIEST_SILAGE_G_PER_KG, sort_of
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.needs.intake import dmi_nrc_2001, fat_corrected_milk
from rationlp.needs.objects import AppetiteRow, MilkerIntake

PUSHED_OUT, PUSHED_OUT_MORE = 0.1629, 0.01882
"""h(C) = 0.1629 C + 0.01882 C² [kg DM]: Huhtanen et al. (2008) (a); 0.16 a kg at 0, 0.39 at 6."""

TANGENTS_AT_KG_DM = (0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 18.0)
USUAL_CONCENTRATE_SHARE = 0.5

FORAGE_NDF_MOST = 0.010
"""Most NDF of forage [kg/kg live weight a day]: US university pages on fibre and intake, status
(a); Irish advice works out at 0.008–0.010.
"""
FORAGE_NDF_MOST_FRESH, FRESH_WEEKS = 0.009, 3.0
"""The same to week 3: common practice, no source (c)."""
MAIZE_NDF_COUNTS = 0.90
"""NDF of maize silage counts by so much (c): it is ground and gone sooner than that of grass."""

FILL = {"maize_silage": 0.82, "wholecrop": 0.90, "hay": 1.15, "straw": 1.60}
"""Fill of a kg of dry matter beside grass silage of 10.8 MJ and 300 g DM/kg: maize from published
trials (a), others (c).
"""
_SORT_OF_FILL = {"wholecrop_alkaline": "wholecrop"}
ENERGY_BASE, KG_PER_MJ = 10.8, 0.5
"""kg of silage DM that a MJ/kg DM adds: 0.08 kg for 10 g of digestibility, between printed 0.06 and
0.17; fitted (c).
"""
DM_BASE, DM_RANGE = 300.0, (200.0, 450.0)
DM_SLOPE, DM_BEND = 0.0198, -0.00002364
"""Dry matter of grass silage, g/kg: Huhtanen et al. (2007), range 200–450; status (b)."""
ACIDS_BASE, ACIDS_SLOPE = 80.0, -0.0128
"""Fermentation acids of silage, g/kg DM: Huhtanen et al. (2007); (a); left out if not measured."""
_LEAST_CAPACITY_SHARE = 0.4

FRESH_CONCENTRATE_MOST_KG_DM = (7.0, 8.5, 10.0)
"""Most concentrate in weeks 1, 2 and 3 after calving [kg DM a day]: it is stepped up; (c)."""
FLOOR_SHARE = 0.90

HUHTANEN = (
    "Huhtanen et al. (2008), concentrate and silage intake of dairy cows; share of concentrate"
    " fitted to Irish advice"
)
NDF_SOURCE = (
    "US university pages on fibre and intake; Irish feeding advice works out at 0.8–1.0 % of live"
    " weight"
)
STEPPED_UP = "common practice, no source: concentrate is stepped up over the first three weeks"


def total_rise(concentrate_kg_dm: float) -> float:
    """g(C) [kg DM]: what C kg DM of concentrate add. Huhtanen et al. (2008); (a), C to 20."""
    return (1.0 - PUSHED_OUT) * concentrate_kg_dm - PUSHED_OUT_MORE * concentrate_kg_dm**2


def pushed_out(concentrate_kg_dm: float) -> float:
    """h(C) = C − g(C) [kg DM]: forage pushed out. Huhtanen et al. (2008); status (a), C to 20."""
    return PUSHED_OUT * concentrate_kg_dm + PUSHED_OUT_MORE * concentrate_kg_dm**2


def capacity(intake_kg_dm: float) -> float:
    """S0 = D − g(0.5 D) [kg DM]: grass silage of 10.8 MJ that a cow of intake D eats alone."""
    return intake_kg_dm - total_rise(USUAL_CONCENTRATE_SHARE * intake_kg_dm)


def nrc_intake(group: Group) -> float:
    """D [kg DM/d] of a group in milk by NRC (2001), whatever equation it has; status (a)."""
    fcm = fat_corrected_milk(group.number("milk_kg_per_day"), group.number("milk_fat_g_per_kg"))
    return dmi_nrc_2001(
        group.number("live_weight_kg"), fcm, max(1.0, group.number("week_of_lactation"))
    )


def milker_intake(group: Group) -> MilkerIntake | None:
    """What holds for one head of a dairy group in milk; None for other classes."""
    if not traits(group.animal_class).parlour:
        return None
    week = group.number("week_of_lactation")
    share = FORAGE_NDF_MOST_FRESH if week <= FRESH_WEEKS else FORAGE_NDF_MOST
    factor = float(group.facts.get("forage_intake_factor", 1.0))
    return MilkerIntake(
        forage_kg_dm=factor * capacity(nrc_intake(group)),
        forage_ndf_kg=share * group.number("live_weight_kg"),
        concentrate_kg_dm=fresh_concentrate(week),
    )


def fresh_concentrate(week: float) -> float | None:
    """Most concentrate in a week after calving [kg DM a day]; None once it is free."""
    for number, most in enumerate(FRESH_CONCENTRATE_MOST_KG_DM, start=1):
        if week <= number:
            return most
    return None


def _eaten_more(feed: Feed) -> float:
    """q_i [kg DM]: how much more of a grass silage than of the standard one is eaten."""
    energy = feed.value("me_mj_per_kg_dm")
    more = 0.0 if energy is None else KG_PER_MJ * (energy - ENERGY_BASE)
    dm = min(max(feed.dm_g_per_kg, DM_RANGE[0]), DM_RANGE[1])
    more += DM_SLOPE * (dm - DM_BASE) + DM_BEND * (dm * dm - DM_BASE * DM_BASE)
    acids = feed.value("total_acids_g_per_kg_dm")
    if acids is None:
        return more
    return more + ACIDS_SLOPE * (acids - ACIDS_BASE)


def fill(feed: Feed, forage_kg_dm: float) -> float:
    """What a kg DM of a forage fills beside the standard grass silage [-]; 0 for what is no forage.

    forage_kg_dm: S0 of the cow. Grass and legume silages and grazed grass S0/(S0 + q_i); other
    forages their own figure.
    """
    if not feed.is_forage:
        return 0.0
    sort = sort_of(feed)
    own = FILL.get(_SORT_OF_FILL.get(sort, sort))
    if own is None and feed.kind == "straw":
        own = FILL["straw"]
    elif own is None and feed.dm_g_per_kg >= DRIEST_SILAGE_G_PER_KG:
        own = FILL["hay"]
    if own is not None:
        return own
    taken = max(forage_kg_dm + _eaten_more(feed), _LEAST_CAPACITY_SHARE * forage_kg_dm)
    return forage_kg_dm / taken


def forage_fibre(feed: Feed) -> float:
    """NDF of a kg DM of a forage as it counts [kg]; 0 for no forage and where it is blank."""
    if not feed.is_forage:
        return 0.0
    counts = 1.0
    if sort_of(feed) == "maize_silage":
        counts = MAIZE_NDF_COUNTS
    return counts * (feed.value("ndf_g_per_kg_dm") or 0.0) / 1000.0


def milker_rows(intake: MilkerIntake, feeds: Sequence[Feed]) -> tuple[AppetiteRow, ...]:
    """Σ fill_i S_i + h(C) ≤ S0 by its tangents, forage NDF, and the most concentrate of a fresh
    cow.

    C is all that is neither forage nor mineral, beet and grains with it.
    """
    beside = [float(not feed.is_forage and feed.kind != "mineral") for feed in feeds]
    filled = [fill(feed, intake.forage_kg_dm) for feed in feeds]
    rows = []
    if any(filled):
        rows = [_tangent(at, filled, beside, intake.forage_kg_dm) for at in TANGENTS_AT_KG_DM]
    fibre = [forage_fibre(feed) for feed in feeds]
    bound = f"{intake.forage_ndf_kg:.1f} kg of NDF in the forage"
    title = "NDF eaten in forage"
    rows.append(
        AppetiteRow(
            "forage_ndf_most", tuple(fibre), intake.forage_ndf_kg, "kg", title, bound, NDF_SOURCE
        )
    )
    most = intake.concentrate_kg_dm
    if most is not None:
        bound = f"{most:.1f} kg DM of concentrate so soon after calving"
        title = "concentrate after calving"
        rows.append(
            AppetiteRow("fresh_concentrate", tuple(beside), most, "kg DM", title, bound, STEPPED_UP)
        )
    return tuple(rows)


def _tangent(
    at: float, filled: Sequence[float], beside: Sequence[float], most: float
) -> AppetiteRow:
    """Σ fill_i S_i + h'(c) C ≤ S0 + h'(c) c − h(c), which holds wherever the curve does."""
    slope = PUSHED_OUT + 2.0 * PUSHED_OUT_MORE * at
    weights = tuple(own + slope * other for own, other in zip(filled, beside, strict=True))
    return AppetiteRow(
        f"forage_beside_{at:g}_kg",
        weights,
        most + PUSHED_OUT_MORE * at * at,
        "kg DM",
        "forage and what concentrate pushes out of it",
        "the forage that a cow eats beside so much concentrate",
        HUHTANEN,
        tangent=True,
    )


def least_eaten(intake: MilkerIntake, feeds: Iterable[Feed]) -> float | None:
    """F [kg DM]: 0.90 of the least that the rows allow of one forage alone, over the forages at
    hand but straw.

    0.90 of the whole intake would feed a cow of 14 litres 6 kg of concentrate for the 2.3 that she
    needs. None without forage.
    """
    taken = []
    for feed in feeds:
        if not feed.is_forage or feed.kind == "straw":
            continue
        fibre = forage_fibre(feed)
        by_fibre = intake.forage_ndf_kg / fibre if fibre > 0.0 else intake.forage_kg_dm
        taken.append(min(intake.forage_kg_dm / fill(feed, intake.forage_kg_dm), by_fibre))
    return FLOOR_SHARE * min(taken) if taken else None
