"""What is lost between what was measured and what can be eaten: each loss once, by how the store
was measured.

Measured in a settled clamp: field, effluent and fermentation are gone already, surface and face are
still to come. Weighed in trailers at filling: fermentation and effluent too. Reckoned from a
standing crop: field losses too. Counted in bales: only damaged ones. Waste at the trough is kept
apart, it is charged to the group. Shares stand in feeds/store-losses.csv.
"""

from __future__ import annotations

from functools import lru_cache

from rationlp.csvfile import read_rows
from rationlp.folders import feeds_folder
from rationlp.records import dataclass

EFFLUENT_DM_KG_PER_L = 0.06
"""Dry matter in a litre of effluent [kg]; forage trade education page (a)."""
EFFLUENT_ENDS_G_PER_KG = 285.0
SETTLED_DAYS = 42.0
"""Days after filling from which a clamp has settled; common practice, no source (c)."""
WET_PERCENT, DRY_PERCENT = 22.0, 26.0


@dataclass(frozen=True)
class Loss:
    """A loss as a share of the dry matter that reaches it, with source and status."""

    name: str
    share: float
    source: str
    status: str


def effluent_l_per_t(dm_g_per_kg: float) -> float:
    """Effluent of a clamp [l/t grass]: 767 - 5.34 d + 0.00936 d2, d dry matter in g/kg; nothing
    from 285 on.

    Source: British advisory service, 1970s, quoted in J. Agric. Eng. Research 66 (1997); from
    memory (b). For 120 to 285 g/kg. It lies below the figure of about 150 l/t at 18 % of advisers
    in Ireland.
    """
    if dm_g_per_kg > EFFLUENT_ENDS_G_PER_KG:
        return 0.0
    return max(0.0, 767.0 - 5.34 * dm_g_per_kg + 0.00936 * dm_g_per_kg**2)


def effluent_loss(dm_g_per_kg: float) -> Loss:
    """Share of the dry matter that runs off as effluent, at 6 % dry matter in it."""
    share = effluent_l_per_t(dm_g_per_kg) * EFFLUENT_DM_KG_PER_L / dm_g_per_kg
    source = "British advisory service, 1970s: 767 - 5.34 d + 0.00936 d2 l/t; 6 % DM in effluent"
    return Loss("effluent", share, source, "b")


def settlement_share(days: float, dm_percent: float) -> float:
    """Share of a volume measured too soon after filling that is still air.

    10 days: 5 % above 26 % DM, 10 % below 22 %; 20 days: 3 and 6 %; between them, and between the
    dry matters, a straight line; before 10 days as at 10. Source: cattle pages of the French
    farming press, estimating stocks (a); down to nothing at 42 days is common practice (c).
    """
    wet = min(max((DRY_PERCENT - dm_percent) / (DRY_PERCENT - WET_PERCENT), 0.0), 1.0)
    early, late = 0.05 * (1.0 + wet), 0.03 * (1.0 + wet)
    if days <= 10.0:
        return early
    if days <= 20.0:
        return early + (late - early) * (days - 10.0) / 10.0
    return late * max(0.0, (SETTLED_DAYS - days) / (SETTLED_DAYS - 20.0))


@lru_cache(maxsize=1)
def usual_losses() -> dict[tuple[str, str], Loss]:
    """Every usual loss by where it happens and its name."""
    return {
        (row.cells["of"], row.cells["loss"]): Loss(
            row.cells["loss"], float(row.cells["share"]), row.cells["source"], row.cells["status"]
        )
        for row in read_rows(feeds_folder() / "store-losses.csv").rows
    }
