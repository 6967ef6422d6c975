"""The needs of a pen whose cows calved in different weeks: means over them, a head."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.needs.cohorts import each_cohort, mean_over
from rationlp.needs.dairy_appetite import milker_intake
from rationlp.needs.intake import intake_cap
from rationlp.needs.objects import IntakeCap, MilkerIntake, Requirement

_TERMS = ("em", "over_km", "over_kl", "over_kf", "fixed_me", "eg")


def mean_requirement(
    requirement: Callable[[Group, Margins], Requirement], group: Group, margins: Margins
) -> Requirement:
    """The requirement of the mean cow: every term of energy, and protein, is the mean over the
    cohorts; steps are those of the mean facts.
    """
    own = requirement(replace(group, cohorts=()), margins)
    if not group.cohorts:
        return own
    parts = [(share, requirement(cows, margins)) for share, cows in each_cohort(group)]
    terms = {
        name: sum(share * getattr(part.energy, name) for share, part in parts) for name in _TERMS
    }
    protein = sum(share * part.mp_g for share, part in parts)
    return replace(own, energy=replace(own.energy, **terms), mp_g=protein)


def mean_intake(group: Group) -> IntakeCap:
    """The intake cap of the mean cow. Raises InputError (IN403) for another class's equation."""
    cap = intake_cap(replace(group, cohorts=()))
    assert cap is not None
    if not group.cohorts:
        return cap

    def most(cows: Group) -> float:
        own = intake_cap(cows)
        assert own is not None
        return own.cap_kg_dm

    return replace(cap, cap_kg_dm=mean_over(group, most))


def mean_milker_intake(group: Group) -> MilkerIntake | None:
    """What the mean cow in milk eats of forage; None for other classes. Concentrate is stepped up
    as the cows' mean allows.
    """
    own = milker_intake(replace(group, cohorts=()))
    if own is None or not group.cohorts:
        return own
    parts = [
        (share, intake)
        for share, cows in each_cohort(group)
        if (intake := milker_intake(cows)) is not None
    ]
    forage = sum(share * intake.forage_kg_dm for share, intake in parts)
    fibre = sum(share * intake.forage_ndf_kg for share, intake in parts)
    stepped = [intake.concentrate_kg_dm for _, intake in parts]
    if all(most is None for most in stepped):
        return MilkerIntake(forage, fibre, None)
    held = sum(
        share * (FREE_KG_DM if most is None else most)
        for (share, _), most in zip(parts, stepped, strict=True)
    )
    return MilkerIntake(forage, fibre, held)


FREE_KG_DM = 12.0
"""Concentrate of a cow past her third week in a pen with fresher ones [kg DM a day]; (c)."""
