"""Bad input at the edge: figures too large to hold, folders that cannot be looked into, and every
file on the command line.
"""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from farms import FARM, FED, changed, snapshot, write_farm
from test_bad_input import FED_FAULTS, FILES, check_lines, faults

from rationlp import farm_needs
from rationlp.cli import main
from rationlp.errors import Finding, InputError
from rationlp.model.ration import solve_rations
from rationlp.read.farm import read_farm
from rationlp.report.files import write_whole

Capture = pytest.CaptureFixture[str]
HUGE = "1" + "0" * 400


def command(monkeypatch: pytest.MonkeyPatch, capsys: Capture, *words: str) -> str:
    """Run a command that must be refused: exit code 2, nothing on stdout, no traceback. What it
    said on stderr.
    """
    monkeypatch.setattr("sys.argv", ["rationlp", *words])
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "Traceback" not in said.err
    return said.err


@pytest.mark.parametrize("name", FILES)
def test_a_spoilt_file_on_the_command_line(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """Each fault of lab.csv, prices.csv and feeds.csv ends the command with its code, and nothing
    is written.
    """
    files, code, _, _ = FILES[name]
    folder = write_farm(tmp_path / "farm", **files)
    before = snapshot(tmp_path)
    said = command(
        monkeypatch, capsys, "ration", str(folder), "--output", str(tmp_path / "out.json")
    )
    assert code in said
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize("name", FED_FAULTS)
def test_a_spoilt_fed_ration_on_the_command_line(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """Each fault of fed.csv ends `supply` with its code, and nothing is written."""
    text, code, _, _ = FED_FAULTS[name]
    folder = write_farm(tmp_path / "farm", fed=text)
    before = snapshot(tmp_path)
    words = ("supply", str(folder), str(folder / "fed.csv"), "--output", str(tmp_path / "out.json"))
    assert code in command(monkeypatch, capsys, *words)
    assert snapshot(tmp_path) == before


def test_new_never_writes_over_anything_on_the_command_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """`new` into a full folder or onto a file is refused and changes neither."""
    file = tmp_path / "file"
    file.write_text("x", encoding="utf-8")
    folder = write_farm(tmp_path / "farm")
    before = snapshot(tmp_path)
    for place in (file, folder):
        assert "IN161" in command(monkeypatch, capsys, "new", str(place))
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize("name", ["ration", "needs"])
def test_an_unknown_group_on_the_command_line(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """--group with an id that the farm does not have names those that it has."""
    folder = write_farm(tmp_path / "farm")
    said = command(monkeypatch, capsys, name, str(folder), "--group", "goats")
    assert "IN501" in said
    assert "cows, sucklers" in said


GAIN = (
    'class = "finishing_cattle"\nhead = 20\nlive_weight_kg = 850\ngain_kg_per_day = 2.0\nsex ='
    ' "heifer"\nmaturity = "early"'
)
SUCKLERS = 'class = "suckler_cow_dry"\nhead = 20\nlive_weight_kg = 650\ndays_to_calving = 200'
MISSING = (
    "key,name,kind,dm_g_per_kg,me_mj_per_kg_dm,cp_g_per_kg_dm\nmine,My silage,forage,300,10.8,140\n"
)


def test_a_missing_figure_on_the_command_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """A blank that a row of the model needs names feed, quantity and group, and is no zero."""
    text = changed('feed = "grass_silage_1st_typical"', 'feed = "mine"')
    said = command(
        monkeypatch, capsys, "ration", str(write_farm(tmp_path / "farm", text, feeds=MISSING))
    )
    line = next(line for line in said.splitlines() if "ndf_g_per_kg_dm" in line)
    assert line.startswith("IN210")
    assert 'group "cows"' in line
    assert 'feed "pit" (mine)' in line


NUMBERS = {
    "a fact": changed("live_weight_kg = 650\nmilk", f"live_weight_kg = {HUGE}\nmilk"),
    "a size": changed("height_m = 2.5", f"height_m = {HUGE}"),
    "a price": changed("price_per_t_fresh = 205", f"price_per_t_fresh = {HUGE}"),
    "a head": changed("head = 60", f"head = {HUGE}"),
    "an analysis": changed(
        "cost_per_t_fresh = 36", f"cost_per_t_fresh = 36\n[stores.analysis]\ndm_g_per_kg = {HUGE}"
    ),
}


@pytest.mark.parametrize("name", NUMBERS)
def test_an_integer_too_large_for_a_float(name: str, tmp_path: Path) -> None:
    """Four hundred digits are out of range, whatever key they stand for, and the line does not
    repeat them all.
    """
    error = faults(write_farm(tmp_path / "farm", NUMBERS[name]))
    assert [finding.code for finding in error.findings] == ["IN113"]
    assert len(str(error)) < 250


BREAKING = {
    "digits": changed("head = 60", "head = " + "1" * 5000),
    "lists": FARM + "\n[x]\na = " + "[" * 5000 + "]" * 5000 + "\n",
    "tables": FARM + "\n[x]\na = " + "{a=" * 5000 + "1" + "}" * 5000 + "\n",
}


@pytest.mark.parametrize("name", BREAKING)
def test_a_farm_file_that_breaks_its_reader(name: str, tmp_path: Path) -> None:
    """Five thousand digits, and lists or tables as deep, are a file that cannot be read."""
    error = faults(write_farm(tmp_path / "farm", BREAKING[name]))
    assert [finding.code for finding in error.findings] == ["IN104"]


@pytest.mark.parametrize("words", [("check", "a" * 5000), ("new", "a" * 5000)])
def test_a_path_too_long_for_the_system(
    words: tuple[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """A folder whose name the system refuses is said with the system's reason."""
    monkeypatch.chdir(tmp_path)
    assert "name too long" in command(monkeypatch, capsys, *words)
    assert list(tmp_path.iterdir()) == []


def test_an_output_too_long_for_the_system(tmp_path: Path) -> None:
    """It is refused with IN604; the longest name that the system allows is written."""
    with pytest.raises(InputError, match="IN604"):
        write_whole(tmp_path / ("a" * 5000), "x", ())
    write_whole(tmp_path / ("a" * 250), "x", ())
    assert [len(path.name) for path in tmp_path.iterdir()] == [250]


def test_a_folder_that_cannot_be_looked_into(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No permission for the folder above is a finding, not a traceback."""

    def refuse(self: Path) -> bool:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "exists", refuse)
    error = faults(tmp_path / "farm")
    assert [finding.code for finding in error.findings] == ["IN202"]
    assert "Permission denied" in error.findings[0].found


def test_a_line_end_in_a_name_does_not_break_the_line(tmp_path: Path) -> None:
    """Names of the input reach the terminal without line ends and without escape sequences."""
    text = changed('feed = "straw_barley"', 'feed = "straw\\n\\u001b[31mbarley"')
    check_lines(faults(write_farm(tmp_path / "farm", text)))
    assert str(Finding("IN101", "a\nb", "c\x1bd", "e")) == "IN101 a b — c d — e"


@pytest.mark.parametrize("gain", ["2.5", "-0.2"])
def test_a_gain_that_no_finisher_makes(
    gain: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """More than any finisher grows, or a loss, is refused at its key before the growth curve is
    asked.
    """
    text = changed(SUCKLERS, GAIN.replace("gain_kg_per_day = 2.0", f"gain_kg_per_day = {gain}"))
    said = command(monkeypatch, capsys, "needs", str(write_farm(tmp_path / "farm", text)))
    assert 'IN113 farm.toml groups[2] "sucklers".gain_kg_per_day' in said


def test_the_largest_gain_that_a_farm_may_state_ends_without_a_ration(tmp_path: Path) -> None:
    """2 kg a day from a fat heifer is believed as a wish, answered with remarks, and no ration
    reaches it.
    """
    farm = read_farm(write_farm(tmp_path / "farm", changed(SUCKLERS, GAIN)))
    (needs,) = farm_needs(farm, ["sucklers"])
    assert any("above 1.5 kg" in remark for remark in needs.remarks)
    (ration,) = solve_rations(farm, ["sucklers"]).groups
    assert ration.feed_cost is None


def test_a_fault_of_a_file_causes_no_other(tmp_path: Path) -> None:
    """A price that stands in a spoilt prices.csv, a feed that stands in a spoilt feeds.csv: only
    the file's fault is said.
    """
    text = changed("price_per_t_fresh = 205\n", "").replace(
        'feed = "straw_barley"', 'feed = "mine"'
    )
    files = {
        "prices": "feed,price_per_t_fresh\nbarley,-1\n",
        "feeds": "key,kind,dm_g_per_kg\nmine,forrage,300\n",
    }
    codes = [
        finding.code for finding in faults(write_farm(tmp_path / "farm", text, **files)).findings
    ]
    assert sorted(codes) == ["IN142", "IN223"]


def test_a_growing_animal_may_stand_still(tmp_path: Path) -> None:
    """A gain of 0 is store cattle over a winter, no fault."""
    text = changed(SUCKLERS, GAIN.replace("gain_kg_per_day = 2.0", "gain_kg_per_day = 0"))
    assert (
        read_farm(write_farm(tmp_path / "farm", text, fed=FED)).groups[1].facts["gain_kg_per_day"]
        == 0.0
    )
