"""Twelve invented lab sheets of different shapes, with what they say. No real laboratory's."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any, NamedTuple


class LabCase(NamedTuple):
    """A sheet: the file's name, its text (lines of a PDF, rows of a workbook), answers given ahead,
    and the figures that must come out, by store and quantity in the vocabulary's units.
    """

    name: str
    text: str
    answers: dict[str, str]
    figures: dict[str, dict[str, float]]
    words: tuple[tuple[str, str], ...] = ()


def _first(**figures: float) -> dict[str, dict[str, float]]:
    return {"first_cut": figures}


SHEETS = [
    LabCase(
        "one-line.txt",
        "First cut: DM 31.2%, ME 11.1, D 69, CP 14.6%, NDF 46.2%, ash 8.4%, pH 3.9, NH3-N 5",
        {},
        _first(
            dm_g_per_kg=312,
            me_mj_per_kg_dm=11.1,
            d_value_percent_of_dm=69,
            cp_g_per_kg_dm=146,
            ndf_g_per_kg_dm=462,
            ash_g_per_kg_dm=84,
            ph=3.9,
            ammonia_n_percent_of_total_n=5,
        ),
    ),
    LabCase(
        "typical-column.pdf",
        """Invented laboratory one                 Report of 12/10/2026
Sample: First cut clamp
Date sampled: 02/09/2026
Lab no: A-4711

Analysis                 Unit          Result       Typical
Dry matter (corrected)   %             31.2         25 - 35
Metabolisable energy     MJ/kg DM      11.1         10.0 - 11.5
Crude protein            % DM          14.6         12 - 17
NDF                      g/kg DM       462          450 - 550
Sugar                    g/kg DM       38           10 - 60
Crude fibre              g/kg DM       281          250 - 320
pH                                     3.9          3.8 - 4.5
""",
        {},
        _first(
            dm_g_per_kg=312,
            me_mj_per_kg_dm=11.1,
            cp_g_per_kg_dm=146,
            ndf_g_per_kg_dm=462,
            sugar_g_per_kg_dm=38,
            ph=3.9,
        ),
        (("sampled", "2026-09-02"), ("reference", "A-4711"), ("dm_basis", "corrected")),
    ),
    LabCase(
        "row-a-sample.csv",
        """Sample;Sampled;DM %;Crude protein %;ME;NDF;Ash
First cut;2.9.26;31,2;14,6;11,1;462;84
Second cut;3.9.26;28,4;13,4;10,2;512;95
""",
        {},
        {
            "first_cut": {
                "dm_g_per_kg": 312,
                "cp_g_per_kg_dm": 146,
                "me_mj_per_kg_dm": 11.1,
                "ndf_g_per_kg_dm": 462,
                "ash_g_per_kg_dm": 84,
            },
            "second_cut": {
                "dm_g_per_kg": 284,
                "cp_g_per_kg_dm": 134,
                "me_mj_per_kg_dm": 10.2,
                "ndf_g_per_kg_dm": 512,
                "ash_g_per_kg_dm": 95,
            },
        },
    ),
    LabCase(
        "column-a-sample.xlsx",
        """Determination|Unit|First cut|Maize clamp
Dry matter|%|31.2|32.4
Crude protein|g/kg DM|146|81
Starch|g/kg DM||312
ME|MJ/kg DM|11.1|11.3
pH||3.9|3.8
""",
        {},
        {
            "first_cut": {
                "dm_g_per_kg": 312,
                "cp_g_per_kg_dm": 146,
                "me_mj_per_kg_dm": 11.1,
                "ph": 3.9,
            },
            "maize": {
                "dm_g_per_kg": 324,
                "cp_g_per_kg_dm": 81,
                "starch_g_per_kg_dm": 312,
                "me_mj_per_kg_dm": 11.3,
                "ph": 3.8,
            },
        },
    ),
    LabCase(
        "fresh-and-dry.txt",
        """Store: First cut
                     As received     In dry matter
Dry matter     %        31.2
Crude protein  %         4.6             14.6
Ash            %         2.6              8.4
NDF            %        14.4             46.2
""",
        {},
        _first(dm_g_per_kg=312, cp_g_per_kg_dm=146, ash_g_per_kg_dm=84, ndf_g_per_kg_dm=462),
    ),
    LabCase(
        "fresh-only.txt",
        """Forage: Second cut
All results on fresh weight basis
Dry matter 284 g/kg
Crude protein 38.0 g/kg
Ash 27.0 g/kg
NDF 145 g/kg
""",
        {},
        {
            "second_cut": {
                "dm_g_per_kg": 284,
                "cp_g_per_kg_dm": 133.8,
                "ash_g_per_kg_dm": 95.1,
                "ndf_g_per_kg_dm": 510.6,
            }
        },
    ),
    LabCase(
        "decimal-commas.txt",
        """Field: second cut
Taken on 25.09.2026
Oven dry matter: 28,4 %
Crude protein: 13,4 % DM
D-value: 63,5 %
Neutral detergent fibre: 51,2 % DM
Ammonia nitrogen: 7,5 % of total N
""",
        {},
        {
            "second_cut": {
                "dm_g_per_kg": 284,
                "cp_g_per_kg_dm": 134,
                "d_value_percent_of_dm": 63.5,
                "ndf_g_per_kg_dm": 512,
                "ammonia_n_percent_of_total_n": 7.5,
            }
        },
        (("sampled", "2026-09-25"), ("dm_basis", "oven")),
    ),
    LabCase(
        "sentences.txt",
        """The maize clamp was sampled and these are its figures.
Description: Maize clamp
The dry matter was 32.4 % and the starch 31.2 % in the dry matter.
Metabolisable energy came to 11.3 MJ/kg DM, crude protein to 8.1 % in the dry matter.
""",
        {},
        {
            "maize": {
                "dm_g_per_kg": 324,
                "starch_g_per_kg_dm": 312,
                "me_mj_per_kg_dm": 11.3,
                "cp_g_per_kg_dm": 81,
            }
        },
    ),
    LabCase(
        "minerals.pdf",
        """Invented laboratory nine
Crop: First cut
Dry matter           31.2 %

Minerals (g/kg DM)
Calcium (Ca)         5.4
Phosphorus (P)       3.1
Magnesium (Mg)       1.6
Potassium (K)        26.5
Sodium (Na)          2.2

Trace elements (mg/kg DM)
Copper               8.2
Zinc                 31
Molybdenum           1.4
""",
        {},
        _first(
            dm_g_per_kg=312,
            ca_g_per_kg_dm=5.4,
            p_g_per_kg_dm=3.1,
            mg_g_per_kg_dm=1.6,
            k_g_per_kg_dm=26.5,
            na_g_per_kg_dm=2.2,
            cu_mg_per_kg_dm=8.2,
            mo_mg_per_kg_dm=1.4,
        ),
    ),
    LabCase(
        "numbers-first.txt",
        "Sample: hay\n86.0 % dry matter, 9.4 MJ/kg DM ME, 10.1 % DM protein, 61 % DM NDF\n",
        {},
        {
            "hay": {
                "dm_g_per_kg": 860,
                "me_mj_per_kg_dm": 9.4,
                "cp_g_per_kg_dm": 101,
                "ndf_g_per_kg_dm": 610,
            }
        },
    ),
    LabCase(
        "bars.txt",
        """| Parameter | Value | Unit | Low | High |
| Dry matter | 312 | g/kg | 200 | 400 |
| Protein (CP) | 146 | g/kg DM | 100 | 180 |
| Lactic acid | 82 | g/kg DM | 50 | 120 |
| Acetic acid | 18 | g/kg DM | 5 | 30 |
| pH | 3.9 | | 3.7 | 4.5 |
""",
        {"for": "first cut"},
        _first(
            dm_g_per_kg=312,
            cp_g_per_kg_dm=146,
            lactic_g_per_kg_dm=82,
            acetic_g_per_kg_dm=18,
            ph=3.9,
        ),
    ),
    LabCase(
        "grain.txt",
        """Sample: Rolled barley
Results on dry matter basis
Dry matter       86.0 %
Crude protein    11.2 %
Starch           58.0 %
Oil               2.3 %
NDF              18.5 %
""",
        {},
        {
            "barley": {
                "dm_g_per_kg": 860,
                "cp_g_per_kg_dm": 112,
                "starch_g_per_kg_dm": 580,
                "oil_g_per_kg_dm": 23,
                "ndf_g_per_kg_dm": 185,
            }
        },
    ),
]


def write_paper(folder: Path, name: str, text: str) -> Path:
    """A paper as a file: PDF and workbook are made here, anything else is text."""
    path = folder / name
    if name.endswith(".pdf"):
        path.write_bytes(pdf_of(text))
    elif name.endswith(".xlsx"):
        write_workbook(path, text)
    else:
        path.write_text(text, encoding="utf-8")
    return path


def pdf_of(text: str, **canvas_settings: Any) -> bytes:
    """A PDF with lines in letters of one width."""
    from reportlab.pdfgen.canvas import Canvas

    packed = BytesIO()
    canvas = Canvas(packed, **canvas_settings)
    page = canvas.beginText(40, 800)
    page.setFont("Courier", 9)
    for line in text.splitlines():
        page.textLine(line)
    canvas.drawText(page)
    canvas.showPage()
    canvas.save()
    return packed.getvalue()


def write_workbook(path: Path, text: str) -> None:
    """A workbook of a text with bars between the cells; numbers as numbers."""
    from openpyxl import Workbook

    book = Workbook()
    for line in text.splitlines():
        book.active.append([_value(cell) for cell in line.split("|")])
    book.save(path)


def _value(cell: str) -> float | str | None:
    try:
        return float(cell)
    except ValueError:
        return cell or None
