"""How long a store lasts: by hand, for plans and for rations that stay as they are."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from winter_plans import BED, PERIODS, TURNOUT, made_farm, made_plan, made_stock

from rationlp.after.stock import (
    Drawdown,
    RunOut,
    Spring,
    each_lasting,
    fixed_uses,
    lasting,
    plan_uses,
    spring_of,
    springs,
)
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.farm.store import Spread
from rationlp.needs.calendar import turned_out
from rationlp.planned import Period


def use(held: Spread, used: tuple[float, float] = (30.0, 30.0)) -> Drawdown:
    """A store of the two periods, 100 head for thirty days each."""
    return Drawdown("pit", "Pit", held, 0.0, 250.0, PERIODS, used, (3000.0, 3000.0))


def test_the_day_is_found_within_a_period() -> None:
    """1 t a day: 10 t last ten days, to 10 November; 45 t last forty-five; 70 t ten days past
    turnout.
    """
    assert lasting(use(Spread(10.0, 45.0, 70.0))).runs_out == RunOut(
        date(2026, 11, 11), date(2026, 12, 16), date(2027, 1, 10)
    )


def test_what_is_short_and_lost() -> None:
    """Of 60 t wanted 45 are there: 15 t short, the last 15 of the days lost to all 100 head."""
    found = lasting(use(Spread(10.0, 45.0, 70.0)))
    assert found.short_t_dm == Spread(50.0, 15.0, 0.0)
    assert found.head_days_lost.typical == pytest.approx(1500.0)
    assert found.head_days_lost.low == pytest.approx(2000.0 + 3000.0)
    assert found.head_days_lost.high == 0.0


def test_what_is_left_by_date() -> None:
    """On each first day and at turnout, never below nought; fresh at 250 g DM a kg."""
    found = lasting(use(Spread(20.0, 45.0, 70.0)))
    assert [one.on for one in found.left] == [PERIODS[0].first, PERIODS[1].first, TURNOUT]
    assert [one.t_dm.typical for one in found.left] == [45.0, 15.0, 0.0]
    assert [one.t_dm.low for one in found.left] == [20.0, 0.0, 0.0]
    assert [one.t_fresh for one in found.left] == [180.0, 60.0, 0.0]


def test_used_up_as_meant() -> None:
    """A store eaten to nothing in the first period, and not wanted after it, is short of
    nothing.
    """
    found = lasting(use(Spread(20.0, 30.0, 40.0), (30.0, 0.0)))
    assert found.runs_out == RunOut(date(2026, 11, 21), date(2026, 12, 1), None)
    assert found.short_t_dm == Spread(10.0, 0.0, 0.0)


def test_not_a_day_longer_than_turnout() -> None:
    """Exactly what is wanted: the day is turnout, rounding or not."""
    found = lasting(use(Spread(60.0 - 1e-12, 60.0, 60.0 + 1e-12)))
    assert found.runs_out == RunOut(TURNOUT, TURNOUT, TURNOUT)
    assert found.short_t_dm == Spread(0.0, 0.0, 0.0)


def test_a_store_that_lasts_for_years_has_no_day() -> None:
    """At a thousandth of the stock a day nobody counts the days."""
    assert lasting(use(Spread(500.0, 600.0, 700.0))).runs_out == RunOut(None, None, None)


def test_uses_of_a_plan() -> None:
    """All that leaves the clamp, sales included, and the head-days of those that eat of it: the
    stores are out on 16 December.
    """
    (clamp,) = plan_uses(made_plan())
    assert clamp.used_t_dm == pytest.approx((12.5, 6.75))
    assert clamp.head_days == (900.0, 600.0 + 150.0)


def test_two_forages_last_as_a_budget_says() -> None:
    """60 milkers at 8 kg DM of grass silage and 5 of maize, 20 heifers at 6 of grass, from 1
    November: 0.60 and 0.30 t DM a day, so 150 t of grass last 250 days and 60 t of maize 200; own
    arithmetic, common practice for the amounts (c).
    """
    farm = made_farm()
    cows = replace(farm.groups[0], head=60)
    heifers = replace(farm.groups[1], id="heifers", head=20, out=None)
    grass, maize = farm.stores[0], replace(farm.stores[0], id="maize", name="Maize")
    offers = (farm.offers[0], replace(farm.offers[0], id="maize"))
    farm = replace(
        farm,
        groups=(cows, heifers),
        stores=(grass, maize),
        offers=offers,
        start=date(2026, 11, 1),
        turnout=date(2027, 4, 10),
    )
    stock = made_stock()["clamp"]
    stocks = {
        "clamp": replace(stock, edible_t_dm=Spread(150.0, 150.0, 150.0), trough_loss=0.0),
        "maize": replace(stock, edible_t_dm=Spread(60.0, 60.0, 60.0), trough_loss=0.0),
    }
    fed = {"cows": {"clamp": 8.0, "maize": 5.0}, "heifers": {"clamp": 6.0}}
    found = each_lasting(fixed_uses(farm, fed, stocks))
    assert [
        (one.runs_out.typical or TURNOUT).toordinal() - farm.start.toordinal() for one in found
    ] == [250, 200]
    late = each_lasting(fixed_uses(turned_out(farm, 21), fed, stocks))
    assert [one.left[-1].t_dm.typical for one in late] == pytest.approx(
        [150.0 - 0.6 * 181, 60.0 - 0.3 * 181]
    )


def test_fixed_rations_take_out_waste_and_bedding() -> None:
    """20 head · 30 days · 9 kg/0.9 = 6 t DM; bedding 10 head · 30 days · 4 kg fresh at 250 g/kg =
    0.3 t DM.
    """
    farm = replace(
        made_farm(), beddings=(BED,), periods=tuple((one.first, one.last) for one in PERIODS)
    )
    (clamp,) = fixed_uses(farm, {"cows": {"clamp": 9.0, "meal": 2.0}}, made_stock())
    assert clamp.used_t_dm == pytest.approx((6.3, 6.15))
    assert clamp.head_days == (600.0, 600.0)


def test_fixed_rations_from_a_day() -> None:
    """From the middle of the winter only the days that are left are counted."""
    (clamp,) = fixed_uses(made_farm(), {"cows": {"clamp": 9.0}}, made_stock(), date(2026, 12, 21))
    assert sum(clamp.used_t_dm) == pytest.approx(2.0)
    assert clamp.periods[0].first == date(2026, 12, 21)


def test_a_day_outside_the_winter_is_refused() -> None:
    """Turnout is no day to begin on."""
    with pytest.raises(InputError) as trouble:
        fixed_uses(made_farm(), {}, made_stock(), TURNOUT)
    assert [finding.code for finding in trouble.value.findings] == ["IN504"]


def test_three_springs() -> None:
    """Each turnout is worked out on a farm of its own, the farm's own in the middle."""
    seen: list[date] = []

    def of(farm: Farm) -> Spring:
        seen.append(farm.turnout)
        return spring_of(replace(made_plan(), farm=farm))

    found = springs(made_farm(), of)
    assert [one.days for one in found] == [-21, 0, 21]
    assert seen == [date(2026, 12, 10), TURNOUT, date(2027, 1, 21)]
    assert [one.cost for one in found] == [1905.0] * 3


def test_a_winter_too_short_for_an_early_turnout() -> None:
    """Ten days from the start there is none three weeks earlier."""
    farm = replace(made_farm(), turnout=date(2026, 11, 11))
    assert [one.days for one in springs(farm, lambda one: Spring(0, one.turnout, ()))] == [0, 21]
    with pytest.raises(InputError):
        turned_out(farm, -21)


def test_periods_of_the_farm_give_way_to_another_turnout() -> None:
    """The last of them ends at the new turnout; those after it go."""
    farm = replace(made_farm(), periods=tuple((one.first, one.last) for one in PERIODS))
    assert turned_out(farm, 21).periods[-1] == (date(2026, 12, 1), date(2027, 1, 21))
    assert turned_out(farm, -35).periods == ((date(2026, 11, 1), date(2026, 11, 26)),)


def test_a_period_knows_its_days() -> None:
    """Thirty days in each of the hand-made periods."""
    assert [Period(0, one.first, one.last).days for one in PERIODS] == [30, 30]
