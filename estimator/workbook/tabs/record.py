"""`Record`: what the program reads back: the record without its entries, and every formula and constant as drafted."""

from __future__ import annotations

import base64
import hashlib
import json
import zlib
from dataclasses import dataclass

from estimator import __version__
from estimator.appraisal import Appraisal
from estimator.workbook.book import Book, Column, Tab, block
from estimator.workbook.manifest import manifest
from estimator.workbook.tabs.common import head

SCHEMA = 1
_LENGTH = 24_000


@dataclass(frozen=True)
class Line:
    ref: str
    label: str
    value: str


def record_tab(appraisal: Appraisal, book: Book) -> Tab:
    """The tab that goes after those of `book`."""
    content = {"record": appraisal.record.model_dump_json(), "manifest": json.dumps(manifest(book), ensure_ascii=False)}
    rows = [
        Line("schema", "schema", str(SCHEMA)),
        Line("program", "program", __version__),
        Line("digest", "digest", digest_of(content["record"], content["manifest"])),
    ]
    for name, text in content.items():
        packed = pack(text)
        pieces = [packed[start : start + _LENGTH] for start in range(0, len(packed), _LENGTH)]
        rows += [Line(f"{name}-{number}", f"{name} {number}", piece) for number, piece in enumerate(pieces, 1)]
    return Tab(
        name="Record",
        title="Record: for the program, nothing to fill in here",
        head=head(appraisal, "Record"),
        cautions=(
            "Keep this tab: without it the workbook can't be read back. It shows accidental damage, not intent: it isn't sealed.",
        ),
        blocks=(
            block("record", "Record", [Column("label", "row", "label"), Column("value", "text", "data")], rows),
        ),
        widths=(30, 120),
    )


def pack(text: str) -> str:
    """Text, compressed, in letters that every program keeps."""
    return base64.b85encode(zlib.compress(text.encode("utf-8"), 9)).decode("ascii")


def unpack(text: str) -> str:
    """The text that `pack` packed. Raises ValueError where it is damaged."""
    try:
        opener = zlib.decompressobj()
        raw = opener.decompress(base64.b85decode(text), 64_000_000)
        if opener.unconsumed_tail or not opener.eof:
            raise ValueError("the packed text is cut off, or far too long")
        return raw.decode("utf-8")
    except (zlib.error, UnicodeDecodeError) as error:
        raise ValueError("the packed text is damaged") from error


def digest_of(record: str, manifest_text: str) -> str:
    """The SHA-256 of record and manifest, in hexadecimal."""
    return hashlib.sha256(f"{record}\n{manifest_text}".encode()).hexdigest()
