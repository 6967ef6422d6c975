"""`ration` on a day feeds from what is open on it, as the winter's plan does, and says so."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from rationlp.cli.ration import at_this_rate
from rationlp.folders import examples_folder
from rationlp.model.ration import make_blocks
from rationlp.read.farm import read_farm
from rationlp.wintering.open_stores import rations_of_day
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions


def few(folder: Path, filled: str = "", barred: str = "", yard: str = "") -> Path:
    """The example of a few cattle, with a day on which its clamp was filled."""
    folder.mkdir(exist_ok=True)
    text = (examples_folder() / "few" / "farm.toml").read_text(encoding="utf-8")
    (folder / "lab.csv").write_bytes((examples_folder() / "few" / "lab.csv").read_bytes())
    text = text.replace("length_m = 13\n", f"{filled}length_m = 13\n")
    text = text.replace("head = 11\n", f"head = 11\n{barred}")
    (folder / "farm.toml").write_text(text + yard, encoding="utf-8")
    return folder


def told(folder: Path) -> tuple[set[str], str]:
    """(what is fed on the first day, the sentences about stores)."""
    farm = read_farm(folder)
    rations = rations_of_day(farm)
    shut = at_this_rate(farm, rations, None).shut
    return {amount.offer for amount in rations.groups[0].amounts}, shut


FILLED = "filled = 2026-10-20\n"


def test_a_clamp_still_shut_is_left_shut(tmp_path: Path) -> None:
    """Filled on 20 October, asked about on 1 November: bales are fed, as the plan feeds them; a
    clamp without a day of filling is open.
    """
    clamp = read_farm(few(tmp_path / "shut", FILLED)).stores[0].id
    fed, lines = told(tmp_path / "shut")
    assert clamp not in fed
    assert "The wide clamp is shut until 17 November and not fed before." in lines
    plan = solve_winter(read_farm(tmp_path / "shut"), WinterOptions(tidy=False, prove=False))
    first = [ration for ration in plan.rations if ration.period == 0]
    assert first
    assert all(amount.offer != clamp for ration in first for amount in ration.amounts)
    fed, lines = told(few(tmp_path / "open"))
    assert clamp in fed
    assert "shut until" not in lines


def test_a_shut_clamp_is_fed_where_somebody_has_no_ration_else(tmp_path: Path) -> None:
    """Without bales there is none: it is opened and said, unless the farm states its days."""
    no_bales = 'barred = ["bales"]\n'
    clamp = read_farm(few(tmp_path / "need", FILLED, no_bales)).stores[0].id
    fed, lines = told(tmp_path / "need")
    assert clamp in fed
    assert "is fed although it should stay shut until 17 November" in lines
    assert (
        told(few(tmp_path / "stated", FILLED, no_bales, "\n[yard]\nshut_days = 28\n"))[0] == set()
    )


def test_a_store_kept_for_a_group_is_offered_to_it_alone() -> None:
    """In a day's ration as in the winter's plan."""
    farm = read_farm(examples_folder() / "dairy")
    stores = tuple(
        replace(store, kept_for=("late",)) if store.id == "maize" else store
        for store in farm.stores
    )
    for whole, groups in ((farm, 3), (replace(farm, stores=stores), 1)):
        blocks = make_blocks(whole)
        offered = [
            block.group.id for block in blocks if any(offer.id == "maize" for offer in block.offers)
        ]
        assert len(offered) == groups
        assert "late" in offered
