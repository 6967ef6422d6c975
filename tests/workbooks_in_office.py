"""Workbooks opened and saved by an office programme (soffice, headless): still the same farm, still
the same figures.

`python tests/workbooks_in_office.py FOLDER` makes the folder, writes into it a workbook of every
example, one of an answer and one of a plan with its charts, has each of them opened and saved
again, and compares what is read from both.
"""

from __future__ import annotations

import re
import subprocess
import sys
import zipfile
from html import unescape
from pathlib import Path

from openpyxl import load_workbook

from rationlp import ration, read_farm, winter, write_workbook
from rationlp.folders import examples_folder
from rationlp.report.workbook_form import write_farm_workbook

sys.path.insert(0, str(Path(__file__).resolve().parent / "read"))

from workbooks import without_places

SERIES = re.compile(r"<(?:c:)?val>.*?<(?:c:)?f>(.*?)</", re.DOTALL)


def saved_again(path: Path, into: Path) -> Path:
    """The workbook as the office programme saves it. Stops where it cannot open it or says that it
    is damaged.
    """
    profile = f"-env:UserInstallation=file://{into / 'profile'}"
    words = [
        "soffice",
        profile,
        "--headless",
        "--convert-to",
        "xlsx:Calc MS Excel 2007 XML",
        "--outdir",
        str(into),
    ]
    done = subprocess.run(
        [*words, str(path)], capture_output=True, text=True, check=True, timeout=180
    )
    said = f"{done.stdout}{done.stderr}".lower()
    if "error" in said or "repair" in said or not (into / path.name).is_file():
        sys.exit(f"{path.name} was not opened cleanly: {said}")
    return into / path.name


def values(path: Path) -> dict[str, list[list[object]]]:
    """Every value of every sheet, blanks left out; numbers to the digits that an office programme
    keeps.
    """
    found = {}
    for sheet in load_workbook(path, read_only=True).worksheets:
        rows = [
            [_kept(cell) for cell in row if cell is not None]
            for row in sheet.iter_rows(values_only=True)
        ]
        found[str(sheet.title)] = [row for row in rows if row]
    return found


def drawn(path: Path) -> list[str]:
    """The cells that the charts of a workbook draw, series by series, in alphabetical order."""
    with zipfile.ZipFile(path) as packed:
        names = [
            name for name in packed.namelist() if re.fullmatch(r"xl/charts/chart\d+\.xml", name)
        ]
        texts = [packed.read(name).decode("utf-8") for name in names]
    return sorted(
        unescape(found).replace("'", "") for text in texts for found in SERIES.findall(text)
    )


def _kept(value: object) -> object:
    return float(f"{value:.12g}") if isinstance(value, float) else value


def main() -> None:
    """Entry point."""
    folder = Path(sys.argv[1])
    again = folder / "again"
    again.mkdir(parents=True)
    examples = sorted(path for path in examples_folder().iterdir() if path.is_dir())
    for example in examples:
        path = folder / f"{example.name}.xlsx"
        write_farm_workbook(path, example)
        if without_places(read_farm(saved_again(path, again))) != without_places(
            read_farm(example)
        ):
            sys.exit(f"{path.name}: another farm after it was opened and saved")
    answer = folder / "answer.xlsx"
    write_workbook(ration(read_farm(examples[0])), answer)
    if values(saved_again(answer, again)) != values(answer):
        sys.exit("answer.xlsx: other figures after it was opened and saved")
    plan = folder / "plan.xlsx"
    write_workbook(winter(read_farm(examples[0])), plan)
    if values(saved_again(plan, again)) != values(plan):
        sys.exit("plan.xlsx: other figures after it was opened and saved")
    if not drawn(plan) or drawn(again / plan.name) != drawn(plan):
        sys.exit("plan.xlsx: other charts after it was opened and saved")
    sys.stdout.write(
        f"{len(examples)} farms, an answer and a plan with charts opened and saved, and unchanged\n"
    )


if __name__ == "__main__":
    main()
