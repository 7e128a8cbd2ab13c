"""Builders of files that a program must refuse or survive, each from a sound small workbook or from nothing.

All is made when a test asks for it; nothing hostile lies in the repository. test_open_safely.py says what is to be said
of each.
"""

import base64
import io
import random
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import xlsxwriter

SHEET = "xl/worksheets/sheet1.xml"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
TAB = "Inspection"
HEAD = f'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<worksheet xmlns="{MAIN}"><sheetData>'
TAIL = "</sheetData></worksheet>"
MIB = 1024 * 1024
OLE_BEGINNING = bytes.fromhex("d0cf11e0a1b11ae1")  # MS-CFB 2.2


def sound(path: Path) -> Path:
    """A small workbook with a formula, texts, a date, a comment and two tabs."""
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet(TAB)
    sheet.write_string("A1", "pressure 3, system 1")
    sheet.write_number("B1", 2200)
    sheet.write_formula("C1", '=IF(B1>2000,"within limits","out of limits")', None, "within limits")
    sheet.write_datetime("D1", datetime(2026, 11, 25), book.add_format({"num_format": "yyyy-mm-dd"}))
    sheet.write_comment("B1", "read twice")
    book.add_worksheet("Basis").write_number("A1", 100)
    book.close()
    return path


def parts_of(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def pack(path: Path, parts: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> Path:
    with zipfile.ZipFile(path, "w", method) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


def with_part(path: Path, part: str, content: bytes | str | Callable[[bytes], bytes]) -> Path:
    """A sound workbook, but for one part: other content, or what a function makes of the content."""
    parts = parts_of(sound(path))
    new = content(parts.get(part, b"")) if callable(content) else content
    parts[part] = new.encode() if isinstance(new, str) else new
    return pack(path, parts)


def with_sheet(markup: str, head: str = HEAD, tail: str = TAIL) -> Callable[[Path], Path]:
    """A builder: the first tab holds this markup."""
    return lambda path: with_part(path, SHEET, head + markup + tail)


def edited(part: str, old: bytes, new: bytes) -> Callable[[Path], Path]:
    """A builder: in one part, the first `old` becomes `new`."""

    def edit(content: bytes) -> bytes:
        assert old in content, f"{old!r} isn't in {part}"
        return content.replace(old, new, 1)

    return lambda path: with_part(path, part, edit)


def holding(content: bytes) -> Callable[[Path], object]:
    """A builder: a file with this content."""
    return lambda path: path.write_bytes(content)


def poured(part: str, chunks: Callable[[], Iterator[bytes]], level: int = 1) -> Callable[[Path], None]:
    """A builder: one part, too big for memory, is poured in piece by piece, packed at this level."""

    def build(path: Path) -> None:
        parts = parts_of(sound(path))
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=level) as archive:
            for name, content in parts.items():
                if name != part:
                    archive.writestr(name, content)
            with archive.open(part, "w") as out:
                for chunk in chunks():
                    out.write(chunk)

    return build


def blanks() -> Iterator[bytes]:
    """600 MiB of blanks where the rows should be; 0.6 MB when packed."""
    yield HEAD.encode()
    for _ in range(600):
        yield b" " * MIB
    yield TAIL.encode()


def noise(length: int) -> str:
    """Letters that can't be packed well, the same each time."""
    return base64.b32encode(random.Random(4).randbytes(length * 5 // 8 + 5)).decode()[:length]


def repeated(head: str, item: Callable[[int], str], count: int, tail: str) -> Callable[[], Iterator[bytes]]:
    """Markup of many items, a thousand at a time."""

    def chunks() -> Iterator[bytes]:
        yield head.encode()
        for start in range(0, count, 1000):
            yield "".join(item(number) for number in range(start, min(start + 1000, count))).encode()
        yield tail.encode()

    return chunks


def understated(path: Path) -> None:
    """A part whose two headers say that it is a hundred bytes long; it unpacks to 8 MiB."""
    parts = parts_of(sound(path))
    parts[SHEET] = HEAD.encode() + b" " * (8 * MIB) + TAIL.encode()
    pack(path, parts)
    content = path.read_bytes()
    true_size, stated = struct.pack("<L", len(parts[SHEET])), struct.pack("<L", 100)
    assert content.count(true_size) == 2
    path.write_bytes(content.replace(true_size, stated))


def overlapping(path: Path) -> None:
    """Forty more entries of the directory that point to one packed body."""
    parts = parts_of(sound(path))
    parts["xl/media/one.xml"] = bytes(range(256)) * 2048
    pack(path, parts)
    content = path.read_bytes()
    end = content.rfind(b"PK\x05\x06")
    size, offset = struct.unpack_from("<LL", content, end + 12)
    directory = content[offset : offset + size]
    entry_start = directory.rfind(b"PK\x01\x02")
    entry = directory[entry_start:]
    more = b"".join(entry.replace(b"one.xml", f"{number:03d}.xml".encode()) for number in range(40))
    record = bytearray(content[end:])
    struct.pack_into("<HHLL", record, 8, len(parts) + 40, len(parts) + 40, size + len(more), offset)
    path.write_bytes(content[:offset] + directory + more + bytes(record))


def named(name: str) -> Callable[[Path], object]:
    """A builder: a workbook with one more part of this name."""

    def build(path: Path) -> None:
        pack(path, parts_of(sound(path)) | {"placeholder.xml": b"<a/>"})
        raw = name.encode().ljust(len("placeholder.xml"), b"x")[: len("placeholder.xml")]
        path.write_bytes(path.read_bytes().replace(b"placeholder.xml", raw))

    return build


def flagged(path: Path) -> None:
    """A workbook whose entries say that they are encrypted."""
    content = bytearray(sound(path).read_bytes())
    place = 0
    while (place := content.find(b"PK\x01\x02", place)) >= 0:
        content[place + 8] |= 1
        place += 4
    path.write_bytes(bytes(content))


def compound(stream: str) -> bytes:
    """A compound file (MS-CFB) whose directory names one stream."""
    header = bytearray(512)
    header[:8] = OLE_BEGINNING
    struct.pack_into("<HHHHH", header, 24, 0x3E, 3, 0xFFFE, 9, 6)
    struct.pack_into("<L", header, 48, 1)  # the directory begins in sector 1
    entries = b"".join(name.encode("utf-16-le").ljust(128, b"\0") for name in ("Root Entry", stream))
    return bytes(header) + b"\xff" * 512 + entries.ljust(512, b"\0")


def open_document(path: Path) -> None:
    pack(
        path,
        {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "content.xml": b"<a/>"},
        zipfile.ZIP_STORED,
    )


def crowded(path: Path) -> None:
    pack(path, parts_of(sound(path)) | {f"xl/custom/{number}.xml": b"" for number in range(3000)}, zipfile.ZIP_STORED)


def truncated(path: Path) -> None:
    path.write_bytes(sound(path).read_bytes()[:-400])


def cut_in_a_part(path: Path) -> None:
    """The end of the archive is there, but the bytes of a part are zeros, as after a failed copy."""
    content = bytearray(sound(path).read_bytes())
    start = content.find(SHEET.encode()) + len(SHEET)
    content[start : start + 200] = bytes(200)
    path.write_bytes(bytes(content))


def picture() -> bytes:
    """A PNG of one pixel."""
    out = io.BytesIO(b"\x89PNG\r\n\x1a\n")
    out.seek(0, io.SEEK_END)
    for kind, body in (
        (b"IHDR", struct.pack(">LLBBBBB", 1, 1, 8, 0, 0, 0, 0)),
        (b"IDAT", zlib.compress(b"\0\0")),
        (b"IEND", b""),
    ):
        out.write(struct.pack(">L", len(body)) + kind + body + struct.pack(">L", zlib.crc32(kind + body)))
    return out.getvalue()
