"""What ewes in lamb take of silage, hay and straw: the form on paper, its ends, and what
concentrate pushes out.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from rationlp.farm.farm import Margins
from rationlp.farm.feed import Feed, Figure
from rationlp.farm.group import Group
from rationlp.needs import group_needs
from rationlp.needs.appetite import appetite_rows
from rationlp.needs.ewe_appetite import (
    LateEwe,
    filling,
    silage_alone_kg,
    silage_pushed_out,
    stage_factor,
)
from rationlp.needs.forage import USUAL_CONCENTRATE_KG_DM, forage_percent, substitution
from rationlp.read.feeds import read_feed_tables


def ewe(weeks: float, lambs: int = 2, weight: float = 100.0, stage: str = "pregnant") -> LateEwe:
    """A ewe of 100 kg, so that kg are per cent of live weight."""
    return LateEwe(weight, weeks, lambs, stage)


def feed(key: str, me: float | None = None) -> Feed:
    """A feed of the tables, with another ME where one is given."""
    plain = read_feed_tables()[key]
    if me is None:
        return plain
    return replace(plain, figures={**plain.figures, "me_mj_per_kg_dm": Figure(me, "farm", "test")})


@pytest.mark.parametrize(
    ("me", "early", "late"), [(11.5, 2.2, 1.7), (10.5, 2.0, 1.5), (9.5, 1.7, 1.3)]
)
def test_twins_take_the_shares_of_weight_worked_out_by_hand(
    me: float, early: float, late: float
) -> None:
    """Twins eight weeks and one week before lambing [% of live weight]: own arithmetic on the form
    (b), to 0.05.
    """
    assert silage_alone_kg(ewe(8.0), me) == pytest.approx(early, abs=0.05)
    assert silage_alone_kg(ewe(1.0), me) == pytest.approx(late, abs=0.05)


def test_the_form_on_paper() -> None:
    """ME 11.8535 is DMD 0.80, where quality is 1: 0.85 · 0.028 · W for a single eight weeks
    before.
    """
    assert silage_alone_kg(ewe(8.0, 1), 0.755 * 15.7) == pytest.approx(0.85 * 0.028 * 100.0)
    assert silage_alone_kg(ewe(8.0, 3), 10.5) / silage_alone_kg(ewe(8.0, 1), 10.5) == pytest.approx(
        0.92
    )
    assert silage_alone_kg(ewe(8.0, 4), 10.5) == silage_alone_kg(ewe(8.0, 3), 10.5)


def test_appetite_falls_evenly_over_seven_weeks_and_no_further() -> None:
    """1.00 at eight weeks, 0.78 at one, the same outside."""
    assert [stage_factor(weeks) for weeks in (20.0, 8.0, 4.5, 1.0, 0.0)] == pytest.approx(
        [1.0, 1.0, 0.89, 0.78, 0.78]
    )


def test_better_silage_is_pushed_out_more() -> None:
    """0.08, 0.25 and 0.40 at 9.5, 10.5 and 11.5 MJ, straight between; trials with ewes print
    0.06–0.09 and 0.25–0.60 (a).
    """
    assert [silage_pushed_out(me) for me in (8.0, 9.5, 10.0, 10.5, 11.5, 12.5)] == pytest.approx(
        [0.08, 0.08, 0.165, 0.25, 0.40, 0.40]
    )


def test_hay_and_straw_keep_their_figures() -> None:
    """Average hay 1.5 and straw 1.4 % of weight beside the usual concentrate; silage has none that
    is usual.
    """
    hay, straw = (
        filling(ewe(4.0), feed("hay_average", 9.0)),
        filling(ewe(4.0), feed("straw_barley")),
    )
    assert hay is not None
    assert straw is not None
    assert (hay.most_kg, straw.most_kg) == pytest.approx((1.5, 1.4))
    usual = USUAL_CONCENTRATE_KG_DM["pregnant"]
    assert hay.without_concentrate_kg == pytest.approx(1.5 + 0.40 * usual)
    assert straw.without_concentrate_kg == pytest.approx(1.4 + 0.08 * usual)
    silage = filling(ewe(4.0), feed("grass_silage_2nd"))
    assert silage is not None
    assert silage.most_kg == silage.without_concentrate_kg
    assert filling(ewe(4.0), feed("barley")) is None


def needs(days: float, animal_class: str = "ewe_pregnant") -> object:
    """The needs of a ewe with twins so many days before lambing."""
    facts = {
        "live_weight_kg": 100.0,
        "lambs_carried": 2.0,
        "days_to_lambing": days,
        "kept": "housed",
    }
    facts |= {"gain_kg_per_day": 0.05} if animal_class == "ewe_lamb" else {}
    return group_needs(Group("g", "g", animal_class, 1, "to_appetite", facts), Margins(1.0, 1.0))


def test_the_rows_of_a_silage() -> None:
    """Σ x/F ≤ 1 and Σ x/F + r/F · C ≤ 1: with 0.5 kg of concentrate she takes F − r/2 of the
    silage.
    """
    silage, rolls = feed("grass_silage_2nd", 10.5), feed("ewe_rolls_18")
    alone, beside = appetite_rows(needs(28.0), (silage, rolls))  # type: ignore[arg-type]
    most = silage_alone_kg(ewe(4.0), 10.5)
    assert alone.weights == pytest.approx((1.0 / most, 0.0))
    left = (beside.most - 0.5 * beside.weights[1]) / beside.weights[0]
    assert left == pytest.approx(most - 0.25 * 0.5)


def test_the_rule_is_for_the_last_eight_weeks_of_ewes_and_ewe_lambs() -> None:
    """57 days before the figures of dry ewes hold."""
    assert needs(56.0).late_ewe is not None  # type: ignore[attr-defined]
    assert needs(57.0).late_ewe is None  # type: ignore[attr-defined]
    assert needs(30.0, "ewe_lamb").late_ewe is not None  # type: ignore[attr-defined]


def test_ewes_before_the_last_eight_weeks_give_way_to_concentrate_above_the_usual() -> None:
    """A dry ewe of 70 kg with 0.3 kg of concentrate, the usual, takes all that she takes of hay;
    each kg above pushes out its share.
    """
    hay, barley = feed("hay_average", 9.0), feed("barley")
    facts: dict[str, float | str] = {"live_weight_kg": 70.0, "kept": "housed"}
    dry = group_needs(Group("g", "g", "ewe_dry", 1, "to_appetite", facts), Margins(1.0, 1.0))
    alone, beside = appetite_rows(dry, (hay, barley))
    most = forage_percent("dry", hay) * 0.7
    assert 1.0 < most < 1.6
    assert alone.weights == pytest.approx((1.0 / most, 0.0))
    usual = USUAL_CONCENTRATE_KG_DM["dry"]
    kept = [(beside.most - c * beside.weights[1]) / beside.weights[0] for c in (usual, usual + 1.0)]
    assert kept == pytest.approx([most, most - substitution(hay)])


def test_what_dry_ewes_and_hoggs_take_of_poor_hay() -> None:
    """A fifth less than of average hay: 1.2 % of her weight by the levy board, from memory, 1.45 of
    a hogg (common practice); average hay of 8 to 9 MJ 1.5 and 1.8 %.
    """
    poor, average = read_feed_tables()["hay_poor"], read_feed_tables()["hay_average"]
    assert forage_percent("dry", poor) == pytest.approx(1.2)
    assert forage_percent("hogg", poor) == pytest.approx(1.45)
    assert forage_percent("dry", average) == pytest.approx(1.5, abs=0.05)
    assert forage_percent("hogg", average) == pytest.approx(1.8, abs=0.05)
