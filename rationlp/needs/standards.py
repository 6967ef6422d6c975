"""Published standards of needs: whom each holds for, and what their protein rows take from them."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from rationlp.farm.group import AFRC, CSIRO, NRC
from rationlp.needs import csiro, energy, nrc
from rationlp.needs.energy import Level
from rationlp.needs.nrc_state import NrcState
from rationlp.needs.protein import MP_PER_MICROBIAL_CP
from rationlp.records import dataclass


@dataclass(frozen=True)
class Standard:
    """A standard in the rows. title: as it is named to people. mp_per_microbial_cp: g MP from a g
    of microbial crude protein. microbial_yield: g microbial CP/MJ FME (NRC: of a kg of discounted
    TDN) at a level of feeding. passage: what the protein of a feed is taken at, of a level of
    feeding. pregnancy_efficiency: of MP for what is laid down in the unborn [-].
    known_of_cattle_gain, known_of_sheep_gain: what is known of the gain that it promises, "" for
    nothing. offered_for: the animals it holds for, in words. energy: energy_title: the quantity
    that counts against the need, and its name. middling: a level to begin at, where no ration is
    known. margins: whether the farm's own hold.
    """

    title: str
    mp_per_microbial_cp: float
    microbial_yield: Callable[[Level], float]
    passage: Callable[[Level], Level]
    pregnancy_efficiency: float
    known_of_cattle_gain: str = ""
    known_of_sheep_gain: str = ""
    offered_for: str = ""
    energy: str = "me_mj"
    energy_title: str = "metabolisable energy"
    middling: Level = 1.0
    margins: bool = False

    @property
    def short_energy(self) -> str:
        """The energy that counts against the need, short."""
        return "net energy" if self.energy == "net_energy_mj" else "ME"

    @property
    def requirement(self) -> str:
        """Whose rule a row of energy or protein is."""
        return f"{self.title} requirement"


EFFICIENCY_OF_PREGNANCY = 0.85
"""Of MP for what is laid down in the unborn [-]: AFRC (1993), status (a)."""

MIDDLING_COW = NrcState(1.0, 3.0, 30.0, 1.0)
"""What feeds are valued by before a ration is known: without a discount."""


def _of_number(function: Callable[[float], float]) -> Callable[[Level], float]:
    """A function of a level of feeding that is one number."""

    def of_level(level: Level) -> float:
        return function(energy.number_of(level))

    return of_level


def _itself(level: Level) -> Level:
    return level


STANDARDS = MappingProxyType(
    {
        AFRC: Standard(
            "AFRC (1993)",
            MP_PER_MICROBIAL_CP,
            _of_number(energy.microbial_yield),
            _of_number(energy.outflow_rate),
            EFFICIENCY_OF_PREGNANCY,
            "the equations are known to be optimistic for late-maturing cattle",
            "it is known that maintenance of today's sheep is higher",
            margins=True,
        ),
        CSIRO: Standard(
            "CSIRO (2007)",
            csiro.DPLS_PER_MICROBIAL_CP,
            _of_number(csiro.microbial_yield),
            _itself,
            csiro.DPLS_EFFICIENCY,
            offered_for="beef cattle and sheep",
        ),
        NRC: Standard(
            "NRC (2001)",
            nrc.MP_OF_MICROBES,
            nrc.microbial_yield,
            _itself,
            nrc.PREGNANCY_EFFICIENCY,
            offered_for="dairy cows and the heifers reared for them",
            energy="net_energy_mj",
            energy_title="net energy",
            middling=MIDDLING_COW,
        ),
    }
)

ENERGY_TITLES = frozenset(standard.energy_title for standard in STANDARDS.values())
"""The energy that a need is told in, by any standard."""
TITLES = MappingProxyType({name: standard.title for name, standard in STANDARDS.items()})
"""Every standard as it is named to people."""
