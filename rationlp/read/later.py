"""What can be done later in the winter: prices after autumn, early sales, early grass."""

from __future__ import annotations

from datetime import date

from rationlp.errors import Faults
from rationlp.farm.later import EarlyGrass, EarlySale, LaterActions, LaterPrice
from rationlp.read.draft import Draft
from rationlp.read.schema_later import EarlyGrassTable, EarlySaleTable, LaterTable
from rationlp.read.winter import grazed_feed

CODE = "IN189"


def read_later(draft: Draft) -> LaterActions:
    """All actions that the farm gives figures for."""
    prices: dict[str, LaterPrice] = {}
    bought = draft.ids("bought")
    for faults, table in draft.entries("later"):
        _check_later(table, faults, draft, bought)
        if table.feed in prices:
            faults.add(CODE, f'"{table.feed}" appears twice', "put its prices into one entry")
        prices[table.feed] = LaterPrice(
            table.feed,
            table.turn_of_year_per_t_fresh,
            table.late_winter_per_t_fresh,
            table.left_per_t_fresh,
            table.contract_per_t_fresh,
            table.contract_most_t,
            table.contract_resold_per_t_fresh or 0.0,
            table.lead_days,
        )
    sales: dict[str, EarlySale] = {}
    for faults, table in draft.entries("early_sales"):
        _check_sale(table, faults, draft)
        if table.group in sales:
            faults.add(CODE, f'"{table.group}" appears twice', "put its prices into one entry")
        stages = table.now_per_head, table.turn_of_year_per_head, table.late_winter_per_head
        sales[table.group] = EarlySale(table.group, stages, table.turnout_per_head, table.most_head)
    grass = [
        field
        for field in (_grass(*entry, draft) for entry in draft.entries("early_grass"))
        if field
    ]
    return LaterActions(tuple(prices.values()), tuple(sales.values()), tuple(grass), _looks(draft))


def _looks(draft: Draft) -> tuple[date, ...]:
    """The farm's own two days of looking, within the winter and in order."""
    table, winter = draft.tables["winter"], draft.winter
    if table is None or winter is None or not table.look_days:
        return ()
    days = tuple(table.look_days)
    place = draft.faults.at("winter").at("look_days")
    if len(days) != 2:
        problem = f"{len(days)} days on which stores are looked at"
        place.add(CODE, problem, "give two, at the turn of the year and in late winter")
    elif not winter.start < days[0] < days[1] < winter.turnout:
        problem = f"{days[0]} and {days[1]} in a winter from {winter.start} to {winter.turnout}"
        place.add(CODE, problem, "give them in order, after its first day and before turnout")
    return days


def _check_later(table: LaterTable, faults: Faults, draft: Draft, bought: list[str]) -> None:
    draft.has("bought feed", table.feed, bought, faults.at("feed"), CODE)
    contract, resold = table.contract_per_t_fresh, table.contract_resold_per_t_fresh
    if contract is None:
        for key in ("contract_most_t", "contract_resold_per_t_fresh"):
            if getattr(table, key) is not None:
                faults.at(key).add(CODE, "a contract without a price", "give contract_per_t_fresh")
        return
    if resold is not None and resold >= contract:
        problem = f"resold at {resold:g}, bought on contract at {contract:g}"
        remedy = "what is not called off fetches less than it cost: check both"
        faults.at("contract_resold_per_t_fresh").add(CODE, problem, remedy)


def _check_sale(table: EarlySaleTable, faults: Faults, draft: Draft) -> None:
    groups = draft.ids("groups")
    place = faults.at("group")
    draft.has("group", table.group, groups, place, CODE)
    mixes = [mix for _, mix in draft.entries("mixes")]
    if any(portion.group == table.group for mix in mixes for portion in mix.groups):
        remedy = "a group of a mix is fed with the others: take it out of the mix, or sell none"
        place.add(CODE, f'"{table.group}" gets a mix with others', remedy)
    for _, group in draft.entries("groups"):
        if group.id != table.group:
            continue
        if group.lambing is not None:
            remedy = "ewes are fed up to their lambing: sell none of them early"
            place.add(CODE, f'"{table.group}" lambs in the winter', remedy)
        if table.most_head is not None and table.most_head > group.head:
            problem = f"most_head {table.most_head} above {group.head} head"
            faults.at("most_head").add(CODE, problem, "sell no more than there are")
    prices = (table.now_per_head, table.turn_of_year_per_head, table.late_winter_per_head)
    if all(price is None for price in prices):
        remedy = "give now_per_head, turn_of_year_per_head or late_winter_per_head"
        faults.add(CODE, "no price of a sale before turnout", remedy)


def _grass(faults: Faults, table: EarlyGrassTable, draft: Draft) -> EarlyGrass | None:
    groups, place = draft.ids("groups"), faults.at("groups")
    if not table.groups:
        place.add(CODE, "grass for no group", "name the groups that may graze it")
    for name in table.groups:
        draft.has("group", name, groups, place, CODE)
    feed = grazed_feed(table.feed, table.analysis, faults, draft)
    if feed is None:
        return None
    return EarlyGrass(feed, tuple(table.groups), table.most_t_dm, table.cost_per_t_dm)
