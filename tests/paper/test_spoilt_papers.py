"""Two hundred spoilt papers: each gives a clear error, and the farm stays as it was."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from lab_papers import SHEETS, pdf_of, write_paper
from price_papers import LISTS

from rationlp.errors import InputError
from rationlp.paper.lines import MOST_LINES, pasted_lines, read_lines
from rationlp.paper.take import new_file, take
from rationlp.report.files import write_whole

DAIRY = Path(__file__).resolve().parents[2] / "examples" / "dairy"
PAPERS = [(case.name, case.text) for case in (*SHEETS, *LISTS)]
TEXTS: dict[str, Callable[[str], str]] = {
    "no figures": lambda text: re.sub(r"\d", "x", text),
    "no names": lambda text: re.sub(r"[A-Za-z]{2,}", "zzqz", text).replace("%", ""),
    "a thousand times too large": lambda text: re.sub(r"(\d+)([.,]\d+)?", r"\g<1>000", text),
    "nothing": lambda text: " \n",
    "another paper": lambda text: "Invented newsletter\nThe weather was fair.\nGate hinges 12\n",
}
BYTES: dict[str, Callable[[bytes], bytes]] = {
    "cut off": lambda packed: packed[:14],
    "zeros": lambda packed: packed[:20] + b"\0" * 400,
    "noise": lambda packed: bytes((7 * n * n + 3) % 256 for n in range(3000)),
    "UTF-16": lambda packed: "DM 31".encode("utf-16"),
    "a picture": lambda packed: b"\x89PNG\r\n" + packed,
}


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the dairy example."""
    return Path(shutil.copytree(DAIRY, tmp_path_factory.mktemp("farm") / "dairy"))


def written(path: Path, farm: Path) -> None:
    """A paper taken in and written, as the command does."""
    taken = take(read_lines(path), farm, {"rows": "instead"})
    if taken.questions:
        raise InputError(question.finding() for question in taken.questions)
    text, _ = new_file(taken, farm)
    write_whole(farm / taken.file, text, ())


def refused(path: Path, farm: Path) -> InputError:
    """What taking a paper in says, the farm unchanged."""
    before = {file.name: file.read_bytes() for file in farm.iterdir()}
    with pytest.raises(InputError) as error:
        written(path, farm)
    assert {file.name: file.read_bytes() for file in farm.iterdir()} == before
    for finding in error.value.findings:
        assert re.fullmatch(r"(IN|LA|PA)\d{3} \S.* — .* — .*\S", str(finding))
    return error.value


@pytest.mark.parametrize("spoil", TEXTS)
@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper[0])
def test_a_spoilt_text(paper: tuple[str, str], spoil: str, farm: Path, tmp_path: Path) -> None:
    """Figures, names or sizes gone, in every shape of paper."""
    name, text = paper
    refused(write_paper(tmp_path, name, TEXTS[spoil](text)), farm)


@pytest.mark.parametrize("spoil", BYTES)
@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper[0])
def test_a_spoilt_file(paper: tuple[str, str], spoil: str, farm: Path, tmp_path: Path) -> None:
    """Files cut off, filled with zeros or noise, in other letters."""
    path = write_paper(tmp_path, *paper)
    path.write_bytes(BYTES[spoil](path.read_bytes()))
    refused(path, farm)


def _pages(count: int) -> bytes:
    from pypdf import PdfReader, PdfWriter

    page = PdfReader(BytesIO(pdf_of("DM 31 %"))).pages[0]
    writer = PdfWriter()
    for _ in range(count):
        writer.add_page(page)
    packed = BytesIO()
    writer.write(packed)
    return packed.getvalue()


def _scan() -> bytes:
    """A page that is a picture."""
    from PIL import Image
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

    packed = BytesIO()
    canvas = Canvas(packed)
    canvas.drawImage(ImageReader(Image.new("L", (40, 40), 200)), 40, 400)
    canvas.showPage()
    canvas.save()
    return packed.getvalue()


PDFS: dict[str, tuple[Callable[[], bytes], str]] = {
    "too many pages": (lambda: _pages(31), "PA103"),
    "too many bytes": (lambda: pdf_of("DM 31 %") + b"%" * 20_000_001, "PA103"),
    "a huge page": (lambda: pdf_of("DM 31 % CP 14 % of DM\n" * 120_000), "PA103"),
    "kept by a password": (lambda: pdf_of("DM 31 %", encrypt="secret"), "PA105"),
    "a scan": (_scan, "PA104"),
    "an empty page": (lambda: pdf_of(""), "PA104"),
    "half a file": (lambda: pdf_of("DM 31 %\n" * 40)[:600], "PA106"),
    "only a beginning": (lambda: b"%PDF-1.4\n", "PA106"),
}


@pytest.mark.parametrize("name", PDFS)
def test_a_pdf_that_cannot_be_read(name: str, farm: Path, tmp_path: Path) -> None:
    """Huge, locked, scanned and damaged PDFs are said to be so."""
    make, code = PDFS[name]
    path = tmp_path / "sheet.pdf"
    path.write_bytes(make())
    assert [finding.code for finding in refused(path, farm).findings] == [code]


def test_a_paper_of_too_many_lines(farm: Path, tmp_path: Path) -> None:
    """Lines and their length are bounded; a formula is not worked out."""
    from openpyxl import Workbook

    long = tmp_path / "long.txt"
    long.write_text("DM 31 %\n" * (MOST_LINES + 1))
    assert refused(long, farm).findings[0].code == "PA103"
    with pytest.raises(InputError) as error:
        pasted_lines("DM 31 % " * 2000)
    assert error.value.findings[0].code == "PA103"
    book = Workbook()
    book.active.append(["DM %", "=30+1"])
    book.save(tmp_path / "formula.xlsx")
    assert refused(tmp_path / "formula.xlsx", farm).findings[0].code == "PA107"


def test_there_are_two_hundred() -> None:
    """As many as were asked for."""
    assert len(PAPERS) * (len(TEXTS) + len(BYTES)) + len(PDFS) >= 200
