"""Recorded gauges read from text files: a time and a pressure a row, as common loggers write them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.errors import EXIT_MISSING, EXIT_NOT_UNDERSTOOD, InputError, InputProblem
from estimator.intake.model_errors import printable
from estimator.pressure_logs.columns import Chosen, NotChosen, Wanted, choose
from estimator.pressure_logs.samples import Kept
from estimator.pressure_logs.shape import NoShape, Shape, shape_of

Numbers = NDArray[np.float64]
CHUNK_ROWS = 250_000
_BEGINNING = 65_536
# What loggers write where they have no reading; numbers that stand for one aren't guessed.
_MISSING = ("", "-", "--", "---", "NaN", "nan", "NAN", "n/a", "N/A", "OL", "OVER", "ERR", "Err", "error")


@dataclass(frozen=True)
class PressureLog:
    """One channel of a log: seconds, pascals as a gauge reads them; kelvins and lamp where there are columns of them."""

    path: Path
    digest: str
    time: Numbers
    pressure: Numbers
    temperature: Numbers | None
    lamp: Numbers | None
    remarks: tuple[str, ...]

    @property
    def duration(self) -> float:
        return float(self.time[-1] - self.time[0])


def read_log(
    path: Path, wanted: Wanted, system: str, progress: Callable[[float], None] = lambda share: None
) -> PressureLog:
    """Return the log of a file. Samples that the logger left empty are left out, and counted in the remarks.

    system: the number of the system, which chooses among several channels. progress: called with the share read so far.
    More than two million samples are kept as means of 2, 4, 8 … neighbors, so that memory stays flat.

    Raises InputError with the line and what was found there: exit 66 where the file is missing, else 65.
    """
    digest, size, ended = _digest(path)
    with path.open("rb") as file:
        beginning = file.read(_BEGINNING)
    try:
        shape = shape_of(beginning, len(beginning) == size)
    except NoShape as trouble:
        line, found, fix = trouble.args
        raise _refused(path, line, found, "time and pressure in columns", fix) from None
    try:
        columns = choose(shape.names, shape.units, shape.clock, wanted, system)
    except NotChosen as trouble:
        found, allowed, fix = trouble.args
        raise _refused(path, max(shape.first, 1), printable(found), allowed, fix) from None
    kept = Kept(path, lambda row: _line(path, shape, row))
    for time, others, share in _chunks(path, shape, columns, ended, size):
        kept.add(time, others, columns.time_factor)
        progress(share)
    time, pressure, temperature, lamp = kept.samples()
    if columns.left_out:
        names = ", ".join(f'"{printable(name)}"' for name in columns.left_out)
        kept.remarks.append(f"not used: {names}")
    if not ended:
        kept.remarks.append("the last line has no end and may be cut short: not used")
    return PressureLog(path, digest, time, pressure, temperature, lamp, tuple(kept.remarks))


def digest_of(path: Path) -> str:
    """Return the SHA-256 of a log's file. Raises InputError where it can't be read."""
    return _digest(path)[0]


def _digest(path: Path) -> tuple[str, int, bool]:
    """SHA-256 of a file, its size, and whether its last line is ended. Raises InputError."""
    found, size, last, lines, wide = hashlib.sha256(), 0, b"", 0, False
    try:
        with path.open("rb") as file:
            while block := file.read(1 << 20):
                wide = wide or (not size and block.startswith((b"\xff\xfe", b"\xfe\xff")))
                if not wide and b"\0" in block:
                    at = lines + block[: block.index(b"\0")].count(b"\n") + 1
                    raise _refused(path, at, "a zero byte", "a log is plain text", "export it again as CSV")
                lines += block.count(b"\n")
                found.update(block)
                size, last = size + len(block), block
    except FileNotFoundError:
        missing = InputProblem(str(path), "the file", "not found", "check the name and the folder")
        raise InputError([missing], EXIT_MISSING) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "the name cannot be a file's"
        problem = InputProblem(str(path), "the file", f"it cannot be read: {why}", "a readable file is needed")
        raise InputError([problem], EXIT_NOT_UNDERSTOOD) from None
    return found.hexdigest(), size, last.endswith((b"\n", b"\r", b"\n\0"))


def _chunks(
    path: Path, shape: Shape, columns: Chosen, ended: bool, size: int
) -> Iterator[tuple[Any, tuple[Numbers | None, ...], float]]:
    """Times, the other columns in SI, and the share read, a chunk at a time."""
    import csv

    import pandas as pd

    settings: dict[str, Any] = {
        "sep": r"\s+" if shape.mark == " " else shape.mark,
        "decimal": shape.decimal,
        "header": None,
        "skiprows": shape.first,
        "chunksize": CHUNK_ROWS,
        "encoding": shape.encoding,
        "encoding_errors": "replace",
        "quoting": csv.QUOTE_MINIMAL if shape.quoted else csv.QUOTE_NONE,
        "na_values": _MISSING,
        "keep_default_na": False,
        "skipinitialspace": True,
    }
    scales = (
        (columns.pressure, columns.pressure_factor, columns.pressure_offset),
        (columns.temperature, *columns.temperature_unit),
        (columns.lamp, 1.0, 0.0),
    )
    row = 0
    try:
        with path.open("rb") as raw, pd.read_csv(raw, **settings) as reader:
            held = None
            for chunk in reader:
                if held is not None:
                    yield held
                time = chunk[columns.time]
                time = time.to_numpy(dtype=object) if not columns.time_factor else _numbers(path, shape, time, row)
                others = tuple(
                    None if place is None else _numbers(path, shape, chunk[place], row) * factor + offset
                    for place, factor, offset in scales
                )
                row += len(chunk)
                held = time, others, min(1.0, raw.tell() / size)
            if held is not None:
                cut = None if ended else -1
                yield held[0][:cut], tuple(part if part is None else part[:cut] for part in held[1]), 1.0
    except pd.errors.ParserError as error:
        raise _unsplit(path, shape, str(error)) from None
    except pd.errors.EmptyDataError:
        raise _refused(path, shape.first + 1, "no samples", "a log holds samples", "export it again") from None


def _numbers(path: Path, shape: Shape, column: Any, before: int) -> Numbers:
    """A column as numbers. Raises InputError with the line of the first cell that is none."""
    import pandas as pd

    if column.dtype.kind in "fiu":
        values: Numbers = column.to_numpy(dtype=np.float64)
    else:
        # A column that pandas took for words keeps its decimal mark.
        text = column
        if shape.decimal == ",":
            text = column.astype(str).where(column.notna())
            text = text.where(~text.str.contains(".", regex=False, na=False)).str.replace(",", ".", regex=False)
        values = pd.to_numeric(text, errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
        wrong = np.flatnonzero(np.isnan(values) & column.notna().to_numpy())
        if wrong.size:
            place = int(wrong[0])
            found = f'found "{printable(str(column.iloc[place])[:60])}"'
            mark = "a comma" if shape.decimal == "," else "a point"
            line = _line(path, shape, before + place)
            raise _refused(path, line, found, f"a number, its decimal mark {mark}", "correct the line or take it out")
    endless = np.flatnonzero(np.isinf(values))
    if endless.size:
        line = _line(path, shape, before + int(endless[0]))
        raise _refused(path, line, "a number without end", "a number", "correct the line or take it out")
    return values


def _unsplit(path: Path, shape: Shape, message: str) -> InputError:
    """What pandas says of a row that it can't split, in words."""
    words = message.replace(",", " ").split()
    if "line" in words and "saw" in words:
        line, needed, saw = (int(words[words.index(word) + 1]) for word in ("line", "Expected", "saw"))
        return _refused(
            path, line, f"{saw} fields", f"the lines before have {needed}", "correct the line or take it out"
        )
    row = int(words[-1]) if words[-1].isdecimal() else 0
    found = "a quotation mark that is not closed"
    return _refused(path, _line(path, shape, row), found, "quotation marks in pairs", "correct the line")


def _line(path: Path, shape: Shape, row: int) -> int:
    """The line of the file in which a row of data stands; lines that hold nothing are no rows."""
    with path.open(encoding=shape.encoding, errors="replace", newline="") as file:
        numbered = ((number, text) for number, text in enumerate(file, 1) if number > shape.first and text.strip())
        return next(islice(numbered, row, None), (shape.first + 1, ""))[0]


def _refused(path: Path, line: int, found: str, allowed: str, fix: str) -> InputError:
    return InputError([InputProblem(str(path), f"line {line}", found, allowed, fix)])
