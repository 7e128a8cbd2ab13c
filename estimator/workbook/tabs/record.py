"""`Record`: what the program reads back: the record without its entries, and every formula and constant as drafted."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import lzma
import zlib
from collections.abc import Mapping
from dataclasses import dataclass

from estimator import __version__
from estimator.records import JobRecord
from estimator.workbook.book import Book, Column, Tab, block
from estimator.workbook.manifest import manifest
from estimator.workbook.seal import NOT_SEALED, SealKey
from estimator.workbook.tabs.common import head_block

# Counts up when the fields of a record, the form of the manifest, the placing of blocks or the names in formula
# templates change. Names that were changed are declared in estimator/migrations.py.
SCHEMA = 3
PIECE = 24_000  # characters of a row; spreadsheet programs take 32,767
_MARK = "z"  # before each piece, so that no program takes one for a number or a formula
_LONGEST = 64_000_000  # characters when unpacked
_LZMA = b"\xfd7zXZ\x00"
# Of xz's settings, those that suit a long text that repeats itself.
_FILTERS = [{"id": lzma.FILTER_LZMA2, "preset": 9, "lc": 4, "lp": 0, "pb": 0, "nice_len": 273, "depth": 200}]

_KEEP = "Keep this tab: without it the workbook can't be read back. "
_UNSEALED = "It isn't sealed: it shows accidental damage, not intent."
_SEALED = "It is sealed: whoever holds the shop's key can see whether record, limits and rates are as drafted."


@dataclass(frozen=True)
class Packed:
    """What the rows of the tab hold: `packed` are record and manifest, in one text since the third schema."""

    schema: str
    program: str
    digest: str
    seal: str
    packed: Mapping[str, str]

    @property
    def sealed(self) -> bool:
        return self.seal != NOT_SEALED

    def rows(self) -> dict[str, str]:
        """The text beside each label, in the order of the rows."""
        rows = {"schema": self.schema, "program": self.program, "digest": self.digest, "seal": self.seal}
        for name, text in self.packed.items():
            pieces = [text[start : start + PIECE] for start in range(0, len(text), PIECE)]
            rows |= {f"{name} {number}": _MARK + piece for number, piece in enumerate(pieces, 1)}
        return rows


def packed_record(record: JobRecord, book: Book, key: SealKey | None = None) -> Packed:
    """What a workbook carries of itself: `book` holds all tabs but this one."""
    texts = record.model_dump_json(), json.dumps(manifest(book), ensure_ascii=False, separators=(",", ":"))
    schema = str(SCHEMA)
    seal = NOT_SEALED if key is None else key.seal(schema, __version__, *texts)
    return Packed(schema, __version__, digest_of(*texts), seal, {"record": pack("\n".join(texts))})


def unpacked(packed: Mapping[str, str]) -> tuple[str, str]:
    """Record and manifest. Raises ValueError where they are damaged."""
    record, _, drafted = unpack(packed["record"]).partition("\n")
    return record, unpack(packed["manifest"]) if "manifest" in packed else drafted


def joined(rows: Mapping[str, str], name: str) -> str:
    """The packed text whose pieces stand in the rows of the tab. Raises ValueError where one isn't there."""
    pieces: list[str] = []
    while (piece := rows.get(f"{name} {len(pieces) + 1}")) is not None:
        if not piece.startswith(_MARK):
            raise ValueError(f"row {name} {len(pieces) + 1} was typed over")
        pieces.append(piece.removeprefix(_MARK))
    if not pieces:
        raise ValueError("it isn't there")
    return "".join(pieces)


@dataclass(frozen=True)
class _Line:
    ref: str
    label: str
    value: str


def record_tab(record: JobRecord, state: str, packed: Packed) -> Tab:
    """The tab that goes after all others. state: what may be done with the car."""
    lines = [_Line(label.replace(" ", "-"), label, value) for label, value in packed.rows().items()]
    return Tab(
        name="Record",
        title="Record: for the program, nothing to fill in here",
        head=head_block(state, "Record"),
        cautions=(_KEEP + (_SEALED if packed.sealed else _UNSEALED),),
        blocks=(block("record", "Record", [Column("label", "row", "label"), Column("value", "text", "data")], lines),),
        widths=(30, 120),
        hidden=True,
    )


def pack(text: str) -> str:
    """Text, compressed, in letters that every program keeps."""
    return base64.b64encode(lzma.compress(text.encode("utf-8"), filters=_FILTERS)).decode("ascii")


def unpack(text: str) -> str:
    """The text that `pack` packed. Raises ValueError where it is damaged."""
    try:
        packed = base64.b64decode(text.encode("ascii"), validate=True)
        raw = _opened(packed) if packed.startswith(_LZMA) else _inflated(packed)
        return raw.decode("utf-8")
    except (zlib.error, lzma.LZMAError, UnicodeError, binascii.Error):
        raise ValueError("its packed text is damaged") from None


def _opened(packed: bytes) -> bytes:
    opener = lzma.LZMADecompressor(format=lzma.FORMAT_XZ, memlimit=_LONGEST * 4)
    raw = opener.decompress(packed, _LONGEST)
    if opener.unused_data or not opener.eof:
        raise ValueError("its packed text is cut off, or far too long")
    return raw


def _inflated(packed: bytes) -> bytes:
    """What workbooks of the first schema hold."""
    opener = zlib.decompressobj()
    raw = opener.decompress(packed, _LONGEST)
    if opener.unconsumed_tail or opener.unused_data or not opener.eof:
        raise ValueError("its packed text is cut off, or far too long")
    return raw


def digest_of(record: str, manifest: str) -> str:
    """The SHA-256 of record and manifest, in hexadecimal."""
    return hashlib.sha256(f"{record}\n{manifest}".encode()).hexdigest()
