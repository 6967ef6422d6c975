"""Published standards of needs: which there are, whom each holds for, and what their protein rows
take from them.
"""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from rationlp.farm.group import AFRC, CSIRO
from rationlp.needs import csiro, energy
from rationlp.needs.protein import MP_PER_MICROBIAL_CP
from rationlp.records import dataclass


@dataclass(frozen=True)
class Standard:
    """A standard in the rows. title: as it is named to people. mp_per_microbial_cp: g MP from a g
    of microbial crude protein. microbial_yield: g microbial CP/MJ FME at a level of feeding.
    passage: what the protein of a feed is taken at, of a level of feeding.
    """

    title: str
    mp_per_microbial_cp: float
    microbial_yield: Callable[[float], float]
    passage: Callable[[float], float]


STANDARDS = MappingProxyType(
    {
        AFRC: Standard(
            "AFRC (1993)", MP_PER_MICROBIAL_CP, energy.microbial_yield, energy.outflow_rate
        ),
        CSIRO: Standard("CSIRO (2007)", csiro.DPLS_PER_MICROBIAL_CP, csiro.microbial_yield, float),
    }
)
