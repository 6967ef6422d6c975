"""What a feed is worth by two reference feeds: its energy and its protein at what barley and soya
bean meal charge for them.

Advice on buying feed (trade press) prices a feed by the energy of barley and the protein of soya
bean meal. With E = DM · ME and C = DM · CP in a kg fresh, b and s the references: value = a P_b + s
P_s, a = (E C_s − C E_s)/D, s = (E_b C − C_b E)/D, D = E_b C_s − C_b E_s. The two constants do not
change with prices (the arithmetic is exact; the valuation is common practice).
"""

from __future__ import annotations

from rationlp.farm.feed import Feed, Offer
from rationlp.records import dataclass

FORAGE_FACTOR = (0.75, 0.80)
"""What the value of a forage is multiplied by [-]: published values of hay, straw and silage at the
same prices of barley and soya lie 20–30 % below the constants (regional farming press, forage
values); common practice (c).
"""
ENERGY, PROTEIN = "me_mj_per_kg_dm", "cp_g_per_kg_dm"
FEWEST = 1e-9


@dataclass(frozen=True)
class Content:
    """A feed by what counts here: dry matter [kg/kg], ME [MJ/kg DM], crude protein [kg/kg DM]."""

    dm: float
    me: float
    cp: float

    @property
    def energy(self) -> float:
        """MJ in a kg fresh."""
        return self.dm * self.me

    @property
    def protein(self) -> float:
        """Crude protein in a kg fresh [kg]."""
        return self.dm * self.cp


@dataclass(frozen=True)
class Constants:
    """Shares of the price of barley and of soya bean meal in a feed's value a tonne fresh [-]."""

    barley: float
    soya: float

    def value(self, barley_price: float, soya_price: float) -> float:
        """Value [currency/t fresh] at the prices of the two references [currency/t fresh]."""
        return self.barley * barley_price + self.soya * soya_price


@dataclass(frozen=True)
class ReferenceValue:
    """A feed's value by the two references [currency/t fresh and per t DM]; for forages low and
    high with the forage factor.
    """

    offer: str
    constants: Constants
    per_t_fresh: float
    per_t_dm: float
    low_per_t_fresh: float
    high_per_t_fresh: float


def content_of(feed: Feed) -> Content | None:
    """What counts of a feed, None where its energy or protein is not known."""
    me, cp = feed.value(ENERGY), feed.value(PROTEIN)
    if me is None or cp is None:
        return None
    return Content(feed.dm_g_per_kg / 1000.0, me, cp / 1000.0)


def constants(feed: Content, barley: Content, soya: Content) -> Constants | None:
    """The two constants of a feed; None where the references do not differ enough."""
    determinant = barley.energy * soya.protein - barley.protein * soya.energy
    if abs(determinant) < FEWEST:
        return None
    return Constants(
        (feed.energy * soya.protein - feed.protein * soya.energy) / determinant,
        (barley.energy * feed.protein - barley.protein * feed.energy) / determinant,
    )


def reference_value(offer: Offer, barley: Offer, soya: Offer) -> ReferenceValue | None:
    """The value of an offer at the farm's prices of the references; None without a figure."""
    contents = [content_of(compared.feed) for compared in (offer, barley, soya)]
    if contents[0] is None or contents[1] is None or contents[2] is None:
        return None
    shares = constants(contents[0], contents[1], contents[2])
    if shares is None:
        return None
    value = shares.value(barley.price_per_t_fresh, soya.price_per_t_fresh)
    low = high = 1.0
    if offer.feed.is_forage:
        low, high = FORAGE_FACTOR
    return ReferenceValue(
        offer.id, shares, value, value / contents[0].dm, value * low, value * high
    )
