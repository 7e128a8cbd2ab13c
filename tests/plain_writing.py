"""Workbooks written without being read back, for tests that read them themselves."""

from pathlib import Path

from estimator.files import write_whole
from estimator.workbook.book import Book
from estimator.workbook.write import workbook_bytes


def write_workbook(book: Book, path: Path) -> None:
    write_whole(path, workbook_bytes(book))
