"""An independent judge of journal files: knows the rules of double entry and nothing of the package.

    python tests/independent_ledger.py JOURNAL.csv [JOURNAL.csv ...]

Reads the CSV alone into SQLite, adds with Fraction, tolerates nothing. Prints `accepted` with what it counted and ends
with 0, or one line a fault and ends with 1. Told apart from the package on purpose: it imports nothing of it.
"""

import csv
import hashlib
import re
import sqlite3
import sys
from fractions import Fraction

HEADER = (
    "entry_id,line_no,entry_date,doc_type,doc_id,doc_rev,account_code,account_name,description,"
    "debit,credit,currency,tax_code,content_sha256"
)
COLUMNS = HEADER.split(",")
FORMS = {
    "entry_id": r".+-r[0-9]+-[0-9]{3,}-[0-9a-f]{12}",
    "line_no": r"[1-9][0-9]*",
    "entry_date": r"[0-9]{4}-[0-9]{2}-[0-9]{2}",
    "doc_type": r"(invoice|credit-note|core-entry|payment)(-reversal)?",
    "doc_id": r".+",
    "doc_rev": r"[1-9][0-9]*",
    "account_code": r".+",
    "debit": r"[0-9]+\.[0-9]{2}",
    "credit": r"[0-9]+\.[0-9]{2}",
    "currency": r"[A-Z]{3}",
    "content_sha256": r"[0-9a-f]{64}",
}


def main(paths):
    faults = []
    database = sqlite3.connect(":memory:")
    database.execute(f"CREATE TABLE line (place TEXT, {', '.join(f'{name} TEXT' for name in COLUMNS)})")
    for path in paths:
        read(path, database, faults)
    if not faults:
        entries = database.execute("SELECT entry_id FROM line GROUP BY entry_id ORDER BY MIN(rowid)").fetchall()
        for (entry,) in entries:
            faults += judge_entry(database, entry)
        faults += judge_histories(database)
        whole = sum_of(database, "debit", "1"), sum_of(database, "credit", "1")
        if whole[0] != whole[1]:
            faults.append(f"all debits {whole[0]} are not all credits {whole[1]}")
    if faults:
        print("\n".join(faults))
        return 1
    lines = database.execute("SELECT COUNT(*) FROM line").fetchone()[0]
    print(f"accepted: {len(entries)} entries, {lines} lines, {float(whole[0]):.2f} on each side")
    return 0


def read(path, database, faults):
    with open(path, encoding="utf-8", newline="") as file:
        reader = csv.reader(file, strict=True)
        if next(reader, None) != COLUMNS:
            faults.append(f"{path}: these aren't the columns of a journal")
            return
        for row in reader:
            place = f"{path}:{reader.line_num}"
            if len(row) != len(COLUMNS):
                faults.append(f"{place}: {len(row)} cells where {len(COLUMNS)} are wanted")
                continue
            for name, value in zip(COLUMNS, row, strict=True):
                if name in FORMS and not re.fullmatch(FORMS[name], value):
                    faults.append(f"{place}: {name} {value!r} has no known form")
            database.execute(f"INSERT INTO line VALUES ({', '.join('?' * (len(COLUMNS) + 1))})", (place, *row))


def sum_of(database, side, where, values=()):
    return sum(
        (Fraction(value) for (value,) in database.execute(f"SELECT {side} FROM line WHERE {where}", values)),
        Fraction(0),
    )


def judge_entry(database, entry):
    """An entry is whole, balanced, of one document, and as its fingerprint says."""
    rows = database.execute("SELECT * FROM line WHERE entry_id = ? ORDER BY rowid", (entry,)).fetchall()
    cells = [dict(zip(("place", *COLUMNS), row, strict=True)) for row in rows]
    faults = []
    if [int(cell["line_no"]) for cell in cells] != list(range(1, len(cells) + 1)):
        faults.append(f"{entry}: its lines aren't numbered 1 to {len(cells)} without gap or repeat")
    for name in ("entry_date", "doc_type", "doc_id", "doc_rev", "currency", "content_sha256"):
        if len({cell[name] for cell in cells}) != 1:
            faults.append(f"{entry}: more than one {name}")
    for cell in cells:
        if (Fraction(cell["debit"]) == 0) == (Fraction(cell["credit"]) == 0):
            faults.append(f"{cell['place']}: one of debit and credit stands, and only one")
    debit, credit = (sum_of(database, side, "entry_id = ?", (entry,)) for side in ("debit", "credit"))
    if debit != credit:
        faults.append(f"{entry}: debit {debit} is not credit {credit}")
    number, fingerprint = entry.rsplit("-", 2)[1:]
    if f"{cells[0]['doc_id']}-r{cells[0]['doc_rev']}-{number}-{fingerprint}" != entry:
        faults.append(f"{entry}: the id isn't that of document {cells[0]['doc_id']} revision {cells[0]['doc_rev']}")
    text = "\n".join("\x1f".join(row[2:]) for row in rows)
    if hashlib.sha256(text.encode("utf-8")).hexdigest()[:12] != fingerprint:
        faults.append(f"{entry}: its rows aren't those that its id was made from")
    return faults


def judge_histories(database):
    """A document is posted, reversed in full, posted again, never twice in a row; a reversal mirrors its posting."""
    faults, last = [], {}
    entries = database.execute(
        "SELECT entry_id, doc_id, doc_type FROM line GROUP BY entry_id ORDER BY MIN(rowid)"
    ).fetchall()
    for entry, document, doc_type in entries:
        reversal = doc_type.endswith("-reversal")
        key = document, doc_type.removesuffix("-reversal")
        number = int(entry.rsplit("-", 2)[1])
        before = last.get(key)
        if number != (before[1] + 1 if before else 1):
            faults.append(f"{entry}: entry {number} of the document comes after {before[1] if before else 'none'}")
        if reversal != (number % 2 == 0):
            faults.append(f"{entry}: postings and reversals take turns, a posting first")
        if (
            reversal
            and before
            and sides(database, entry) != [(code, credit, debit) for code, debit, credit in sides(database, before[0])]
        ):
            faults.append(f"{entry}: it doesn't take back {before[0]} line by line")
        last[key] = entry, number
    return faults


def sides(database, entry):
    rows = database.execute("SELECT account_code, debit, credit FROM line WHERE entry_id = ? ORDER BY rowid", (entry,))
    return [(code, Fraction(debit), Fraction(credit)) for code, debit, credit in rows]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]) if len(sys.argv) > 1 else print(__doc__) or 2)
