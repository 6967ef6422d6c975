"""Changes, scenario files, spreads and crops that cannot be: each is refused with its code, its
place and what to do.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "ask"))
from ask_farm import small_farm

from rationlp.ask.grow import grow
from rationlp.ask.robust import SureAsked, sure_rations
from rationlp.ask.scenarios import MOST_SCENARIOS, file_scenarios, typed_scenarios
from rationlp.ask.sure import DrawsAsked, winter_sureness
from rationlp.ask.whatif import Scope, what_if
from rationlp.errors import InputError
from rationlp.read.changed import begin, changed, parse_change
from rationlp.read.farm import read_farm
from rationlp.rules.spreads import spreads_with


def told(caught: pytest.ExceptionInfo[InputError]) -> str:
    """All findings as text."""
    return "\n".join(str(finding) for finding in caught.value.findings)


HUGE = "9" * 400
"""More than a float can hold."""


@pytest.mark.parametrize(
    ("texts", "code", "words"),
    [
        (["winter.turnuot=2027-01-01"], "IN530", 'nearest: "winter.turnout"'),
        (["barly.price_per_t_fresh=3"], "IN530", 'nearest: "barley"'),
        (["barley.price=3"], "IN530", 'nearest: "barley.price_per_t_fresh"'),
        (["milk_per_litre=0.3"], "IN530", "write prices.milk_per_litre"),
        (["cows.hed=3"], "IN530", 'nearest: "cows.head"'),
        (
            ["cows.feed_limits.barley.max_kg=3"],
            "IN530",
            'nearest: "cows.feed_limits.barley.max_kg_fresh"',
        ),
        (["cows.id=3"], "IN530", "no such key"),
        (["pit"], "IN532", "path=value"),
        (["pit.length_m="], "IN532", "path=value"),
        (["barley.price_per_t_fresh=5%"], "IN532", "+=5%"),
        (["cows.head+=many"], "IN532", "cannot be added"),
        (["hay.barred=perhaps"], "IN532", "hay.barred=true"),
        (["hay.barred+=1"], "IN532", "hay.barred=true"),
        (["barley.most_t+=3"], "IN535", "barley.most_t=…"),
        (["stores.sex+=1"], "IN535", "no number"),
        (["cows.head=3", "cows.head=4"], "IN536", "changed twice"),
        (["cows.head=0"], "IN113", "at least 1"),
        (["cows.head=3.5"], "IN112", "whole number"),
        (["winter.turnout=tomorrow"], "IN112", "date"),
        (["winter.turnout=2026-10-01"], "IN130", "not after start"),
        (["pit.me_mj_per_kg_dm=99"], "IN225", "ME"),
        (["pit.me_mj_per_kg_dm=rich"], "IN112", "not a number"),
        (["pit.edible_t_dm=(-1)"], "IN113", "0 to 100000"),
        (["cows.feed_limits.barley.max_kg_fresh=(-1)"], "IN113", "at least 0"),
        ([f"pit.me_mj_per_kg_dm={HUGE}"], "IN225", "ME"),
        ([f"pit.me_mj_per_kg_dm+={HUGE}"], "IN225", "ME"),
        ([f"cows.head+={HUGE}"], "IN112", "whole number"),
        ([f"cows.head+={HUGE}%"], "IN112", "whole number"),
        ([f"pit.edible_t_dm={HUGE}"], "IN113", "0 to 100000"),
        (["cows.feed_limits.oats.max_kg_fresh=1"], "IN124", "neither in store nor bought"),
        (['cows.barred=["oats"]'], "IN124", "neither in store nor bought"),
    ],
)
def test_a_change_that_cannot_be_is_refused(
    tmp_path: Path, texts: list[str], code: str, words: str
) -> None:
    """Code and remedy, as for a farm file."""
    begun = begin(small_farm(tmp_path / "farm"))
    with pytest.raises(InputError) as caught:
        changed(begun, [parse_change(text) for text in texts])
    assert code in [finding.code for finding in caught.value.findings]
    assert words in told(caught)


def test_an_id_of_two_things_must_be_told_apart(tmp_path: Path) -> None:
    """The message shows both ways of writing it, and each of them works."""
    begun = begin(small_farm(tmp_path / "farm", ('id = "stores"', 'id = "hay"')))
    with pytest.raises(InputError) as caught:
        changed(begun, [parse_change("hay.head=3")])
    assert caught.value.findings[0].code == "IN531"
    assert "stores.hay.head or groups.hay.head" in told(caught)
    assert changed(begun, [parse_change("groups.hay.head=3")]).farm.groups[1].head == 3
    assert changed(begun, [parse_change("stores.hay.count=3")]).farm.stores[1].size["count"] == 3


def test_all_faults_of_all_changes_are_told_at_once(tmp_path: Path) -> None:
    """Two wrong paths, two findings."""
    begun = begin(small_farm(tmp_path / "farm"))
    with pytest.raises(InputError) as caught:
        changed(
            begun, [parse_change("a.b=1"), parse_change("winter.c=1"), parse_change("cows.head=3")]
        )
    assert [finding.code for finding in caught.value.findings] == ["IN530", "IN530"]


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("barley.price_per_t_fresh=300:200:10", "IN533", "is empty"),
        ("barley.price_per_t_fresh=200:300:-10", "IN533", "is empty"),
        ("barley.price_per_t_fresh=200:300:0", "IN533", "is empty"),
        ("barley.price_per_t_fresh=200:300", "IN533", "from:to:step"),
        ("barley.price_per_t_fresh=200:dear:10", "IN533", "from:to:step"),
        ("barley.price_per_t_fresh+=-10%:10:5%", "IN533", "all three"),
        ("barley.price_per_t_fresh=0:1000:1", "IN534", "1001 scenarios"),
        ("barley.price_per_t_fresh=0:1000000:0.001", "IN534", "1000000001 scenarios"),
    ],
)
def test_ranges_that_cannot_be_are_refused(text: str, code: str, words: str) -> None:
    """Empty ones, and those that are too many, with how many they would be."""
    with pytest.raises(InputError) as caught:
        typed_scenarios([text])
    assert (caught.value.findings[0].code, words in told(caught)) == (code, True)


def test_many_scenarios_are_solved_when_asked_for_twice() -> None:
    """One more than the most, with `many`."""
    text = f"barley.price_per_t_fresh=1:{MOST_SCENARIOS + 1}:1"
    assert len(typed_scenarios([text], many=True)) == MOST_SCENARIOS + 1
    with pytest.raises(InputError, match=f"{MOST_SCENARIOS + 1} scenarios"):
        typed_scenarios([text])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[[scenarios]\n", "not readable as TOML"),
        ("", "no scenario in it"),
        ("scenarios = 3\n", "no scenario in it"),
        ("[[scenario]]\nname = 'a'\n", "unknown table"),
        ("[[scenarios]]\nname = 'a'\n", "no list of changes"),
        ("[[scenarios]]\nset = ['cows.head=3']\n", "no name"),
        ("[[scenarios]]\nname = 'a'\nset = [3]\n", "no list of changes"),
        ("[[scenarios]]\nname = 'a'\nsets = ['cows.head=3']\n", 'nearest: "set"'),
        ("[[scenarios]]\nname = 'a'\nset = ['cows']\n", "no change"),
        ("[[scenarios]]\nname = 'a'\nset = ['cows.head=3']\n" * 2, "two scenarios named"),
    ],
)
def test_scenario_files_that_cannot_be_read_are_refused(
    tmp_path: Path, text: str, words: str
) -> None:
    """With the form of a scenario as the remedy."""
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        file_scenarios(path)
    assert words in told(caught)


def test_a_scenario_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """As any file."""
    with pytest.raises(InputError, match="IN201"):
        file_scenarios(tmp_path / "none.toml")


def test_a_question_without_a_change_is_refused(tmp_path: Path) -> None:
    """Nothing is compared with itself."""
    with pytest.raises(InputError, match="nothing is changed"):
        what_if(begin(small_farm(tmp_path / "farm")), ())


def test_a_group_that_nobody_has_is_refused(tmp_path: Path) -> None:
    """Before anything is solved."""
    with pytest.raises(InputError, match="IN501"):
        what_if(
            begin(small_farm(tmp_path / "farm")),
            typed_scenarios(["cows.head=3"]),
            Scope(("goats",)),
        )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("densty_table=0.1", 'nearest: "density_table"'),
        ("density_table=-0.1", "from 0 to 1"),
        ("density_table=1.5", "from 0 to 1"),
        ("density_table=nan", "from 0 to 1"),
        ("density_table", "density_table=value"),
        ("turnout=soon", "from 0 to 1000"),
    ],
)
def test_spreads_that_cannot_be_are_refused(text: str, words: str) -> None:
    """Unknown ones, those below nought, those above the whole."""
    with pytest.raises(InputError) as caught:
        spreads_with([text])
    assert (caught.value.findings[0].code, words in told(caught)) == ("IN538", True)


@pytest.mark.parametrize("chance", [0.0, 0.49, 1.0, 90.0, float("nan")])
def test_chances_that_cannot_be_are_refused(tmp_path: Path, chance: float) -> None:
    """Below evens there is nothing to be sure of; certainty is not to be had."""
    farm = read_farm(small_farm(tmp_path / "farm"))
    with pytest.raises(InputError, match="IN538"):
        sure_rations(farm, ("cows",), SureAsked(chance, spreads_with(())))


def test_a_group_without_an_energy_need_cannot_be_made_sure(tmp_path: Path) -> None:
    """A group of stated needs has no requirement that moves with the analyses."""
    stated = '[[groups]]\nid = "goats"\nclass = "stated"\nhead = 3\n'
    stated += (
        'quantity_limits = [{quantity = "dm_kg", per = "head_day", at_least = 2, at_most ='
        ' 3}]\n\n[[groups]]\nid = "cows"'
    )
    farm = read_farm(small_farm(tmp_path / "farm", ('[[groups]]\nid = "cows"', stated)))
    with pytest.raises(InputError, match="stated without energy"):
        sure_rations(farm, ("goats",), SureAsked(0.9, spreads_with(())))


@pytest.mark.parametrize("draws", [0, -3, 10**9])
def test_numbers_of_draws_that_cannot_be_are_refused(tmp_path: Path, draws: int) -> None:
    """None, and more than anybody waits for."""
    with pytest.raises(InputError, match="IN538"):
        winter_sureness(
            begin(small_farm(tmp_path / "farm")), DrawsAsked(draws, 1, spreads_with(()))
        )


def test_a_winter_without_a_plan_has_nothing_to_vary(tmp_path: Path) -> None:
    """It is said at once, not by a hundred draws without a plan."""
    begun = begin(
        small_farm(
            tmp_path / "farm",
            ("gain_kg_per_day = 0.9", "gain_kg_per_day = 0.9\nbarred = ['pit', 'hay', 'straw']"),
        )
    )
    with pytest.raises(InputError, match="no plan"):
        winter_sureness(begun, DrawsAsked(10, 1, spreads_with(())))


GRASS = "yield_t_dm_per_ha = 9\ncost_per_ha = 1200\nmost_ha = 20"


@pytest.mark.parametrize(
    ("old", "new", "code", "words"),
    [
        (GRASS, "yield_t_dm_per_ha = 9\n", "IN111", "cost_per_ha"),
        (GRASS, f"{GRASS}\nleast_ha = 30", "IN117", "cannot pass"),
        (GRASS, f"{GRASS}\nlosses = 0.9", "IN113", "losses"),
        (GRASS, f"{GRASS}\nlosess = 0.1", "IN110", 'nearest: "losses"'),
        (GRASS, "yield_t_dm_per_ha = 9000\ncost_per_ha = 1200", "IN113", "at most 40"),
        (GRASS, "yield_t_dm_per_ha = 9\ncost_per_ha = -1", "IN113", "at least 0"),
        (
            GRASS,
            "yield_t_dm_per_ha = 9\ncost_per_ha = 1\nwould_fetch_per_t_dm = 90",
            "IN539",
            "nothing limits",
        ),
        (
            'id = "pit"\nname = "Grass"\nfeed = "grass_silage_1st_typical"',
            'feed = "barley"',
            "IN116",
            "a bought feed",
        ),
        (
            'id = "pit"\nname = "Grass"\nfeed = "grass_silage_1st_typical"',
            'feed = "wheat"',
            "IN539",
            "no forage",
        ),
        (
            'id = "pit"\nname = "Grass"\nfeed = "grass_silage_1st_typical"',
            'feed = "gras_silage_2nd"',
            "IN119",
            "nearest",
        ),
        ('name = "Straw"\nfeed = "straw_barley"\nstored', 'feed = "straw_barley"\nstored', "", ""),
        (
            "[[growing]]",
            "[land]\nhectares = 10\n\n[[growing]]\nleast_ha = 11",
            "IN539",
            "must find room",
        ),
        ("[[growing]]", "[land]\nhectares = 0\n\n[[growing]]", "IN113", "above 0"),
    ],
)
def test_crops_that_cannot_be_are_refused(
    tmp_path: Path, old: str, new: str, code: str, words: str
) -> None:
    """When the farm is read; the row without a code shows that such a change by itself is no
    fault.
    """
    folder = small_farm(tmp_path / "farm", (old, new))
    if not code:
        assert [crop.name for crop in read_farm(folder).growing][1].startswith("Barley straw")
        return
    with pytest.raises(InputError) as caught:
        read_farm(folder)
    assert code in [finding.code for finding in caught.value.findings]
    assert words in told(caught)


def test_a_farm_that_says_nothing_of_growing_cannot_be_asked(tmp_path: Path) -> None:
    """The remedy names the table."""
    text = small_farm(tmp_path / "farm") / "farm.toml"
    kept = text.read_text(encoding="utf-8").split("[[growing]]")
    text.write_text(kept[0] + kept[2][kept[2].index("[[groups]]") :], encoding="utf-8")
    with pytest.raises(InputError, match=r"add \[\[growing\]\]"):
        grow(read_farm(text.parent))


@pytest.mark.parametrize("reserve", [-0.1, 1.5, float("nan")])
def test_reserves_that_cannot_be_are_refused(tmp_path: Path, reserve: float) -> None:
    """Less than nothing, and more than as much again."""
    with pytest.raises(InputError, match="IN539"):
        grow(read_farm(small_farm(tmp_path / "farm")), reserve)


@pytest.mark.parametrize(
    ("text", "remedies"),
    [
        (
            "barley.price_per_t_fresh=+20",
            ["price_per_t_fresh=20 for 20 itself", "price_per_t_fresh+=20 for 20 more"],
        ),
        (
            "barley.price_per_t_fresh=-20",
            ["price_per_t_fresh=(-20) for -20 itself", "price_per_t_fresh-=20 for 20 less"],
        ),
        ("barley.price_per_t_fresh=+5%", ["price_per_t_fresh+=5% for 5% more"]),
    ],
)
def test_a_sign_after_the_equals_sign_can_be_read_in_two_ways(
    text: str, remedies: list[str]
) -> None:
    """IN742 names both readings, each as it is to be written."""
    with pytest.raises(InputError) as trouble:
        parse_change(text)
    finding = trouble.value.findings[0]
    assert finding.code == "IN742"
    assert all(remedy in finding.remedy for remedy in remedies)


@pytest.mark.parametrize(
    "text", ["barley.price_per_t_fresh=20", "barley.price_per_t_fresh+=-20", "cows.head-=1"]
)
def test_other_signs_are_read_as_they_stand(text: str) -> None:
    """Nothing else can be meant."""
    assert str(parse_change(text)) == text
