"""Spoilt farms for the fuzzer: a good farm's files with what people, spreadsheets and disks do to
them, drawn from a seed.
"""

from __future__ import annotations

import io
import random
import zipfile
from collections.abc import Callable
from pathlib import Path

VALUES = [
    "0", "-1", "-0.0", "1e400", "nan", "inf", "-inf", "1e-300", "999999999999", "0.34", "340",
    "34", "true", "[]", "{}",
    "[1, 2]", "{a = 1}", '""', '"x"', "'", '"', "2026-02-30", "2026-10-15", "12:30:00",
    "2026-10-15T10:00:00Z", "1,5",
    "1.234,5", "\u00bd", "\u0660", "NaN", "None", '"\\u0000"', '"\\u001b[31m"', '"\u202e"',
    '"' + "a" * 120_000 + '"',
    "0x10", "1_000", "+5", "--5", "", "9" * 400, "[" * 200 + "]" * 200, '"=1+1"', '"<b>"',
    "1979-05-27", "0001-01-01",
    "9999-12-31", "barley", "2026", "\x1b[2J", "\x00",
]  # fmt: skip
SIGNS = "\x00\x1b\r\n\t\"'=,;[]{}#\ufeff\u202e\u2028 \u00a0é½0-+.e"


def spoilt_text(chance: random.Random, text: str) -> str:
    """A line deleted, doubled, moved, cut, or given another value, key or sign."""
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    kind = chance.choice(
        ["delete", "double", "move", "cut", "sign", "value", "value", "value", "value", "key"]
    )
    if kind == "delete":
        del lines[at]
    elif kind == "double":
        lines.insert(at, lines[at])
    elif kind == "move":
        lines.insert(chance.randrange(len(lines)), lines.pop(at))
    elif kind == "cut":
        lines[at] = lines[at][: chance.randrange(len(lines[at]) + 1)]
    elif kind == "sign":
        place = chance.randrange(len(lines[at]) + 1)
        lines[at] = lines[at][:place] + chance.choice(SIGNS) + lines[at][place:]
    else:
        lines[at] = _other(chance, lines[at], kind)
    return "\n".join(lines)


def _other(chance: random.Random, line: str, kind: str) -> str:
    value = chance.choice([*VALUES, str(chance.uniform(-1e6, 1e6)), str(chance.randrange(500))])
    if " = " in line:
        key, _, old = line.partition(" = ")
        return (
            f"{key} = {value}"
            if kind == "value"
            else f"{chance.choice(['x', key + 's', key[:-1]])} = {old}"
        )
    cells = line.split(",")
    cells[chance.randrange(len(cells))] = value
    return ",".join(cells)


ENCODED: list[Callable[[str], bytes]] = [
    lambda text: text.encode("utf-8-sig", "replace"),
    lambda text: text.replace("\n", "\r\n").encode("utf-8", "replace"),
    lambda text: (text + "\n# gr\u00fcn").encode("latin-1", "replace"),
    lambda text: text.replace(",", ";").encode("utf-8", "replace"),
    lambda text: text.encode("utf-16", "replace"),
    lambda text: text.encode("utf-8", "replace") + b"\x00\xff",
    lambda text: text.encode("utf-8", "replace")[: len(text) // 2],
    lambda text: b"",
]


def spoilt_folder(chance: random.Random, texts: dict[str, str], folder: Path) -> Path:
    """A farm folder with one to four faults, now and then in another encoding, without a file or
    with a folder in its place.
    """
    names = sorted(texts)
    spoilt = dict(texts)
    for _ in range(chance.randint(1, 4)):
        name = chance.choice(["farm.toml", "farm.toml", *names])
        spoilt[name] = spoilt_text(chance, spoilt[name])
    data = {name: text.encode("utf-8", "replace") for name, text in spoilt.items()}
    whim = chance.random()
    name = chance.choice(names)
    if whim < 0.1:
        data[name] = chance.choice(ENCODED)(spoilt[name])
    elif whim < 0.15:
        del data[name]
    folder.mkdir()
    for file, content in data.items():
        (folder / file).write_bytes(content)
    if 0.15 <= whim < 0.17:
        (folder / name).unlink()
        (folder / name).mkdir()
    return folder


def spoilt_book(chance: random.Random, whole: bytes, path: Path) -> Path:
    """A workbook with faults in the text of its parts, a part missing, or bytes of the packed file
    changed.
    """
    whim = chance.random()
    if whim < 0.15:
        data = bytearray(whole)
        for _ in range(chance.randint(1, 20)):
            data[chance.randrange(len(data))] = chance.randrange(256)
        path.write_bytes(
            bytes(data) if chance.random() < 0.7 else bytes(data[: chance.randrange(len(data))])
        )
        return path
    packed = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(whole)) as old,
        zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        parts = [part.filename for part in old.infolist()]
        sheets = [part for part in parts if "sheets/" in part or "sharedStrings" in part]
        marked = [
            chance.choice(sheets if chance.random() < 0.8 else parts)
            for _ in range(chance.randint(1, 3))
        ]
        for part in parts:
            text = old.read(part).decode("utf-8", "replace")
            for _ in range(marked.count(part)):
                text = _spoilt_part(chance, text)
            if not (part in marked and whim > 0.95):
                new.writestr(part, text.encode("utf-8", "replace"))
    path.write_bytes(packed.getvalue())
    return path


def _spoilt_part(chance: random.Random, text: str) -> str:
    """A figure, an attribute or a piece of a part made another."""
    bounds = [at for at, sign in enumerate(text) if sign in '<>"']
    if len(bounds) < 2:
        return text
    at = chance.randrange(len(bounds) - 1)
    start, end = bounds[at] + 1, bounds[at + 1]
    values = [
        "",
        "0",
        "-1",
        "A1:XFD1048576",
        "1e999",
        "nan",
        "s",
        "b",
        "e",
        "d",
        "x" * 50_000,
        "46310",
        "=1+1",
        "&amp;#27;",
        "999999999",
    ]
    return text[:start] + chance.choice(values) + text[end:]
