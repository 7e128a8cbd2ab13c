"""What a file is that has the name of a workbook and isn't one: the words for it and what to do."""

from __future__ import annotations

from collections.abc import Collection
from typing import BinaryIO

OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
ZIP, EMPTY_ZIP = b"PK\x03\x04", b"PK\x05\x06"

_SAVE_AS = "open it in a spreadsheet program, save it as .xlsx, and try again"
_GIVE = "give the workbook that this program drafted"
_AGAIN = "copy or download it again from where it came"

# First bytes -> what the file is, what to do
_BEGINNINGS: tuple[tuple[bytes, str, str], ...] = (
    (b"%PDF", "a PDF document, not a workbook", _GIVE),
    (b"\x89PNG\r\n", "a picture (PNG), not a workbook", _GIVE),
    (b"\xff\xd8\xff", "a picture (JPEG), not a workbook", _GIVE),
    (b"GIF8", "a picture (GIF), not a workbook", _GIVE),
    (b"BM", "a picture (BMP), not a workbook", _GIVE),
    (b"II*\0", "a picture (TIFF), not a workbook", _GIVE),
    (b"MM\0*", "a picture (TIFF), not a workbook", _GIVE),
    (b"Rar!", "a RAR archive, not a workbook", "unpack it and give the workbook inside"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive, not a workbook", "unpack it and give the workbook inside"),
    (b"\x1f\x8b", "a gzip archive, not a workbook", "unpack it and give the workbook inside"),
    (b"{\\rtf", "a text document (RTF), not a workbook", _GIVE),
    (b"SQLite format 3\0", "a database, not a workbook", _GIVE),
    (EMPTY_ZIP, "an empty zip archive, not a workbook", _AGAIN),
)
# A name that only this kind of zip archive holds -> what the file is, what to do
_ZIP_KINDS: tuple[tuple[str, str, str], ...] = (
    ("xl/workbook.bin", "a binary workbook (.xlsb)", _SAVE_AS),
    ("word/document.xml", "a text document (.docx), not a workbook", _GIVE),
    ("ppt/presentation.xml", "a presentation (.pptx), not a workbook", _GIVE),
    (
        "index/document.iwa",
        "a document in the format of one manufacturer's tablet and desktop programs (.iwa)",
        _SAVE_AS,
    ),
)
_OPEN_DOCUMENT = "application/vnd.oasis.opendocument."
_DIRECTORY_BYTES = 4096


def what_it_is(head: bytes, size: int, file: BinaryIO) -> tuple[str, str]:
    """Name a file that isn't a zip archive, from its first bytes.

    head: the first 4 KiB; size: of the whole file, in bytes; file: open for reading, for a look further in.
    Returns what the file is and what to do.
    """
    if not size:
        return "an empty file (0 bytes): it was never saved or sent completely", _AGAIN
    if head.startswith(OLE):
        return _compound_file(head, size, file)
    for beginning, what, fix in _BEGINNINGS:
        if head.startswith(beginning):
            return what, fix
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "a picture (WebP), not a workbook", _GIVE
    if head[4:8] == b"ftyp":
        return "a picture or film (HEIF, MP4), not a workbook", _GIVE
    if not head.strip(b"\0"):
        return "the file contains only zeros: a failed copy or disk: a copy or a disk has failed", _AGAIN
    return _text_file(head) or (f"not a workbook (it begins with the bytes {head[:4].hex(' ')})", _GIVE)


def what_the_zip_is(names: Collection[str], mimetype: str) -> tuple[str, str]:
    """Name a zip archive that holds no workbook.

    names: its parts, in lower case; mimetype: what its part of that name says, or "".
    """
    if mimetype.startswith(_OPEN_DOCUMENT):
        kind = mimetype.removeprefix(_OPEN_DOCUMENT)
        if kind.startswith("spreadsheet"):
            return "an OpenDocument workbook (.ods)", _SAVE_AS
        return f"an OpenDocument {kind[:20]} document, not a workbook", _GIVE
    for name, what, fix in _ZIP_KINDS:
        if name in names:
            return what, fix
    return "a zip archive without a workbook in it", "unpack it and give the workbook, or take the last good copy"


def _compound_file(head: bytes, size: int, file: BinaryIO) -> tuple[str, str]:
    """Tell the two things apart that begin alike: encrypted workbooks and those of before 2007."""
    sector_bytes = 1 << min(int.from_bytes(head[30:32], "little"), 12)
    file.seek(min(size, (int.from_bytes(head[48:52], "little") + 1) * sector_bytes))
    directory = file.read(_DIRECTORY_BYTES)
    if "EncryptedPackage".encode("utf-16-le") in directory:
        return (
            "encrypted with a password",
            "open it in a spreadsheet program, take the password off, save, and try again",
        )
    if "WordDocument".encode("utf-16-le") in directory:
        return "a text document of the old kind (.doc), not a workbook", _GIVE
    return "a workbook of the old kind (.xls)", _SAVE_AS


def _text_file(head: bytes) -> tuple[str, str] | None:
    wide = head.startswith((b"\xff\xfe", b"\xfe\xff"))
    if not wide and (b"\0" in head or any(byte < 32 and byte not in b"\t\n\r\f\x1a" for byte in head)):
        return None
    start = head.decode("utf-16" if wide else "latin-1", "replace").lstrip("\ufeffï»¿ \t\r\n").lower()
    if "office:document" in start or "excel.sheet" in start or "schemas-microsoft-com:office:spreadsheet" in start:
        return "a workbook as one XML text", _SAVE_AS
    if start.startswith(("<!doctype html", "<html", "<table", "<meta", "<head", "<?xml")):
        return "a web page or other markup, not a workbook", f"{_GIVE}; a download that needs a password gives this"
    return "plain text (CSV, perhaps), not a workbook", f"{_GIVE}; `estimator fill` takes entries from a CSV file"
