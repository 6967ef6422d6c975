"""One load of a mixer wagon: what goes in, in which order, to what the scale then shows, and how
many loads.

Weights are rounded to what can be weighed without moving the total of the load; what is too little
for the scale goes into a premix with a dry carrier. Figures are those of feeds/loading.csv.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, floor

from rationlp.farm.feed import Feed, Offer
from rationlp.farm.feed_table import is_long_forage
from rationlp.farm.group import Feeding
from rationlp.quantities import dm_from_fresh
from rationlp.read.loading import loading_figure
from rationlp.records import dataclass

BY_SCALE, BY_HAND = "scale", "hand"
_HAIR = 1e-9
_ROUNDS = 20
_ORDER = {
    "vertical": ("dry forage", "straight", "premix", "wet", "liquid"),
    "horizontal": ("straight", "premix", "dry forage", "wet", "liquid"),
}
"""Vertical tub: long dry forage, then heavier dry straights, wet and dense forage, liquids last;
horizontal: grain first is usual (US cattle magazine on loading mixer wagons, a). The rest of the
horizontal order is common practice, no source (c).
"""


@dataclass(frozen=True)
class LoadLine:
    """One thing that goes into the tub. offer: its id, empty for the premix. wanted_kg: as the
    ration has it; kg: to be weighed;
    scale_kg: what a scale that is not set back then shows [kg fresh]. by: weighed by the wagon's
    `scale`, or by `hand`.
    """

    offer: str
    name: str
    wanted_kg: float
    kg: float
    scale_kg: float
    by: str


@dataclass(frozen=True)
class PremixLine:
    """One feed of the premix of a load [kg fresh], weighed by hand. carrier: it is there to carry
    the others.
    bag_loads: loads that a bag lasts, of feeds that come in bags, else None.
    """

    offer: str
    name: str
    kg: float
    carrier: bool
    bag_loads: float | None


@dataclass(frozen=True)
class Load:
    """Loads of a day, all alike. load_kg: of one [kg fresh]; volume_m3 at kg_per_m3, density_said:
    where that is from;
    fill: share of the tub. least_kg: least that the scale weighs. loads_needed: fewest that fit,
    where the farm asked for fewer.
    """

    wagon: str
    loads: int
    loads_needed: int
    load_kg: float
    wanted_kg: float
    kg_per_m3: float
    density_said: str
    tub_m3: float
    least_kg: float
    lines: tuple[LoadLine, ...]
    premix: tuple[PremixLine, ...]

    @property
    def volume_m3(self) -> float:
        """Room that a load takes [m3]."""
        return self.load_kg / self.kg_per_m3

    @property
    def fill(self) -> float:
        """Share of the tub that a load fills."""
        return self.volume_m3 / self.tub_m3

    def kg_of(self, offer: str) -> float:
        """kg fresh of a feed in one load, its part of the premix included."""
        lines = sum(line.kg for line in self.lines if line.offer == offer)
        return lines + sum(line.kg for line in self.premix if line.offer == offer)


@dataclass(frozen=True)
class _Part:
    """A feed of the load before rounding."""

    offer: Offer
    kg: float

    def dosed(self, share: float) -> _Part:
        """The same feed, a dose of it at a share of its weight."""
        if not is_dosed(self.offer.feed):
            return self
        return _Part(self.offer, self.kg * share)

    @property
    def place(self) -> str:
        return place_in_load(self.offer.feed)


def place_in_load(feed: Feed) -> str:
    """Where in the load a feed goes: `dry forage`, `straight`, `wet` or `liquid`."""
    if feed.kind == "liquid":
        return "liquid"
    dry = feed.dm_g_per_kg >= loading_figure("long_dry")
    if feed.is_forage and (dry or is_long_forage(feed)):
        return "dry forage"
    if dry:
        return "straight"
    return "wet"


def keep_total(wanted: Sequence[float], steps: Sequence[float]) -> tuple[float, ...]:
    """Each weight [kg] rounded to a multiple of its step, up or down, so that the total moves as
    little as it can.

    The method of the largest remainder: of all ways that come nearest to the total, the one in
    which weights move least for their step (least sum of squares). With one step for all it raises
    those with the largest remainders.
    """
    lows = [floor(kg / step + _HAIR) * step for kg, step in zip(wanted, steps, strict=True)]
    ways: dict[float, tuple[float, tuple[float, ...]]] = {0.0: (0.0, ())}
    for kg, low, step in zip(wanted, lows, steps, strict=True):
        over = max(0.0, (kg - low) / step)
        longer: dict[float, tuple[float, tuple[float, ...]]] = {}
        for raised, (moved, chosen) in ways.items():
            for add, cost in ((0.0, over**2), (step, (1.0 - over) ** 2)):
                key = round(raised + add, 6)
                if key not in longer or moved + cost < longer[key][0]:
                    longer[key] = (moved + cost, (*chosen, low + add))
        ways = longer
    spare = sum(wanted) - sum(lows)
    best = min(ways, key=lambda raised: (round(abs(raised - spare), 6), ways[raised][0]))
    return tuple(round(kg, 6) for kg in ways[best][1])


def step_kg(feed: Feed, division_kg: float) -> float:
    """Rounding of a weighing [kg]: forage 10, others 5, in divisions of the scale."""
    coarse = loading_figure("step_straight")
    if feed.is_forage or feed.kind == "root":
        coarse = loading_figure("step_forage")
    return division_kg * ceil(coarse / division_kg - _HAIR)


def least_weighed(feeding: Feeding) -> float:
    """Least the wagon's scale weighs [kg]: five divisions, 20 at least (common practice, c)."""
    return max(
        loading_figure("least_divisions") * feeding.scale_division_kg,
        loading_figure("least_weighed"),
    )


def hand_kg(kg: float) -> float:
    """A weight as a hand scale has it [kg]: to 10 g below 1 kg, to 100 g above."""
    if kg < 1.0:
        return round(kg, 2)
    return round(kg, 1)


def is_dosed(feed: Feed) -> bool:
    """True for urea and minerals: too much can harm, so their weights are rounded down."""
    return feed.kind in ("npn", "mineral")


def dose_kg(kg: float) -> float:
    """A weight rounded down to a hand scale's [kg]: 1 g below 100 g, 10 g below 10 kg."""
    places = 1
    if kg < 0.1:
        places = 3
    elif kg < 10.0:
        places = 2
    step = 10.0**-places
    return round(floor(kg / step + _HAIR) * step, places)


def hand_weight(feed: Feed, kg: float) -> float:
    """What is weighed by hand of a feed [kg]: doses rounded down, all else to the nearest."""
    if is_dosed(feed):
        return dose_kg(kg)
    return hand_kg(kg)


def mix_density(
    kg_fresh: Mapping[str, float], offers: Mapping[str, Offer], feeding: Feeding
) -> tuple[float, str]:
    """Weight of the mix [kg/m3] and whence: stated, or 200 with straw, 400 wet, 300 (c)."""
    if feeding.mix_kg_per_m3 is not None:
        return feeding.mix_kg_per_m3, "the farm's own figure"
    dm = {key: dm_from_fresh(kg, offers[key].feed.dm_g_per_kg) for key, kg in kg_fresh.items()}
    long = sum(kg for key, kg in dm.items() if place_in_load(offers[key].feed) == "dry forage")
    if long / sum(dm.values()) >= loading_figure("straw_rich_share"):
        return loading_figure("straw_rich_density"), "usual for much straw, hay or bales"
    if 1000.0 * sum(dm.values()) / sum(kg_fresh.values()) < loading_figure("wet_mix_dm"):
        return loading_figure("wet_mix_density"), "usual for wet silage"
    low, high = loading_figure("mix_density_low"), loading_figure("mix_density_high")
    return loading_figure("mix_density"), f"usual {low:g}–{high:g}"


def loads_of(
    kg_fresh: Mapping[str, float], offers: Mapping[str, Offer], feeding: Feeding
) -> tuple[int, int]:
    """Loads of a day, as many as leave none too full. Takes what `make_load` does."""
    assert feeding.tub_m3 is not None
    density, _ = mix_density(kg_fresh, offers, feeding)
    usable = (
        feeding.tub_m3 * (loading_figure("tub_fill_low") + loading_figure("tub_fill_high")) / 2.0
    )
    needed = max(1, ceil(sum(kg_fresh.values()) / density / usable - _HAIR))
    return max(needed, feeding.loads_per_day or 1), needed


def make_load(kg_fresh: Mapping[str, float], offers: Mapping[str, Offer], feeding: Feeding) -> Load:
    """The loads of a day for a farm with a wagon and a tub.

    kg_fresh: by offer id, to be mixed in a day [kg fresh]; offers: by id, with today's dry matter.
    As many loads as the farm says, or as few as leave none fuller than 85 to 90 % of the tub.
    """
    assert feeding.tub_m3 is not None
    density, source = mix_density(kg_fresh, offers, feeding)
    loads, needed = loads_of(kg_fresh, offers, feeding)
    parts = [_Part(offers[key], kg / loads) for key, kg in kg_fresh.items() if kg > 0.0]
    lines, premix = _dosed_weighings(parts, feeding)
    return Load(
        wagon=feeding.wagon,
        loads=loads,
        loads_needed=needed,
        load_kg=round(sum(line.kg for line in lines), 6),
        wanted_kg=sum(part.kg for part in parts),
        kg_per_m3=density,
        density_said=source,
        tub_m3=feeding.tub_m3,
        least_kg=least_weighed(feeding),
        lines=lines,
        premix=premix,
    )


def _dosed_weighings(
    parts: Sequence[_Part], feeding: Feeding
) -> tuple[tuple[LoadLine, ...], tuple[PremixLine, ...]]:
    """The lines of a load and its premix. A load that comes out lighter than wanted gets doses
    lighter by as much, or they would be a larger share of it; that makes it lighter again, by less
    than a hand scale shows after few rounds.
    """
    weight, share = sum(part.kg for part in parts), 1.0
    for _ in range(_ROUNDS):
        dosed = [part.dosed(share) for part in parts]
        lines, premix = _weighings(dosed, feeding)
        came_out = sum(line.kg for line in lines) / weight
        if share <= came_out:
            break
        share = came_out
    return lines, premix


def _weighings(
    parts: Sequence[_Part], feeding: Feeding
) -> tuple[tuple[LoadLine, ...], tuple[PremixLine, ...]]:
    """The lines of a load in loading order, and its premix."""
    total, least = sum(part.kg for part in parts), least_weighed(feeding)
    small = [part for part in parts if _for_premix(part, total, least)]
    by_hand = [part for part in parts if part.kg < least and part not in small]
    scaled = [part for part in parts if part not in small and part not in by_hand]
    premix = _premix(small, scaled, feeding)
    taken = {line.offer: line.kg for line in premix if line.carrier}
    remaining = [_Part(part.offer, part.kg - taken.get(part.offer.id, 0.0)) for part in scaled]
    remaining = [part for part in remaining if part.offer.id not in taken or part.kg >= least]
    lines: list[tuple[str, LoadLine]] = []
    if any(line.carrier for line in premix):
        kg = sum(line.kg for line in premix)
        lines.append(("premix", LoadLine("", "Premix", kg, round(kg, 6), 0.0, BY_SCALE)))
    else:
        # Nothing dry to carry them: each is weighed by hand and spread over the load.
        by_hand, premix = [*by_hand, *small], ()
    steps = [step_kg(part.offer.feed, feeding.scale_division_kg) for part in remaining]
    for part, kg in zip(remaining, keep_total([part.kg for part in remaining], steps), strict=True):
        target = part.kg + taken.get(part.offer.id, 0.0)
        lines.append(
            (part.place, LoadLine(part.offer.id, part.offer.name, target, kg, 0.0, BY_SCALE))
        )
    for part in by_hand:
        kg = hand_weight(part.offer.feed, part.kg)
        lines.append(
            (part.place, LoadLine(part.offer.id, part.offer.name, part.kg, kg, 0.0, BY_HAND))
        )
    return _in_order(lines, feeding.wagon), premix


def _for_premix(part: _Part, load_kg: float, least: float) -> bool:
    """A dry straight that is too little for the scale, or to be spread evenly by itself; urea and
    minerals always, so that their weight is a hand scale's.
    """
    if is_dosed(part.offer.feed):
        return True
    return part.place == "straight" and (
        part.kg < least or part.kg < loading_figure("premix_share") * load_kg
    )


def _premix(
    small: Sequence[_Part], scaled: Sequence[_Part], feeding: Feeding
) -> tuple[PremixLine, ...]:
    """What is too little for the scale, and enough of the largest straight with it."""
    straights = [part for part in scaled if part.place == "straight"]
    if not small or not straights:
        return ()
    lines = [_premix_line(part) for part in sorted(small, key=lambda part: -part.kg)]
    carrier = max(straights, key=lambda part: part.kg)
    least, step = least_weighed(feeding), step_kg(carrier.offer.feed, feeding.scale_division_kg)
    premix_kg = sum(line.kg for line in lines)
    # At least as much carrier as there is to carry, and never a rest of it that could not be
    # weighed.
    whole = step * ceil(max(2.0 * premix_kg, least) / step - _HAIR)
    if carrier.kg - (whole - premix_kg) < least:
        whole = max(step * round((premix_kg + carrier.kg) / step), step * ceil(premix_kg / step))
    return (
        PremixLine(carrier.offer.id, carrier.offer.name, round(whole - premix_kg, 6), True, None),
        *lines,
    )


def _premix_line(part: _Part) -> PremixLine:
    kg = hand_weight(part.offer.feed, part.kg)
    bag = None
    if part.offer.feed.kind == "mineral" and kg > 0.0:
        bag = loading_figure("bag") / kg
    return PremixLine(part.offer.id, part.offer.name, kg, False, bag)


def _in_order(placed: Sequence[tuple[str, LoadLine]], wagon: str) -> tuple[LoadLine, ...]:
    """Lines by loading order, most first within a place, with the scale's running total."""
    order = _ORDER[wagon]
    lines, reading = [], 0.0
    for _, line in sorted(placed, key=lambda pair: (order.index(pair[0]), -pair[1].kg)):
        if line.kg > 0.0:
            reading = round(reading + line.kg, 6)
            lines.append(LoadLine(line.offer, line.name, line.wanted_kg, line.kg, reading, line.by))
    return tuple(lines)
