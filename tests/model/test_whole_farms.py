"""Invented farms walked through as a feeder would: each gets a proved plan, and every ration of it
is one that he knows.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from whole_farms import FARMS

from rationlp.model.believable import unusual
from rationlp.read.farm import read_farm
from rationlp.wintering.plan import solve_winter


@pytest.mark.parametrize("name", FARMS)
def test_a_whole_farm_is_fed_as_a_feeder_would(name: str, tmp_path: Path) -> None:
    """Proved, nobody short, nothing outside the usual ranges, minerals for all but where lime is
    kept out.
    """
    (tmp_path / "farm.toml").write_text(FARMS[name], encoding="utf-8")
    farm = read_farm(tmp_path)
    plan = solve_winter(farm)
    assert plan.status == "proven"
    feeds = {offer.id: offer.feed for offer in farm.offers}
    outside = {}
    for ration in plan.rations:
        fed = {one.offer: (feeds[one.offer], one.kg_dm) for one in ration.amounts}
        found = unusual(ration.needs.believability, fed, ration.needs.live_weight_kg)
        if found:
            outside[ration.group, ration.period] = found
        minerals = any(feed.kind == "mineral" for feed, _ in fed.values())
        assert minerals or ration.needs.lime_kept_out, ration.group
    assert outside == {}
