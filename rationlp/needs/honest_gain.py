"""What is put right in the growth equations so that the gain they give agrees with what trials
measured (rule H).

AFRC (1993) gives more gain than was measured in late-maturing cattle. Three things put that right:
the forage row and the cap of intake (needs/growing_appetite.py, most of it), and the two here. Over
six published records with intake *and* gain measured (tests/published/test_honest_gain.py) the gain
from the intake eaten comes to bias −0.07, rms 0.17 kg a day (−0.01 and 0.10 without a straw diet)
instead of +0.02, 0.19 (+0.10, 0.14). Fitted to those records, no printed rule: status (c).
"""

from __future__ import annotations

from types import MappingProxyType

from rationlp.needs.cattle import GROWTH_CORRECTION, GrowthCorrection

MAINTENANCE_FACTOR = 1.05
"""Maintenance of growing cattle over AFRC (1993) [-]; the records fit 1.05 to 1.10 alike; (c)."""

BLEND_KG = (430.0, 470.0)
"""Live weight over which cattle pass from their own maturity class to the one before [kg]; a step
at 450 kg would cost 0.13 kg a day overnight; (c).
"""

GAIN_GIVE_OR_TAKE_KG = 0.15
"""What an expected gain is said to be sure to [kg a day]: the spread of the same records; (c)."""

EARLIER = MappingProxyType({"late": "medium", "medium": "early", "early": "early"})
SOURCE = (
    "AFRC (1993), one maturity class earlier in heavy and cereal-fed cattle: fitted to six"
    " published records"
)


def share_earlier(live_weight_kg: float, cereal_based: bool) -> float:
    """How much of the class before counts [-]: 0 below 430 kg, 1 from 470 kg and if cereal-fed."""
    if cereal_based:
        return 1.0
    low, high = BLEND_KG
    return min(max((live_weight_kg - low) / (high - low), 0.0), 1.0)


def honest_correction(
    kind: tuple[str, str], live_weight_kg: float, cereal_based: bool
) -> GrowthCorrection:
    """C2 and C6 of (maturity, sex), the class before blended in [-]; early-maturing stay early."""
    own = GROWTH_CORRECTION[kind]
    before = GROWTH_CORRECTION[(EARLIER[kind[0]], kind[1])]
    share = share_earlier(live_weight_kg, cereal_based)
    if share == 0.0 or before == own:
        return own
    energy = own.energy + share * (before.energy - own.energy)
    protein = own.protein + share * (before.protein - own.protein)
    return GrowthCorrection(energy, protein, "c", SOURCE)
