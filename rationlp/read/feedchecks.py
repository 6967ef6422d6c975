"""Whether the figures of one feed can be true: ranges of single figures, and figures that contradict one another."""

from __future__ import annotations

from collections.abc import Mapping

from rationlp.errors import Finding, InputError
from rationlp.quantities import Quantity, quantities
from rationlp.read.objects import Feed

PARTS = (
    "cp_g_per_kg_dm",
    "ndf_g_per_kg_dm",
    "starch_g_per_kg_dm",
    "sugar_g_per_kg_dm",
    "oil_g_per_kg_dm",
    "ash_g_per_kg_dm",
)
_SLIPS = ((10.0, "a percentage"), (1000.0, "a share of one"), (100.0, "a share of one"), (0.1, "ten times too large"))
MOST_PARTS = 1060.0
"""Crude protein, NDF, starch, sugar, oil and ash may run a little over 1000 g/kg DM, because NDF carries some protein."""


def check_range(name: str, value: float, where: str, own_quantities: Mapping[str, Quantity]) -> None:
    """Raise InputError when a figure lies outside the hard range of its quantity; the remedy guesses at a slip of unit."""
    quantity = own_quantities.get(name) or quantities().get(name)
    if quantity is None:
        return
    low = -float("inf") if quantity.hard_low is None else quantity.hard_low
    high = float("inf") if quantity.hard_high is None else quantity.hard_high
    if low <= value <= high:
        return
    for factor, words in _SLIPS:
        guess = value * factor
        if low <= guess <= high and guess > 0.0:
            hint = f"was it {guess:g} {quantity.unit} ({words})?"
            break
    else:
        hint = "check the figure and its unit"
    found = f"{value:g} is no figure for {quantity.title} in {quantity.unit} (from {low:g} to {high:g})"
    raise InputError([Finding("IN225", where, found, hint)])


def check_feed(feed: Feed, where: str) -> list[Finding]:
    """Figures of one feed that contradict one another. Empty when all is well."""
    findings = []
    value = feed.value
    adf, ndf = value("adf_g_per_kg_dm"), value("ndf_g_per_kg_dm")
    if adf is not None and ndf is not None and adf > ndf:
        found = f"ADF {adf:g} above NDF {ndf:g} g/kg DM"
        findings.append(Finding("IN226", where, found, "ADF is a part of NDF: check both figures"))
    parts = [part for part in (value(name) for name in PARTS) if part is not None]
    if feed.kind != "npn" and sum(parts) > MOST_PARTS:
        found = f"crude protein, NDF, starch, sugar, oil and ash add up to {sum(parts):.0f} g/kg DM"
        findings.append(Finding("IN227", where, found, "together they cannot pass 1000: check their units and basis"))
    a, b = value("prot_a_fraction"), value("prot_b_fraction")
    if a is not None and b is not None and a + b > 1.0 + 1e-9:
        found = f"degradability a + b is {a + b:g}"
        findings.append(Finding("IN228", where, found, "the two fractions together cannot pass 1"))
    me, fme = value("me_mj_per_kg_dm"), value("fme_mj_per_kg_dm")
    fme_figure = feed.figures.get("fme_mj_per_kg_dm")
    if me is not None and fme is not None and fme > me and fme_figure is not None and fme_figure.origin != "table":
        findings.append(Finding("IN229", where, f"FME {fme:g} above ME {me:g} MJ/kg DM", "FME is a part of ME"))
    return findings
