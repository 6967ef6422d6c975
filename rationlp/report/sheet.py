"""The sheets of the yard as pages, one a group, and as an HTML file that prints on A4."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rationlp.after.cautions import DEFER_LINE
from rationlp.farm.farm import Farm
from rationlp.model.passed import PassedLimit
from rationlp.model.rows.diet import FOR_SAFETY
from rationlp.needs.objects import DietLimit
from rationlp.read.loading import loading_figure
from rationlp.records import dataclass
from rationlp.report.cautions import cautions_of
from rationlp.report.html import WITHOUT_HTML, filled
from rationlp.report.story import KILLS
from rationlp.report.tables.ration import OVER, SHORT, kept_bounds, standing_in
from rationlp.report.tables.sheet import (
    check_table,
    drops_table,
    load_table,
    pen_table,
    premix_table,
    yield_table,
)
from rationlp.report.tables.table import Table, shown
from rationlp.report.terminal import CLOSING_LINE
from rationlp.report.wording import day_and_year
from rationlp.result import FedSupply, GroupRation, SupplyLine
from rationlp.yard.day_facts import SheetFacts
from rationlp.yard.loads import PremixLine
from rationlp.yard.pens import BALES, RAIL, PenLine
from rationlp.yard.sheets import GroupSheet

NOTHING_TO_DO = "Rounding moved nothing by enough to act on."
FINER = "Weigh finer, or put out a little more or less."
SHARED_OUT = (
    "This is what can be shared out, not what they need: ask before you feed it. `rationlp winter"
    " FARM` says what is short and what would be enough."
)
_BAR = 20
_ROOMY_LINES = 22
_SHORT = 0.01
"""From this share of a need on the page says first that it is not met; own choice (c)."""


@dataclass(frozen=True)
class Page:
    """A page: who and when, what to do in a sentence, how full the tub is (share, or None), tables,
    sentences below.

    weights: what goes into a load, or to the pen, in one sentence; premix: what its premix holds;
    bedding: what is strewn under them, in a sentence.
    changing: the change-over that is under way, in a sentence.
    made_from: what the amounts come
    from, in sentences.
    check: in a sentence what rounding did; good: whether every need is still met. grave: what in
    this ration can kill or maim; the page of cautions, which comes last, holds the others.
    """

    title: str
    lead: str
    fill: float | None
    fill_said: str
    tables: tuple[Table, ...]
    check: str
    good: bool
    notes: tuple[str, ...]
    grave: tuple[str, ...]
    made_from: tuple[str, ...] = ()
    weights: str = ""
    premix: str = ""
    changing: str = ""
    bedding: str = ""

    @property
    def dense(self) -> bool:
        """So many lines that the page has to be set smaller."""
        return sum(len(table.rows) for table in self.tables) > _ROOMY_LINES


def pages(facts: SheetFacts, made_from: tuple[str, ...] = ()) -> Iterator[Page]:
    """A page a group that has a ration. made_from: what the amounts come from, in sentences."""
    yard = facts.yard
    for sheet in yard.sheets:
        check, good = after_rounding(sheet)
        fill, fill_said = None, ""
        if sheet.mix is not None:
            load = sheet.mix.load
            fill = load.fill
            fill_said = (
                f"{100.0 * load.fill:.0f} % of {load.tub_m3:g} m3: {shown(load.volume_m3, 1)} m3 at"
                f" {load.kg_per_m3:.0f} kg/m3 ({load.density_said})"
            )
        yield Page(
            title=f"{sheet.name} ({sheet.head} head), {day_and_year(yard.day)}",
            lead=_lead(sheet),
            fill=fill,
            fill_said=fill_said,
            tables=tuple(table for table in _tables(sheet) if table.rows),
            check=check,
            good=good,
            notes=tuple(line for line in (_bedding(yard.farm, sheet), *sheet.notes) if line),
            grave=tuple(map(str, cautions_of(facts.of_sheets[sheet.group]).grave)),
            made_from=(*_not_enough(sheet), *made_from),
            weights=_weights(sheet),
            premix=_premix(sheet),
            bedding=_bedding(yard.farm, sheet),
            changing=yard.news.changing.get(sheet.group, ""),
        )


def _not_enough(sheet: GroupSheet) -> Iterator[str]:
    """First of all what a ration of the least shortage lacks: nobody must take it for enough."""
    short = [
        f"{line.title} {shown(line.target - line.supply, 0)} {line.unit} of {shown(line.target, 0)}"
        for line in sheet.before.supply
        if line.quantity in ("me_mj", "net_energy_mj", "mp_g")
        and line.target is not None
        and line.supply < (1.0 - _SHORT) * line.target
        and standing_in(line, sheet.before.needs) == SHORT
    ]
    if short:
        yield f"NOT ENOUGH FOR THEM: short a head a day of {', '.join(short)}. {SHARED_OUT}"


def load_line(weights: Iterable[tuple[str, str]]) -> str:
    """What goes into one load in its order, or to the pen: feed and kg; empty for nothing."""
    parts = "; ".join(f"{kg} {name}" for name, kg in weights)
    if not parts:
        return ""
    return f"In kg: {parts}."


def _premix(sheet: GroupSheet) -> str:
    """What the premix of a load holds, in a sentence; empty where there is none."""
    if sheet.mix is None or not sheet.mix.load.premix:
        return ""
    parts = "; ".join(f"{_premix_kg(line)} {line.name}" for line in sheet.mix.load.premix)
    return f"Premix, mixed by hand first, in kg: {parts}."


def _premix_kg(line: PremixLine) -> str:
    """A weight as a hand scale shows it: the carrier needs no grams."""
    return shown(line.kg, 1) if line.carrier else f"{line.kg:,g}"


def _lead(sheet: GroupSheet) -> str:
    """What the page asks for, in a sentence."""
    parts = []
    if sheet.mix is not None:
        load = sheet.mix.load
        times = "1 load"
        if load.loads != 1:
            times = f"{load.loads} loads a day, each"
        parts.append(f"{times} of {load.load_kg:,.0f} kg")
        head = load.loads * _share(sheet) / sheet.head
        parts.append(f"{shown(head, 1)} kg a head a day")
    elif sheet.pen is not None:
        parts.append(
            f"Without a wagon: {shown(sum(line.kg for line in sheet.pen.lines), 0)} kg for the pen"
            " a day"
        )
    if sheet.feeding.refusals:
        parts.append(f"{100.0 * sheet.feeding.refusals:.0f} % over for refusals")
    return f"{'; '.join(parts)}."


def _weights(sheet: GroupSheet) -> str:
    """What goes into a load in its order, or to the pen, in one sentence."""
    if sheet.mix is not None:
        return load_line((line.name, f"{line.kg:,g}") for line in sheet.mix.load.lines)
    if sheet.pen is None:
        return ""
    return load_line((line.name, shown(line.kg, pen_decimals(line))) for line in sheet.pen.lines)


def pen_decimals(line: PenLine) -> int:
    """Decimals of a weight for a pen: 45 g of a mineral are told, hay not to 100 g."""
    if line.kg >= 100.0 or (line.kg >= 10.0 and line.way in (BALES, RAIL)):
        return 0
    if line.kg >= 0.1:
        return 1
    return 3


def _bedding(farm: Farm, sheet: GroupSheet) -> str:
    """What is strewn under a group in a day, in a sentence; empty where nothing is."""
    group = next((group for group in farm.groups if group.id == sheet.group), None)
    ids = {sheet.group} if group is None else {group.id, group.origin}
    told = "; ".join(
        f"{shown(bed.kg_fresh * sheet.head, 0)} kg {farm.offer(bed.store).name}"
        for bed in farm.beddings
        if bed.group in ids
    )
    if told:
        return f"Bed them with {told} a day."
    return ""


def _share(sheet: GroupSheet) -> float:
    assert sheet.mix is not None
    return next(drop.kg for drop in sheet.mix.shared_out if drop.group == sheet.group)


def _tables(sheet: GroupSheet) -> Iterator[Table]:
    if sheet.mix is not None:
        yield premix_table(sheet.mix.load)
        yield load_table(sheet.mix)
        yield drops_table(sheet.mix)
    yield pen_table(sheet)
    if sheet.parlour is not None:
        yield yield_table(sheet.parlour)
    yield check_table(sheet)


def after_rounding(sheet: GroupSheet) -> tuple[str, bool]:
    """What rounding did to needs and limits as far as it asks for something to be done, in
    sentences, and whether nothing does; limits for safety are kept to the last gram. What was
    missed by as much before rounding is said too.
    """
    before = _passed(sheet.before, sheet.passed_before)
    after = _passed(sheet.fed, sheet.passed)
    passed = sorted(
        (past for key, past in after.items() if key not in before), key=lambda past: -past.by
    )
    far = [str(past) for past in passed if past.asks_for_action]
    sentence = NOTHING_TO_DO
    if far:
        sentence = f"After rounding: {'; '.join(far)}. {FINER}"
    already = [str(past) for past in before.values() if past.asks_for_action]
    if already:
        sentence += f" Before rounding already: {'; '.join(already)}."
    return sentence, not far


@dataclass(frozen=True)
class _Past:
    """A need or limit that is passed. by: [%]; words: on which side; safety: it is for safety."""

    title: str
    by: float
    words: str
    safety: bool

    @property
    def asks_for_action(self) -> bool:
        """Whether it is by so much, or of such a kind, that somebody should weigh otherwise."""
        if self.safety:
            return self.by > 0.0
        if self.words == _SIDES[SHORT]:
            return self.by > loading_figure("act_need")
        return self.by > loading_figure("act_limit")

    def __str__(self) -> str:
        return f"{self.title} {shown(self.by, 1, 'up')} % {self.words}"


_SIDES = {SHORT: "below its need or least", OVER: "above its most"}
_LIMIT_SIDES = {"below": "below its least", "above": "above its most"}


def _passed(
    ration: GroupRation | FedSupply, limits_passed: Iterable[PassedLimit]
) -> dict[object, _Past]:
    """Every need and limit, of nutrients and feeds, that a ration does not keep, by what it is."""
    passed: dict[object, _Past] = {}
    for line in ration.supply:
        word = standing_in(line, ration.needs)
        if word in _SIDES:
            by, safety = _passed_by(line, ration.needs.limits), line.quantity in FOR_SAFETY
            passed[line.quantity, line.unit, word] = _Past(line.title, by, _SIDES[word], safety)
    for limit in limits_passed:
        side = _LIMIT_SIDES[limit.side]
        passed[limit.key] = _Past(limit.title, 100.0 * limit.by, side, limit.safety)
    return passed


def _passed_by(line: SupplyLine, limits: Iterable[DietLimit]) -> float:
    """By how much a need or limit is passed [%], the furthest of them."""
    low, high = kept_bounds(line, limits)
    below = [100.0 * (1.0 - line.supply / bound) for bound in low if bound > 0.0]
    above = [100.0 * (line.supply / bound - 1.0) for bound in high if bound > 0.0]
    return max([*below, *above], default=0.0)


def bar(share: float) -> str:
    """A small chart of a share, filled to it: at most as long as the whole."""
    full = min(_BAR, max(0, round(_BAR * share)))
    return f"[{'#' * full}{'.' * (_BAR - full)}]"


def sheets_html(facts: SheetFacts, made_from: tuple[str, ...] = ()) -> str:
    """All pages as one HTML file that needs nothing else: no script, no picture, no font; every
    text of the farm escaped.

    Raises InputError (IN610) where jinja2 is not installed.
    """
    yard = facts.yard
    filling = {
        "farm": yard.farm.name,
        "day": f"{day_and_year(yard.day)}",
        "pages": list(pages(facts, made_from)),
        "without": [f"{group.name} ({group.head} head)" for group in yard.without],
        "kills": KILLS,
        "cautions": [
            (heading, lines) for heading, lines in cautions_of(facts.cautions).lists if lines
        ],
        "defer": DEFER_LINE,
        "closing": CLOSING_LINE,
    }
    return filled("sheet.html", filling, "--html", WITHOUT_HTML)
