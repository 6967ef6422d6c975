"""Tables that only the page shows: supply over the winter, what is at its limit, sources."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from rationlp.farm.feed import Offer
from rationlp.farm.store import StoreStock
from rationlp.needs.objects import GroupNeeds
from rationlp.planned import Period, PlanRation, WinterPlan
from rationlp.quantities import Quantity
from rationlp.report.tables.feeds import ORIGIN_WORDS, ORIGINS
from rationlp.report.tables.ration import (
    ABOVE_ADVICE,
    AT_LIMIT,
    BELOW_ADVICE,
    OVER,
    SHORT,
    UNKNOWN,
    standing_in,
)
from rationlp.report.tables.table import (
    Column,
    Table,
    decimals_of,
    known,
    shown,
    table_of,
    title_and_unit,
)
from rationlp.report.tables.winter_plan import rations_by_part
from rationlp.report.wording import from_to
from rationlp.result import SupplyLine

MARKS = {
    AT_LIMIT: " =",
    SHORT: " ▼",
    OVER: " ▲",
    BELOW_ADVICE: " ▽",
    ABOVE_ADVICE: " △",
    UNKNOWN: " ?",
}
MARKS_SAID = (
    "= stands at its need or limit; ▼ short and ▲ over what must be kept; ▽ below and △ above"
    " advice; ? not known for every feed."
)


def supply_over_winter_table(plan: WinterPlan, rations: Sequence[PlanRation]) -> Table:
    """Supply of every quantity by period, a head a day, with the need (margin included) or the
    limits below or beside it.

    Periods that print alike are one column, headed by its first day.
    """
    own = plan.farm.own_quantities
    names: dict[str, SupplyLine] = {}
    for ration in rations:
        for line in ration.supply:
            names.setdefault(line.quantity, line)
    columns = [_supply_cells(ration, names, own) for ration in rations]
    changes = [n for n, cells in enumerate(columns) if n == 0 or cells != columns[n - 1]]
    lines = {n: {line.quantity: line for line in rations[n].supply} for n in changes}
    rows: list[tuple[object, ...]] = []
    for number, (quantity, line) in enumerate(names.items()):
        cells = [columns[n][number] for n in changes]
        allowed = _allowed(
            [lines[n][quantity] for n in changes if quantity in lines[n]],
            decimals_of(quantity, own),
        )
        rows.append((line.title, line.unit, allowed, *cells))
    heads = [_day_words(plan.periods[rations[n].period]) for n in changes]
    shown_columns = (
        Column("quantity", "Quantity"),
        Column("unit", "Unit"),
        Column("allowed", "Needed or allowed"),
        *(Column(f"p{n}", head, varies=True) for n, head in zip(changes, heads, strict=True)),
    )
    return Table(
        "supply_over_winter", f"{rations[0].name}: supply against need", shown_columns, tuple(rows)
    )


def _day_words(period: Period) -> str:
    return f"{period.first.day} {period.first:%b}"


def _supply_cells(
    ration: PlanRation, names: Iterable[str], own: Mapping[str, Quantity]
) -> tuple[str | None, ...]:
    lines = {line.quantity: line for line in ration.supply}
    return tuple(_supply_cell(ration, lines.get(name), own) for name in names)


def _supply_cell(
    ration: PlanRation, line: SupplyLine | None, own: Mapping[str, Quantity]
) -> str | None:
    if line is None:
        return None
    figure = shown(line.supply, decimals_of(line.quantity, own))
    return figure + MARKS.get(standing_in(line, ration.needs), "")


def _allowed(lines: Sequence[SupplyLine], decimals: int) -> str:
    """Need with margin, or the limits; least to most where they change over the winter."""
    targets = [line.target for line in lines if line.target is not None]
    lows = [line.low for line in lines if line.low is not None]
    highs = [line.high for line in lines if line.high is not None]
    bounds = []
    if targets:
        bounds.append(_from_to(targets, decimals))
    if lows and highs and len({*lows}) == len({*highs}) == 1:
        bounds.append(f"{shown(lows[0], decimals)}–{shown(highs[0], decimals)}")
    else:
        signed = (("≥", lows), ("≤", highs))
        bounds += [f"{sign} {_from_to(values, decimals)}" for sign, values in signed if values]
    return ", ".join(bounds)


def _from_to(values: Sequence[float], decimals: int) -> str:
    return from_to(shown(min(values), decimals), shown(max(values), decimals))


def standing_table(plan: WinterPlan) -> Table:
    """What each part of a group stands at: needs and limits reached, all winter or at times."""
    columns = (
        Column("group", "Group"),
        Column("always", "At its limit all winter"),
        Column("at_times", "and at times at"),
    )
    rows: list[tuple[object, ...]] = []
    for rations in rations_by_part(plan):
        lines = [line for ration in rations for line in ration.supply if line.at_limit]
        times: dict[str, int] = {}
        for line in lines:
            label = f"{line.title} ({line.unit})"
            times[label] = times.get(label, 0) + 1
        always = [label for label, number in times.items() if number == len(rations)]
        some = [label for label, number in times.items() if number < len(rations)]
        rows.append((rations[0].name, ", ".join(always), ", ".join(some)))
    return Table("standing", "Needs and limits that the rations are at", columns, tuple(rows))


def worth_of_stores_table(plan: WinterPlan) -> Table:
    """What one more t DM of each store would save over the winter; empty where not known."""
    columns = (
        Column("store", "Store", of="name"),
        Column("saves_per_t_dm", "One t DM more saves", plan.farm.currency, 2, of="marginal"),
    )
    return table_of(
        "worth_of_stores",
        "What more of a store would save",
        (store for store in plan.stores if store.marginal is not None),
        columns,
    )


def feed_sources_table(plan: WinterPlan) -> Table:
    """Every figure of every feed in the plan; a number in brackets says from which source."""
    columns = (Column("feed", "Feed"), Column("figures", "Figures"))
    numbers: dict[str, int] = {}
    rows = []
    for offer in used_offers(plan):
        parts = []
        for source, figures in _by_source(plan, offer).items():
            number = numbers.setdefault(source, len(numbers) + 1)
            parts.append(f"{'; '.join(figures)} [{number}]")
        rows.append((offer.name, ". ".join(parts)))
    notes = tuple(f"[{number}] {source}" for source, number in numbers.items())
    return Table(
        "feed_sources", "Figures of the feeds and where they come from", columns, tuple(rows), notes
    )


def used_offers(plan: WinterPlan) -> tuple[Offer, ...]:
    """The feeds in store or eaten, in the farm's order."""
    eaten = {amount.offer for ration in plan.rations for amount in ration.amounts}
    return tuple(offer for offer in plan.farm.offers if not offer.bought or offer.id in eaten)


def _by_source(plan: WinterPlan, offer: Offer) -> dict[str, list[str]]:
    """The figures of a feed in words, by where they come from: analyses first."""
    by_source: dict[str, list[str]] = {}
    for name, figure in sorted(
        offer.feed.figures.items(), key=lambda pair: ORIGINS.index(pair[1].origin)
    ):
        title, unit = title_and_unit(name, plan.farm.own_quantities)
        decimals = decimals_of(name, plan.farm.own_quantities)
        figure_words = f"{title} {shown(figure.value, decimals)} {unit}".strip()
        status = ""
        if figure.status:
            status = f"; status {figure.status}"
        by_source.setdefault(f"{ORIGIN_WORDS[figure.origin]}: {figure.source}{status}", []).append(
            figure_words
        )
    price = f"{plan.farm.currency} {shown(offer.price_per_t_fresh, 2)} a t fresh"
    source = "value of what is home-grown"
    if offer.bought:
        source = "price"
    by_source.setdefault(f"{ORIGIN_WORDS['farm']}: farm.toml, {source}", []).append(price)
    return by_source


def stock_sources_table(plan: WinterPlan, stocks: Mapping[str, StoreStock]) -> Table:
    """From what was measured to what can be eaten, step by step for every store."""
    columns = (
        Column("store", "Store", of=lambda pair: pair[0].name),
        Column("step", "Step", of=lambda pair: pair[1].name),
        Column("value", "Value", "", 2, of=lambda pair: pair[1].value),
        Column("unit", "Unit", of=lambda pair: pair[1].unit),
        Column("how", "How", of=lambda pair: pair[1].equation),
        Column("source", "Source", of=lambda pair: pair[1].source),
        Column("status", "Status", of=lambda pair: pair[1].status),
    )
    pairs = (
        (store, step)
        for store in plan.stores
        if store.store in stocks
        for step in stocks[store.store].steps
    )
    return table_of("stock_sources", "How each store was worked out", pairs, columns)


def need_sources_table(plan: WinterPlan) -> Table:
    """Where needs and limits come from: each step, equation and limit once, with its groups."""
    columns = (
        Column("what", "Need or limit"),
        Column("groups", "Groups"),
        Column("source", "Source"),
        Column("status", "Status"),
    )
    users: dict[tuple[str, str, str], dict[str, None]] = {}
    for rations in rations_by_part(plan):
        for key in _need_sources(rations[0].needs):
            users.setdefault(key, {})[rations[0].name] = None
    rows = tuple(
        (what, ", ".join(groups), source, status)
        for (what, source, status), groups in users.items()
    )
    return Table("need_sources", "Where needs and limits come from", columns, rows)


def _need_sources(needs: GroupNeeds) -> Iterator[tuple[str, str, str]]:
    for step in needs.steps:
        yield step.name, step.source, step.status
    if needs.intake is not None:
        yield "most dry matter eaten", needs.intake.source, needs.intake.status
    for limit in needs.limits:
        yield f"{_title(limit.quantity)}, limit on the diet", limit.whose, limit.status
    for mineral in needs.minerals:
        yield f"{_title(mineral.quantity)}, absorbed", mineral.source, mineral.status


def _title(key: str) -> str:
    quantity = known(key)
    if quantity is None:
        return key.replace("_", " ")
    return quantity.title


def proof_table(plan: WinterPlan) -> Table:
    """The certificate of a plan in figures; empty without one."""
    proof = plan.proof
    columns = (
        Column("what", "What"),
        Column("value", "Value", varies=True),
        Column("unit", "Unit"),
        Column("means", "Means"),
    )
    if proof is None:
        return Table("proof", "The proof in figures", columns, ())
    money, never_less = plan.farm.currency, "in any group and period; nought or more"
    aim = "what was made least, priced excess and shortage included"
    rows: list[tuple[object, ...]] = [
        ("Cost compared", proof.cost, money, aim),
        ("Lower bound", proof.lower_bound, money, "no plan at these levels of feeding costs less"),
        ("Gap", 100.0 * proof.gap_relative, "% of the cost", proof.how),
        ("Least ME over its need", proof.worst_excess_mj, "MJ a head a day", never_less),
        ("Least MP over its need", proof.worst_excess_mp_g, "g a head a day", never_less),
        (
            "Largest error of a store's balance",
            proof.balance_kg,
            "kg DM",
            "in, less all that went out, less what is left",
        ),
        (
            "Rows and bounds passed by",
            f"{proof.primal_residual:.1e}",
            "",
            "largest scaled violation of the last programme",
        ),
        ("Signs of prices passed by", f"{proof.dual_residual:.1e}", "", "largest scaled violation"),
        ("Slack times price", f"{proof.complementarity:.1e}", "", "nought at an optimum"),
        ("Primal less dual", f"{proof.duality_gap:.1e}", "share", "nought at an optimum"),
        ("Linear programmes solved", float(proof.lps), "", proof.verdict),
    ]
    return Table(
        "proof", "The proof in figures", columns, tuple(rows), (), (2, 2, 4, 4, 3, 4, 2, 2, 2, 2, 0)
    )
