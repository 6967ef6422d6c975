"""Where a winter stands on a day, and forage left lying while feed is bought: sentences, a
table, parts of documents."""

from __future__ import annotations

from collections.abc import Iterator

from rationlp.after.drift import DUE_WEEKS, SoFarThisWinter, StoreNow
from rationlp.after.sofar import StoreSoFar
from rationlp.ask.lying import MORE_T, NOT_ASKED, LyingForage
from rationlp.quantities import by_sign
from rationlp.report.tables.table import Column, Table, shown, table_of
from rationlp.report.wording import day_and_year, more_or_less


def so_far_lines(so_far: SoFarThisWinter | None) -> Iterator[str]:
    """What the rest of the winter is planned from, the stores that are not where the plan has
    them, and what is due."""
    if so_far is None:
        return
    lines = {0: "nothing is logged", 1: "1 line of the log counts"}.get(
        so_far.lines, f"{so_far.lines} lines of the log count"
    )
    yield (
        f"Planned from {day_and_year(so_far.day)}: {lines}; since a store was measured, the plan in"
        " force is taken as fed."
    )
    yield from (line for store in so_far.stores if (line := _drift_words(store)))
    for delivery in so_far.deliveries:
        delivered, used = shown(delivery.delivered_t, 1), shown(delivery.used_t, 1)
        yield (
            f"{delivery.name}: {delivered} t delivered, {used} t used by the plan,"
            f" {shown(delivery.in_yard_t, 1)} t in the yard."
        )
    due = [store.name for store in so_far.stores if store.due]
    if due:
        yield (
            f"Due: measure {', '.join(due)} (not measured for {DUE_WEEKS} weeks or longer), then"
            " `rationlp log FARM`."
        )


def _drift_words(store: StoreNow) -> str:
    """By how much a store is off the plan; empty where it is not, or was not measured."""
    if store.drift_t_dm is None or store.planned_t_dm is None or abs(store.drift_t_dm) < 0.05:
        return ""
    days = ""
    if store.drift_days is not None:
        days = f", {_days_words(abs(store.drift_days))} feeding"
    against = (
        f"{shown(store.measured_t_dm, 1)} measured on {day_and_year(store.measured)},"
        f" {shown(store.planned_t_dm, 1)} planned"
    )
    return (
        f"{store.name}: {shown(abs(store.drift_t_dm), 1)} t DM {more_or_less(store.drift_t_dm)}"
        f" than planned{days} ({against})."
    )


def _days_words(days: float) -> str:
    whole = max(round(days), 1)
    if whole == 1:
        return "about a day's"
    return f"{whole} days'"


def stores_now_table(so_far: SoFarThisWinter) -> Table:
    """Every store on the day: last measured, against the plan, fed since, and what it holds now
    [t DM that can be eaten]."""
    columns = (
        Column("store", "Store", of="name"),
        Column("measured", "Last measured", of=lambda store: store.measured.isoformat()),
        Column("measured_t_dm", "Measured", "t DM", 1),
        Column("planned_t_dm", "Planned", "t DM", 1),
        Column("drift_t_dm", "Off the plan", "t DM", 1),
        Column("drift_days", "Off the plan", "days", 0),
        Column("fed_since_t_dm", "Fed since", "t DM", 1),
        Column("now_t_dm", "Now", "t DM", 1),
        Column("due", "Measure", of=lambda store: {True: "due"}.get(store.due, "")),
    )
    return table_of("stores_now", f"What the stores hold on {so_far.day}", so_far.stores, columns)


def lying_line(lying: tuple[LyingForage, ...], currency: str) -> str:
    """What is left lying, and what is fed to nobody and why, a sentence each."""
    sentences = []
    fed = [forage for forage in lying if forage.fed]
    if fed:
        tonnes = "; ".join(f"{forage.name} {forage.left_t_fresh:,.0f}" for forage in fed)
        sentences.append(f"Left at turnout (t fresh) while feed is bought: {tonnes}.")
    unfed = [forage for forage in lying if not forage.fed]
    if unfed:
        tonnes = "; ".join(
            f"{forage.name} {forage.left_t_fresh:,.0f} t fresh ({_unfed_why(forage, currency)})"
            for forage in unfed
        )
        sentences.append(f"Fed to nobody: {tonnes}.")
    for forage in lying:
        sentences += _buyer_sentences(forage, currency)
    return " ".join(sentences)


def _buyer_sentences(forage: LyingForage, currency: str) -> Iterator[str]:
    """Who would take more of a store, and who pays what it counts for."""
    others = [name for name in forage.buyers if name not in forage.even]
    if others:
        yield f"{' and '.join(others)} would take more of {forage.name}."
    for name in forage.even:
        yield (
            f"{name} pays for {forage.name} what it counts for here ({currency}"
            f" {forage.price:,.2f} a tonne): sold or kept comes to the same, so sell what you are"
            " sure to have over."
        )


def _unfed_why(forage: LyingForage, currency: str) -> str:
    """Why nobody is fed of a store, in a few words."""
    if not forage.allowed:
        return f"{forage.reason}: barred, kept for others or not for these animals"
    if forage.more_below is not None:
        price = f"{currency} {forage.price:,.0f} a tonne, fed below {forage.more_below:,.0f}"
        return f"other feeds come cheaper: it is put at {price}"
    if forage.reason == NOT_ASKED:
        return "why: `--full`"
    if forage.reason:
        return f"at what price it would be fed was not worked out: {forage.reason}"
    return "it would not be fed even if free"


def lying_sentences(lying: tuple[LyingForage, ...], currency: str) -> Iterator[str]:
    """What a person should know of forage that is left while feed is bought."""
    for forage in lying:
        first = (
            f"{forage.name}: {forage.left_t_fresh:,.0f} t are left at turnout, worth {currency}"
            f" {forage.worth:,.0f}"
        )
        if forage.bought_t >= MORE_T:
            first += (
                f", while {forage.bought_t:,.0f} t of feed are bought for {currency}"
                f" {forage.bought_cost:,.0f}"
            )
        first += "."
        yield " ".join((first, _price_words(forage, currency), *_buyer_sentences(forage, currency)))


def _price_words(forage: LyingForage, currency: str) -> str:
    if not forage.allowed:
        return f"It is fed to nobody: {forage.reason}."
    if forage.reason:
        return f"At what price more of it would be fed was not worked out: {forage.reason}."
    if forage.more_below is None:
        return "The plan would feed no more of it even if it were free."
    sentence = f"The plan would feed more of it below {currency} {forage.more_below:,.2f} a tonne"
    return (
        f"{sentence} (priced at {forage.price:,.2f} now), and {forage.more_if_free_t:,.0f} t more"
        " if it were free."
    )


def so_far_sentences(stores: tuple[StoreSoFar, ...]) -> tuple[str, ...]:
    """What to make of the differences; empty where all is as planned within a twentieth."""
    sentences = []
    for store in stores:
        if abs(store.more_t_dm) <= 0.05 * max(store.planned_t_dm, 1.0):
            continue
        word = by_sign(store.more_t_dm, "more", "less")
        amounts = f"{store.used_t_dm:.1f} against {store.planned_t_dm:.1f}"
        text = f"{store.name}: {abs(store.more_t_dm):.1f} t DM {word} gone than planned ({amounts})"
        if store.density_kg_dm_per_m3 is not None:
            density = f"{store.density_kg_dm_per_m3:.0f} kg DM/m3"
            text += (
                f"; if the animals ate as planned it holds {density} (give it as core_kg_dm_per_m3)"
            )
        sentences.append(f"{text}.")
    return tuple(sentences)
