"""A switch in kilograms: the answer for the farm first, then what each share takes."""

from __future__ import annotations

from collections.abc import Callable

from rationlp.ask.switch_steps import FarmStep, GroupStep, GroupSteps, SwitchSteps
from rationlp.report.dates import day_words
from rationlp.report.tables.table import Column, Table, shown, small_decimals, table_of

LEAST_T = 0.001
"""Less than this is not told among what is bought a week [t fresh]: it is rounded away."""


def pays_line(switch: SwitchSteps) -> str:
    """Whether a switch pays, in a sentence."""
    first, second, best = switch.first.name, switch.second.name, switch.best
    if best is None:
        return f"From {first} to {second}: at none of these shares has every group a ration."
    base, money = switch.steps[0], switch.farm.currency
    if best is base and base.share == 0.0:
        return (
            f"No switch pays: keep {first}. It costs {_week(switch, base)}; no share of {second}"
            " costs less."
        )
    if best is base:
        return (
            f"Cheapest at {_percent(base.share)} {second}, the least at which every group has a"
            f" ration: {_week(switch, base)}."
        )
    saved = f"{money} {base.cost - best.cost:,.0f} less than at {_percent(base.share)}"
    days = "It is no change that takes days."
    if best.change_days:
        days = f"Change over in {best.change_days} days."
    return (
        f"Cheapest at about {_percent(best.share)} {second}: {_week(switch, best)}, {saved}. {days}"
    )


def stock_lines(switch: SwitchSteps) -> list[str]:
    """Where the cheapest share empties a store too soon, and the cheapest that both carry."""
    best = switch.best
    names = {switch.first.id: switch.first.name, switch.second.id: switch.second.name}
    if best is None:
        ends = {}
    else:
        ends = {names[offer]: day for offer, day in best.lasts.items() if day is not None}
    if best is None or not ends:
        return []
    gone = " and ".join(f"{name} runs out on {day_words(day)}" for name, day in ends.items())
    lasting = [step for step in switch.steps if all(day is None for day in step.lasts.values())]
    if not lasting:
        return [
            f"But {gone}, and at none of these shares do both last to turnout: `rationlp winter`"
            " shares them out."
        ]
    step = min(lasting, key=lambda lasting_step: lasting_step.cost)
    dearer = f"{switch.farm.currency} {step.cost - best.cost:,.0f} a week more"
    return [
        f"But {gone}. The cheapest share here at which both last to turnout is"
        f" {_percent(step.share)}, for {dearer}."
    ]


def _week(switch: SwitchSteps, step: FarmStep) -> str:
    return f"{switch.farm.currency} {step.cost:,.0f} a week for {step.head:,} head"


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def go_over_lines(switch: SwitchSteps) -> list[str]:
    """How many tonnes can go over before a store runs out, in a sentence."""
    if not switch.steps:
        return []
    days = (switch.farm.turnout - switch.day).days
    turnout = day_words(switch.farm.turnout)
    name = switch.second.name
    if switch.can_go_over_t is None:
        return [f"{name} is bought: as much as you buy can go over."]
    tonnes = f"{shown(switch.can_go_over_t, 0)} t fresh"
    if switch.up_to_share >= 1.0:
        return [f"{name} lasts to {turnout} at every share here: up to {tonnes} in {days} days."]
    return [
        f"{tonnes} of {name} can go over to {turnout} ({days} days), {_percent(switch.up_to_share)}"
        " in these groups; above that it runs out first."
    ]


def farm_table(switch: SwitchSteps) -> Table:
    """The farm by share: mean kg fresh a head, cost and bought feed a week, how long both last."""
    money, first, second = switch.farm.currency, switch.first, switch.second

    def fresh(offer: str) -> Callable[[FarmStep], float]:
        return lambda step: step.kg_fresh[offer]

    columns = (
        Column("share_percent", f"{second.name} %", "", 0, of="share", share=True),
        Column("first_kg", first.name, "kg a head", 1, of=fresh(first.id)),
        Column("second_kg", second.name, "kg a head", 1, of=fresh(second.id)),
        Column("bought_t", "Bought", "t a week", 1, of=lambda step: sum(step.bought_t.values())),
        Column("cost", "Cost", f"{money} a week", 0),
        Column("first_lasts", f"{first.name} lasts to", of=lambda step: _lasts(step, first.id)),
        Column("second_lasts", f"{second.name} lasts to", of=lambda step: _lasts(step, second.id)),
        Column("change_days", "Change over", "days", 0),
    )
    title = "The farm, in kg fresh a head a day (mean of these groups)"
    return table_of("switch_farm", title, switch.steps, columns)


def _lasts(step: FarmStep, offer: str) -> str:
    """The day to which a forage lasts, in words; empty where none of it is fed."""
    if step.kg_fresh[offer] <= 0.0:
        return ""
    day = step.lasts[offer]
    if day is None:
        return "turnout"
    return day_words(day)


def group_table(switch: SwitchSteps, group: GroupSteps) -> Table:
    """One group by share: kg fresh a head a day of the forages and the rest, cost a week."""
    first, second, week = switch.first, switch.second, f"{switch.farm.currency} a week"
    days_and_head = 7.0 * group.head
    columns = (
        Column("share_percent", f"{second.name} %", "", 0, of="share", share=True),
        Column("first_kg", first.name, "kg", 1, of=lambda step: step.kg_of(first.id)),
        Column("second_kg", second.name, "kg", 1, of=lambda step: step.kg_of(second.id)),
        Column("others", "Others but minerals, kg", of=lambda step: _others(switch, step)),
        Column("cost", "Cost", week, 0, of=lambda step: days_and_head * step.feed_cost),
    )
    title = f"{group.name} ({group.head} head), kg fresh a head a day"
    return table_of("switch_group", title, group.steps, columns)


def _others(switch: SwitchSteps, step: GroupStep) -> str:
    two = (switch.first.id, switch.second.id)
    feeds = [feed for feed in step.feeds if feed.offer not in two and feed.kind != "mineral"]
    ordered = sorted(feeds, key=lambda feed: -feed.kg_fresh)
    return ", ".join(
        f"{feed.name} {shown(feed.kg_fresh, small_decimals(feed.kg_fresh, 1))}" for feed in ordered
    )


def week_words(t: float) -> str:
    """Tonnes, or kilograms below one."""
    if t >= 1.0:
        return f"{shown(t, 1)} t"
    return f"{shown(1000.0 * t, 0)} kg"


def notes(switch: SwitchSteps) -> list[str]:
    """What must be bought at the cheapest share, who has no ration, how it was worked out."""
    lines = []
    best = switch.best
    if best is not None:
        bought = sorted(best.bought_t.items(), key=lambda pair: -pair[1])
        named = "; ".join(f"{name} {week_words(t)}" for name, t in bought if t >= LEAST_T)
        named = named or "nothing"
        lines.append(f"To buy a week at {_percent(best.share)}: {named}.")
    for group in switch.groups:
        if group.reason:
            lines.append(f"{group.name}: {group.reason}.")
        elif group.barred:
            shares = ", ".join(_percent(share) for share in group.barred)
            lines.append(f"{group.name}: no ration at {shares}, so the farm has no row there.")
    if switch.left_out:
        lines.append(f"May not eat both, and are left out: {', '.join(switch.left_out)}.")
    lines.append(
        "Shares are of the dry matter of the two forages; no other forage but straw is fed. How"
        f" long they last is for these groups alone, as they are on {day_words(switch.day)}."
    )
    return lines
