"""Tables of stores: tonnes and losses, what a use does, last year, how long each lasts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from rationlp.after.face import StoreUse
from rationlp.after.lastyear import Carry, LastYear, Reason
from rationlp.after.sofar import StoreSoFar
from rationlp.after.stock import KG_PER_T, Spring, StoreLife
from rationlp.farm.store import Spread, StoreStock
from rationlp.planned import WinterPlan
from rationlp.report.tables.table import Column, Drawing, Table, percent, shown, table_of


def spread_words(spread: Spread | None, decimals: int = 0) -> str | None:
    """A figure as "low-high", None where there is none."""
    if spread is None:
        return None
    return f"{shown(spread.low, decimals)}–{shown(spread.high, decimals)}"


def stocks_table(stocks: Mapping[str, StoreStock]) -> Table:
    """What every store holds and what can be eaten before waste at the trough [m3, kg DM/m3, t]."""
    columns = (
        Column("id", "Id", of="store"),
        Column("volume_m3", "Volume", "m3", 0, full=True),
        Column("density_kg_dm_per_m3", "Density", "kg DM/m3", 0, True, _density),
        Column("t_fresh", "Fresh", "t", 0, of="t_fresh.typical"),
        Column("t_dm", "DM", "t", 1, of="t_dm.typical"),
        Column("lost_percent", "Lost", "%", 1, of=_lost_percent),
        Column("edible_t_dm", "To eat", "t DM", 1, of="edible_t_dm.typical"),
        Column("edible_range", "low–high", of=lambda stock: spread_words(stock.edible_t_dm)),
        Column("trough_loss_percent", "Trough", "%", 0, of=lambda stock: 100.0 * stock.trough_loss),
    )
    return table_of("stocks", "What is in store", stocks.values(), columns)


def _density(stock: StoreStock) -> float | None:
    if stock.density_kg_dm_per_m3 is None:
        return None
    return stock.density_kg_dm_per_m3.typical


def _lost_percent(stock: StoreStock) -> float:
    return 100.0 * (1.0 - stock.edible_t_dm.typical / stock.t_dm.typical)


def uses_table(stocks: Mapping[str, StoreStock], uses: Sequence[StoreUse]) -> Table:
    """What the stated use does to every store: advance of the face, herds that suit, days."""
    columns = (
        Column("id", "Id", of="store"),
        Column("head", "Head", "", 0, of="use.head"),
        Column("kg_fresh", "Each a day", "kg fresh", 1, of="use.kg_fresh"),
        Column("days", "Lasts", "days", 0),
        Column("advance_m_per_week", "Face moves", "m/week", 2),
        Column("least_m_per_week", "Needed", "m/week", 1, of=lambda use: _slowest(stocks, use)),
        Column("verdict", "Verdict"),
        Column("smallest_herd", "Fewest head", "", 0),
        Column("widest_face_m", "Widest face", "m", 1, full=True),
        Column("keep_as", "Better kept as"),
    )
    sources = ", ".join(sorted({use.use.how for use in uses}))
    note = (
        f"Taken {sources}. Fewest head: at this amount a head. Widest face: for this herd at"
        " this height."
    )
    return table_of("uses", "The face, and how long it lasts", uses, columns, (note,))


def _slowest(stocks: Mapping[str, StoreStock], use: StoreUse) -> float | None:
    """How fast a face has to move at least [m/week], None for a store without one."""
    face = stocks[use.store].face
    if face is None:
        return None
    return face.warn_m_per_week


def stock_steps_table(stock: StoreStock) -> Table:
    """Every step from what was measured to dry matter that can be eaten, with its source."""
    columns = (
        Column("step", "Step", of="name"),
        Column("value", "Value", "", 3),
        Column("unit", "Unit"),
        Column("equation", "Equation"),
        Column("status", "Status"),
        Column("source", "Source"),
    )
    return table_of("stock_steps", f"{stock.store}: step by step", stock.steps, columns)


_YES_NO = {True: "yes", False: "no"}
_REASONS = (
    Column("reason", "What alone would explain it", of="name"),
    Column("was", "Reckoned", varies=True, of=lambda reason: _in_unit(reason, reason.now)),
    Column("needed", "Would have to be", varies=True, of=lambda r: _in_unit(r, r.needed)),
    Column("usual_low", "Usual from", varies=True, of=lambda r: _in_unit(r, r.usual.low)),
    Column("usual_high", "to", varies=True, of=lambda reason: _in_unit(reason, reason.usual.high)),
    Column("unit", "Unit", of=lambda reason: reason.unit.replace("share", "%")),
    Column("believable", "Believable", of=lambda reason: _YES_NO[reason.believable]),
    Column("explains_t_fresh", "Could account for", "t", 0, of="explains_t"),
    Column("key", "Key", full=True),
    Column("status", "Status", full=True),
    Column("source", "Source", full=True),
)


def reasons_table(last_year: LastYear) -> Table:
    """Every single reason, the believable first: as reckoned, as needed, usual range."""
    note = (
        "Usual: what such a figure is out by as a rule, to either side; no single reason has to"
        " be the whole of it. Could account for: how much of the difference the end of that"
        " range accounts for at most."
    )
    title = "Single reasons, the believable first"
    return table_of("reasons", title, last_year.reasons, _REASONS, (note,), _places)


def _in_unit(reason: Reason, value: float | None) -> float | None:
    """A figure of a reason as it is printed: a share as a percentage."""
    if reason.unit == "share":
        return percent(value)
    return value


def _places(reason: Reason) -> int:
    return {"m": 2, "t DM/ha": 2, "share": 1}.get(reason.unit, 0)


def carries_table(last_year: LastYear) -> Table:
    """The keys of this year's store, one instead of another; what would reach the animals."""
    columns = (
        Column("key", "Key"),
        Column("value", "Value", varies=True),
        Column("in_place_of", "In place of", of=lambda carry: ", ".join(carry.in_place_of)),
        Column("t_fresh", "Then for the animals", "t fresh", 0),
        Column("t_dm", "", "t DM", 1, of="t_dm.typical"),
        Column("t_dm_range", "low–high", of=lambda carry: spread_words(carry.t_dm)),
        Column("now_t_fresh", "As it stands", "t fresh", 0, of=lambda _: last_year.now_t_fresh),
    )
    title = f'For this year, one of these in farm.toml under id = "{last_year.store}"'
    note = (
        "For the animals: losses in store and waste at the trough taken off, the reserve left"
        " in. Sizes, counts and dry matter are of one year: measure and analyse those anew."
    )
    return table_of("carry", title, last_year.carries, columns, (note,), _carry_places)


def _carry_places(carry: Carry) -> int:
    if carry.key.startswith("loss_"):
        return 3
    if carry.value < 100.0:
        return 1
    return 0


NOT_USED_UP = "not used up"


def run_out_words(day: date | None, turnout: date) -> str:
    """The day on which a store runs out; said so where it is turnout or later."""
    if day is None:
        return NOT_USED_UP
    if day < turnout:
        return day.isoformat()
    return f"lasts ({day.isoformat()})"


def run_out_table(stores: Iterable[StoreLife]) -> Table:
    """When each store runs out by low, typical, high stock; short [t DM], head-days lost."""
    columns = (
        Column("store", "Store", of="name"),
        Column("in_store_t_dm", "In store", "t DM", 1, of=lambda life: life.left[0].t_dm.typical),
        Column("left_t_dm", "Left", "t DM", 1, of=lambda life: life.left[-1].t_dm.typical),
        Column("reserve_t_dm", "To be kept", "t DM", 1, full=True),
        Column("runs_out_low", "Runs out, low stock", of=lambda life: _out(life, "low")),
        Column("runs_out_typical", "Runs out, typical", of=lambda life: _out(life, "typical")),
        Column("runs_out_high", "Runs out, high stock", "", None, True, lambda s: _out(s, "high")),
        Column("short_t_dm", "Short", "t DM", 1, True, "short_t_dm.typical"),
        Column("short_low_t_dm", "Short, low stock", "t DM", 1, True, "short_t_dm.low"),
        Column("head_days_lost", "Head-days lost", "", 0, True, "head_days_lost.typical"),
        Column(
            "head_days_lost_low", "Head-days lost, low stock", "", 0, True, "head_days_lost.low"
        ),
    )
    note = (
        "Date = first day it falls short. Lasts: to turnout; the day in brackets is where the"
        " last weeks' use would lead. Head-days lost: of those that would have eaten of it, if"
        " none is bought."
    )
    return table_of("run_out", "How long each store lasts", stores, columns, (note,))


def _out(store: StoreLife, stock: str) -> str:
    """When a store runs out by its `low`, `typical` or `high` stock."""
    return run_out_words(getattr(store.runs_out, stock), store.turnout)


def run_down_table(stores: Sequence[StoreLife]) -> Table:
    """What is left of each store by date [t DM and t fresh]."""
    columns = [Column("on", "On")]
    for life in stores:
        columns += [
            Column(f"{life.store}_t_dm", life.name, "t DM", 1),
            Column(f"{life.store}_t_fresh", life.name, "t", 1),
        ]
    rows = []
    for levels in zip(*(store.left for store in stores), strict=True):
        figures = [value for level in levels for value in (level.t_dm.typical, level.t_fresh)]
        rows.append((levels[0].on.isoformat(), *figures))
    series = tuple(f"{store.store}_t_dm" for store in stores)
    drawing = None
    if stores:
        drawing = Drawing("lines", "on", series, "Date", "Left [t DM]")
    title = "What is left of each store, by date"
    return Table("run_down", title, tuple(columns), tuple(rows), drawing=drawing)


def lasting_table(stores: Iterable[StoreLife]) -> Table:
    """What is left of every store by date: low, typical, high [t DM], typical t fresh."""
    columns = (
        Column("store", "Store", of=lambda mark: mark[0].store),
        Column("on", "On", of=lambda mark: mark[1].on.isoformat()),
        Column("left_low_t_dm", "Left, low", "t DM", 2, of=lambda mark: mark[1].t_dm.low),
        Column("left_typical_t_dm", "Left, typical", "t DM", 2, of=lambda m: m[1].t_dm.typical),
        Column("left_high_t_dm", "Left, high", "t DM", 2, of=lambda mark: mark[1].t_dm.high),
        Column("left_t_fresh", "Left", "t", 2, of=lambda mark: mark[1].t_fresh),
    )
    marks = ((store, level) for store in stores for level in store.left)
    return table_of("lasting", "What is left of each store, by date", marks, columns)


def springs_table(springs: Sequence[Spring], currency: str) -> Table:
    """Turnout early, as planned, late: when stores run out, what is short [t DM, typical stock]."""
    costs = any(spring.cost is not None for spring in springs)
    columns = [
        Column("turnout", "Turnout"),
        Column("store", "Store"),
        Column("runs_out", "Runs out"),
        Column("left_t_dm", "Left", "t DM", 1),
        Column("short_t_dm", "Short", "t DM", 1),
        Column("short_low_t_dm", "Short, low stock", "t DM", 1),
    ]
    if costs:
        columns.append(Column("cost", "Whole plan", currency, 0))
    rows: list[tuple[object, ...]] = []
    for spring in springs:
        if not spring.stores:
            blank = [None] * (len(columns) - 2)
            rows.append((spring.turnout.isoformat(), "no plan feeds every group", *blank))
        for number, life in enumerate(spring.stores):
            out = run_out_words(life.runs_out.typical, life.turnout)
            figures = (life.left[-1].t_dm.typical, life.short_t_dm.typical, life.short_t_dm.low)
            day, cost = None, None
            if number == 0:
                day, cost = spring.turnout.isoformat(), spring.cost
            rows.append((day, life.name, out, *figures, cost)[: len(columns)])
    notes: tuple[str, ...] = ()
    if costs:
        notes = ("Each turnout is planned anew: what is bought makes up for what is not in store.",)
    return Table("springs", "With turnout earlier and later", tuple(columns), tuple(rows), notes)


def so_far_table(found: Sequence[StoreSoFar]) -> Table:
    """What was eaten against an earlier plan [t DM], and what the step of each face says."""
    columns = (
        Column("store", "Store", of="name"),
        Column("planned_t_dm", "Planned", "t DM", 1),
        Column("used_t_dm", "Gone", "t DM", 1),
        Column("more_t_dm", "More than planned", "t DM", 1),
        Column("step_m", "Face moved", "m", 1),
        Column("density_kg_dm_per_m3", "Density if eaten as planned", "kg DM/m3", 0),
    )
    return table_of("so_far", "What was eaten against the earlier plan", found, columns)


def balance_table(plan: WinterPlan) -> Table:
    """The mass balance of each store [kg DM]: what was in it, what went each way, what is left."""
    ways = ("eaten", "wasted", "spoiled", "sold", "bedded")
    titles = ("Eaten", "Left at the trough", "Spoiled at the face", "Sold", "Bedded")
    columns = (
        Column("store", "Store"),
        Column("in_store_kg_dm", "In store", "kg DM", 0),
        *(
            Column(f"{way}_kg_dm", title, "kg DM", 0)
            for way, title in zip(ways, titles, strict=True)
        ),
        Column("left_kg_dm", "Left", "kg DM", 0),
        Column("out_by_kg_dm", "Balance error", "kg DM", 0),
        Column("saves_per_t_dm", "One t DM more saves", plan.farm.currency, 0),
    )
    rows = []
    for store in plan.stores:
        used = [sum(getattr(store, f"{way}_t_dm")) for way in ways]
        figures = (store.held_t_dm.typical, *used, store.left_t_dm)
        out_by = store.held_t_dm.typical - sum(used) - store.left_t_dm
        rows.append(
            (store.name, *(KG_PER_T * figure for figure in (*figures, out_by)), store.marginal)
        )
    return Table("balance", "Where the dry matter of each store goes", columns, tuple(rows))
