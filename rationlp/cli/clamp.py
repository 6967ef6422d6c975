"""`rationlp clamp`: what is in store, and what a use does to each clamp, bag and stack of bales."""

from __future__ import annotations

from rationlp.after.cautions import store_cautions
from rationlp.after.face import StoreUse, stated_uses
from rationlp.after.lastyear import LastYear, last_year, tonnes_faults
from rationlp.cli.options import Options
from rationlp.errors import Finding, InputError, nearest_or
from rationlp.farm.farm import Farm
from rationlp.farm.feed_names import offers_meant
from rationlp.farm.store import StoreStock
from rationlp.records import dataclass
from rationlp.report.answers.farm import ClampAnswer, LastYearAnswer
from rationlp.report.stories.stores import last_year_story, stores_story
from rationlp.report.story import Story
from rationlp.stock.dry_matter import farm_stocks


@dataclass(frozen=True)
class Solved:
    """What stores hold and what a use does to them; or why one gave other tonnes last year."""

    farm: Farm
    stocks: dict[str, StoreStock]
    uses: tuple[StoreUse, ...] = ()
    difference: LastYear | None = None


def solve(read: Farm, options: Options) -> Solved:
    """What is in store, or last year's difference."""
    picked = _picked(read, options.store)
    if options.thought is not None or options.had is not None:
        named = [key for key in picked if options.store]
        return Solved(read, {}, difference=_last_year(read, named, options.thought, options.had))
    every = farm_stocks(read)
    stocks = {key: every[key] for key in picked}
    return Solved(read, stocks, stated_uses(read, stocks, options.head, options.kg_fresh))


def _last_year(farm: Farm, picked: list[str], thought: float | None, had: float | None) -> LastYear:
    """Why a store gave other tonnes. Raises InputError (IN522) for no store or no weights."""
    findings = tonnes_faults(thought, had)
    if len(picked) != 1:
        ids = ", ".join(store.id for store in farm.stores) or "none"
        trouble, remedy = f"{len(picked)} stores named", f"name one of this farm's: {ids}"
        findings.append(Finding("IN522", "--store", trouble, remedy))
    if findings or thought is None or had is None:
        raise InputError(findings)
    store = farm.store(picked[0])
    return last_year(farm, store, (thought, had))


def _picked(farm: Farm, names: list[str] | None) -> list[str]:
    """Ids of the stores asked for, in the farm's order. Raises InputError (IN507)."""
    known = [store.id for store in farm.stores]
    stores = [offer for offer in farm.offers if not offer.bought]
    picked, findings = [], []
    for name in names or ():
        fits = [name]
        if name not in known:
            fits = [offer.id for offer in offers_meant(stores, name)]
        if len(fits) == 1:
            picked += fits
            continue
        remedy = nearest_or(name, known, f"stores of this farm: {', '.join(known) or 'none'}")
        if fits:
            remedy = f"give one of {', '.join(fits)}"
        findings.append(Finding("IN507", "--store", f'no store "{name}"', remedy))
    if findings:
        raise InputError(findings)
    return [key for key in known if not names or key in picked]


def story(solved: Solved, options: Options) -> Story:
    """Stores as a story, step by step where single ones are asked for."""
    farm, stocks, uses = solved.farm, solved.stocks, solved.uses
    difference = solved.difference
    if difference is not None:
        return last_year_story(difference).of(lambda: LastYearAnswer(farm, difference))
    steps = bool(options.store)
    cautions = store_cautions(farm, stocks)
    answer = ClampAnswer(farm, tuple(stocks.values()), tuple(uses), cautions)
    return stores_story(farm, stocks, uses, cautions, steps).of(lambda: answer)
