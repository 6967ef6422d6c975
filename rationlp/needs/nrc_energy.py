"""The need of energy by NRC (2001) in the model: net energy, which is a plain number, against what
the ration brings, which bends with the ration.

Cows are held to net energy of milk. Growing animals use a ration for maintenance first and for gain
with what is left: enough is Em/Nm + RE/Ng ≤ 1, Nm and Ng what the ration brings for each [Mcal].
That is the same as (Em + RE)/(Em/Nm + RE/Ng) ≥ Em + RE, whose left side is a sum over the feeds at
the ration's own Ng/Nm.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import pow

from rationlp.needs.energy import EnergyNeed, Parts
from rationlp.needs.nrc import SHRUNK, NrcFigures, net_energies, nrc_figures
from rationlp.needs.nrc_state import NrcState
from rationlp.records import dataclass

FORM = "net"
"""The form of a need that is a plain number of net energy."""
LEAN_PERCENT = 60.0
LIMIT, SLOPE = 0.103, 0.18
"""δ = 1 − (0.18 − 0.103 D/N)(m − 1): (0.18 T − 10.3)/T with T = 100 N/D."""
LEAST_GAIN_SHARE = 0.05
"""Ng/Nm of a ration is never taken to be less [-]: on leaner feed there is no gain to speak of."""


@dataclass(frozen=True)
class Totals:
    """TDN, dry matter and concentrate of a ration [kg a head a day]."""

    tdn_kg: float
    dm_kg: float
    concentrate_kg: float


def totals_of(fed: Sequence[tuple[NrcFigures, float]]) -> Totals:
    """The totals of a ration of (figures, kg DM)."""
    tdn = sum(kg * figures.tdn for figures, kg in fed)
    dm = sum(kg for _, kg in fed)
    return Totals(tdn, dm, sum(kg for figures, kg in fed if figures.concentrate))


@dataclass(frozen=True)
class NrcEnergy(EnergyNeed):
    """Net energy a day [MJ]: em maintenance, over_kl milk and change of weight (a cow's growth
    too), fixed_me pregnancy, eg growth met with gain's own efficiency (heifers). live_weight_kg: of
    the discount and of the passage.
    """

    live_weight_kg: float = 0.0
    rears: bool = False

    @property
    def keep_mj(self) -> float:
        """What is met with the net energy of milk, of a growing animal with that of maintenance."""
        return self.em + self.over_kl + self.fixed_me

    def terms(self, q: float) -> tuple[float, float, float]:
        """The need before the margin [MJ/d], the same whatever the ration."""
        return self.keep_mj + self.eg, 0.0, 0.0

    def required(self, q: float) -> tuple[float, float, float]:
        """The need [MJ/d], margin included; it does not move with the ration."""
        return self.margin * (self.keep_mj + self.eg), 0.0, 0.0

    def feeding_level(self, q: float) -> float:
        """Net energy over that of maintenance [-], where no ration is known."""
        if self.em <= 0.0:
            return 1.0
        return (self.keep_mj + self.eg) / self.em

    def level_of_ration(self, parts: Parts) -> NrcState:
        """What the feeds of a ration are valued by."""
        return self.state([(nrc_figures(feed), kg) for feed, kg in parts])

    def needed_mj(self, parts: Parts) -> float:
        """The net energy that a ration must bring [MJ/d]."""
        return self.required_mj(0.0)

    @property
    def maintenance_tdn_kg(self) -> float:
        """TDN of maintenance [kg] = 0.035 (0.96 W)^0.75."""
        return 0.035 * pow(SHRUNK * self.live_weight_kg, 0.75)

    def state(self, fed: Sequence[tuple[NrcFigures, float]]) -> NrcState:
        """What the feeds of a ration of (figures, kg DM) are valued by."""
        totals = totals_of(fed)
        delta = self.discount(totals.tdn_kg, totals.dm_kg)
        return self.weighed(self.at_totals(totals, delta), self.gain_share(fed, delta))

    def at_totals(self, totals: Totals, delta: float) -> NrcState:
        """The state of a ration by its totals, its energy weighed for milk."""
        return NrcState(
            delta,
            100.0 * totals.dm_kg / self.live_weight_kg,
            100.0 * totals.concentrate_kg / totals.dm_kg,
            totals.tdn_kg / self.maintenance_tdn_kg,
        )

    def discount(self, tdn_kg: float, dm_kg: float) -> float:
        """δ [-] = [T − (0.18 T − 10.3)(m − 1)]/T, 1 where T < 60 or m ≤ 1; m TDN eaten over that of
        maintenance.
        """
        multiple = tdn_kg / self.maintenance_tdn_kg
        if 100.0 * tdn_kg < LEAN_PERCENT * dm_kg or multiple <= 1.0:
            return 1.0
        return 1.0 - (SLOPE - LIMIT * dm_kg / tdn_kg) * (multiple - 1.0)

    def gain_share(self, fed: Sequence[tuple[NrcFigures, float]], delta: float) -> float:
        """Ng/Nm of a ration [-]."""
        keep = gain = 0.0
        for figures, kg in fed:
            own = figures.fixed or net_energies(figures.de, delta, figures.over)
            keep, gain = keep + kg * own.keep, gain + kg * own.gain
        if keep <= 0.0:
            return LEAST_GAIN_SHARE
        return max(gain / keep, LEAST_GAIN_SHARE)

    def weighed(self, state: NrcState, gain_share: float) -> NrcState:
        """The state with what a Mcal counts for. Of growing animals: the slopes of (Em + RE)/(Em/Nm
        + RE/Ng) in Nm and Ng.
        """
        keep, grow = self.keep_mj, self.eg
        if not self.rears or keep + grow <= 0.0:
            return state
        over_keep = (keep + grow) / (keep + grow / gain_share)
        over_gain = over_keep / gain_share
        return NrcState(
            state.delta, state.intake_percent, state.concentrate_percent, state.level, 0.0,
            over_keep**2 * keep / (keep + grow), over_gain**2 * grow / (keep + grow),
        )  # fmt: skip
