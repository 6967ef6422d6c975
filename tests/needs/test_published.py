"""Published equations and figures: each check point names its source and status in
tests/needs/published/.
"""

from __future__ import annotations

import pytest
from published_quantities import OTHERS, QUANTITIES, parse, rows

EQUATIONS = rows("equations.csv")
PRINTED = rows("printed.csv")
NET_ENERGY = rows("net-energy.csv")


def _label(row: dict[str, str]) -> str:
    return f"{row.get('id', '')}-{row['quantity']}-{row['inputs']}"


@pytest.mark.parametrize("row", EQUATIONS, ids=_label)
def test_equation_gives_its_check_point(row: dict[str, str]) -> None:
    """An equation gives the figure worked out by hand from its published form, to the digits
    printed.
    """
    value = QUANTITIES[row["quantity"]](parse(row["inputs"]))
    assert value == pytest.approx(float(row["expected"]), abs=1.001 * float(row["tolerance"]))


def test_every_check_point_is_there() -> None:
    """The check points C01 to C87 are all in the file, each with a status and a source."""
    assert {row["id"] for row in EQUATIONS} == {f"C{number:02d}" for number in range(1, 88)}
    assert all(row["status"] in {"a", "b", "c"} and row["source"] for row in EQUATIONS)


def _slack(row: dict[str, str], printed: float) -> float:
    text = row["tolerance"]
    return printed * float(text[:-1]) / 100.0 if text.endswith("%") else float(text)


@pytest.mark.parametrize("row", PRINTED, ids=_label)
def test_printed_figure(row: dict[str, str]) -> None:
    """Our figure lies within the tolerance of the printed one, or disagrees with it where that is
    what was recorded.
    """
    value = QUANTITIES[row["quantity"]](parse(row["inputs"]))
    low, high = float(row["printed_low"]), float(row["printed_high"])
    inside = low - _slack(row, low) <= value <= high + _slack(row, high)
    assert inside == (row["verdict"] in {"within", "agrees"})


@pytest.mark.parametrize("row", PRINTED, ids=_label)
def test_own_figure_beside_a_printed_one(row: dict[str, str]) -> None:
    """Our own figure beside a printed one is the one on record, to the digits recorded."""
    value = QUANTITIES[row["quantity"]](parse(row["inputs"]))
    decimals = len(row["own"].partition(".")[2])
    assert value == pytest.approx(float(row["own"]), abs=0.501 * 10.0**-decimals)


def test_every_printed_figure_is_there() -> None:
    """The printed figures P24 to P38 are all in the file."""
    assert {row["id"] for row in PRINTED} == {f"P{number}" for number in range(24, 39)}


@pytest.mark.parametrize("row", NET_ENERGY, ids=_label)
def test_net_energy_beside_another_system(row: dict[str, str]) -> None:
    """Net energy agrees in order of magnitude with another system's; growth lies above, as its
    definition says.
    """
    ours = QUANTITIES[row["quantity"]](parse(row["inputs"]))
    theirs = float(row["expected"])
    assert float(row["ratio_low"]) <= ours / theirs <= float(row["ratio_high"])


@pytest.mark.parametrize("row", NET_ENERGY, ids=_label)
def test_other_system_gives_its_printed_figure(row: dict[str, str]) -> None:
    """The other system's equation gives the figure that ours is set beside."""
    name, _, inputs = row["other"].partition(";")
    assert OTHERS[name](parse(inputs)) == pytest.approx(float(row["expected"]), abs=0.06)
