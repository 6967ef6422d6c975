"""What feeds and rations supply: protein at a level of feeding, sums, and blanks that are never
nought.
"""

from __future__ import annotations

import pytest

from rationlp.errors import InputError
from rationlp.farm.feed import Feed, Figure
from rationlp.needs.supply import feed_protein, ration_supply


def _feed(key: str, kind: str = "forage", **values: float) -> Feed:
    return Feed(
        key, key, kind, {name: Figure(value, "table", "test") for name, value in values.items()}
    )


SILAGE = _feed(
    "silage", dm_g_per_kg=250.0, me_mj_per_kg_dm=11.0, fme_mj_per_kg_dm=8.7, cp_g_per_kg_dm=160.0,
    prot_a_fraction=0.65, prot_b_fraction=0.22, prot_c_per_h=0.10, adin_g_n_per_kg_dm=1.0,
    ndf_g_per_kg_dm=480.0,
)  # fmt: skip
UREA = _feed(
    "urea", "npn", dm_g_per_kg=990.0, me_mj_per_kg_dm=0.0, fme_mj_per_kg_dm=0.0,
    cp_g_per_kg_dm=2875.0,
    prot_a_fraction=1.0, prot_b_fraction=0.0, prot_c_per_h=0.0, ndf_g_per_kg_dm=0.0,
)  # fmt: skip
LIMESTONE = _feed(
    "limestone",
    "mineral",
    dm_g_per_kg=990.0,
    me_mj_per_kg_dm=0.0,
    fme_mj_per_kg_dm=0.0,
    cp_g_per_kg_dm=0.0,
)
BLANK = _feed("mystery", dm_g_per_kg=500.0, me_mj_per_kg_dm=10.0, cp_g_per_kg_dm=100.0)


def test_protein_of_a_silage_at_level_two() -> None:
    """ERDP 106.3 and DUP 23.98 g/kg DM at L = 2 (AFRC 1993 check point; status a)."""
    found = feed_protein(SILAGE, 2.0)
    assert (found.erdp_g, found.dup_g) == (
        pytest.approx(106.3, abs=0.05),
        pytest.approx(23.98, abs=0.005),
    )


def test_protein_of_urea() -> None:
    """Urea of 2875 g CP/kg, all quickly degradable, gives ERDP 2300 g/kg DM and no DUP (AFRC
    1993).
    """
    found = feed_protein(UREA, 3.0)
    assert (found.erdp_g, found.dup_g, found.fme_mj) == (pytest.approx(2300.0), 0.0, 0.0)


def test_heated_protein_never_makes_dup_negative() -> None:
    """ADIN above what passes undegraded leaves DUP at nought."""
    figures = {**SILAGE.figures, "adin_g_n_per_kg_dm": Figure(20.0, "table", "test")}
    assert feed_protein(Feed("hot", "hot", "forage", figures), 1.0).dup_g == 0.0


def test_dup_rises_and_erdp_falls_with_the_level_of_feeding() -> None:
    """The faster the rumen empties, the more protein passes it."""
    low, high = feed_protein(SILAGE, 1.0), feed_protein(SILAGE, 4.0)
    assert high.dup_g > low.dup_g
    assert high.erdp_g < low.erdp_g


def test_a_feed_without_protein_needs_no_degradability() -> None:
    """Limestone has no crude protein, so blank a, b and c are no error."""
    assert feed_protein(LIMESTONE, 2.0).erdp_g == 0.0


def test_missing_protein_figures_are_named() -> None:
    """Each blank figure that protein needs is its own finding, with feed and quantity."""
    with pytest.raises(InputError) as trouble:
        feed_protein(BLANK, 2.0)
    names = ["fme_mj_per_kg_dm", "prot_a_fraction", "prot_b_fraction", "prot_c_per_h"]
    assert [finding.code for finding in trouble.value.findings] == ["IN210"] * 4
    assert all(
        name in finding.found and "mystery" in finding.where
        for name, finding in zip(names, trouble.value.findings, strict=True)
    )


def test_blank_adin_counts_as_nought() -> None:
    """A blank ADIN counts as 0 (common practice; status c)."""
    figures = {
        name: figure for name, figure in SILAGE.figures.items() if name != "adin_g_n_per_kg_dm"
    }
    found = feed_protein(Feed("s", "s", "forage", figures), 2.0)
    assert found.dup_g == pytest.approx(feed_protein(SILAGE, 2.0).dup_g + 0.9 * 6.25)


def test_sums_of_a_ration() -> None:
    """Dry matter, fresh weight, ME and every column add up over the feeds."""
    supply = ration_supply([(SILAGE, 10.0), (UREA, 0.1), (LIMESTONE, 0.0)], 3.0)
    assert supply.dm_kg == pytest.approx(10.1)
    assert supply.fresh_kg == pytest.approx(40.0 + 0.1 / 0.99)
    assert supply.me_mj == pytest.approx(110.0)
    assert supply.cp_g == pytest.approx(1887.5)
    assert supply.urea_g == pytest.approx(100.0)
    assert supply.amounts["ndf_g_per_kg_dm"] == pytest.approx(4800.0)
    assert supply.me_mj_per_kg_dm == pytest.approx(110.0 / 10.1)


def test_microbes_take_the_lesser_of_energy_and_nitrogen() -> None:
    """Short of nitrogen, MCP is ERDP; with enough urea it is y times FME."""
    lean = _feed(
        "lean", **{**{name: f.value for name, f in SILAGE.figures.items()}, "cp_g_per_kg_dm": 60.0}
    )
    short = ration_supply([(lean, 10.0)], 2.0)
    enough = ration_supply([(lean, 10.0), (UREA, 0.5)], 2.0)
    assert short.mcp_g == short.erdp_g
    assert enough.mcp_g == pytest.approx(10.0204 * 87.0, rel=1e-4)


def test_mp_is_microbial_and_bypass_protein() -> None:
    """MP = 0.6375 MCP + DUP (AFRC 1993; status a)."""
    supply = ration_supply([(SILAGE, 10.0)], 2.0)
    assert supply.mp_g == pytest.approx(0.6375 * (supply.mcp_g or 0.0) + (supply.dup_g or 0.0))


@pytest.mark.parametrize("parts", [[(SILAGE, 5.0), (BLANK, 1.0)]])
def test_a_blank_is_said_and_gives_no_mp(parts: list[tuple[Feed, float]]) -> None:
    """A feed eaten with a blank figure is named under that figure, and MP is not made up."""
    supply = ration_supply(parts, 2.0)
    assert supply.mp_g is None
    assert supply.missing["fme_mj_per_kg_dm"] == ("mystery",)
    assert supply.missing["prot_a_fraction"] == ("mystery",)
    assert supply.missing["ndf_g_per_kg_dm"] == ("mystery",)


def test_without_a_level_of_feeding_there_is_no_mp() -> None:
    """A group without an energy requirement has no level of feeding, so no MP."""
    supply = ration_supply([(SILAGE, 5.0)], None)
    assert (supply.mp_g, supply.erdp_g) == (None, None)
    assert supply.fme_mj == pytest.approx(43.5)


def test_an_empty_ration_supplies_nothing() -> None:
    """Nothing eaten is nought of everything."""
    supply = ration_supply([], 2.0)
    assert (supply.dm_kg, supply.me_mj, supply.me_mj_per_kg_dm, supply.missing) == (
        0.0,
        0.0,
        0.0,
        {},
    )
