"""What may be promised: methane, nitrogen excreted, soya, bought concentrates; each is linear in
the feeds of a ration.
"""

from __future__ import annotations

from collections.abc import Mapping

from rationlp.after.excretion import retained_nitrogen
from rationlp.after.methane import methane_of
from rationlp.errors import Finding, InputError, nearest_or, refused
from rationlp.farm.feed import Feed, Offer
from rationlp.model.lp import Key
from rationlp.model.rows.block import Block
from rationlp.needs.produced import N_PER_CP
from rationlp.records import dataclass
from rationlp.rules.feed_carbon import soya_share


@dataclass(frozen=True)
class Measure:
    """One measure of a ration. name: as it is typed. unit: of amounts a head a day; per_kg: such
    units in a kg, the unit of amounts over the winter. decimals: of amounts a head a day.
    """

    name: str
    title: str
    unit: str
    per_kg: float
    decimals: int


METHANE = Measure("methane", "Methane", "g", 1000.0, 0)
NITROGEN = Measure("nitrogen", "Nitrogen excreted", "g", 1000.0, 0)
SOYA = Measure("soya", "Soya, fresh", "kg", 1.0, 2)
MEAL = Measure("meal", "Bought concentrates, fresh", "kg", 1.0, 2)
MEASURES = {measure.name: measure for measure in (METHANE, NITROGEN, SOYA, MEAL)}
USUAL = (METHANE, NITROGEN, SOYA)
"""Those that are looked at where none is named."""


@dataclass(frozen=True)
class Amounts:
    """A measure of one block as a sum over its feeds: Σ per_kg_dm · kg DM + fixed [its unit a head
    a day]. per_kg_dm: by offer id.
    """

    measure: Measure
    per_kg_dm: Mapping[str, float]
    fixed: float

    def of(self, kg_dm: Mapping[str, float]) -> float:
        """The amount of a ration given as kg DM by offer id."""
        return self.fixed + sum(self.per_kg_dm.get(name, 0.0) * kg for name, kg in kg_dm.items())

    def of_column(self, key: Key) -> float:
        """What a unit of a column brings; 0 for all but feeds."""
        if key[0] == "feed":
            return self.per_kg_dm.get(key[1], 0.0)
        return 0.0


def amounts_of(measure: Measure, block: Block, level: float | None) -> Amounts:
    """A measure of a block. level: of feeding [-], held for methane; None takes 1.

    Raises InputError for a feed without a figure for crude protein, where nitrogen is asked for.
    """
    if measure == NITROGEN:
        eaten = {offer.id: _nitrogen_g(offer) for offer in block.offers}
        return Amounts(measure, eaten, -retained_nitrogen(block.group, block.needs))
    if measure == METHANE:
        held = 1.0 if level is None else level
        gas = {offer.id: methane_of(offer.feed, held) for offer in block.offers}
        return Amounts(measure, gas, 0.0)
    share = soya_share if measure == SOYA else _is_meal
    fresh = {
        offer.id: 1000.0 / offer.feed.dm_g_per_kg * share(offer.feed)
        for offer in block.offers
        if offer.bought or measure == SOYA
    }
    return Amounts(measure, fresh, 0.0)


def _is_meal(feed: Feed) -> float:
    return float(feed.is_concentrate)


def _nitrogen_g(offer: Offer) -> float:
    """N in a kg of DM [g]; minerals without a figure bring none."""
    protein = offer.feed.value("cp_g_per_kg_dm")
    if protein is None and offer.feed.kind != "mineral":
        found = "no figure for cp_g_per_kg_dm, which nitrogen excreted needs"
        remedy = "give it for this feed (lab.csv or its analysis table), or leave nitrogen out"
        raise refused("IN210", f'feed "{offer.id}"', found, remedy)
    return (protein or 0.0) * N_PER_CP


def measures_named(names: list[str] | None) -> tuple[Measure, ...]:
    """The measures typed, each once; the usual ones where none is. Raises one InputError (IN550)
    with all that are not known.
    """
    if not names:
        return USUAL
    findings = [_unknown(name, "--less") for name in dict.fromkeys(names) if name not in MEASURES]
    if findings:
        raise InputError(findings)
    return tuple(MEASURES[name] for name in dict.fromkeys(names))


def _unknown(name: str, where: str) -> Finding:
    remedy = nearest_or(name, MEASURES, f"one of {', '.join(MEASURES)}")
    return Finding("IN550", where, f'nothing that is promised here is called "{name}"', remedy)


@dataclass(frozen=True)
class Promise:
    """At most so much of a measure [its unit a head a day; kg a head over a winter]."""

    measure: Measure
    most: float


MOST_PROMISED = 1e6


def promises_typed(typed: list[str] | None) -> tuple[Promise, ...]:
    """Promises typed as MEASURE=FIGURE. Raises one InputError (IN550, IN551) with all faults."""
    findings: list[Finding] = []
    promises: list[Promise] = []
    for text in typed or ():
        name, _, figure = text.partition("=")
        if name not in MEASURES:
            findings.append(_unknown(name, "--most"))
            continue
        most = _figure(figure)
        if most is None:
            found = f'"{text}" gives no figure from 0 to {MOST_PROMISED:g}'
            findings.append(Finding("IN551", "--most", found, "type it like soya=0 or methane=450"))
        elif any(promise.measure.name == name for promise in promises):
            remedy = "give each measure once"
            findings.append(Finding("IN551", "--most", f'"{name}" appears twice', remedy))
        else:
            promises.append(Promise(MEASURES[name], most))
    if findings:
        raise InputError(findings)
    return tuple(promises)


def _figure(text: str) -> float | None:
    try:
        figure = float(text)
    except ValueError:
        return None
    return figure if 0.0 <= figure <= MOST_PROMISED else None
