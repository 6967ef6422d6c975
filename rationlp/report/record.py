"""The page to record on, with empty boxes beside what is planned: as plain text, as HTML."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.planned import WinterPlan
from rationlp.report.cautions import cautions_of
from rationlp.report.html import WITHOUT_HTML, filled
from rationlp.report.plan_words import short_heads, withheld_lines
from rationlp.report.story import Story, Words, always, full, in_workbook, on_screen
from rationlp.report.tables.table import Column, Table, shown
from rationlp.report.terminal import CLOSING_LINE
from rationlp.report.wording import span_words
from rationlp.yard.record import RecordFacts, StoreMark, Week

FOUND = "_found"
"""How the key of a column ends in which something is written by hand."""
BLANK = "____"
MOST_STORES, MOST_GROUPS = 6, 6
"""Stores and groups side by side on a page."""
_WEEK = (Column("week", "", "", 0), Column("day", "On"))
_ALL = (
    Column("week", "Week", "", 0),
    Column("from", "From"),
    Column("to", "To"),
    Column("kind", "Kind"),
    Column("id", "Id"),
    Column("name", "Name"),
    Column("left_t_fresh", "Left", "t fresh", 1),
    Column("moved_m", "Face moved", "m", 2),
    Column("face_left_m", "Face left", "m", 1),
    Column("bales_used", "Bales used", "", 1),
    Column("bales_left", "Bales left", "", 1),
    Column("head", "Head", "", 0),
    Column("kg_fresh_per_day", "Put out a day", "kg fresh", 0),
)


def _parts(count: int, size: int) -> Iterator[slice]:
    yield from (slice(start, start + size) for start in range(0, count, size))


def store_marks_tables(weeks: Sequence[Week]) -> list[Table]:
    """What should be left of each store after each week, how far its face moved; boxes."""
    if not weeks:
        return []
    return [_stores(weeks, part) for part in _parts(len(weeks[0].stores), MOST_STORES)]


def _stores(weeks: Sequence[Week], part: slice) -> Table:
    columns = list(_WEEK)
    for planned in weeks[0].stores[part]:
        columns += [
            Column(planned.store, planned.name),
            _to_fill(planned.store, _to_write(planned)),
        ]
    rows = []
    for week in weeks:
        cells = [
            cell
            for store in week.stores[part]
            for cell in (store_words(store), _box(_to_write(store)))
        ]
        rows.append((week.week, week.last.isoformat(), *cells))
    note = (
        "t, bales: left to eat on that day, tonnes as they lie; m: how far the face should "
        "have gone back in the week that ends then."
    )
    return Table(
        "record_stores", "Stores: planned, and what you find", tuple(columns), tuple(rows), (note,)
    )


def store_words(mark: StoreMark) -> str:
    """What is planned of a store at the end of a week: left, and the face's step in it."""
    sentence = f"{shown(mark.left_t_fresh, 0)} t"
    if mark.moved_m is not None:
        return f"{sentence} {shown(mark.moved_m, 1)} m"
    if mark.bales_left is not None:
        return f"{shown(mark.bales_left, 0)} bales"
    return sentence


def _to_fill(key: str, title: str) -> Column:
    """A column that is written by hand."""
    return Column(f"{key}{FOUND}", title, full=True)


def _to_write(mark: StoreMark) -> str:
    if mark.moved_m is not None:
        return "m back/DM %"
    if mark.bales_left is not None:
        return "bales left"
    return "t left"


def group_marks_tables(farm: Farm, weeks: Sequence[Week]) -> list[Table]:
    """Head and kg put out a day for each group in each week, with boxes."""
    fed = {mark.group for week in weeks for mark in week.groups}
    groups = [group for group in farm.groups if group.id in fed]
    tables = []
    for part in _parts(len(groups), MOST_GROUPS):
        columns = list(_WEEK)
        for group in groups[part]:
            columns += [Column(group.id, group.name), _to_fill(group.id, _group_writes(group))]
        rows = []
        for week in weeks:
            marks = {mark.group: mark for mark in week.groups}
            cells: list[str] = []
            for group in groups[part]:
                mark = marks.get(group.id)
                if mark is None:
                    cells += ["", ""]
                else:
                    planned = f"{mark.head} × {shown(mark.kg_fresh / mark.head, 1)}"
                    cells += [planned, _box(_group_writes(group))]
            rows.append((week.week, week.first.isoformat(), *cells))
        note = (
            "Head × kg put out a head a day, everything together, waste at the trough included;"
            " left kg: swept out of the trough that day."
        )
        title = "Groups: planned from this day, and what you find"
        tables.append(Table("record_groups", title, tuple(columns), tuple(rows), (note,)))
    return tables


def _group_writes(group: Group) -> str:
    return f"head/left kg/{weighed_word(group)}"


def _box(written: str) -> str:
    """Room to write in, as many places as are asked for."""
    return "/".join(BLANK for _ in written.split("/"))


def record_table(weeks: Sequence[Week]) -> Table:
    """Every mark in one long table, a row a store and a group of each week."""
    rows: list[tuple[object, ...]] = []
    for week in weeks:
        head = (week.week, week.first.isoformat(), week.last.isoformat())
        rows += [
            (*head, "store", store.store, store.name, *_left_of(store), None, None)
            for store in week.stores
        ]
        rows += [
            (*head, "group", group.group, group.name, *(None,) * 5, group.head, group.kg_fresh)
            for group in week.groups
        ]
    return Table("record", "What is planned, week by week", _ALL, tuple(rows))


def _left_of(store: StoreMark) -> tuple[float | None, ...]:
    face = store.moved_m, store.face_left_m
    return (store.left_t_fresh, *face, store.bales_used, store.bales_left)


def weighed_word(group: Group) -> str:
    """What is written beside head and refusals: milk, weight of what grows, or condition."""
    if traits(group.animal_class).parlour:
        return "milk"
    if "gain_kg_per_day" in group.facts:
        return "weight"
    return "condition"


WEEKS_A_PAGE, WEEKS_OF_MANY = 8, 4
"""Weeks on a page, and where stores or groups need two tables."""


def _title(weeks: Sequence[Week]) -> str:
    return f"To check and write down, {span_words(weeks[0].first, weeks[-1].last)}"


def _tables(plan: WinterPlan, weeks: Sequence[Week]) -> list[Table]:
    return [*store_marks_tables(weeks), *group_marks_tables(plan.farm, weeks)]


def _pages(plan: WinterPlan, weeks: Sequence[Week]) -> Iterator[Sequence[Week]]:
    step = WEEKS_A_PAGE
    if len(_tables(plan, weeks)) > 2:
        step = WEEKS_OF_MANY
    yield from (weeks[part] for part in _parts(len(weeks), step))


def rules_of(facts: RecordFacts) -> tuple[str, ...]:
    """What a difference means; where somebody goes short, who and of what stands first."""
    return (*_first_rules(facts.plan), *facts.rules)


def record_story(facts: RecordFacts) -> Story:
    """The page as a story; what is written by hand has its boxes with --full and in HTML."""
    plan, weeks = facts.plan, facts.weeks
    meaning = "What a difference means"
    parts = (
        *on_screen(always(Words((plan.farm.name, _title(weeks))), *_tables(plan, weeks))),
        *in_workbook(record_table(weeks)),
        *on_screen(always(cautions_of(facts.cautions))),
        *on_screen(always(Words(_first_rules(plan), dashes=True))),
        *on_screen(full(Words(facts.rules, meaning, dashes=True))),
    )
    return Story(
        "record",
        parts,
        lambda: record_table(weeks),
        lambda: record_html(facts),
        (plan.farm.start, plan.farm.turnout),
        plan.exit_code,
        "With boxes to write in, and what a difference means: `--full`, or --html FILE to print.",
    )


def _first_rules(plan: WinterPlan) -> tuple[str, ...]:
    """Who goes short and of what, where somebody does."""
    return (*plan.carried, *short_heads(plan), *withheld_lines(plan))


def record_html(facts: RecordFacts) -> str:
    """Pages of eight weeks as one HTML file that needs nothing else; every text of the farm
    escaped.

    Raises InputError (IN610) where jinja2 is not installed.
    """
    plan, weeks = facts.plan, facts.weeks
    filling = {
        "farm": plan.farm.name,
        "found": FOUND,
        "blank": BLANK,
        "pages": [
            {"title": _title(part), "tables": _tables(plan, part)} for part in _pages(plan, weeks)
        ],
        "rules": rules_of(facts),
        "cautions": cautions_of(facts.cautions).lines,
        "closing": CLOSING_LINE,
    }
    return filled("record.html", filling, "--html", WITHOUT_HTML)
