"""A box of rations: digestible nutrients, dry matter and share of concentrate between figures."""

from __future__ import annotations

from rationlp.records import dataclass

Interval = tuple[float, float]


@dataclass(frozen=True)
class Box:
    """Rations with TDN and dry matter [kg] and share of concentrate [-] between two figures.
    discounted: with a discount; lean: under 60 % TDN; else at or below maintenance.
    """

    tdn: Interval
    dm: Interval
    share: Interval
    kind: str

    def halves(self, dimension: str, at: float) -> tuple[Box, Box]:
        """The box cut in two."""
        low, high = self.along(dimension)
        return self._with(dimension, (low, at)), self._with(dimension, (at, high))

    def along(self, dimension: str) -> Interval:
        """Its extent in a dimension."""
        return {"tdn": self.tdn, "dm": self.dm, "share": self.share}[dimension]

    def _with(self, dimension: str, extent: Interval) -> Box:
        extents = {"tdn": self.tdn, "dm": self.dm, "share": self.share, dimension: extent}
        return Box(extents["tdn"], extents["dm"], extents["share"], self.kind)
