"""Ewes before and after tupping, wintering hoggs, protein that steps up before lambing, what a ewe
in milk may lose.
"""

from __future__ import annotations

import pytest

from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.needs import group_needs
from rationlp.needs.ewe_year import most_loss_kg
from rationlp.needs.objects import GroupNeeds
from rationlp.needs.sheep import colostrum_mp

EWE: dict[str, float | str] = {"live_weight_kg": 70.0, "lambs_carried": 2.0, "kept": "housed"}


def needs(animal_class: str = "ewe_pregnant", **facts: float | str) -> GroupNeeds:
    """The needs of one sheep, margins of 5 %."""
    group = Group("g", "g", animal_class, 1, "to_appetite", {**EWE, **facts})
    return group_needs(group, Margins(1.05, 1.05))


def me(given: GroupNeeds) -> float:
    """ME needed on a ration of 10 MJ/kg DM."""
    assert given.energy is not None
    return given.energy.required_mj(10.0 / 18.8)


def test_a_ewe_before_tupping_is_a_dry_ewe() -> None:
    """Above 147 days to lambing: 9.0 to 9.3 MJ at 70 kg (own arithmetic on AFRC 1993), 1.7–2.0 % of
    weight (NRC 1985, a).
    """
    for days in (148.0, 196.0, 300.0):
        assert me(needs(days_to_lambing=days)) == pytest.approx(9.15, abs=0.2)
        assert needs(days_to_lambing=days).forage_stage == "dry"
    assert me(needs(days_to_lambing=60.0)) > 9.6


@pytest.mark.parametrize(
    ("days", "flushed"),
    [(190.0, False), (189.0, True), (147.0, True), (126.0, True), (125.0, False)],
)
def test_thin_ewes_are_flushed_from_six_weeks_before_to_three_after_tupping(
    days: float, flushed: bool
) -> None:
    """Maintenance × 1.6 without a margin, NRC (1985) (a), and only ewes whose score says that they
    are thin.
    """
    fit, thin = (
        me(needs(days_to_lambing=days)),
        me(needs(days_to_lambing=days, condition_score=2.5)),
    )
    assert thin == pytest.approx(fit / 1.05 * 1.6 if flushed else fit)
    assert me(needs(days_to_lambing=days, condition_score=3.0)) == pytest.approx(fit)
    said = any(
        "Thin ewes around tupping" in text
        for text in needs(days_to_lambing=days, condition_score=2.5).remarks
    )
    assert said == flushed


@pytest.mark.parametrize(("day", "held"), [(-1.0, False), (0.0, True), (30.0, True), (31.0, False)])
def test_no_loss_in_the_first_month_after_tupping(day: float, held: bool) -> None:
    """A loss that the farm states is not credited from day 0 to day 30 (UK sheep pages, a), and the
    answer says so.
    """
    steady = needs(days_to_lambing=147.0 - day)
    losing = needs(days_to_lambing=147.0 - day, live_weight_change_kg_per_day=-0.05)
    assert (me(losing) == pytest.approx(me(steady))) == held
    assert any("embryos" in text for text in losing.remarks) == held


@pytest.mark.parametrize(
    ("day", "score", "allowed"),
    [
        (30.0, 3.5, False),
        (31.0, 3.5, True),
        (90.0, 4.0, True),
        (91.0, 3.5, False),
        (60.0, 3.0, False),
    ],
)
def test_fat_ewes_may_lose_half_a_score_in_middle_pregnancy(
    day: float, score: float, allowed: bool
) -> None:
    """0.05 kg a day from day 30 to day 90 at score 3.5 or more (a vet's page, 2014; a)."""
    plain = me(needs(days_to_lambing=147.0 - day))
    scored = needs(days_to_lambing=147.0 - day, condition_score=score)
    assert (me(scored) < plain - 1.0) == allowed
    assert any("half a score" in text for text in scored.remarks) == allowed


def test_protein_before_lambing_steps_up_over_weeks() -> None:
    """Twins of 70 kg, weeks 4 to 1 before: 114, 127, 142, 157 g MP in all (own arithmetic); no step
    at day 21 any more.
    """
    found = [needs(days_to_lambing=7.0 * week) for week in (4, 3, 2, 1)]
    assert [one.mp_wanted_g for one in found] == pytest.approx(
        [114.0, 127.0, 142.0, 157.0], abs=1.0
    )
    assert colostrum_mp(2, 35.0) == 0.0
    assert colostrum_mp(2, 34.0) == pytest.approx(40.0 / 35.0)
    assert colostrum_mp(2, 0.0) == colostrum_mp(2, 7.0) == pytest.approx(32.0)
    assert needs(days_to_lambing=35.0).colostrum_mp_g == 0.0


@pytest.mark.parametrize(
    ("week", "score", "most"),
    [
        (1.0, 3.0, 0.15),
        (4.0, 3.5, 0.15),
        (4.1, 3.0, 0.8 / 14.0),
        (6.0, 3.0, 0.8 / 14.0),
        (6.1, 3.0, 0.0),
        (3.0, 2.5, 0.075),
        (3.0, 2.4, 0.0),
    ],
)
def test_what_a_ewe_in_milk_may_lose(week: float, score: float, most: float) -> None:
    """Trials lost 0.12–0.27 kg a day (a); 0.15 in weeks 1–4 and 5 kg in all at score 3, half at
    2.5, nil below (c).
    """
    assert most_loss_kg({"week_of_lactation": week, "condition_score": score}) == pytest.approx(
        most
    )


def test_all_that_a_ewe_may_lose_is_five_kilos() -> None:
    """28 days at the first figure and 14 at the second; a score not stated counts as 3."""
    days = [most_loss_kg({"week_of_lactation": day / 7.0}) for day in range(1, 60)]
    assert sum(days) == pytest.approx(5.0)


def test_losing_weight_makes_milk() -> None:
    """70 kg, 3.0 kg of milk: 33.1 MJ without and 27.6 with a loss of 0.15 kg a day, margin 1.05 and
    M/D 11.5 (own arithmetic).
    """
    facts: dict[str, float | str] = {
        "lambs_suckled": 2.0,
        "week_of_lactation": 3.0,
        "flock": "lowland",
        "milk_kg_per_day": 3.0,
    }
    animal = {key: value for key, value in EWE.items() if key != "lambs_carried"}

    def required(change: float) -> float:
        group = Group(
            "g",
            "g",
            "ewe_milking",
            1,
            "to_appetite",
            {**animal, **facts, "live_weight_change_kg_per_day": change},
        )
        energy = group_needs(group, Margins(1.05, 1.05)).energy
        assert energy is not None
        return energy.required_mj(11.5 / 18.8)

    assert required(0.0) == pytest.approx(33.1, abs=0.4)
    assert required(-0.15) == pytest.approx(27.6, abs=0.4)


@pytest.mark.parametrize(
    ("gain", "column"), [(0.0, "ewe_hogg"), (0.08, "ewe_hogg"), (0.09, "lamb")]
)
def test_hoggs_that_are_wintered_have_limits_of_ewes(gain: float, column: str) -> None:
    """At 0.08 kg a day or less a ewe lamb is kept on forage; above it she is finished like a lamb
    (c).
    """
    facts = {"live_weight_kg": 38.0, "gain_kg_per_day": gain, "lambs_carried": 0.0}
    given = needs("ewe_lamb", **facts)
    assert given.limits_key == ("ewe_dry" if column == "ewe_hogg" else "lamb")
    assert any(
        limit.quantity == "forage_share" and limit.at_least == 0.6 for limit in given.limits
    ) == (column == "ewe_hogg")
    assert given.forage_stage == "hogg"


def test_needs_of_a_hogg() -> None:
    """38 kg at 0.05 kg a day: 8.1 MJ and 59 g MP (own arithmetic)."""
    group = Group(
        "g",
        "g",
        "ewe_lamb",
        1,
        "to_appetite",
        {"live_weight_kg": 38.0, "gain_kg_per_day": 0.05, "kept": "housed"},
    )
    given = group_needs(group, Margins(1.05, 1.05))
    assert given.energy is not None
    assert given.energy.required_mj(9.9 / 18.8) == pytest.approx(8.1, abs=0.15)
    assert given.mp_required_g == pytest.approx(59.0, abs=1.0)
