"""The sheets of the yard as pages: one a group, the same content as plain text and as an HTML file that prints on A4."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rationlp.after.yard import GroupSheet, YardSheets
from rationlp.needs.objects import DietLimit
from rationlp.read.loading import loading_figure
from rationlp.records import dataclass
from rationlp.report.html import WITHOUT_HTML, filled
from rationlp.report.tables.ration import OVER, SHORT, kept_bounds, standing, stands_of
from rationlp.report.tables.sheet import check_table, drops_table, load_table, pen_table, premix_table, yield_table
from rationlp.report.tables.table import Table, shown
from rationlp.report.terminal import CLOSING_LINE, closed, remarks_text, table_text, wrapped
from rationlp.result import SupplyLine

_BAR = 20
_ROOMY_LINES = 22


@dataclass(frozen=True)
class Page:
    """A page: who and when, what to do in a sentence, how full the tub is (share, or None), tables, sentences below.

    check: in a sentence what rounding did; good: whether every need is still met.
    """

    title: str
    lead: str
    fill: float | None
    fill_said: str
    tables: tuple[Table, ...]
    check: str
    good: bool
    notes: tuple[str, ...]

    @property
    def dense(self) -> bool:
        """So many lines that the page has to be set smaller."""
        return sum(len(table.rows) for table in self.tables) > _ROOMY_LINES


def pages(yard: YardSheets) -> Iterator[Page]:
    """A page a group that has a ration."""
    for sheet in yard.sheets:
        check, good = after_rounding(sheet)
        load = None if sheet.mix is None else sheet.mix.load
        said = ""
        if load is not None:
            said = (
                f"{100.0 * load.fill:.0f} % of {load.tub_m3:g} m3: {shown(load.volume_m3, 1)} m3 at "
                f"{load.kg_per_m3:.0f} kg/m3 ({load.density_said})"
            )
        yield Page(
            title=f"{sheet.name} ({sheet.head} head), {yard.day.isoformat()}",
            lead=_lead(sheet),
            fill=None if load is None else load.fill,
            fill_said=said,
            tables=tuple(table for table in _tables(sheet) if table.rows),
            check=check,
            good=good,
            notes=sheet.notes,
        )


def _lead(sheet: GroupSheet) -> str:
    """What the page asks for, in a sentence."""
    parts = []
    if sheet.mix is not None:
        load = sheet.mix.load
        times = "1 load" if load.loads == 1 else f"{load.loads} loads a day, each"
        parts.append(f"{times} of {load.load_kg:,.0f} kg")
        head = load.loads * _share(sheet) / sheet.head
        parts.append(f"{shown(head, 1)} kg a head a day")
    elif sheet.pen is not None:
        parts.append(f"Without a wagon: {shown(sum(line.kg for line in sheet.pen.lines), 0)} kg for the pen a day")
    if sheet.feeding.refusals:
        parts.append(f"{100.0 * sheet.feeding.refusals:.0f} % over for refusals")
    return f"{'; '.join(parts)}."


def _share(sheet: GroupSheet) -> float:
    assert sheet.mix is not None
    return next(drop.kg for drop in sheet.mix.drops if drop.group == sheet.group)


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
    """What rounding did to needs and limits, in sentences, and whether all are kept to within what weights are aimed at (1 %).

    What the ration was short of or over before it was rounded is named as well: it is not kept either.
    """
    before = {(line.quantity, line.unit): standing(line, sheet.before.needs.limits) for line in sheet.before.supply}
    limits = sheet.fed.needs.limits
    passed = []
    for line in sheet.fed.supply:
        word = standing(line, limits)
        if word in (SHORT, OVER) and word != before.get((line.quantity, line.unit)):
            passed.append((_passed_by(line, limits), line, word))
    said, good = _of_rounding(passed)
    already = _short_before(sheet)
    return (f"{said} {already}", False) if already else (said, good)


def _of_rounding(passed: list[tuple[float, SupplyLine, str]]) -> tuple[str, bool]:
    """What rounding alone did. passed: by how much [%] what was passed, and which way."""
    if not passed:
        return "After rounding the ration keeps every need and limit that it kept before.", True
    near = loading_figure("aim_straight")
    far = sorted((one for one in passed if one[0] > near), key=lambda one: -one[0])
    if not far:
        most, line, _ = max(passed, key=lambda one: one[0])
        furthest = f"most: {line.title}, {shown(most, 1, 'up')} %"
        return (
            f"After rounding every need and limit that was kept is still kept to within {near:g} % ({furthest}).",
            True,
        )
    words = {SHORT: "below its need or least", OVER: "above its most"}
    told = "; ".join(f"{line.title} {shown(by, 1)} % {words[word]}" for by, line, word in far)
    return f"After rounding: {told}. Weigh finer, or put out a little more or less.", False


def _short_before(sheet: GroupSheet) -> str:
    """What the ration itself does not keep, rounded or not, in sentences; empty where it keeps everything."""
    stands = stands_of(sheet.before)
    words = {SHORT: "Short before rounding already", OVER: "Over before rounding already"}
    return " ".join(f"{words[word]}: {', '.join(stands[word])}." for word in words if stands[word])


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


def sheets_text(yard: YardSheets, width: int) -> str:
    """All pages as plain text, a ruled line between them."""
    texts = [_page_text(page, width) for page in pages(yard)]
    texts += [wrapped(f"{one.name} ({one.head} head): no ration, so no sheet.", width) for one in yard.without]
    return f"\n\n{'=' * width}\n\n".join(texts)


def _page_text(page: Page, width: int) -> str:
    parts = [f"{wrapped(page.title, width)}\n{wrapped(page.lead, width)}"]
    if page.fill is not None:
        parts[0] += f"\n{wrapped(f'Tub {bar(page.fill)} {page.fill_said}.', width)}"
    parts += [table_text(table, width) for table in page.tables]
    parts.append(wrapped(page.check, width))
    parts.append(remarks_text(page.notes, width))
    return closed(parts, width)


def sheets_html(yard: YardSheets) -> str:
    """All pages as one HTML file that needs nothing else: no script, no picture, no font; every text of the farm escaped.

    Raises InputError (IN610) where jinja2 is not installed.
    """
    facts = {
        "farm": yard.farm.name,
        "day": yard.day.isoformat(),
        "pages": list(pages(yard)),
        "without": [f"{one.name} ({one.head} head)" for one in yard.without],
        "closing": CLOSING_LINE,
    }
    return filled("sheet.html", facts, "--html", WITHOUT_HTML)
