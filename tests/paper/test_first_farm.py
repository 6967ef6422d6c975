"""A first farm by commands alone: what to begin with, questions, keys set with comments kept."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from rationlp.cli.app import app
from rationlp.farm.traits import traits
from rationlp.read.farm import read_farm
from rationlp.read.template import LIKE

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SHEET = "Sample: wide clamp\nDM (corrected) 28.6 %\nME 10.8 MJ/kg DM\nCrude protein 13.9 % DM\n"


def run(*words: str, stdin: str | None = None) -> Result:
    """A command, with what is typed."""
    return CliRunner().invoke(app, list(words), input=stdin)


@pytest.mark.parametrize("like", LIKE)
def test_what_to_begin_with(like: str, tmp_path: Path) -> None:
    """Every word gives a farm that can be read, and says what to change first."""
    done = run("new", str(tmp_path / "farm"), "--like", like)
    assert done.exit_code == 0
    assert "farm.toml" in done.stdout
    assert "First make it yours" in done.stderr
    assert read_farm(tmp_path / "farm").groups


def test_another_word_is_refused(tmp_path: Path) -> None:
    """With the words that there are."""
    done = run("new", str(tmp_path / "farm"), "--like", "goats")
    assert done.exit_code == 2
    assert "PA141" in done.stderr
    assert "few" in done.stderr
    assert not (tmp_path / "farm").exists()


def test_questions_make_it_ones_own(tmp_path: Path) -> None:
    """Sizes, bales, heads and weights; Enter keeps, none takes out; comments stay."""
    answers = "High Barn\n\n\n18\n9\n2,2\n40\n600\nnone\n24\n640\n"
    done = run("new", str(tmp_path / "farm"), "--like", "few", "--ask", stdin=answers)
    assert done.exit_code == 0, done.stderr
    farm = read_farm(tmp_path / "farm")
    assert farm.name == "High Barn"
    assert [store.id for store in farm.stores] == ["wide_clamp", "bales"]
    assert farm.stores[0].size["height_m"] == 2.2
    assert (farm.groups[0].head, farm.groups[0].facts["live_weight_kg"]) == (24, 640)
    text = (tmp_path / "farm" / "farm.toml").read_text(encoding="utf-8")
    assert text.startswith("# An invented holding")
    assert not (tmp_path / "farm" / "lab.csv").exists()


def test_a_wrong_answer_writes_nothing(tmp_path: Path) -> None:
    """A clamp of nine hundred metres."""
    done = run("new", str(tmp_path / "farm"), "--like", "few", "--ask", stdin="\n\n\n900\n" * 9)
    assert done.exit_code == 2
    assert not (tmp_path / "farm").exists()


def test_keys_are_set_and_comments_stay(tmp_path: Path) -> None:
    """Sizes, an amount more, a figure of one's own, a name, an entry taken out."""
    farm = tmp_path / "farm"
    run("new", str(farm), "--like", "few")
    before = (farm / "farm.toml").read_text(encoding="utf-8")
    done = run(
        "set", str(farm), "wide_clamp.width_m=9", "bales.count+=10", "cows.name=Sucklers",
        "wide_clamp.me_mj_per_kg_dm=10.9", "straw=none", "winter.turnout=2027-05-01",
    )  # fmt: skip
    assert done.exit_code == 0, done.stderr
    assert "bales.count: 30 → 40" in done.stdout
    after = (farm / "farm.toml").read_text(encoding="utf-8")
    assert [line for line in before.splitlines() if line.startswith("#")] == [
        line for line in after.splitlines() if line.startswith("#")
    ]
    read = read_farm(farm)
    assert read.groups[0].name == "Sucklers"
    assert read.turnout.isoformat() == "2027-05-01"
    assert [store.id for store in read.stores] == ["wide_clamp", "bales"]


def test_what_follows_is_set_by_the_paths_of_whatif(tmp_path: Path) -> None:
    """Facts after calving, and a change by its day: single lines, and every other line stays."""
    calving, hill = tmp_path / "calving", tmp_path / "hill"
    shutil.copytree(EXAMPLES / "calving", calving)
    shutil.copytree(EXAMPLES / "hill", hill)
    before = [(farm / "farm.toml").read_text(encoding="utf-8") for farm in (calving, hill)]
    done = run("set", str(calving), "cows.after.milk_kg_per_day-=3")
    assert done.exit_code == 0, done.stderr
    assert "cows.after.milk_kg_per_day: 33 → 30" in done.stdout
    done = run("set", str(hill), "store_lambs.changes.2027-01-25.head=40")
    assert done.exit_code == 0, done.stderr
    after = [(farm / "farm.toml").read_text(encoding="utf-8") for farm in (calving, hill)]
    assert after[0] == before[0].replace("milk_kg_per_day = 33\n", "milk_kg_per_day = 30\n", 1)
    assert after[1] == before[1].replace(
        "from = 2027-01-25\nhead = 45\n", "from = 2027-01-25\nhead = 40\n"
    )


def test_new_tables_are_made_with_every_comment_where_it_stood(tmp_path: Path) -> None:
    """Limits of the last group of a list, before the remarks that lead on to next year; two kinds
    of limit in one group, keys in any order; each table after what its group holds.
    """
    farm = tmp_path / "dairy"
    shutil.copytree(EXAMPLES / "dairy", farm)
    before = (farm / "farm.toml").read_text(encoding="utf-8")
    done = run(
        "set", str(farm), "finishers.feed_limits.barley.max_kg_fresh=3",
        "dry.feed_limits.straw.min_kg_fresh=2", "dry.family_limits.rapeseeds.cap=0.1",
        "dry.feed_limits.hay.max_kg_fresh=4", "dry.family_limits.rapeseeds.basis=share_of_dm",
    )  # fmt: skip
    assert done.exit_code == 0, done.stderr
    after = (farm / "farm.toml").read_text(encoding="utf-8")
    limit = '\n[[groups.feed_limits]]\nfeed = "{}"\n{} = {}\n'
    of_dry = limit.format("straw", "min_kg_fresh", 2) + limit.format("hay", "max_kg_fresh", 4)
    of_dry += '\n[[groups.family_limits]]\nfamily = "rapeseeds"\ncap = 0.1\nbasis = "share_of_dm"\n'
    barred = 'barred = ["maize", "wheat", "barley"]\n'
    last = 'feed = "wheat"\nmax_kg_fresh = 2.5\n'
    expected = before.replace(barred, barred + of_dry, 1)
    expected = expected.replace(last, last + limit.format("barley", "max_kg_fresh", 3), 1)
    assert after == expected


def test_a_remark_right_below_the_last_key_stays_there(tmp_path: Path) -> None:
    """It belongs to what it stands below, not to the next group."""
    farm = tmp_path / "hill"
    shutil.copytree(EXAMPLES / "hill", farm)
    before = (farm / "farm.toml").read_text(encoding="utf-8")
    assert run("set", str(farm), "triplets.feed_limits.late_hay.max_kg_fresh=0").exit_code == 0
    remark = "# a lamb of each triplet ewe is fostered\n"
    limit = '\n[[groups.feed_limits]]\nfeed = "late_hay"\nmax_kg_fresh = 0\n'
    after = (farm / "farm.toml").read_text(encoding="utf-8")
    assert after == before.replace(remark, remark + limit, 1)


def test_what_they_are_afterwards_is_added(tmp_path: Path) -> None:
    """[groups.after] of a herd that had none, in a file whose remarks stay."""
    farm = tmp_path / "few"
    shutil.copytree(EXAMPLES / "few", farm)
    path = farm / "farm.toml"
    whole = path.read_text(encoding="utf-8")
    start = whole.index("\n[groups.after]")
    path.write_text(whole[:start] + "\n# the end\n", encoding="utf-8")
    done = run(
        "set", str(farm), "cows.after.class=suckler_cow_milking", "cows.after.milk_kg_per_day=8.5"
    )
    assert done.exit_code == 0, done.stderr
    added = '\n[groups.after]\nclass = "suckler_cow_milking"\nmilk_kg_per_day = 8.5\n'
    assert path.read_text(encoding="utf-8") == whole[:start] + added + "\n# the end\n"
    calendar = read_farm(farm).groups[0].calendar
    assert calendar is not None
    assert calendar.after["milk_kg_per_day"] == 8.5


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("store_lambs.changes.head=3", "write store_lambs.changes.DAY.KEY=…"),
        ("store_lambs.changes.2027-01-02.head=3", "days: 2027-01-25, 2027-02-22"),
        ("store_lambs.changes.2027-01-25.from=2027-01-26", "change from in farm.toml"),
        ("store_lambs.changes.2027-01-25.heads=3", "store_lambs.changes.2027-01-25.head"),
        ("rams.changes.2027-01-25.head=3", "add [[groups.changes]]"),
        ("twins.after=3", "write twins.after.KEY=…"),
        ("twins.after.milk=1", "twins.after.milk_kg_per_day"),
        ("rams.after.class=ewe_milking", "give calving or lambing"),
        ("rams.family_limits.rapeseeds.cap=0.1", "family_limits[1].basis"),
        ("rams.grazing.until=2027-01-01", "[[groups.grazing]]"),
    ],
)
def test_a_path_that_is_refused_says_what_to_write(
    setting: str, words: str, tmp_path: Path
) -> None:
    """What follows has its own paths; nothing is written."""
    farm = tmp_path / "hill"
    shutil.copytree(EXAMPLES / "hill", farm)
    before = (farm / "farm.toml").read_bytes()
    done = run("set", str(farm), setting)
    assert done.exit_code == 2
    assert words in " ".join(done.stderr.split())
    assert (farm / "farm.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("wide_clamp.lenght_m=9", "length_m"),
        ("wide_clamp.length_m=9000", "1 to 300"),
        ("nothing=none", "there are"),
        ("wide_clamp.edible_t_dm=50", "PA140"),
        ("cows.class=ewe", ""),
    ],
)
def test_a_wrong_setting_changes_nothing(setting: str, words: str, tmp_path: Path) -> None:
    """The farm stays as it was, and the finding names the nearest."""
    farm = tmp_path / "farm"
    run("new", str(farm), "--like", "few")
    before = (farm / "farm.toml").read_bytes()
    done = run("set", str(farm), setting)
    assert done.exit_code == 2
    assert words in done.stderr
    assert (farm / "farm.toml").read_bytes() == before


def test_a_sheet_is_shown_first_and_written_when_told(tmp_path: Path) -> None:
    """From standard input; existing rows of other stores and comments stay."""
    farm = tmp_path / "farm"
    run("new", str(farm), "--like", "few")
    (farm / "lab.csv").write_text(
        "# our sheets\nfor,dm_percent,ph\nwide_clamp,30,4.2\nbales,40,\n", encoding="utf-8"
    )
    before = (farm / "lab.csv").read_text(encoding="utf-8")
    shown = run("take", "-", str(farm), "--rows", "instead", stdin=SHEET)
    assert shown.exit_code == 0, shown.stderr
    assert "286.0" in shown.stdout
    assert "Nothing was written" in shown.stderr
    assert (farm / "lab.csv").read_text(encoding="utf-8") == before
    open_question = run("take", "-", str(farm), "--write", stdin=SHEET)
    assert open_question.exit_code == 2
    assert "rows=instead" in open_question.stderr
    assert run("take", "-", str(farm), "--rows", "instead", "--write", stdin=SHEET).exit_code == 0
    lines = (farm / "lab.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0] == "# our sheets"
    assert lines[1].startswith("for,dm_percent,ph,")
    assert [line.split(",")[0] for line in lines[2:]] == ["bales", "wide_clamp"]
    feed = next(offer.feed for offer in read_farm(farm).offers if offer.id == "wide_clamp")
    assert feed.value("me_mj_per_kg_dm") == 10.8


def test_prices_are_laid_over_those_that_are_there(tmp_path: Path) -> None:
    """A price of a feed in prices.csv is replaced, the others stay."""
    farm = tmp_path / "farm"
    run("new", str(farm), "--like", "few")
    (farm / "prices.csv").write_text("feed,price_per_t_fresh\nbarley,190\noats,205\n")
    prices = "Rolled barley £196/t delivered\n"
    assert run("take", "-", str(farm), "--write", stdin=prices).exit_code == 0
    text = (farm / "prices.csv").read_text(encoding="utf-8")
    assert text == "feed,price_per_t_fresh\nbarley,196\noats,205\n"


def test_a_workbook_is_never_written_over(tmp_path: Path) -> None:
    """Neither by take nor by set."""
    path = tmp_path / "farm.xlsx"
    run("new", "--workbook", str(path), "--like", "few")
    before = path.read_bytes()
    done = run("take", "-", str(path), "--rows", "instead", "--write", stdin=SHEET)
    assert done.exit_code == 2
    assert "PA130" in done.stderr
    assert run("set", str(path), "cows.head=3").exit_code == 2
    assert path.read_bytes() == before


@pytest.mark.parametrize("more", [(), ("--ask",)])
def test_a_flock_to_begin_with_has_no_cattle(more: tuple[str, ...], tmp_path: Path) -> None:
    """Ewes, lambs and rams alone, their minerals too; the mixed farm keeps its cattle."""
    run("new", str(tmp_path / "flock"), "--like", "Sheep", *more, stdin="\n" * 60)
    flock = read_farm(tmp_path / "flock")
    assert len(flock.groups) == 7
    assert all(traits(group.animal_class).sheep for group in flock.groups)
    keys = [offer.feed.key for offer in flock.offers]
    assert not any("cattle" in key or "suckler" in key for key in keys)
    run("new", str(tmp_path / "mixed"), "--like", "mixed")
    mixed = read_farm(tmp_path / "mixed")
    assert not all(traits(group.animal_class).sheep for group in mixed.groups)


def test_a_workbook_of_a_flock_has_no_cattle(tmp_path: Path) -> None:
    """The same in the workbook."""
    run("new", "--workbook", str(tmp_path / "flock.xlsx"), "--like", "sheep")
    groups = read_farm(tmp_path / "flock.xlsx").groups
    assert all(traits(group.animal_class).sheep for group in groups)
