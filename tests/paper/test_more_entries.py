"""A first farm with entries of other examples: several clamps, two herds and a flock."""

from __future__ import annotations

from pathlib import Path

import pytest

from rationlp.errors import InputError
from rationlp.live.papers import new_farm, new_farm_questions
from rationlp.paper.more_entries import more_entries
from rationlp.read.farm import read_farm
from rationlp.read.template import LIKE

ANSWERS = {
    "maize.length_m": "14", "maize.width_m": "6", "maize.height_m": "2",
    "second_cut.length_m": "15", "second_cut.width_m": "6", "second_cut.height_m": "2.2",
    "young.head": "14", "young.live_weight_kg": "300",
    "singles.head": "60", "singles.live_weight_kg": "70", "singles.lambing": "2027-04-08",
    "cows.head": "16",
}  # fmt: skip


@pytest.mark.parametrize("example", sorted(set(LIKE.values())))
def test_everything_of_the_others_can_be_there_at_once(example: str, tmp_path: Path) -> None:
    """Each example with every entry that is offered to it is a farm that can be read."""
    asked = [one for entry in more_entries(example) for one in entry.questions()]
    answers = {one.path: str(one.present) for one in asked}
    births = {path: "2027-03-28" for path in answers if path.endswith(("calving", "lambing"))}
    sent = {"folder_name": "all", "like": example, "answers": answers | births}
    farm = read_farm(new_farm(tmp_path, sent))
    names = {one.id for one in (*farm.stores, *farm.groups)}
    assert names >= {path.partition(".")[0] for path in answers}
    assert any(path.endswith(".head") for path in answers)
    assert births or example in ("beef", "hill")


def test_three_clamps_two_herds_and_a_flock(tmp_path: Path) -> None:
    """What is filled in is there with its answers, and with what it may be given; what is empty
    is not.
    """
    farm = read_farm(new_farm(tmp_path, {"folder_name": "ours", "like": "few", "answers": ANSWERS}))
    assert [store.id for store in farm.stores if store.kind == "clamp"] == [
        "wide_clamp",
        "second_cut",
        "maize",
    ]
    assert farm.stores[-2].size["height_m"] == 2.2
    assert {group.id: group.head for group in farm.groups} == {
        "cows": 16,
        "young": 14,
        "singles": 60,
    }
    cows, young, ewes = farm.groups
    bought = {offer.id for offer in farm.offers if offer.bought}
    assert {"sheep_minerals", "minerals_cattle_general", "minerals"} <= bought
    assert "minerals_cattle_general" in cows.barred
    assert "minerals" in young.barred
    assert "sheep_minerals" not in ewes.barred
    text = (tmp_path / "ours" / "farm.toml").read_text(encoding="utf-8")
    assert "# the clamp is paid for" in text


def test_half_an_entry_is_no_answer(tmp_path: Path) -> None:
    """A size that is missing is never the example's; nothing is written."""
    answers = {key: word for key, word in ANSWERS.items() if key != "maize.width_m"}
    with pytest.raises(InputError) as refused:
        new_farm(tmp_path, {"folder_name": "ours", "like": "few", "answers": answers})
    assert "width_m" in str(refused.value)
    assert "maize" in str(refused.value)
    assert not (tmp_path / "ours").exists()


def test_the_page_asks_for_what_others_have_with_nothing_filled_in() -> None:
    """Empty fields, and none that the example itself asks."""
    asked = new_farm_questions()
    for like, more in asked["more"].items():
        assert {one["value"] for one in more} == {""}
        own = {one["path"] for one in asked["questions"][like]}
        assert not own & {one["path"] for one in more}
    assert any(one["path"] == "singles.head" for one in asked["more"]["few"])
