"""The mutants that the tests don't notice: a table that a run brings up to date and in which a person says why.

A row is known again by its module, function, line of text and mutation, so that it stays where lines move.
"""

import csv
from pathlib import Path

FILE = Path(__file__).with_suffix(".csv")
COLUMNS = ("module", "function", "line", "mutation", "reason")


def read(path=FILE):
    """Reasons by mutant; "" where none is given yet."""
    if not path.exists():
        return {}
    with path.open(encoding="utf-8", newline="") as file:
        return {tuple(row[name] for name in COLUMNS[:-1]): row["reason"] for row in csv.DictReader(file)}


def brought_up_to_date(known, possible, tried, survived):
    """The rows after a run: new survivors without a reason; gone are the killed, and what the code no longer holds."""
    kept = {mutant: reason for mutant, reason in known.items() if mutant in possible and mutant not in tried}
    return kept | {mutant: known.get(mutant, "") for mutant in survived}


def write(rows, path=FILE):
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(COLUMNS)
        table.writerows((*mutant, rows[mutant]) for mutant in sorted(rows))
