"""Text for the terminal: the answer first, within the width, honest about what is proved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from told import told

from rationlp.farm.farm import Farm
from rationlp.report.ration_words import proof_line
from rationlp.report.stories.ration import fed_story, ration_story
from rationlp.report.tables.feeds import offers_table
from rationlp.report.tables.ration import supply_table
from rationlp.report.tables.table import Column, Table
from rationlp.report.terminal import (
    CLOSING_LINE,
    table_text,
    terminal_width,
    with_sources_below,
)
from rationlp.result import FedSupply, GroupRation, Proof, Rations
from rationlp.yard.day_facts import fed_facts, ration_facts

GOLDEN = Path(__file__).with_name("ration-80.txt")


def test_the_answer_of_a_small_farm_reads_as_agreed(rations: Rations) -> None:
    """The whole text at 80 columns is the golden file, letter by letter."""
    assert told(ration_story(ration_facts(rations)), 80) + "\n" == GOLDEN.read_text(
        encoding="utf-8"
    )


def test_the_first_lines_answer_the_question(rations: Rations) -> None:
    """Cost a head a day and what to feed in kg fresh come before any table."""
    fed = "Feed fresh: 20.0 kg Clamp 1; 1.0 kg Protein meal; 0.040 kg Mineral."
    assert (
        told(ration_story(ration_facts(rations)), 120).splitlines()[0]
        == f"Young stock (40 head): GBP 0.80 a head a day. {fed}"
    )


@pytest.mark.parametrize("width", [60, 80, 100, 140])
def test_no_line_is_wider_than_the_terminal(rations: Rations, farm: Farm, width: int) -> None:
    """Text wraps, and a table that is still too wide goes on below."""
    text = (
        told(ration_story(ration_facts(rations)), width)
        + "\n"
        + table_text(offers_table(farm), width)
    )
    assert max(len(line) for line in text.splitlines()) <= width


def test_a_table_too_wide_repeats_its_first_column(farm: Farm) -> None:
    """At 80 columns the offers need two parts, each with the id."""
    lines = table_text(offers_table(farm), 80).splitlines()
    assert sum(line.startswith("clamp_1") for line in lines) == 2


def test_numbers_stand_on_the_right(fed_well: GroupRation) -> None:
    """ME and MP supplied end in the same column."""
    lines = table_text(supply_table(fed_well), 100).splitlines()
    ends = {
        line.index(number) + len(number)
        for line in lines
        for number in ("72.5  69.1", "432   400")
        if number in line
    }
    assert len(ends) == 1


def test_text_that_looks_like_a_number_is_left_alone() -> None:
    """A name such as 007 is printed as it is."""
    table = Table("t", "T", (Column("name", "Name"),), (("007",), ("1e3",)))
    assert table_text(table, 80).splitlines()[-2:] == ["007", "1e3"]


def test_long_sources_go_below_the_table() -> None:
    """The column keeps a number, the note says what it stands for, and equal sources share one."""
    source = Column("source", "Source")
    table = Table(
        "t",
        "T",
        (Column("name", "Name"), source),
        (("a", "a long named publication"), ("b", "short"), ("c", None)),
    )
    wide = replace(table, rows=(*table.rows, ("d", "an even longer named publication")))
    assert with_sources_below(table) == table
    assert [row[1] for row in with_sources_below(wide).rows] == ["[1]", "[2]", None, "[3]"]
    assert with_sources_below(wide).notes[2] == "[3] an even longer named publication"


def test_gap_is_rounded_up_in_the_proof_line(fed_well: GroupRation) -> None:
    """A gap of 0.00021 is said as 0.0003."""
    line = proof_line(fed_well, "GBP")
    assert line == "Proved cheapest to within GBP 0.0003 a head a day."


def test_a_gap_of_nothing_is_not_said_to_be_nothing(fed_well: GroupRation, proof: Proof) -> None:
    """The least gap that is printed is one unit of the last decimal."""
    line = proof_line(replace(fed_well, proof=replace(proof, gap=0.0)), "GBP")
    assert line == "Proved cheapest to within GBP 0.0001 a head a day."


def test_an_open_gap_is_said(fed_well: GroupRation, proof: Proof) -> None:
    """A ration that is not proven cheapest says so in its first words."""
    line = proof_line(replace(fed_well, status="open", proof=replace(proof, gap=0.02)), "GBP")
    assert line.startswith(
        "Not proved cheapest: every need is met, but a ration up to GBP 0.0200 a head a day"
        " cheaper is"
    )


def test_a_failed_check_is_said_first(fed_well: GroupRation, proof: Proof) -> None:
    """An answer that failed its own check is never called proven."""
    line = proof_line(
        replace(fed_well, proof=replace(proof, passed=False, verdict="rows violated")), "GBP"
    )
    assert line.startswith("This answer failed its own check: rows violated.")


def test_a_bound_for_every_level_is_said(fed_well: GroupRation, proof: Proof) -> None:
    """The bound stands beside the proof."""
    line = proof_line(replace(fed_well, proof=replace(proof, bound_any_level=0.71)), "GBP")
    assert "At any feeding level the cost cannot be below GBP 0.7100." in line


def test_a_penalty_is_said_to_be_no_money(fed_well: GroupRation) -> None:
    """Priced energy above need and minerals short are named as what they are."""
    line = proof_line(replace(fed_well, penalty=0.03), "GBP")
    assert (
        "GBP 0.03 put on energy above need and minerals short, which is a penalty, not money"
        in line
    )


def test_a_group_without_a_ration_is_told_what_is_short(rations: Rations) -> None:
    """Who, which need, how much short in its unit, and what else is at its limit."""
    text = told(ration_story(ration_facts(rations)), 100)
    assert "Bulls (12 head): no ration exists.\n  Short by: metabolisable energy 12.35 MJ." in text
    assert "At its limit there: dry matter intake (a named source)." in text


def test_none_found_is_not_called_none_exists(farm: Farm, without: GroupRation) -> None:
    """Without a proof the words are weaker."""
    text = told(
        ration_story(ration_facts(Rations(farm, (replace(without, status="none_found"),)))), 100
    )
    assert "no ration was found" in text
    assert "no ration exists" not in text


def test_every_answer_ends_with_the_caution(rations: Rations, farm: Farm, fed: FedSupply) -> None:
    """The last line is the same under both."""
    assert told(ration_story(ration_facts(rations)), 400).endswith(CLOSING_LINE)
    assert told(fed_story(farm, fed_facts(farm, [fed])), 400).endswith(CLOSING_LINE)


def test_a_fed_ration_says_first_what_is_short(farm: Farm, fed: FedSupply) -> None:
    """The second line names it."""
    assert told(fed_story(farm, fed_facts(farm, [fed])), 100).splitlines()[1] == "  Short: MP."


def test_a_fed_ration_without_a_shortage_does_not_claim_more_than_was_worked_out(
    farm: Farm, fed: FedSupply
) -> None:
    """Nothing short is said of what was worked out only."""
    good = replace(fed, supply=fed.supply[:1])
    assert (
        told(fed_story(farm, fed_facts(farm, [good])), 100).splitlines()[1]
        == "  Nothing that was worked out is short or over."
    )


@pytest.mark.parametrize(("columns", "width"), [("90", 90), ("10", 40), ("500", 140)])
def test_width_follows_the_terminal_within_reason(
    monkeypatch: pytest.MonkeyPatch, columns: str, width: int
) -> None:
    """COLUMNS is obeyed between 40 and 140."""
    monkeypatch.setenv("COLUMNS", columns)
    assert terminal_width() == width
