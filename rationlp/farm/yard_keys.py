"""What a farm says of plans that its yard can feed."""

from __future__ import annotations

from rationlp.records import dataclass


@dataclass(frozen=True)
class YardRules:
    """What the farm's `[yard]` table says of plans that can be fed; None: as feeds/loading.csv has
    it. least_load_kg: least of a straight in a load; bag_kg; least_order_t: of a straight;
    most_bought_feeds: on the whole farm, minerals left out. hold_days,
    hold_saving: days that forages are held, and share of the feed cost that changing sooner must
    save. shut_days: days that clamps and bags stay shut after filling.
    """

    least_load_kg: float | None = None
    bag_kg: float | None = None
    least_order_t: float | None = None
    most_bought_feeds: int | None = None
    hold_days: int | None = None
    hold_saving: float | None = None
    shut_days: int | None = None
