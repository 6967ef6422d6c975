"""What the people who feed are told with a sheet: about dry matter, load, hand weighing, meals."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from rationlp.farm.feed import Offer
from rationlp.quantities import by_sign
from rationlp.read.loading import loading_figure
from rationlp.yard.loads import BY_HAND, Load, place_in_load
from rationlp.yard.parlour import MILKINGS_A_DAY, Parlour
from rationlp.yard.pens import Pen

TWO_MEALS = 2


def dry_matter_words(
    planned: Iterable[Offer], percent: dict[str, float], day: date
) -> Iterator[str]:
    """On the dry matter of wet feeds: changed today, tested too long ago, never tested."""
    old, never = [], []
    for offer in planned:
        then = offer.feed.dm_g_per_kg / 10.0
        if offer.id in percent:
            yield _changed(offer.name, then, percent[offer.id])
        elif place_in_load(offer.feed) == "wet" or (
            offer.feed.is_forage and then < loading_figure("long_dry") / 10.0
        ):
            sampled = offer.feed.figures["dm_g_per_kg"].sampled
            if not sampled:
                never.append(offer.name)
            elif (day - date.fromisoformat(sampled)).days > loading_figure("dm_test_days"):
                old.append(f"{offer.name} {(day - date.fromisoformat(sampled)).days} days ago")
    again = f"more than {loading_figure('dm_test_days'):g} days; test wet feeds every week"
    if old:
        yield f"Dry matter last tested: {', '.join(old)} ({again})."
    if never:
        yield (
            f"Dry matter never tested (a figure without a date is used): {', '.join(never)}. Test"
            " wet feeds every week."
        )


def _changed(name: str, then: float, today: float) -> str:
    """One feed's dry matter [%] as planned and today."""
    share = then / today - 1.0
    word = f"{abs(100.0 * share):.1f} % {by_sign(share, 'more', 'less')} fresh weight"
    sentence = (
        f"{name} has {today:.1f} % dry matter today, {then:.1f} % in the ration: {word} for the"
        " same dry matter."
    )
    if abs(today / then - 1.0) > loading_figure("dm_drift"):
        sentence += " So large a change is more than water: have it analysed again."
    return sentence


def load_words(load: Load, loads_a_day: int | None) -> Iterator[str]:
    """On the loads: too many, too small a batch, what is weighed by hand, how near to aim."""
    if loads_a_day is not None and loads_a_day < load.loads:
        yield (
            f"{loads_a_day} a day were asked for; the tub needs {load.loads} so that none is fuller"
            " than 85 to 90 %."
        )
    least = loading_figure("least_batch")
    if load.fill < least and load.wagon == "vertical":
        advice = "mix for several groups at once"
        if load.loads > 1:
            advice += ", or fewer loads"
        yield (
            f"The load fills {100.0 * load.fill:.0f} % of the tub; below about {100.0 * least:.0f}"
            f" % a vertical mixer does not turn it (common practice): {advice}."
        )
    hand = [line.name for line in load.lines if line.by == BY_HAND]
    if hand:
        yield (
            f"Too little for the scale (least {load.least_kg:g} kg) and nothing dry to carry it:"
            f" weigh by hand and spread over the load: {', '.join(hand)}."
        )
    yield (
        f"Weigh forage to within {loading_figure('aim_forage'):g} %, others"
        f" {loading_figure('aim_straight'):g} %; mix {loading_figure('mix_minutes_low'):g} to"
        f" {loading_figure('mix_minutes_high'):g} minutes after the last feed goes in (common"
        " practice)."
    )


def urea_words(left_out: Iterable[str], by_hand: Iterable[str]) -> Iterator[str]:
    """Urea is only fed through a mixer. left_out: not mixed; by_hand: weighed by itself."""
    names = ", ".join(left_out)
    if names:
        yield (
            f"{names}: left out of this sheet. Urea needs a mixer (common practice): put out by"
            " hand it can kill. Ask for a ration without it: bar it from this group."
        )
    names = ", ".join(by_hand)
    if names:
        yield (
            f"{names}: mix it by hand with at least ten times its weight of a dry feed before it"
            " goes into the tub (common practice); never tip it in by itself."
        )


def meal_words(pen: Pen) -> Iterator[str]:
    """How many meals, and why; nothing where no concentrate is fed by the meal."""
    if pen.concentrate_kg <= 0.0:
        return
    if pen.hopper:
        yield (
            f"Concentrates: about {pen.concentrate_kg:.1f} kg a head a day from a hopper that never"
            " runs empty, straw and water always beside it (common practice)."
        )
        return
    whose = "common practice"
    if not pen.class_figure:
        whose += "; none is known for this class"
    a_meal = pen.concentrate_kg / pen.meals
    times = {1: "one meal"}.get(pen.meals, f"{pen.meals} meals")
    yield (
        f"Concentrates: {times} of {a_meal:.2f} kg a head, at most {pen.meal_most_kg:g} kg in one"
        f" ({whose})."
    )
    if pen.meals > TWO_MEALS:
        yield (
            f"{pen.meals} meals are more than two: feed them in a mix, from feeders, or choose a"
            " ration with less."
        )


def parlour_words(sheet: Parlour) -> Iterator[str]:
    """From where the parlour alone no longer does."""
    yield (
        f"Parlour: up to {sheet.meal_most_kg:g} kg a milking,"
        f" {sheet.meal_most_kg * MILKINGS_A_DAY:g} kg in two, for cows up to"
        f" {sheet.most_litres:.0f} litres; above that a third meal, or feeders with"
        f" {loading_figure('visit'):g} kg or less a visit (common practice)."
    )
