"""Published standards of needs: which there are, whom each holds for, and what their protein rows
take from them.
"""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from rationlp.farm.group import AFRC, CSIRO, NRC
from rationlp.needs import csiro, energy
from rationlp.needs.protein import MP_PER_MICROBIAL_CP
from rationlp.records import dataclass


@dataclass(frozen=True)
class Standard:
    """A standard in the rows. title: as it is named to people. mp_per_microbial_cp: g MP from a g
    of microbial crude protein. microbial_yield: g microbial CP/MJ FME at a level of feeding.
    passage: what the protein of a feed is taken at, of a level of feeding. pregnancy_efficiency: of
    MP for what is laid down in the unborn [-]. known_of_cattle_gain,
    known_of_sheep_gain: what is known of the gain that it promises, "" for nothing.
    """

    title: str
    mp_per_microbial_cp: float
    microbial_yield: Callable[[float], float]
    passage: Callable[[float], float]
    pregnancy_efficiency: float
    known_of_cattle_gain: str = ""
    known_of_sheep_gain: str = ""

    @property
    def requirement(self) -> str:
        """Whose rule a row of energy or protein is."""
        return f"{self.title} requirement"


EFFICIENCY_OF_PREGNANCY = 0.85
"""Of MP for what is laid down in the unborn [-]: AFRC (1993), status (a)."""

STANDARDS = MappingProxyType(
    {
        AFRC: Standard(
            "AFRC (1993)",
            MP_PER_MICROBIAL_CP,
            energy.microbial_yield,
            energy.outflow_rate,
            EFFICIENCY_OF_PREGNANCY,
            "the equations are known to be optimistic for late-maturing cattle",
            "it is known that maintenance of today's sheep is higher",
        ),
        CSIRO: Standard(
            "CSIRO (2007)",
            csiro.DPLS_PER_MICROBIAL_CP,
            csiro.microbial_yield,
            float,
            csiro.DPLS_EFFICIENCY,
        ),
    }
)

TITLES = MappingProxyType(
    {**{name: standard.title for name, standard in STANDARDS.items()}, NRC: "NRC (2001)"}
)
"""Every standard as it is named to people, that by which rations are only judged too."""
