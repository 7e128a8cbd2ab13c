"""Workbooks written so that only one which reads back as sound takes its place."""

from __future__ import annotations

from pathlib import Path

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.drafted_band import with_band
from estimator.files import refuse_existing, write_whole
from estimator.readback.check import check_workbook
from estimator.workbook.compose import compose
from estimator.workbook.seal import SealKey
from estimator.workbook.write import workbook_bytes


class NotReadBack(Exception):
    """A fault of the program: a workbook that it wrote isn't sound to itself."""


def write_verified(appraisal: Appraisal, path: Path, key: SealKey | None = None, *, force: bool = False) -> None:
    """Write the workbook of an appraisal, sealed where a key is given, whole or not at all.

    It carries the price band of now. It is read back before it takes its place: the file that was there stays if it isn't sound.
    Raises CannotWrite where a file is there without `force` or the disk refuses; NotReadBack.
    """

    def verify(written: Path) -> None:
        checked = check_workbook(written, key)
        if checked.state != "sound":
            wrong = next(item for item in checked.integrity if item.severity != "note")
            raise NotReadBack(f"{path} doesn't read back as it was written: {wrong.line()}")

    refuse_existing(path, force=force)
    write_whole(path, workbook_bytes(compose(with_band(appraisal), key)), verify)
