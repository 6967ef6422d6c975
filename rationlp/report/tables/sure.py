"""Tables of how sure a winter or a ration is."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from rationlp.ask.robust import DRAWS, PLAIN, SureGroup, SureRation
from rationlp.ask.sure import WinterSureness
from rationlp.farm.group import NRC
from rationlp.report.tables.table import (
    Column,
    Table,
    day_text,
    difference,
    percent,
    shown,
    table_of,
)

_HELD = (
    "Analyses, stores, losses and turnout vary by themselves, each by its own spread; nothing is"
    " bought in place of a store that runs out."
)
_PLANNED_ANEW = (
    "Each draw is planned as if all of it had been known in time: no plan runs short, what differs"
    " is what it costs."
)


def _day(day: date | None) -> str:
    return day_text(day, "lasts")


def sureness_table(answer: WinterSureness) -> Table:
    """When each store runs out in early, middling and late draws, how often, what is short."""
    columns = (
        Column("store", "Store", of="name"),
        Column("early", "Early (1 winter in 10)", of=lambda store: _day(store.early)),
        Column("middle", "Middle", of=lambda store: _day(store.middle)),
        Column("late", "Late (1 winter in 10)", of=lambda store: _day(store.late)),
        Column("before_turnout", "Short before turnout", "%", 0, share=True),
        Column("short_t_dm", "Short in 1 winter in 10, at least", "t DM", 1),
    )
    method, note = "each draw planned anew", _PLANNED_ANEW
    if answer.held:
        method, note = "the plan's rations held", _HELD
    title = f"When each store is used up: {answer.draws} draws, {method}"
    return table_of("sureness", title, answer.stores, columns, (note,))


def sureness_money(answer: WinterSureness) -> Table:
    """Cost and bought tonnes in low, middling and high draws, beside the plan as it stands."""
    columns = (
        Column("what", "What"),
        Column("unit", "Unit"),
        Column("as_planned", "As planned", "", 0),
        Column("low", "Low (1 winter in 10)", "", 0),
        Column("middle", "Middle", "", 0),
        Column("high", "High (1 winter in 10)", "", 0),
    )
    rows: list[tuple[object, ...]] = []
    for what, unit, planned, spread in (
        ("Cost of the winter", answer.farm.currency, answer.planned_cost, answer.cost),
        ("Bought", "t fresh", None, answer.bought_t),
    ):
        if spread is not None:
            rows.append((what, unit, planned, spread.low, spread.typical, spread.high))
    return Table("sureness_money", "What the winter costs", columns, tuple(rows))


def _winters(share: float, draws: int) -> str:
    """A share of the draws as people count: 7 of 20 trial winters (35 %)."""
    return f"{round(share * draws)} of {draws} trial winters ({100.0 * share:.0f} %)"


def sureness_line(answer: WinterSureness) -> str:
    """The answer in a sentence or two."""
    if answer.held:
        worst = max(answer.stores, key=lambda store: store.before_turnout, default=None)
        if worst is None or worst.before_turnout <= 0.0:
            return f"In none of {answer.draws} trial winters does a store run out before turnout."
        return (
            f"In {_winters(worst.before_turnout, answer.draws)} {worst.name} runs out before"
            f" turnout; in 1 winter in 10 by {_day(worst.early)} or sooner."
        )
    sentences = []
    if answer.cost is not None:
        low, high = (f"{value:,.0f}" for value in (answer.cost.low, answer.cost.high))
        sentences.append(
            f"The winter costs {answer.farm.currency} {low} to {high} in 8 winters of 10."
        )
    if answer.without > 0.0:
        sentences.append(f"{_winters(answer.without, answer.draws)} have no plan at all.")
    return " ".join(sentences)


def sure_table(group: SureGroup, currency: str) -> Table:
    """The three rations of a group: cost, chance of each row, with and without margins."""
    columns = (
        Column("ration", "Ration"),
        Column("cost", "Cost", f"{currency} a day", 3),
        Column("more", "More", f"{currency} a day", 3),
        Column("energy", "Energy met", "%", 1),
        Column("protein", "Protein met", "%", 1),
        Column("both", "Both met, simulated", "%", 1),
        Column("bare_energy", "Energy, no margin", "%", 1, full=True),
        Column("bare_protein", "Protein, no margin", "%", 1, full=True),
    )
    plain = next(ration for ration in group.rations if ration.name == PLAIN)
    rows = tuple(_sure_row(ration, plain) for ration in group.rations)
    chance = shown(100.0 * group.chance, 1)
    notes = (
        (
            f"Chance that the need is met when the analyses are out; {chance} % asked for of each"
            f" row. Protein is the less likely of its two rows. Both at once: {DRAWS} drawn"
            " analyses. Needs with the farm's margins in them; no margin: the bare requirement."
            " Rations as found, not made fit to mix. Animals differ besides: this is about feeds"
            " alone."
        ),
        *_by_nrc(group),
    )
    return Table("sure_rations", f"{group.name}: how sure", columns, rows, notes)


def _by_nrc(group: SureGroup) -> Iterator[str]:
    """What is proved, and what is only counted, where each feed moves all the others."""
    if group.standard != NRC:
        return
    sure = group.rations[-1]
    gap = ""
    if sure.gap is not None and sure.cost:
        share = shown(100.0 * sure.gap / sure.cost, 2, "up")
        gap = f" No ration that does so costs less by more than {share} %."
    yield (
        "By NRC (2001) what an analysis is out by moves the discount and the passage of the whole"
        " ration. The chance of each row takes that in a straight line from the ration itself; how"
        f" often both are met is counted on whole rations worked out anew.{gap}"
    )


def _sure_row(ration: SureRation, plain: SureRation) -> tuple[object, ...]:
    if ration.cost is None or ration.chances is None or ration.bare_chances is None:
        outcome = {"none_exists": "exists"}.get(ration.status, "was found")
        return (f"{ration.name}: none {outcome}", *(None,) * 7)
    extra = None
    if ration is not plain:
        extra = difference(ration.cost, plain.cost)
    with_margin, bare = ration.chances, ration.bare_chances
    met = with_margin.energy, with_margin.protein, ration.all_met, bare.energy, bare.protein
    return (ration.name, ration.cost, extra, *map(percent, met))


def sure_feeds_table(group: SureGroup) -> Table:
    """What the three rations hold, kg fresh a head a day."""
    names = {amount.offer: amount.name for ration in group.rations for amount in ration.amounts}
    answered = [ration for ration in group.rations if ration.cost is not None]
    columns = (
        Column("feed", "Feed"),
        *(Column(f"ration_{n}", one.name, "kg", 2) for n, one in enumerate(answered)),
    )
    mixes = [{amount.offer: amount.kg_fresh for amount in one.amounts} for one in answered]
    rows = tuple((name, *(kg.get(offer) for kg in mixes)) for offer, name in names.items())
    return Table(
        "sure_feeds", f"{group.name}: what each holds, kg fresh a head a day", columns, rows
    )


def sure_line(group: SureGroup, currency: str) -> str:
    """What the extra safety costs, in a sentence."""
    plain, sure = group.rations[0], group.rations[-1]
    chance = shown(100.0 * group.chance, 1)
    if sure.cost is None or plain.cost is None:
        none = f"{group.name}: no ration meets energy and protein with {chance} % each"
        if group.reserve_mj and plain.cost is not None:
            return (
                f"{none}; as it stands it counts on {shown(group.reserve_mj, 0)} MJ off her back."
            )
        return f"{none}."
    return (
        f"{group.name}: to meet energy and protein with a chance of {chance} % each costs"
        f" {currency} {shown(sure.cost - plain.cost, 3)} more a head a day than to meet them by the"
        " figures as they stand."
    )
