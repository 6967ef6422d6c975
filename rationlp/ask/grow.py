"""What to grow next year: hectares of each forage that the same herd needs, by the model of the
winter with hectares as variables.

The stores of this winter are left out: what [[growing]] names stands in their place, and what
[[bought]] names can be bought. So growing is weighed against buying (and selling what is over,
where a crop says what it would fetch) feed by feed and day by day.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from rationlp.after.face import widest_face_m2
from rationlp.after.stock import plan_uses
from rationlp.errors import refused
from rationlp.farm.farm import Crop, Farm
from rationlp.farm.feed import Offer
from rationlp.farm.feed_table import is_silage
from rationlp.farm.group import Group
from rationlp.farm.store import Spread, Store, StoreStock
from rationlp.folders import packaged_rows
from rationlp.planned import PlanShortfall, WinterPlan
from rationlp.records import dataclass
from rationlp.stock.density import density
from rationlp.stock.dry_matter import face_advance
from rationlp.stock.losses import usual_losses
from rationlp.stock.shapes import box_solid
from rationlp.wintering.growing import Growing
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

USUAL_RESERVE = 0.1
"""Share grown beyond what is used [-]; common practice, no source (c): a tenth, or a month."""
MOST_RESERVE = 1.0
WEEK = 7.0


@dataclass(frozen=True)
class StoringFigure:
    """A figure of storing forage, with unit, year, status and source."""

    value: float
    unit: str
    year: str
    status: str
    source: str


@lru_cache(maxsize=1)
def storing_figures() -> dict[str, StoringFigure]:
    """Every row of feeds/storing.csv."""
    figures = {}
    for row in packaged_rows("storing.csv"):
        origin = (row["unit"], row["year"], row["status"], row["source"])
        figures[row["figure"]] = StoringFigure(float(row["value"]), *origin)
    return figures


@dataclass(frozen=True)
class ClampSize:
    """One clamp for a crop. t_dm: to be held once settled [t DM]; density [kg DM/m3]; face_m2: the
    widest face that still moves on fast enough at the plan's use; width_m, height_m, length_m: of a
    clamp with no wider face. too_small: not worth a clamp.
    """

    t_dm: float
    density_kg_dm_per_m3: float
    volume_m3: float
    face_m2: float
    width_m: float
    height_m: float
    length_m: float
    too_small: bool


@dataclass(frozen=True)
class GrownCrop:
    """A crop of next year.

    used_t_dm: put out over the winter, waste in; reserve_t_dm: left at turnout; cost_per_t_dm: of a
    tonne that reaches the trough [currency/t DM]; worth_per_ha: what one more hectare, or the
    first, would save in other feed, and in what is put on energy above need [currency/ha], a lower
    estimate; plastic_clamp_kg, plastic_bales_kg: for its tonnes in a clamp and in wrapped bales,
    None for what is dry.
    """

    crop: str
    name: str
    hectares: float
    used_t_dm: float
    reserve_t_dm: float
    surplus_t_dm: float
    cost: float
    cost_per_t_dm: float
    cost_per_ha: float
    worth_per_ha: float | None
    clamp: ClampSize | None
    plastic_clamp_kg: float | None
    plastic_bales_kg: float | None


@dataclass(frozen=True)
class NextYear:
    """The answer. cost: of the winter, crops and bought feed less sales [currency], None without a
    plan; penalty: what is put on energy above need and minerals short, no money. left_out: limits
    of groups that name a store of this winter which is not grown.
    """

    farm: Farm
    reserve_share: float
    status: str
    cost: float | None
    bought_cost: float | None
    sold_income: float | None
    crops: tuple[GrownCrop, ...]
    bought_t: Mapping[str, float]
    hectares: float
    land_ha: float | None
    gap: float | None
    left_out: tuple[str, ...]
    shortfalls: tuple[PlanShortfall, ...]
    penalty: float | None = None


def grow(farm: Farm, reserve_share: float = USUAL_RESERVE) -> NextYear:
    """Hectares of each crop for the next winter of the same animals. Raises InputError (IN539) for
    a farm that says nothing of what can be grown, and for a reserve below 0 or above 1.
    """
    if not farm.growing:
        remedy = "add [[growing]] with feed, yield_t_dm_per_ha and cost_per_ha"
        nothing = "nothing is said of what can be grown"
        raise refused("IN539", "farm.toml growing", nothing, remedy)
    if not 0.0 <= reserve_share <= MOST_RESERVE:
        valid = f"give a share from 0 to {MOST_RESERVE:g}, such as 0.1"
        wrong = f"{reserve_share:g} is no share to keep back"
        raise refused("IN539", "--reserve", wrong, valid)
    next_farm, left_out = next_year(farm)
    growing = Growing(farm.growing, farm.land_ha, reserve_share)
    stocks = {crop.id: _empty(crop) for crop in farm.growing}
    plan = solve_winter(next_farm, WinterOptions(faces="off", tidy=False, growing=growing), stocks)
    crops: tuple[GrownCrop, ...] = ()
    gap = None
    if plan.proof is not None:
        crops, gap = _grown(plan, farm.growing, reserve_share), plan.proof.gap
    return NextYear(
        farm=farm,
        reserve_share=reserve_share,
        status=plan.status,
        cost=plan.cost,
        bought_cost=plan.bought_cost,
        sold_income=plan.sold_income,
        crops=crops,
        bought_t={purchase.offer: sum(purchase.t_fresh) for purchase in plan.purchases},
        hectares=sum(crop.hectares for crop in plan.hectares),
        land_ha=farm.land_ha,
        gap=gap,
        left_out=left_out,
        shortfalls=plan.shortfalls,
        penalty=plan.penalty,
    )


def next_year(farm: Farm) -> tuple[Farm, tuple[str, ...]]:
    """The farm with crops in place of its stores, and what of its groups means nothing now."""
    bought = tuple(offer for offer in farm.offers if offer.bought)
    grown = tuple(Offer(crop.id, crop.name, crop.feed, False, 0.0) for crop in farm.growing)
    known = {offer.id for offer in (*grown, *bought)}
    left_out: list[str] = []
    groups = tuple(_without(group, known, left_out) for group in farm.groups)
    plain = ((crop.id, crop.name, "plain", crop.feed.key) for crop in farm.growing)
    stores = tuple(Store(*columns, {}, None, None) for columns in plain)
    beddings = tuple(bed for bed in farm.beddings if bed.store in known)
    gone = (bed for bed in farm.beddings if bed.store not in known)
    left_out += [f"bedding of {bed.group} from {bed.store}" for bed in gone]
    moved = replace(farm, offers=(*grown, *bought), stores=stores, groups=groups, outlets=())
    moved = replace(moved, beddings=beddings, home_grown_price="cost")
    return moved, tuple(left_out)


def _without(group: Group, known: set[str], left_out: list[str]) -> Group:
    gone = [limit.offer for limit in group.feed_limits if limit.offer not in known]
    left_out += [f"limit of {group.id} on {name}" for name in gone]
    limits = tuple(limit for limit in group.feed_limits if limit.offer in known)
    return replace(group, feed_limits=limits, barred=frozenset(group.barred & known))


def _empty(crop: Crop) -> StoreStock:
    """A store that holds nothing yet; waste at the trough as of its kind."""
    nothing = Spread(0.0, 0.0, 0.0)
    kind = "clamp"
    if crop.stored == "bales":
        kind = "bales"
    trough = usual_losses()[kind, "trough"].share
    return StoreStock(crop.id, None, None, nothing, nothing, {}, nothing, trough, 0.0, None, ())


def _grown(plan: WinterPlan, crops: Sequence[Crop], reserve_share: float) -> tuple[GrownCrop, ...]:
    hectares = {crop_grown.crop: crop_grown for crop_grown in plan.hectares}
    stores = {store.store: store for store in plan.stores}
    days = [period.days for period in plan.periods]
    weeks = {use.store: _weeks(use.used_t_dm, days) for use in plan_uses(plan)}
    found = []
    for crop in crops:
        crop_grown, store = hectares[crop.id], stores[crop.id]
        used = sum(store.used_t_dm)
        edible = crop_grown.edible_t_dm - crop_grown.surplus_t_dm
        stored = _in_store(crop, crop_grown.edible_t_dm)
        figures = storing_figures()
        worth = clamp = under_sheets = in_wrap = None
        if is_silage(crop.feed):
            under_sheets = stored * figures["plastic_clamp"].value
            in_wrap = stored * figures["plastic_bales"].value
        if store.marginal is not None:
            worth = store.marginal * crop.edible_t_dm_per_ha / (1.0 + reserve_share)
        if weeks[crop.id] > 0.0:
            clamp = clamp_size(crop, stored, used / weeks[crop.id])
        found.append(
            GrownCrop(
                crop=crop.id,
                name=crop.name,
                hectares=crop_grown.hectares,
                used_t_dm=used,
                reserve_t_dm=edible - used,
                surplus_t_dm=crop_grown.surplus_t_dm,
                cost=crop_grown.hectares * crop.cost_per_ha,
                cost_per_t_dm=crop.cost_per_ha / crop.edible_t_dm_per_ha,
                cost_per_ha=crop.cost_per_ha,
                worth_per_ha=worth,
                clamp=clamp,
                plastic_clamp_kg=under_sheets,
                plastic_bales_kg=in_wrap,
            )
        )
    return tuple(found)


def _weeks(used_t_dm: Sequence[float], days: Sequence[int]) -> float:
    """Weeks in which any of a store is used."""
    return sum(count for used, count in zip(used_t_dm, days, strict=True) if used > 1e-6) / WEEK


def _in_store(crop: Crop, edible_t_dm: float) -> float:
    """What must be in store, once settled, for so much to reach the trough [t DM]."""
    if crop.stored != "clamp":
        return edible_t_dm
    usual = usual_losses()
    share_left = (1.0 - usual["clamp", "surface"].share) * (1.0 - usual["clamp", "face"].share)
    return edible_t_dm / share_left


def clamp_size(crop: Crop, t_dm: float, t_dm_per_week: float) -> ClampSize | None:
    """One clamp for so much of a crop, its face no wider than the use moves on in winter [m, m2,
    m3]; None for what is not clamped.

    face = use a week / (density x least advance that gives no warning, feeds/face-advance.csv).
    Depth and widest clamp: common practice (c), feeds/storing.csv.
    """
    advance = face_advance(crop.feed)
    if advance is None or crop.feed.kind != "forage" or crop.stored != "clamp" or t_dm <= 0.0:
        return None
    figures = storing_figures()
    height, widest = figures["clamp_depth"].value, figures["widest_clamp"].value
    packed = density(crop.feed, {}, box_solid(10.0, 10.0, height), "clamp")
    if packed is None:
        return None
    dense = packed.spread.typical
    volume = t_dm * 1000.0 / dense
    face = widest_face_m2(t_dm_per_week * 1000.0 / WEEK, dense, advance[0])
    width = min(face / height, widest)
    length, narrow = volume / (width * height), width < figures["narrowest_clamp"].value
    return ClampSize(t_dm, dense, volume, face, width, height, length, narrow)
