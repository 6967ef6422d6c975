"""What a person who feeds animals would remark on a ration: limits passed, signs of practice that
show, feeds that were filled. Rows of the model keep the signs that a solve could break; the others
are checked here on each answer and said in a sentence. All thresholds are common practice, no
source (c), unless the sentence names one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import inf

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import is_silage
from rationlp.farm.group import AFRC
from rationlp.farm.traits import traits
from rationlp.model.believable import unusual_words
from rationlp.model.dairy_words import dairy_sentences
from rationlp.model.lines import Eaten
from rationlp.model.mineral_words import mineral_sentences
from rationlp.model.passed import PASSED, passed_sentences
from rationlp.model.rows.animal import protein_short
from rationlp.model.rows.block import Block
from rationlp.model.rows.rumen import rumen_share
from rationlp.needs import expected_gain
from rationlp.needs.honest_gain import GAIN_GIVE_OR_TAKE_KG
from rationlp.needs.minerals import COPPER
from rationlp.needs.standards import STANDARDS
from rationlp.quantities import fresh_from_dm, quantities
from rationlp.result import GroupRation
from rationlp.rules.limits import practice_figure

MEALS_A_DAY = 2
RUMEN_SAID_BELOW = 0.90
"""ERDP/(y · FME) below which it is said; AFRC (1993) wants 1 (b); common practice (c)."""
EXPECTED_GAIN_FACTORS = (1.00, 1.10)
EXPECTED_GAIN_FACTORS_SHEEP = (1.00, 1.15)
HIGH_MILK_KG = 25.0 * 1.03
LATE_DAYS = 56.0
FORAGE_ME_APART = 0.2
SILAGE_ALONE_FROM_KG, SILAGE_ALONE_GAIN_KG = 450.0, 0.5
MAGNESITE_TO_MENTION_G = 50.0
CLAMP_SILAGE_DM, WEANLINGS_BELOW_KG, WEANLING_SHARE = 280.0, 300.0, 2.0 / 3.0
"""Dry matter of ordinary clamp silage [g/kg] (c); weanlings need 8-10 kg of it where stores need
12-15 (farming press, (a)).
"""
_PRICE_TO_MENTION = 5e-4
_PROTEIN_TO_MENTION_G = 0.5
PROTECTED = ("soya_protected", "rapeseed_protected")
PASSES_RUMEN = (*PROTECTED, "soya_meal_48", "soya_meal_44")
BROKEN_DOWN_QUICKLY = ("rapeseed_meal_extracted", "field_beans", "peas", "lupins", "sunflower_meal")


def sentences(block: Block, over_mj: float, eaten: Eaten) -> list[str]:
    """Everything there is to say about a ration, in a fixed order; empty when there is nothing."""
    return [
        *_nothing_needed(eaten),
        *_unusual(block, eaten),
        *_over_energy(block, over_mj, eaten),
        *_protein_short(block, eaten),
        *_rumen(block, eaten),
        *_appetite(block, eaten),
        *passed_sentences(block, eaten),
        *_meals(block, eaten),
        *dairy_sentences(block, eaten),
        *_dry(block, eaten),
        *_minerals(block, eaten),
        *mineral_sentences(block, eaten.amounts),
        *_one_of_a_kind(block, eaten),
        *_filled(block, eaten),
        *_gain(block, eaten),
        *_silage_alone(block, eaten),
        *_short_of_silage(block, eaten),
        *_much_magnesite(block, eaten),
        *_guessed_copper(block, eaten),
    ]


def better_forage_below(farm: Farm, groups: Sequence[GroupRation]) -> dict[str, str]:
    """Groups of low need whose forage is richer than that of a group of high need, while a leaner
    one is on the farm: a sentence by group id.
    """
    feeds = {offer.id: offer.feed for offer in farm.offers}
    richness = {group.group: _forage_me(group, feeds) for group in groups}
    high = [(group.name, richness[group.group]) for group in groups if _is_high(farm, group.group)]
    said = {}
    for group in groups:
        own = richness[group.group]
        if own is None or not traits(group.needs.animal_class).low_need:
            continue
        poorer = [name for name, me in high if me is not None and own > me + FORAGE_ME_APART]
        forages = (offer for offer in farm.offers if offer.feed.kind == "forage")
        leaner = [
            offer.name for offer in forages if (offer.feed.value("me_mj_per_kg_dm") or inf) < own
        ]
        if poorer and leaner:
            said[group.group] = (
                f"Its forage has {own:.1f} MJ/kg DM, more than that of {poorer[0]}, while"
                f" {leaner[0]} is on the farm: compare the two ways round at equal feed cost (stock"
                " life and clamp order may be the reason)."
            )
    return said


def _forage_me(group: GroupRation, feeds: Mapping[str, Feed]) -> float | None:
    """Mean ME of the forage and straw eaten [MJ/kg DM]; None where there is none."""
    forages = [(feeds[amount.offer], amount.kg_dm) for amount in group.amounts]
    known = [(feed.value("me_mj_per_kg_dm"), kg) for feed, kg in forages if feed.is_forage]
    total = sum(kg for me, kg in known if me is not None)
    if total > 0.0:
        return sum((me or 0.0) * kg for me, kg in known) / total
    return None


def _is_high(farm: Farm, group_id: str) -> bool:
    group = next(group for group in farm.groups if group.id == group_id)
    if traits(group.animal_class).parlour:
        return group.number("milk_kg_per_day") > HIGH_MILK_KG
    if group.animal_class == "ewe_pregnant":
        return group.number("lambs_carried") >= 2.0 and group.number("days_to_lambing") <= LATE_DAYS
    return traits(group.animal_class).high_need


def _unusual(block: Block, eaten: Eaten) -> Iterator[str]:
    """Figures outside the usual ranges of the class; none for a group that states its own needs."""
    fed = {offer.id: (offer.feed, kg) for offer, kg in block.fed(eaten.amounts)}
    return unusual_words(block.needs.believability, fed, block.needs.live_weight_kg)


def _nothing_needed(eaten: Eaten) -> Iterator[str]:
    if eaten.supply.dm_kg <= 0.0:
        yield "By the figures stated it needs nothing, so nothing is fed: give it an at_least."


def _over_energy(block: Block, over_mj: float, eaten: Eaten) -> Iterator[str]:
    if over_mj > 1e-6 * max(eaten.supply.me_mj, 1.0):
        multiple = 100 * (block.needs.energy_ceiling or 1.0)
        yield (
            f"Energy is {over_mj:.1f} MJ a head a day above {multiple:.0f} % of the need: fed to"
            " appetite on these feeds the group gains condition. More straw, or a rationed group,"
            " would hold it."
        )


def _protein_short(block: Block, eaten: Eaten) -> Iterator[str]:
    """Protein short for wool, for the last of milk or gain, and for udder and colostrum in the last
    five weeks before lambing.
    """
    needs = block.needs
    standard = STANDARDS[needs.standard].title
    passing = _of_these(block, PASSES_RUMEN)
    short = protein_short(block, eaten.supply.mp_g)
    if short.wool > _PROTEIN_TO_MENTION_G:
        yield (
            f"Protein for wool is {short.wool:.0f} g MP a head a day short of the"
            f" {needs.wool_wanted_g:.0f} g of {standard}: wool gives way first, and no feed is"
            " bought for it alone (common practice)."
        )
    if short.last > _PROTEIN_TO_MENTION_G:
        produce, slower = "milk", "lambs may grow a little slower"
        if traits(needs.animal_class).growing:
            produce, slower = "gain", "they may grow a little slower"
        if needs.milker is not None:
            yield (
                f"Protein for milk is {short.last:.0f} g MP a head a day short of {standard}, more"
                " than these feeds can bring so soon after calving: it comes from her back, or the"
                " milk lacks it. A feed whose protein is protected from the rumen would bring"
                f" it{_of_these(block, PROTECTED)}."
            )
            return
        yield (
            f"Protein for {produce} is {short.last:.0f} g MP a head a day short of {standard},"
            f" which asks for more than ordinary rations of such animals bring: {slower}. A feed"
            f" whose protein passes the rumen, in place of cereal, would bring it{passing}."
        )
    if short.colostrum > _PROTEIN_TO_MENTION_G:
        yield (
            f"Protein for udder and colostrum is {short.colostrum:.0f} g MP a head a day short of"
            f" the {needs.colostrum_mp_g:.0f} g wanted in the last five weeks (common practice): a"
            f" feed whose protein passes the rumen would bring it{passing}."
        )


def _rumen(block: Block, eaten: Eaten) -> Iterator[str]:
    """Too little degradable protein for the energy that the rumen's microbes have."""
    if block.needs.mp_g is None:
        return
    share = rumen_share(eaten.supply)
    if share is not None and share < RUMEN_SAID_BELOW:
        yield (
            f"The rumen is short of protein: its microbes get {100 * share:.0f} % of what they"
            " could use, and the forage will not give its full energy. A feed whose protein is"
            f" broken down quickly would mend it{_of_these(block, BROKEN_DOWN_QUICKLY)}."
        )


def _of_these(block: Block, keys: Iterable[str]) -> str:
    """The first of these feeds that the group may have, by name; or that it has none of them."""
    at_hand = {offer.feed.key: offer.name for offer in reversed(block.offers)}
    named = next((at_hand[key] for key in keys if key in at_hand), None)
    if named is None:
        return "; none of them is at hand"
    return f": {named}, of what is at hand"


def _appetite(block: Block, eaten: Eaten) -> Iterator[str]:
    """What filling a group fed to appetite costs, where the floor of appetite binds."""
    price = eaten.duals.get(block.key("appetite"), 0.0)
    needs = block.needs
    if price <= _PRICE_TO_MENTION:
        return
    least = f"{100 * (needs.appetite_floor_share or 0.0):.0f} % of what it can eat"
    if needs.appetite_floor_kg_dm is not None:
        least = f"{needs.appetite_floor_kg_dm:.1f} kg DM"
    yield (
        f"Fed to appetite, the group is filled to at least {least} (common practice): the last kg"
        f" of dry matter costs {price:.3f} a head a day; a rationed group would not need it, but"
        " all must be able to eat at once."
    )


def _concentrate_fresh(block: Block, eaten: Eaten) -> float:
    fed = [(offer.feed, kg) for offer, kg in block.fed(eaten.amounts)]
    return sum(fresh_from_dm(kg, feed.dm_g_per_kg) for feed, kg in fed if feed.is_concentrate)


def _meals(block: Block, eaten: Eaten) -> Iterator[str]:
    """Meals that no animal can clear, and concentrate out of proportion to the milk."""
    meal = practice_figure(block.needs.limits_key, "meal_most_kg_fresh")
    concentrate = _concentrate_fresh(block, eaten)
    if meal is not None and concentrate > meal * MEALS_A_DAY * PASSED:
        meals = -(-concentrate // meal)
        yield (
            f"{concentrate:.1f} kg of concentrates is more than {MEALS_A_DAY} meals of {meal:g} kg:"
            f" give it in a mix, or in {meals:.0f} meals (common practice)."
        )
    most = practice_figure(block.needs.limits_key, "concentrate_most_per_litre")
    if most is not None and traits(block.group.animal_class).parlour:
        litres = block.group.number("milk_kg_per_day") / 1.03
        if concentrate > most * litres * PASSED:
            yield (
                f"{concentrate / litres:.2f} kg of concentrates a litre is more than {most:g}"
                " (common practice): look at the forage first."
            )


def _dry(block: Block, eaten: Eaten) -> Iterator[str]:
    """Dry suckler cows starving on straw, or fed concentrate beside good silage."""
    if block.group.animal_class != "suckler_cow_dry" or eaten.supply.dm_kg <= 0.0:
        return
    protein = eaten.supply.cp_g / eaten.supply.dm_kg
    fed = block.fed(eaten.amounts)
    straw = sum(kg for offer, kg in fed if offer.feed.kind == "straw") / eaten.supply.dm_kg
    if protein < 80.0 or (straw > 0.70 and protein < 90.0):
        yield (
            f"Crude protein is {protein:.0f} g/kg DM with {100 * straw:.0f} % straw: too little for"
            " the rumen to use it."
        )
    silage = [
        offer.feed.value("me_mj_per_kg_dm") or 0.0
        for offer, _ in fed
        if offer.feed.kind == "forage"
    ]
    if silage and max(silage) > 10.5 and _concentrate_fresh(block, eaten) > 0.0:
        yield "Fit dry suckler cows on silage above 10.5 MJ/kg DM seldom need concentrates."


def _minerals(block: Block, eaten: Eaten) -> Iterator[str]:
    if block.needs.limits_key is None or eaten.supply.dm_kg <= 0.0:
        return
    kinds = {offer.feed.kind for offer, _ in block.fed(eaten.amounts)}
    if not kinds & {"mineral", "compound"}:
        yield (
            "No mineral feed is in this ration: offer one, and have a vet or nutritionist say which"
            " and how much."
        )


def _one_of_a_kind(block: Block, eaten: Eaten) -> Iterator[str]:
    """Three cereals, or three cuts of one crop, where one would do."""
    fed = block.fed(eaten.amounts)
    cereals = [offer.name for offer, _ in fed if offer.feed.kind == "cereal"]
    if len(cereals) >= 3:
        yield f"Three cereals in one ration ({', '.join(cereals)}): one or two would mix as well."
    cuts = [offer.name for offer, _ in fed if offer.feed.key.startswith("grass_silage")]
    if len(cuts) >= 3:
        yield (
            f"Three grass silages in one ration ({', '.join(cuts)}): each needs a face of its own."
        )


def _filled(block: Block, eaten: Eaten) -> Iterator[str]:
    """Which figures of the feeds eaten are defaults, because the tables are blank."""
    if block.needs.mp_g is None:
        return
    for offer, _ in block.fed(eaten.amounts):
        filled = [name for name, figure in offer.feed.figures.items() if figure.origin == "default"]
        titles = [quantities()[name].title for name in filled]
        if titles:
            yield (
                f"{offer.name}: no table figure for {', '.join(titles)}; the usual value for such"
                " feeds was used (common practice, no source)."
            )


def _gain(block: Block, eaten: Eaten) -> Iterator[str]:
    """The gain to expect, honest first, and what the equations as they are printed would give."""
    animals = block.needs.animal_class
    if not traits(animals).growing or eaten.supply.dm_kg <= 0.0:
        return
    supply = eaten.supply
    if block.needs.standard == AFRC and traits(animals).gain_corrected:
        honest = expected_gain(block.group, supply.me_mj, supply.dm_kg)
        printed = expected_gain(block.group, supply.me_mj, supply.dm_kg, as_published=True)
        yield (
            f"Gain to expect of this energy: {honest:.2f} kg a day, give or take"
            f" {GAIN_GIVE_OR_TAKE_KG:g}; the equations of AFRC (1993) as printed give"
            f" {printed:.2f}. Ours are put right by six published records (common practice)."
        )
        return
    if animals == "cull_cow":
        return
    on_sheep = traits(animals).sheep
    factors = EXPECTED_GAIN_FACTORS_SHEEP if on_sheep else EXPECTED_GAIN_FACTORS
    me, dm = supply.me_mj, supply.dm_kg
    plain, higher = (expected_gain(block.group, me, dm, maint_factor=factor) for factor in factors)
    # Beyond the range of the growth curve a higher maintenance can seem to help: it never does.
    higher = min(plain, higher)
    carries = (
        f"Gain that this energy would carry: {plain:.2f} kg a day by the equations, {higher:.2f}"
        f" with maintenance {100 * (factors[1] - 1):.0f} % higher"
    )
    known = STANDARDS[block.needs.standard].known_of_sheep_gain
    if not on_sheep:
        known = STANDARDS[block.needs.standard].known_of_cattle_gain
    yield f"{carries}; {known}." if known else f"{carries}."


def _silage_alone(block: Block, eaten: Eaten) -> Iterator[str]:
    """Heavy cattle asked to gain on silage alone: the records show less than our figure."""
    weight = block.needs.live_weight_kg or 0.0
    if not traits(block.needs.animal_class).gain_corrected or weight < SILAGE_ALONE_FROM_KG:
        return
    asked = float(block.group.facts.get("gain_kg_per_day", 0.0))
    if (
        asked > SILAGE_ALONE_GAIN_KG
        and _concentrate_fresh(block, eaten) < 0.25
        and eaten.supply.dm_kg > 0.0
    ):
        yield (
            f"Silage alone seldom gives cattle of {SILAGE_ALONE_FROM_KG:.0f} kg and more over"
            f" {SILAGE_ALONE_GAIN_KG:g} kg a day (published trial: 0.34): weigh them, and give"
            " concentrate if they fall behind."
        )


def _short_of_silage(block: Block, eaten: Eaten) -> Iterator[str]:
    """Very little silage as the only forage: said, never a wall."""
    least = practice_figure(block.needs.limits_key, "silage_alone_least_kg_fresh")
    fed = block.fed(eaten.amounts)
    # The printed amounts are of ordinary clamp silage: a kilo of drier bales is worth more of it.
    silage = sum(fresh_from_dm(kg, CLAMP_SILAGE_DM) for offer, kg in fed if is_silage(offer.feed))
    others = any(offer.feed.is_forage and not is_silage(offer.feed) for offer, _ in fed)
    if least is not None and (block.needs.live_weight_kg or inf) < WEANLINGS_BELOW_KG:
        least *= WEANLING_SHARE
    if least is not None and 0.0 < silage < least and not others:
        yield (
            f"Silage is the only forage, and {silage:.0f} kg a head, counted at"
            f" {CLAMP_SILAGE_DM / 10:.0f} % dry matter, is little of it: below about {least:.0f} kg"
            " animals are short of chewing (farming press). Straw or hay beside it would fill"
            " them."
        )


def _much_magnesite(block: Block, eaten: Eaten) -> Iterator[str]:
    """Calcined magnesite that cattle would leave if it were not mixed in."""
    fed = block.fed(eaten.amounts)
    grams = 1000.0 * sum(kg for offer, kg in fed if offer.feed.key == "calcined_magnesite")
    if block.needs.species == "cattle" and grams > MAGNESITE_TO_MENTION_G:
        yield (
            f"{grams:.0f} g of calcined magnesite a head is more than they like: mix it well, or"
            " give it in a mineral (common practice)."
        )


def _guessed_copper(block: Block, eaten: Eaten) -> Iterator[str]:
    """Plain minerals fed to sheep on a copper figure that is only a guess."""
    if block.needs.species != "sheep":
        return
    minerals = [offer for offer, _ in block.fed(eaten.amounts) if offer.feed.kind == "mineral"]
    guessed = []
    for offer in minerals:
        copper = offer.feed.figures.get(COPPER)
        if copper is not None and copper.origin == "table" and "guess" in copper.source:
            guessed.append(offer.name)
    if guessed:
        yield (
            f"Copper of {', '.join(guessed)} is a cautious guess: give {COPPER} from the label"
            " where there is one."
        )
