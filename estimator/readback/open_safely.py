"""Opening a workbook that may be anything: everything is looked at before anything is parsed.

The order: the file and its first bytes, the directory of the zip archive, the names, number and sizes of its parts.
What is inside the parts is counted by `Package` while it streams by. No link is followed, no macro is run.
"""

from __future__ import annotations

import os
import stat
import struct
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from estimator.errors import EXIT_MISSING, UnreadableFile
from estimator.readback.budget import LIMITS, RATIO, RATIO_FROM, Budget, one_line
from estimator.readback.io_refusals import ZIP_FAULTS, no_access, zip_refusal
from estimator.readback.package_parts import Package
from estimator.readback.signatures import ZIP, what_it_is, what_the_zip_is

_HEAD_BYTES = 4096
_END_RECORD = struct.Struct("<4s4H2LH")  # PKWARE application note 4.3.16: end of central directory
_LONGEST_COMMENT = 65_535
_DIRECTORY_BYTES_PER_PART = 1024
_ENCRYPTED = 0x1 | 0x40 | 0x2000  # the same note, 4.4.4: bits 0, 6 and 13
_NEEDS_64_BITS = 0xFFFF, 0xFFFFFFFF


@contextmanager
def open_package(path: Path) -> Iterator[Package]:
    """Open the workbook at `path` as parts that can be streamed, once it is sure that this is safe.

    path: of a regular file; a folder is refused.
    Raises UnreadableFile: rule `unreadable-file` or `over-size`; exit status 66 for a file that is missing, locked or
    goes away, 65 for all else. Its `what` and `fix` are for people.

    >>> with open_package(Path("gone.xlsx")):
    ...     pass
    Traceback (most recent call last):
    estimator.errors.UnreadableFile: gone.xlsx · there is no such file · check the name and the folder
    """
    budget = Budget(path)
    with _opened(path) as file:
        try:
            size = os.fstat(file.fileno()).st_size
            head = file.read(_HEAD_BYTES)
            if not head.startswith(ZIP):
                raise UnreadableFile(path, *_named(path, head, size, file))
            budget.spend("bytes in the file", size)
            _check_directory(file, size, budget)
            archive = zipfile.ZipFile(file)
        except ZIP_FAULTS as fault:
            raise zip_refusal(budget, fault) from fault
        with archive:
            yield Package(archive, _check_parts(archive, size, budget), budget)


@contextmanager
def _opened(path: Path) -> Iterator[BinaryIO]:
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            kind = "a folder" if path.is_dir() else "not a regular file"
            raise UnreadableFile(path, f"it is {kind}", "give the name of a workbook (.xlsx)", exit_status=EXIT_MISSING)
        file = path.open("rb")
    except (OSError, ValueError) as fault:
        raise no_access(path, fault) from fault
    with file:
        yield file


def _named(path: Path, head: bytes, size: int, file: BinaryIO) -> tuple[str, str]:
    if path.name.startswith(("~$", ".~lock.")):
        return "the mark of a spreadsheet program that has a workbook open, not a workbook", "give the workbook itself"
    return what_it_is(head, size, file)


def _check_directory(file: BinaryIO, size: int, budget: Budget) -> None:
    """Look at the archive's last record, before its directory is read as a whole."""
    start = max(0, size - _LONGEST_COMMENT - _END_RECORD.size)
    file.seek(start)
    tail = file.read()
    place = tail.rfind(b"PK\x05\x06")
    if place < 0 or len(tail) - place < _END_RECORD.size:
        raise budget.damaged("its end is missing, as when a copy or a download was cut short")
    _, _, _, _, count, directory_bytes, offset, _ = _END_RECORD.unpack_from(tail, place)
    if count in _NEEDS_64_BITS or directory_bytes in _NEEDS_64_BITS or offset in _NEEDS_64_BITS:
        raise budget.over_size("its archive is of the kind for files over 4 GB (zip64)")
    budget.spend("parts", max(count, directory_bytes // _DIRECTORY_BYTES_PER_PART))


def _check_parts(archive: zipfile.ZipFile, size: int, budget: Budget) -> dict[str, zipfile.ZipInfo]:
    """Check the name, the packing and the sizes of each part. Returns lower-case name -> part: names ignore case."""
    parts: dict[str, zipfile.ZipInfo] = {}
    if len(archive.infolist()) > LIMITS["parts"]:
        raise budget.over_size(f"it holds more than {LIMITS['parts']:,} parts")
    for info in archive.infolist():
        name = info.orig_filename.lower()
        if name in parts:
            raise budget.damaged(f'the part "{one_line(info.orig_filename)}" is there twice')
        _check_part(info, budget)
        parts[name] = info
    if sum(info.compress_size for info in parts.values()) > size:
        raise budget.damaged("its parts overlap one another")
    for info in parts.values():
        _compare_headers(archive, info, budget)
    if "[content_types].xml" not in parts or "xl/workbook.bin" in parts:
        raise UnreadableFile(budget.path, *what_the_zip_is(parts, _mimetype(archive, parts)))
    return parts


def _check_part(info: zipfile.ZipInfo, budget: Budget) -> None:
    name = info.orig_filename
    shown = one_line(name)
    if name.startswith("/") or "\\" in name or "\0" in name or {"..", "."} & set(name.split("/")):
        raise budget.damaged(f'the name of its part "{shown}" points outside the file or is none')
    if info.flag_bits & _ENCRYPTED:
        raise UnreadableFile(
            budget.path,
            f'its part "{shown}" is encrypted',
            "open it in a spreadsheet program, take the password off, save, and try again",
        )
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise budget.damaged(f'the part "{shown}" is packed by a method that workbooks don\'t use')
    if info.file_size > max(RATIO_FROM, RATIO * info.compress_size):
        raise budget.over_size(f'its part "{shown}" unpacks to more than {RATIO} times its size')
    budget.spend("bytes when unpacked", info.file_size)


def _compare_headers(archive: zipfile.ZipFile, info: zipfile.ZipInfo, budget: Budget) -> None:
    """The directory isn't under a checksum: a part whose name was damaged there would pass for one that nobody needs."""
    try:
        archive.open(info).close()
    except ZIP_FAULTS as fault:
        shown = one_line(info.orig_filename)
        raise budget.damaged(f"the part \"{shown}\" isn't where the archive's directory has it") from fault


def _mimetype(archive: zipfile.ZipFile, parts: dict[str, zipfile.ZipInfo]) -> str:
    if "mimetype" not in parts:
        return ""
    try:
        with archive.open(parts["mimetype"]) as file:
            return file.read(100).decode("ascii", "replace").strip()
    except ZIP_FAULTS:
        return ""
