"""The text layer of a PDF as lines that keep their columns. A scan, a locked or a damaged file is
said to be one; pages, bytes and time are bounded.
"""

from __future__ import annotations

import logging
import struct
import zlib
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from rationlp.errors import refused
from rationlp.paper.lines import Line, text_lines

if TYPE_CHECKING:
    from pypdf import PdfReader

MOST_PDF_BYTES = 20_000_000
MOST_PAGES = 30
MOST_PAGE_BYTES = 3_000_000
MOST_SECONDS = 30.0
# What the library raises on files that are damaged, each seen on a spoilt one.
_DAMAGED = (
    ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError, OverflowError,
    AssertionError, NotImplementedError, EOFError, MemoryError, zlib.error, struct.error, OSError,
)  # fmt: skip


def pdf_lines(path: Path) -> list[Line]:
    """The lines of all pages. Raises InputError (PA103 to PA106) where it cannot be read."""
    from pypdf.errors import PyPdfError

    # The library tells of every fault that it gets over; what matters is told here.
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    size = path.stat().st_size
    if size > MOST_PDF_BYTES:
        remedy = f"a sheet has at most {MOST_PDF_BYTES // 1_000_000} MB: check that it is the one"
        raise refused("PA103", path.name, f"a PDF of {size // 1_000_000} MB", remedy)
    try:
        return _lines(path)
    except (PyPdfError, *_DAMAGED) as trouble:
        remedy = "open it and save or print it as PDF again, or paste its text"
        raise refused("PA106", path.name, "a PDF that is damaged", remedy) from trouble


def _lines(path: Path) -> list[Line]:
    from pypdf import PdfReader

    reader = PdfReader(path)
    _refuse_locked(reader, path.name)
    if len(reader.pages) > MOST_PAGES:
        remedy = f"give at most {MOST_PAGES} pages: print those with the figures to a PDF"
        raise refused("PA103", path.name, f"a PDF of {len(reader.pages)} pages", remedy)
    began = monotonic()
    lines: list[Line] = []
    pictures = 0
    for number, page in enumerate(reader.pages, 1):
        name = f"{path.name} page {number}"
        content = page.get_contents()
        if content is not None and len(content.get_data()) > MOST_PAGE_BYTES:
            raise refused("PA103", name, "a page too large to read", "paste its text")
        if monotonic() - began > MOST_SECONDS:
            raise refused("PA103", name, "a PDF that takes too long to read", "paste its text")
        text = page.extract_text(extraction_mode="layout")
        of_page = text_lines(text, name, False)
        lines += of_page
        if not of_page:
            pictures += len(page.images)
    if not lines:
        trouble = "a PDF without any text"
        if pictures:
            trouble = "a scan: pictures of pages without text"
        remedy = "ask for the sheet as a PDF that is not scanned, or type its figures as text"
        raise refused("PA104", path.name, trouble, remedy)
    return lines


def _refuse_locked(reader: PdfReader, name: str) -> None:
    """A file that opens without a password is read, whatever its maker forbids."""
    from pypdf.errors import DependencyError

    if not reader.is_encrypted:
        return
    try:
        opened = bool(reader.decrypt(""))
    except (DependencyError, NotImplementedError):
        opened = False
    if not opened:
        remedy = "open it with its password and print it to a PDF without one"
        raise refused("PA105", name, "a PDF kept by a password", remedy)
