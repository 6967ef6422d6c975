"""The table of second opinions, from hand-made figures."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rationlp.needs.compare import OURS_AGAIN, Opinion
from rationlp.report.tables.needs import compare_table, spread
from rationlp.result import GroupRation


def test_theirs_ours_and_the_difference_stand_side_by_side(
    opinions: dict[str, tuple[Opinion, ...]], fed_well: GroupRation
) -> None:
    """42.04 beside 40 is 5.1 % more, as printed and in full."""
    table = compare_table(opinions, (fed_well.needs,))
    assert table.title == "young: other standards beside ours"
    assert table.cells()[0][:5] == [
        "maintenance, ME with margin",
        "another standard",
        "42.0",
        "40.0",
        "5.1",
    ]
    assert table.frame()["difference_percent"][0] == pytest.approx(5.1, rel=1e-12)


def test_a_figure_out_of_range_is_blank_and_never_nought(
    opinions: dict[str, tuple[Opinion, ...]], fed_well: GroupRation
) -> None:
    """Neither value nor difference; ours is still shown."""
    row = compare_table(opinions, (fed_well.needs,)).rows[1]
    assert row[2:5] == (None, 40.0, None)


def test_every_row_keeps_equation_range_source_and_status(
    opinions: dict[str, tuple[Opinion, ...]], fed_well: GroupRation
) -> None:
    """What a reader checks a figure with."""
    row = compare_table(opinions, (fed_well.needs,)).rows[0]
    assert row[5:] == ("a + b × W", "100–700 kg", "a named source", "b")


def test_several_groups_make_one_long_table_with_their_classes(
    opinions: dict[str, tuple[Opinion, ...]], fed_well: GroupRation, without: GroupRation
) -> None:
    """Group and class in front; a group without opinions has no row."""
    table = compare_table(opinions, (fed_well.needs, without.needs))
    assert [column.key for column in table.columns][:2] == ["group", "class"]
    assert [row[:2] for row in table.rows] == [("young", "growing_cattle")] * 2


def test_the_spread_is_said_in_a_sentence(opinions: dict[str, tuple[Opinion, ...]]) -> None:
    """Lowest and highest of what other standards say of maintenance; what is out of range says
    nothing.
    """
    low = replace(opinions["young"][0], difference_share=-0.02)
    assert (
        spread((*opinions["young"], low))
        == "Other standards differ from ours: maintenance by −2.0 % to +5.1 %."
    )


def test_one_standard_gives_one_figure(opinions: dict[str, tuple[Opinion, ...]]) -> None:
    """No range of a single figure."""
    assert spread(opinions["young"]) == "Other standards differ from ours: maintenance by +5.1 %."


def test_our_own_need_with_another_maintenance_is_no_other_standard(
    opinions: dict[str, tuple[Opinion, ...]],
) -> None:
    """It is said apart, with both figures."""
    own = replace(
        opinions["young"][0],
        method=OURS_AGAIN,
        quantity="whole need, ME with margin",
        equation="maintenance × 1.10; ours × 1.00",
    )
    assert spread((own,)) == "On ours, maintenance × 1.10 gives 42.0 instead of 40.0 MJ ME a day."
