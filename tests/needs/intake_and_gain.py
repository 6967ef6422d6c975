"""Intake and gain of cattle on a forage to appetite beside so much concentrate, by the rows and
rule H, for published trials.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from rationlp.errors import Faults
from rationlp.farm.farm import Margins
from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.needs import expected_gain
from rationlp.needs.appetite import appetite_rows
from rationlp.needs.growing_appetite import growing_cap
from rationlp.needs.objects import GroupNeeds
from rationlp.read.feeds import overlay_own, read_feed_tables
from rationlp.rules.blanks import complete


def forage(me: float, key: str = "grass_silage_1st_typical") -> Feed:
    """A forage of the tables with so much energy [MJ ME/kg DM]."""
    return complete(
        overlay_own(
            read_feed_tables()[key], {"me_mj_per_kg_dm": me}, Faults("the printed analysis")
        )
    )


def me_of(dmd: float) -> float:
    """ME of a grass silage [MJ/kg DM] of digestible dry matter [%]: 0.157 (DMD − 4.5), from memory
    (b).
    """
    return 0.157 * (dmd - 4.5)


@dataclass(frozen=True)
class Animals:
    """Cattle of a trial [kg], and whether they live on cereals."""

    weight: float
    sex: str
    maturity: str
    cereal: bool = False

    def group(self) -> Group:
        """The same as a group."""
        facts: dict[str, float | str] = {
            "live_weight_kg": self.weight,
            "gain_kg_per_day": 0.5,
            "sex": self.sex,
        }
        facts |= {
            "maturity": self.maturity,
            "system": "cereal_based" if self.cereal else "silage_based",
        }
        return Group("trial", "trial", "finishing_cattle", 1, "to_appetite", facts)


def eaten(animals: Animals, silage: Feed, concentrate_kg_dm: float) -> float:
    """Silage eaten to appetite beside so much concentrate [kg DM]: the most that the rows and the
    cap leave.
    """
    concentrate = read_feed_tables()["barley"]
    needs = needs_of(animals)
    rows = appetite_rows(needs, [silage, concentrate])
    room = [
        (row.most - row.weights[1] * concentrate_kg_dm) / row.weights[0]
        for row in rows
        if row.weights[0]
    ]
    return min(*room, growing_cap(animals.weight, animals.cereal) - concentrate_kg_dm)


def needs_of(animals: Animals) -> GroupNeeds:
    """The needs of a head."""
    from rationlp.needs import group_needs

    return group_needs(animals.group(), Margins(1.0, 1.0))


def gain(animals: Animals, parts: list[tuple[float, float]], as_published: bool = False) -> float:
    """Gain [kg/d] of a ration of (kg DM, MJ ME/kg DM)."""
    me = sum(kg * density for kg, density in parts)
    return expected_gain(animals.group(), me, sum(kg for kg, _ in parts), as_published=as_published)


def gain_on(
    animals: Animals, silage: Feed, concentrate_kg_dm: float, concentrate_me: float = 12.8
) -> float:
    """Gain [kg/d] on silage to appetite beside so much concentrate."""
    kg = eaten(animals, silage, concentrate_kg_dm)
    return gain(
        animals,
        [(kg, float(silage.value("me_mj_per_kg_dm") or 0.0)), (concentrate_kg_dm, concentrate_me)],
    )


def heavier(animals: Animals, kg: float) -> Animals:
    """The same animals at another weight."""
    return replace(animals, weight=kg)
