"""What cautions keep from a group never reaches its ration, and the answer says so."""

from __future__ import annotations

from pathlib import Path

import pytest

from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.model.ration import make_blocks, solve_rations
from rationlp.read.farm import read_farm

FARM = """\
[farm]
name = "Invented"
currency = "GBP"
[winter]
start = 2026-11-01
turnout = 2027-04-01
[home_grown]
price = "cost"
[[stores]]
id = "pit"
feed = "grass_silage_1st_typical"
kind = "plain"
amount_t_fresh = 500
cost_per_t_fresh = 20
{pit}
[[stores]]
id = "other"
feed = "grass_silage_2nd"
kind = "plain"
amount_t_fresh = 500
cost_per_t_fresh = 20
{other}
[[stores]]
id = "straw"
feed = "straw_barley"
kind = "plain"
amount_t_fresh = 100
cost_per_t_fresh = 60
[[stores]]
id = "hay"
feed = "hay_good"
kind = "plain"
amount_t_fresh = 100
cost_per_t_fresh = 150
[[bought]]
feed = "soya_meal_48"
price_per_t_fresh = 380
[[bought]]
feed = "barley"
price_per_t_fresh = 200
[[groups]]
id = "dry"
class = "suckler_cow_dry"
head = 10
live_weight_kg = 650
days_to_calving = 60
[[groups]]
id = "young"
class = "growing_cattle"
head = 10
live_weight_kg = 300
gain_kg_per_day = 0.6
sex = "steer"
maturity = "medium"
[[groups]]
id = "ewes"
class = "ewe_dry"
head = 100
live_weight_kg = 70
"""


def farm(tmp_path: Path, pit: str = "", other: str = "", lab: str = "") -> Farm:
    """The farm with words about its two silages, and a laboratory file."""
    (tmp_path / "farm.toml").write_text(FARM.format(pit=pit, other=other), encoding="utf-8")
    if lab:
        (tmp_path / "lab.csv").write_text(lab, encoding="utf-8")
    return read_farm(tmp_path)


def offered(given: Farm) -> dict[str, set[str]]:
    """Which stores each group may eat."""
    return {
        block.group.id: {offer.id for offer in block.offers if not offer.bought}
        for block in make_blocks(given)
    }


@pytest.mark.parametrize("sign", ["ragwort", "litter_field"])
def test_some_signs_keep_a_store_from_every_group(tmp_path: Path, sign: str) -> None:
    """Ragwort and litter fields: nobody gets it."""
    assert all(
        "pit" not in stores for stores in offered(farm(tmp_path, f'seen = ["{sign}"]')).values()
    )


def test_mould_is_kept_from_breeding_stock_only(tmp_path: Path) -> None:
    """Dry cows and ewes go without, young cattle do not."""
    found = offered(farm(tmp_path, 'seen = ["mould"]'))
    assert {group for group, stores in found.items() if "pit" in stores} == {"young"}


@pytest.mark.parametrize(
    ("ph", "groups"), [(5.5, {"dry", "young"}), (5.4, {"dry", "young", "ewes"})]
)
def test_silage_that_is_not_sour_is_kept_from_sheep(
    tmp_path: Path, ph: float, groups: set[str]
) -> None:
    """pH 5.5 or more: Scottish farm advisory service, avoiding listeria (a)."""
    found = offered(farm(tmp_path, lab=f"for,ph\npit,{ph}\n"))
    assert {group for group, stores in found.items() if "pit" in stores} == groups


def test_soil_is_kept_from_sheep(tmp_path: Path) -> None:
    """Cattle may have it."""
    found = offered(farm(tmp_path, 'seen = ["soil"]'))
    assert {group for group, stores in found.items() if "pit" in stores} == {"dry", "young"}


def test_heated_forage_is_only_said(tmp_path: Path) -> None:
    """Nobody is kept from it."""
    assert all("pit" in stores for stores in offered(farm(tmp_path, 'seen = ["heated"]')).values())


def test_what_is_left_out_is_said_with_the_ration(tmp_path: Path) -> None:
    """The group's remarks name the store and the caution."""
    [group] = solve_rations(farm(tmp_path, 'seen = ["ragwort"]'), ["dry"]).groups
    assert "pit" not in {amount.offer for amount in group.amounts}
    assert any(
        "is left out: ragwort seen or suspected in a store (caution ragwort;" in said
        for said in group.remarks
    )


@pytest.mark.parametrize(
    ("nitrate_n", "most"), [(1400, 1.0), (1600, 0.5), (2500, 0.35), (3600, 0.25), (4100, 0.0)]
)
def test_nitrate_holds_the_silages_of_young_cattle_to_their_share(
    tmp_path: Path, nitrate_n: float, most: float
) -> None:
    """Both silages at one band, cheap beside dear hay: the two together go up to it and no further
    (Clemson University, a).
    """
    nitrate = nitrate_n * 4.43 / 1000.0
    lab = f"for,nitrate_g_per_kg_dm\npit,{nitrate}\nother,{nitrate}\n"
    [group] = solve_rations(farm(tmp_path, lab=lab), ["young"]).groups
    silage = sum(amount.kg_dm for amount in group.amounts if amount.offer in ("pit", "other"))
    assert group.dm_kg is not None
    if most < 1.0:
        assert silage / group.dm_kg == pytest.approx(most, abs=1e-6)
    else:
        assert silage / group.dm_kg > 0.5


@pytest.mark.parametrize(("nitrate_n", "kept"), [(1999, False), (2001, True)])
def test_nitrate_keeps_a_silage_from_pregnant_stock(
    tmp_path: Path, nitrate_n: float, kept: bool
) -> None:
    """2000 mg nitrate-N per kg DM and above: Clemson University, nitrate levels in forage (a)."""
    lab = f"for,nitrate_g_per_kg_dm\npit,{nitrate_n * 4.43 / 1000.0}\n"
    assert ("pit" not in offered(farm(tmp_path, lab=lab))["dry"]) is kept


def test_a_margin_below_one_is_refused_for_ewes_with_twins_near_lambing(tmp_path: Path) -> None:
    """Their energy need may be raised, not lowered; four weeks earlier it is the farm's own
    choice.
    """
    ewes = 'class = "ewe_pregnant"\nlambs_carried = 2\ndays_to_lambing = {}\n'
    for days, refused in ((28, True), (29, False)):
        text = FARM.format(pit="", other="").replace('class = "ewe_dry"\n', ewes.format(days))
        (tmp_path / "farm.toml").write_text(text + "[margins]\nme = 0.95\n", encoding="utf-8")
        given = read_farm(tmp_path)
        if refused:
            with pytest.raises(InputError, match=r'IN503 group "ewes".*0\.95'):
                make_blocks(given, ["ewes"])
        else:
            assert len(make_blocks(given, ["ewes"])) == 1
