"""Answers that compare several solves, as JSON documents."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict

from rationlp.ask.grow import NextYear, storing_figures
from rationlp.ask.robust import SureGroup, SureRation
from rationlp.ask.sure import WinterSureness
from rationlp.ask.whatif import Outcome, WhatIf
from rationlp.farm.farm import Farm
from rationlp.farm.store import Spread
from rationlp.report.documents import Document, farm_part, notices_part, start_of
from rationlp.rules.spreads import SpreadRow


def what_if_document(answer: WhatIf) -> Document:
    """The answer of `whatif`: the farm as it stands and every scenario, with the differences."""
    return {
        **start_of("what_if"),
        "farm": farm_part(answer.farm),
        "now": [_outcome(one, one) for one in answer.now],
        "scenarios": [_outcome(one, answer.before(one)) for one in answer.outcomes],
        "notices": notices_part(answer.farm.notices),
    }


def _outcome(one: Outcome, before: Outcome) -> Document:
    both = one.cost is not None and before.cost is not None
    return {
        "name": one.name,
        "group": one.group or None,
        "status": one.status,
        "cost": one.cost,
        "more_than_now": (
            one.cost - before.cost if one.cost is not None and before.cost is not None else None
        ),
        "bought_cost": one.bought_cost,
        "gap": one.gap,
        "fed": [
            {"offer": name, "bought": name in one.bought, "amount_fresh": kg}
            for name, kg in one.fed.items()
        ],
        "runs_out": [
            {"store": name, "day": None if day is None else day.isoformat()}
            for name, day in one.runs_out.items()
        ],
        "turnout": None if one.turnout is None else one.turnout.isoformat(),
        "came_in": list(one.came_in(before)) if both else [],
        "went_out": list(one.went_out(before)) if both else [],
        "short": one.short,
    }


def sureness_document(answer: WinterSureness) -> Document:
    """The answer of `sure` for a winter."""
    return {
        **start_of("sure_winter"),
        "farm": farm_part(answer.farm),
        "draws": answer.draws,
        "seed": answer.seed,
        "held": answer.held,
        "planned_cost": answer.planned_cost,
        "cost": _spread(answer.cost),
        "bought_t_fresh": _spread(answer.bought_t),
        "without_a_plan": answer.without,
        "stores": [
            {
                **asdict(one),
                **{
                    key: None if day is None else day.isoformat()
                    for key, day in (
                        ("early", one.early),
                        ("middle", one.middle),
                        ("late", one.late),
                    )
                },
            }
            for one in answer.stores
        ],
        "spreads": [asdict(one) for one in answer.spreads],
        "notices": notices_part(answer.farm.notices),
    }


def _spread(spread: Spread | None) -> Document | None:
    return (
        None
        if spread is None
        else {"low": spread.low, "middle": spread.typical, "high": spread.high}
    )


def sure_document(
    farm: Farm, groups: Iterable[SureGroup], spreads: Iterable[SpreadRow]
) -> Document:
    """The answer of `sure` for groups: the three rations of each with their chances."""
    return {
        **start_of("sure_rations"),
        "farm": farm_part(farm),
        "groups": [
            {
                "id": group.group,
                "name": group.name,
                "chance": group.chance,
                "rations": [_sure_ration(one) for one in group.rations],
            }
            for group in groups
        ],
        "spreads": [asdict(one) for one in spreads],
        "notices": notices_part(farm.notices),
    }


def _sure_ration(one: SureRation) -> Document:
    return {
        "name": one.name,
        "status": one.status,
        "cost": one.cost,
        "amounts": [asdict(amount) for amount in one.amounts],
        "chances": None if one.chances is None else asdict(one.chances),
        "bare_chances": None if one.bare_chances is None else asdict(one.bare_chances),
        "all_met": one.all_met,
        "gap": one.gap,
    }


def grow_document(answer: NextYear) -> Document:
    """The answer of `grow`: hectares, tonnes, costs and the clamp of each crop, and what is
    bought.
    """
    return {
        **start_of("grow"),
        "farm": farm_part(answer.farm),
        "reserve_share": answer.reserve_share,
        "status": answer.status,
        "cost": answer.cost,
        "bought_cost": answer.bought_cost,
        "sold_income": answer.sold_income,
        "penalty": answer.penalty,
        "gap": answer.gap,
        "hectares": answer.hectares,
        "land_ha": answer.land_ha,
        "crops": [asdict(one) for one in answer.crops],
        "bought": [{"offer": name, "t_fresh": t} for name, t in answer.bought_t.items()],
        "left_out": list(answer.left_out),
        "storing": [{"figure": name, **asdict(one)} for name, one in storing_figures().items()],
        "shortfalls": [asdict(one) for one in answer.shortfalls],
        "notices": notices_part(answer.farm.notices),
    }
