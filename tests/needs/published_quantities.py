"""How each quantity of the published check points is worked out with rationlp; inputs are words and
numbers by name.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from math import log
from pathlib import Path

import other_equations

from rationlp.farm.farm import Margins
from rationlp.farm.feed import Feed, Figure
from rationlp.farm.group import Group
from rationlp.needs import cattle, group_needs, intake, protein
from rationlp.needs import energy as en
from rationlp.needs.cattle_classes import growing_cattle_as_published
from rationlp.needs.objects import GroupNeeds, Requirement

PUBLISHED = Path(__file__).with_name("published")
Inputs = Mapping[str, float | str]


def rows(name: str) -> list[dict[str, str]]:
    """The rows of one file of published check points."""
    with (PUBLISHED / name).open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def parse(text: str) -> dict[str, float | str]:
    """`w=600;sex=steer` as a mapping; what reads as a number is one."""
    inputs: dict[str, float | str] = {}
    for part in text.split(";"):
        name, value = part.split("=")
        try:
            inputs[name] = float(value)
        except ValueError:
            inputs[name] = value
    return inputs


def needs_of(animal_class: str, margin: float = 1.0, **facts: float | str) -> GroupNeeds:
    """Needs of one head of an invented group of a class."""
    return group_needs(
        Group("g", "g", animal_class, 1, "to_appetite", facts), Margins(margin, margin, margin)
    )


def _q(i: Inputs) -> float:
    return en.metabolisability(float(i["me"]))


def _cow(i: Inputs, animal_class: str = "dairy_cow_milking") -> GroupNeeds:
    return needs_of(
        animal_class,
        float(i.get("margin", 1.0)),
        live_weight_kg=i["w"],
        milk_kg_per_day=i["y"],
        milk_fat_g_per_kg=i["f"],
        milk_protein_g_per_kg=i["p"],
        week_of_lactation=10.0,
        live_weight_change_kg_per_day=i.get("change", 0.0),
    )


def _dry(i: Inputs) -> GroupNeeds:
    days = cattle.GESTATION_DAYS - float(i["t"])
    return needs_of(str(i.get("cls", "dairy_cow_dry")), live_weight_kg=i["w"], days_to_calving=days)


def _growing_group(i: Inputs) -> Group:
    facts = {
        "live_weight_kg": i["w"],
        "gain_kg_per_day": i["gain"],
        "sex": i["sex"],
        "maturity": i["maturity"],
    }
    return Group("g", "g", "growing_cattle", 1, "to_appetite", facts)


def _growing(i: Inputs) -> Requirement:
    """The equations as AFRC (1993) has them, without what puts the gain right."""
    return growing_cattle_as_published(_growing_group(i), Margins(1.0, 1.0))


def _me(needs: GroupNeeds | Requirement, i: Inputs) -> float:
    assert needs.energy is not None
    return needs.energy.required_mj(_q(i))


def _step(needs: GroupNeeds, name: str) -> float:
    return next(step.value for step in needs.steps if step.name == name)


def _em(i: Inputs) -> float:
    w = float(i["w"])
    fasting = cattle.fasting_metabolism(w, float(i.get("bull", 1.0)))
    return fasting + cattle.activity(w, cattle.ACTIVITY[str(i["allowance"])].mj_per_kg)


def _fractions(i: Inputs) -> tuple[float, float, float]:
    return float(i["a"]), float(i["b"]), float(i["c"])


def _dup(i: Inputs) -> float:
    outflow = en.outflow_rate(float(i["level"]))
    return protein.digestible_udp(float(i["cp"]), _fractions(i), outflow, float(i["adin"]))


def _mcp(i: Inputs) -> float:
    return protein.microbial_cp(en.microbial_yield(float(i["level"])), float(i["fme"]), 1e9)


def _fme(i: Inputs) -> float:
    """FME by rule of a maize silage, a fermented feed that loses a tenth of its ME to the silo."""
    from rationlp.rules.blanks import complete

    figures = {
        "dm_g_per_kg": 300.0,
        "me_mj_per_kg_dm": float(i["me"]),
        "oil_g_per_kg_dm": float(i["oil"]),
    }
    protein_figures = {
        "cp_g_per_kg_dm": 85.0,
        "prot_a_fraction": 0.6,
        "prot_b_fraction": 0.3,
        "prot_c_per_h": 0.05,
    }
    known = {
        name: Figure(value, "table", "check point")
        for name, value in {**figures, **protein_figures}.items()
    }
    return (
        complete(Feed("maize_silage_typical", "Maize silage", "forage", known))
        .figures["fme_mj_per_kg_dm"]
        .value
    )


def _simplified(i: Inputs) -> float:
    energy = _growing(i).energy
    assert energy is not None
    return other_equations.growth_me_simplified(energy.em, energy.eg, _q(i))


def _fcm(i: Inputs) -> float:
    return intake.fat_corrected_milk(float(i["y"]), float(i["f"]))


def _mean_dry_me(i: Inputs, **change: float) -> float:
    return _me(_dry({**i, **change}), i)


def _milk_over_dry(i: Inputs) -> float:
    milking = _me(_cow({**i, "f": 40.0, "p": 33.0}), i)
    return 100.0 * (milking / _me(_dry(i), {"me": i["dry_me"]}) - 1.0)


def _number(i: Inputs, *names: str) -> list[float]:
    return [float(i[name]) for name in names]


QUANTITIES: dict[str, Callable[[Inputs], float]] = {
    "q": _q,
    "km": lambda i: en.km(_q(i)),
    "kl": lambda i: en.kl(_q(i)),
    "kf": lambda i: en.kf(_q(i)),
    "kg_lactating": lambda i: other_equations.kg_lactating(_q(i)),
    "fasting": lambda i: cattle.fasting_metabolism(float(i["w"]), float(i.get("bull", 1.0))),
    "em": _em,
    "mm": lambda i: _em(i) / en.km(_q(i)),
    "milk_fat_protein_lactose": lambda i: cattle.milk_energy_fat_protein_lactose(
        *_number(i, "f", "p", "la")
    ),
    "milk_fat_protein": lambda i: cattle.milk_energy_fat_protein(*_number(i, "f", "p")),
    "milk_fat": lambda i: other_equations.milk_energy_fat(float(i["f"])),
    "milk_fat_solids": lambda i: other_equations.milk_energy_fat_solids(*_number(i, "f", "snf")),
    "me_per_kg_milk": lambda i: (
        cattle.milk_energy_fat_protein(*_number(i, "f", "p")) / en.kl(_q(i))
    ),
    "cow_terms": lambda i: _cow(i).energy.terms(_q(i))[0],
    "cow_level": lambda i: _cow(i).energy.feeding_level(_q(i)),
    "cow_cl": lambda i: en.feeding_level_factor(_cow(i).energy.feeding_level(_q(i))),
    "cow_me": lambda i: _me(_cow(i), i),
    "cow_mp": lambda i: _cow(i).mp_required_g,
    "cow_gain_me": lambda i: cattle.cow_change_over_kl(1.0) / en.kl(_q(i)),
    "cow_loss_me": lambda i: -cattle.cow_change_over_kl(-1.0) / en.kl(_q(i)),
    "calf_weight": lambda i: cattle.calf_birth_weight(float(i["w"])),
    "conceptus": lambda i: cattle.conceptus_energy(float(i["t"])),
    "pregnancy_me": lambda i: cattle.pregnancy_me(*_number(i, "wc", "t")),
    "pregnancy_me_of_dam": lambda i: cattle.pregnancy_me(
        cattle.calf_birth_weight(float(i["w"])), float(i["t"])
    ),
    "dry_me": lambda i: _me(_dry(i), i),
    "dry_difference": lambda i: (
        _mean_dry_me(i, t=100.0) - _mean_dry_me(i, t=100.0, w=float(i["less"]))
    ),
    "pregnancy_percent": lambda i: 100.0 * (_me(_dry(i), i) / _mean_dry_me(i, t=100.0) - 1.0),
    "milk_over_dry_percent": _milk_over_dry,
    "maintenance_percent": lambda i: 100.0 / _cow(i).energy.feeding_level(_q(i)),
    "suckler_me": lambda i: _me(_cow(i, "suckler_cow_milking"), i),
    "bull_maintenance": lambda i: _em({**i, "bull": 1.15}) / float(i["km"]) / float(i["w"]) ** 0.75,
    "growth_b": lambda i: en.km(_q(i)) / (en.km(_q(i)) - en.kf(_q(i))),
    "growth_k": lambda i: en.km(_q(i)) * log(en.km(_q(i)) / en.kf(_q(i))),
    "evg": lambda i: cattle.gain_energy_value(*_number(i, "w", "gain", "c2")),
    "growth_exact": lambda i: _me(_growing(i), i),
    "growth_simplified": _simplified,
    "growth_mp": lambda i: _growing(i).mp_g,
    "outflow": lambda i: en.outflow_rate(float(i["level"])),
    "microbial_yield": lambda i: en.microbial_yield(float(i["level"])),
    "mpm": lambda i: protein.maintenance_mp(float(i["w"])),
    "mpl": lambda i: protein.milk_mp(float(i["p"])),
    "mpc": lambda i: protein.pregnancy_mp(*_number(i, "wc", "t")),
    "mpf": lambda i: protein.growth_mp(*_number(i, "w", "gain", "c6")),
    "erdp": lambda i: protein.effective_rdp(
        float(i["cp"]), _fractions(i), en.outflow_rate(float(i["level"]))
    ),
    "dup": _dup,
    "mcp": _mcp,
    "fme": _fme,
    "mp_of_microbes": lambda i: protein.MP_PER_MICROBIAL_CP * _mcp(i),
    "dmi_vadiveloo_holmes": lambda i: intake.dmi_vadiveloo_holmes_1979(
        *_number(i, "conc", "w", "n", "y")
    ),
    "dmi_nrc": lambda i: intake.dmi_nrc_2001(*_number(i, "w", "fcm", "n")),
    "dmi_nrc_milk": lambda i: intake.dmi_nrc_2001(float(i["w"]), _fcm(i), float(i["n"])),
    "dmi_korean": lambda i: other_equations.dmi_korean_2021(*_number(i, "w", "fcm", "ndf")),
    "dmi_beef": lambda i: other_equations.dmi_nrc_beef(*_number(i, "w", "nem")),
    "dmi_dry": lambda i: intake.dmi_nrc_2001_dry(*_number(i, "w", "t")),
    "el": lambda i: _step(_cow({**i, "w": 600.0}), "milk, net energy"),
    "ec": lambda i: cattle.pregnancy_energy(*_number(i, "wc", "t")),
    "eg": lambda i: _growing(i).energy.eg,
}

OTHERS: dict[str, Callable[[Inputs], float]] = {
    "ipcc_nem": lambda i: float(i["cfi"]) * float(i["w"]) ** 0.75,
    "ipcc_nep": lambda i: 0.10 * float(i["cfi"]) * float(i["w"]) ** 0.75,
    "ipcc_nel": lambda i: float(i["y"]) * (1.47 + 0.40 * float(i["fat"])),
    "ipcc_neg": lambda i: (
        22.02
        * (float(i["w"]) / (float(i["c"]) * float(i["mw"]))) ** 0.75
        * float(i["gain"]) ** 1.097
    ),
    "nrc_nem": lambda i: 4.184 * 0.080 * float(i["w"]) ** 0.75,
    "nrc_nel": lambda i: (
        4.184
        * float(i["y"])
        * (0.0929 * float(i["fat"]) + 0.0547 * float(i["protein"]) + 0.0395 * float(i["lactose"]))
    ),
}
"""Net energy equations of other systems [MJ/d]: IPCC (2006, 2019) volume 4 chapter 10 and NRC
(2001), 4.184 MJ/Mcal.
"""
