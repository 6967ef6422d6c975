"""Files: written whole or not at all, never over an input; JSON and CSV that another program can
rely on.
"""

from __future__ import annotations

import csv
import io
import json
import os
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from answers_schema import ENDLESS, SCHEMA, package_classes, schema_text
from schema_check import against_schema, definitions, faults

from rationlp.after.cautions import farm_cautions
from rationlp.after.changeover import ChangeOver, change_overs
from rationlp.ask.switch import switch_by_share
from rationlp.ask.tonnes import switch_by_hectares, switch_by_tonnes
from rationlp.ask.worth import WorthOptions, worth
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.needs.compare import Opinion
from rationlp.read.farm import read_farm
from rationlp.report.answers.asked import switch_answer
from rationlp.report.answers.day import RationAnswer, rations_of_groups, supply_answer
from rationlp.report.answers.farm import CheckAnswer, FeedsAnswer, needs_answer
from rationlp.report.files import csv_text, write_whole
from rationlp.report.json_answer import (
    COMPUTED,
    LEFT_OUT,
    document,
    json_text,
    plain,
)
from rationlp.report.tables.ration import rations_table, supply_table
from rationlp.report.tables.table import Column, Table
from rationlp.result import FedSupply, GroupRation, Rations
from rationlp.stock.dry_matter import farm_stocks
from rationlp.yard.day_facts import fed_facts, ration_facts


def _code(path: Path, inputs: tuple[Path, ...] = ()) -> str:
    with pytest.raises(InputError) as caught:
        write_whole(path, "new\n", inputs)
    return caught.value.findings[0].code


def test_a_file_is_written_as_utf8(tmp_path: Path) -> None:
    """Text arrives unchanged."""
    write_whole(tmp_path / "answer.txt", "−1 £\n", ())
    assert (tmp_path / "answer.txt").read_bytes() == "−1 £\n".encode()


def test_an_older_answer_is_replaced(tmp_path: Path) -> None:
    """A file that is no input may be written again, and nothing is left beside it."""
    target = tmp_path / "answer.txt"
    target.write_text("old", encoding="utf-8")
    write_whole(target, "new", ())
    assert target.read_text(encoding="utf-8") == "new"
    assert os.listdir(tmp_path) == ["answer.txt"]


def test_a_missing_folder_is_refused(tmp_path: Path) -> None:
    """The folder is not made in passing."""
    assert _code(tmp_path / "none" / "answer.txt") == "IN601"
    assert not (tmp_path / "none").exists()


def test_an_input_is_never_written_over(tmp_path: Path) -> None:
    """The input keeps its text."""
    given = tmp_path / "farm.toml"
    given.write_text("mine", encoding="utf-8")
    assert _code(tmp_path / "." / "farm.toml", (given,)) == "IN602"
    assert given.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("link", [os.symlink, os.link])
def test_an_input_is_not_written_over_through_a_link(tmp_path: Path, link: Any) -> None:
    """Neither a symbolic nor a hard link to an input gets past."""
    given = tmp_path / "farm.toml"
    given.write_text("mine", encoding="utf-8")
    link(given, tmp_path / "other.txt")
    assert _code(tmp_path / "other.txt", (given,)) == "IN602"


def test_a_folder_is_refused(tmp_path: Path) -> None:
    """A path that is a folder is named as one."""
    assert _code(tmp_path) == "IN603"


def test_a_refusal_of_the_system_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When the last step fails the old file stands and no part file is left."""
    target = tmp_path / "answer.txt"
    target.write_text("old", encoding="utf-8")

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "replace", refuse)
    assert _code(target) == "IN604"
    assert target.read_text(encoding="utf-8") == "old"
    assert os.listdir(tmp_path) == ["answer.txt"]


def test_csv_keeps_full_precision(fed_well: GroupRation) -> None:
    """Nothing is rounded in a file, and a blank is empty."""
    rows = list(csv.DictReader(io.StringIO(csv_text(supply_table(fed_well)))))
    assert rows[0]["supply"] == "72.512345"
    assert rows[0]["least"] == ""


@pytest.mark.parametrize("text", ["=1+1", "+1 big clamp", "-the-old-clamp", "@A1", "\t=1+1"])
def test_csv_has_no_text_that_a_spreadsheet_would_run(text: str) -> None:
    """In a cell or a heading: an apostrophe stands before it."""
    read = list(
        csv.reader(
            io.StringIO(
                csv_text(Table("fed", "Fed", (Column(text, "Name"),), ((text,),))), newline=""
            )
        )
    )
    assert read == [[f"'{text}"], [f"'{text}"]]


def test_csv_leaves_numbers_and_other_texts_alone() -> None:
    """A number below nought, a name with a sign inside it, a blank."""
    table = Table(
        "fed", "Fed", (Column("name", "Name"), Column("kg", "Fresh")), (("a=b-c", -1.5), ("", None))
    )
    assert csv_text(table) == "name,kg\na=b-c,-1.5\n,\n"


def test_csv_of_rations_has_a_line_a_group_and_feed(rations: Rations) -> None:
    """A group without a ration has one line with its status."""
    rows = list(csv.DictReader(io.StringIO(csv_text(rations_table(rations)))))
    assert [(row["group"], row["status"], row["feed"]) for row in rows][2:] == [
        ("young", "proven", "Mineral"),
        ("bulls", "none_exists", ""),
    ]


def of_rations(rations: Rations, changes: dict[str, ChangeOver] | None = None) -> dict[str, Any]:
    """The document of `ration`."""
    facts = ration_facts(rations, changes)
    return document(
        "ration",
        RationAnswer(rations.farm, facts.called_for, rations_of_groups(facts, changes)),
    )


def test_json_is_the_same_each_time(rations: Rations) -> None:
    """No clock, no order that changes."""
    assert json_text(of_rations(rations)) == json_text(of_rations(rations))


def test_json_has_no_minus_zero_and_nothing_infinite() -> None:
    """Both would trip up a reader."""
    written = plain({"a": -0.0, "b": float("inf"), "c": [float("nan")]})
    assert json.loads(json_text(written)) == {"a": 0.0, "b": None, "c": [None]}
    assert "-0.0" not in json_text(written)


def test_what_has_no_plain_form_is_refused() -> None:
    """An object of no record is told as nothing else."""
    with pytest.raises(TypeError, match="no plain form"):
        plain({"a": object()})


def test_json_keeps_full_precision(rations: Rations) -> None:
    """A number reads back as the very same number."""
    read = json.loads(json_text(of_rations(rations)))
    assert read["groups"][0]["supply"][0]["supply"] == 72.512345


def test_every_amount_can_be_traced_to_the_source_of_its_figures(rations: Rations) -> None:
    """Each feed of a ration has an offer whose figures name origin and source."""
    read = of_rations(rations)
    offers = {offer["id"]: offer for offer in read["offers"]}
    for amount in read["groups"][0]["amounts"]:
        figures = offers[amount["offer"]]["feed"]["figures"].values()
        assert all(figure["origin"] and figure["source"] for figure in figures)


def test_no_path_of_the_machine_is_in_the_json(rations: Rations) -> None:
    """The farm's place is left out, so that the same farm gives the same bytes in another
    folder.
    """
    assert "place" not in of_rations(rations)["farm"]


def test_every_document_keeps_to_the_schema(
    rations: Rations,
    fed: FedSupply,
    fed_well: GroupRation,
    farm: Farm,
    opinions: dict[str, tuple[Opinion, ...]],
) -> None:
    """All five kinds, with and without a ration, what is fed now and second opinions."""
    first = rations.groups[0]
    changes = change_overs(rations, {first.group: {first.amounts[0].offer: 1.0}})
    assert changes[first.group].changes
    documents = [
        of_rations(rations),
        of_rations(rations, changes),
        document("supply", supply_answer(farm, fed_facts(farm, [fed]))),
        document("needs", needs_answer(farm, [fed_well.needs])),
        document("needs", needs_answer(farm, [fed_well.needs], opinions)),
        document("check", CheckAnswer(farm, farm_cautions(farm), farm_stocks(farm))),
        document("feeds", FeedsAnswer(tuple(farm.feeds.values()))),
    ]
    assert [fault for one in documents for fault in against_schema(one)] == []


def test_second_opinions_are_in_the_document_only_when_asked_for(
    farm: Farm, fed_well: GroupRation, opinions: dict[str, tuple[Opinion, ...]]
) -> None:
    """A blank figure as null; the rest of the document is what it was."""
    without = document("needs", needs_answer(farm, [fed_well.needs]))
    compared = document("needs", needs_answer(farm, [fed_well.needs], opinions))
    found = json.loads(json_text(compared))["second_opinions"]
    assert [
        (entry["group"], [opinion["value"] for opinion in entry["opinions"]]) for entry in found
    ] == [
        ("young", [42.04, None]),
        ("bulls", []),
    ]
    assert without == {**compared, "second_opinions": []}


def test_answers_to_questions_keep_to_the_schema() -> None:
    """Switch by share, by tonnes and by hectares, and worth, on the dairy example; none of them
    without content.
    """
    farm = read_farm(Path(__file__).parents[2] / "examples" / "dairy")
    asked_documents = [
        document("switch", switch_answer(switch_by_share(farm, ("first_cut", "maize"), ["late"]))),
        document("switch_winter", switch_by_tonnes(farm, ("second_cut", "hay"))),
        document("switch_winter", switch_by_hectares(farm, ("first_cut", "maize"))),
        document(
            "worth",
            worth(
                farm, farm, WorthOptions(("hay", "maize", "barley_wholecrop_fermented"), ["dry"])
            ),
        ),
    ]
    assert all(one.get("groups") or one.get("points") or one["feeds"] for one in asked_documents)
    assert [fault for one in asked_documents for fault in against_schema(one)] == []


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("schema_version", "1.0"),
        ("kind", None),
        ("farm", []),
        ("extra", 1),
        ("groups", [{"id": 1}]),
    ],
)
def test_a_document_that_breaks_the_schema_is_found(
    rations: Rations, key: str, value: object
) -> None:
    """The check above does fail."""
    broken = {**json.loads(json_text(of_rations(rations))), key: value}
    assert faults(broken, definitions()["document_ration"], definitions())


def test_the_schema_is_that_of_the_records() -> None:
    """The file in the package is what `python tests/answers_schema.py` writes."""
    assert SCHEMA.read_text(encoding="utf-8") == schema_text()


def test_the_schema_tells_what_the_records_are() -> None:
    """The words of a docstring's lists of fields, and of properties, are at their keys."""
    proof = definitions()["Proof"]["properties"]
    assert proof["duality_gap"]["description"] == "relative [-]."
    assert proof["lower_bound"]["description"] == "nothing costs less than this"
    period = definitions()["Period"]["properties"]
    assert period["days"] == {"type": "integer", "description": "Length [d]."}
    assert definitions()["StorePlan"]["properties"]["marginal"]["type"] == ["number", "null"]


def test_what_json_adds_and_leaves_out_exists() -> None:
    """Every class, field and property that `json_answer.py` names."""
    classes = package_classes()
    for name, keys in COMPUTED.items():
        assert all(isinstance(getattr(classes[name], key), property) for key in keys)
    for name, keys in LEFT_OUT.items():
        assert set(keys) <= {field.name for field in fields(classes[name])}
    for name, keys in ENDLESS.items():
        assert set(keys) <= definitions()[name]["properties"].keys()
