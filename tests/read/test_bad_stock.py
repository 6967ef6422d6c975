"""Stores that cannot be what the farm file says: one line with code, place and remedy; what is only
odd is noticed.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from farms import FARM, changed, write_farm

from rationlp.errors import InputError
from rationlp.read.farm import read_farm

PIT = "length_m = 30\nwidth_m = 10\nheight_m = 2.5\n"
BALES = "count = 100\nweight_kg = 400\n"


def pit(text: str) -> str:
    """The farm with more said of its clamp."""
    return changed(PIT, PIT + text)


def sized(text: str, **other: str) -> str:
    """The farm with another store in place of the clamp."""
    return changed('kind = "clamp"\n' + PIT, text)


BAD: dict[str, tuple[str, str, str, str]] = {
    "bales without a weight": (
        changed(BALES, "count = 100\n"),
        "IN121",
        '"straw"',
        "weigh five to ten",
    ),
    "square bales by a diameter": (
        changed(BALES, 'count = 9\nshape = "square"\nbale_diameter_m = 1.2\nbale_width_m = 1.2\n'),
        "IN121",
        '"straw"',
        "bale_height_m",
    ),
    "too much above the walls": (
        pit("wall_height_m = 1\ncrown_m = 4\n"),
        "IN171",
        '"pit"',
        "wall_height_m",
    ),
    "a ramp longer than the clamp": (
        changed("length_m = 30", "length_m = 5\nramp_angle_degrees = 20"),
        "IN171",
        '"pit"',
        "angles",
    ),
    "two ramps that meet": (
        changed(
            "length_m = 30", "length_m = 4\nramp_angle_degrees = 45\nback_ramp_angle_degrees = 45"
        ),
        "IN171",
        '"pit"',
        "length_m",
    ),
    "all fed already": (pit("fed_length_m = 30\n"), "IN171", '"pit"', "leave an empty clamp out"),
    "only the back ramp left": (
        pit("back_ramp_angle_degrees = 45\nfed_length_m = 29\n"),
        "IN171",
        '"pit"',
        "wedge",
    ),
    "walls that lean inwards": (pit("top_width_m = 8\n"), "IN171", '"pit"', "outwards"),
    "a heap without a top": (pit('shape = "heap"\n'), "IN121", '"pit"', "measure its top"),
    "a heap upside down": (
        pit('shape = "heap"\ntop_width_m = 12\ntop_length_m = 20\n'),
        "IN171",
        '"pit"',
        "change them over",
    ),
    "a wedge with a ramp": (
        pit('shape = "wedge"\nramp_angle_degrees = 45\n'),
        "IN171",
        '"pit"',
        "check shape",
    ),
    "a top length of a clamp": (pit("top_length_m = 20\n"), "IN171", '"pit"', "check shape"),
    "shoulders that meet": (
        changed("width_m = 10", "width_m = 4\nshoulder_m = 2.2"),
        "IN171",
        '"pit"',
        "check shoulder_m",
    ),
    "shoulders and a cap": (
        pit("shoulder_m = 0.5\ncrown_m = 0.5\n"),
        "IN171",
        '"pit"',
        "keep the one",
    ),
    "a flat top of no cap": (pit("crown_flat_m = 5\n"), "IN171", '"pit"', "cap's height"),
    "a cut above the top": (pit("base_height_m = 2.5\n"), "IN171", '"pit"', "from the floor"),
    "a face wider than the clamp": (
        pit("face_width_m = 14\n"),
        "IN171",
        '"pit"',
        "part of the face",
    ),
    "two densities": (
        pit("density_kg_dm_per_m3 = 200\ncore_kg_dm_per_m3 = 210\n"),
        "IN172",
        '"pit"',
        "trust most",
    ),
    "weighed and a density": (
        pit("density_kg_dm_per_m3 = 200\namount_t_fresh = 300\n"),
        "IN172",
        '"pit"',
        "keep one",
    ),
    "half of the marks": (pit("step_m_per_week = 1.5\n"), "IN171", '"pit"', "give both"),
    "a density in t": (
        pit("density_kg_dm_per_m3 = 0.7\n"),
        "IN113",
        '"pit".density_kg_dm_per_m3',
        "40 to 500",
    ),
    "a loss in percent": (pit("loss_surface = 5\n"), "IN113", '"pit".loss_surface', "0 to 0.6"),
    "a misspelt shape": (pit('shape = "wegde"\n'), "IN114", '"pit".shape', '"wedge"'),
    "a misspelt key": (pit("ramp_angle = 45\n"), "IN110", '"pit".ramp_angle', "ramp_angle_degrees"),
    "a bag all ends": (
        sized('kind = "bag"\nlength_m = 4\ndiameter_m = 2.4\n'),
        "IN171",
        '"pit"',
        "plastic",
    ),
    "a plain store of nothing": (
        sized('kind = "plain"\narea_ha = 4\n'),
        "IN121",
        '"pit"',
        "yield_t_dm_per_ha",
    ),
    "tonnes and a crop": (
        sized('kind = "plain"\namount_t_fresh = 50\narea_ha = 4\nyield_t_dm_per_ha = 5\n'),
        "IN171",
        '"pit"',
        "better known",
    ),
    "a crop without a density": (
        changed("grass_silage_1st_typical", "brewers_grains"),
        "IN173",
        '"pit"',
        "density_kg_dm_per_m3",
    ),
    "bales of no known density": (
        changed(BALES, "count = 9\nbale_diameter_m = 1.2\nbale_width_m = 1.2\n").replace(
            'feed = "straw_barley"', 'feed = "maize_silage_typical"', 1
        ),
        "IN173",
        '"straw"',
        "weight_kg",
    ),
    "kept for nobody": (pit('kept_for = ["cow"]\n'), "IN174", '"pit".kept_for', '"cows"'),
    "kept for one twice": (
        pit('kept_for = ["cows", "cows"]\n'),
        "IN139",
        '"pit".kept_for',
        "keep one",
    ),
    "kept for a word": (pit('kept_for = "cows"\n'), "IN112", '"pit".kept_for', "square brackets"),
    "more left than held": (
        pit("reserve_t_fresh = 900\n"),
        "IN175",
        '"pit".reserve_t_fresh',
        "leave less",
    ),
    "a reserve below nought": (
        pit("reserve_t_fresh = -5\n"),
        "IN113",
        '"pit".reserve_t_fresh',
        "at least 0",
    ),
}
ODD: dict[str, tuple[str, str, str]] = {
    "silage upright above its walls": (pit("wall_height_m = 2\n"), "WA211", "shoulder_m"),
    "dry matter that no table has": (
        changed("grass_silage_1st_typical", "haylage_big_bale"),
        "WA212",
        "analysis",
    ),
    "a heavy small bale": (changed(BALES, BALES + 'shape = "small"\n'), "WA213", 'shape = "round"'),
    "a very high clamp": (changed("height_m = 2.5", "height_m = 4.2"), "WA214", "height_m"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_fault_is_one_line_with_its_place_and_remedy(name: str, tmp_path: Path) -> None:
    """Code, place, remedy, and nothing else is complained of."""
    text, code, where, remedy = BAD[name]
    with pytest.raises(InputError) as trouble:
        read_farm(write_farm(tmp_path / "farm", text))
    [finding] = trouble.value.findings
    assert finding.code == code
    assert finding.where.endswith(where)
    assert remedy in finding.remedy


@pytest.mark.parametrize("name", ODD)
def test_what_is_only_odd_is_noticed_with_a_remedy(name: str, tmp_path: Path) -> None:
    """The farm is read all the same."""
    text, code, remedy = ODD[name]
    [notice] = read_farm(write_farm(tmp_path / "farm", text)).notices
    assert notice.code == code
    assert remedy in notice.remedy


def test_a_feed_of_no_known_sort_is_counted_as_grass_silage_and_said(tmp_path: Path) -> None:
    """A feed of the farm's own without a sort."""
    own = (
        "key,name,kind,dm_g_per_kg,me_mj_per_kg_dm,cp_g_per_kg_dm\nmine,My"
        " silage,forage,300,10.8,140\n"
    )
    text = changed("grass_silage_1st_typical", "mine")
    codes = [
        notice.code for notice in read_farm(write_farm(tmp_path / "farm", text, feeds=own)).notices
    ]
    assert codes == ["WA215"]


def test_the_plain_farm_has_nothing_to_notice(tmp_path: Path) -> None:
    """The farm that the cases above spoil."""
    assert read_farm(write_farm(tmp_path / "farm", FARM)).notices == ()
