"""The independent judge accepts our journal, and refuses it with one cent moved, a line dropped, an entry doubled."""

import csv
import io
import itertools
import random

import pytest
from book_samples import posting, random_posting, revised
from test_post import do_post, journals, judge

from estimator.books.journal import COLUMNS

DEBIT, CREDIT = COLUMNS.index("debit"), COLUMNS.index("credit")


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    folder = tmp_path_factory.mktemp("books")
    do_post([random_posting(random.Random(seed), f"LY-{seed}") for seed in range(12)] + [posting()], folder)
    do_post([revised(posting()), posting("LY-C", kind="credit-note")], folder)
    return folder


def rows_of(path):
    return list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))


def judged(rows, tmp_path, *before):
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    path = tmp_path / "altered.csv"
    path.write_text(text.getvalue(), encoding="utf-8", newline="")
    return judge(*before, path)


def cent(text, by):
    return f"{(round(float(text) * 100) + by) / 100:.2f}"


def test_ours_is_accepted(books, tmp_path):
    assert judge(*journals(books)).stdout.startswith("accepted: 16 entries")
    assert judged(rows_of(journals(books)[0]), tmp_path).returncode == 0


def alterations(rows):
    """Each altered copy, with a name."""
    for place in range(1, len(rows)):
        for side in (DEBIT, CREDIT):
            if rows[place][side] != "0.00":
                copy = [list(row) for row in rows]
                copy[place][side] = cent(copy[place][side], 1)
                yield f"a cent more in row {place}", copy
        yield f"row {place} dropped", rows[:place] + rows[place + 1 :]
        yield f"row {place} doubled", [*rows[: place + 1], *rows[place:]]
    credits = [place for place in range(1, len(rows)) if float(rows[place][CREDIT]) > 0.02]
    for one, other in itertools.pairwise(credits):
        if rows[one][0] == rows[other][0]:
            copy = [list(row) for row in rows]
            copy[one][CREDIT], copy[other][CREDIT] = cent(copy[one][CREDIT], -1), cent(copy[other][CREDIT], 1)
            yield f"a cent moved from row {one} to {other}, still in balance", copy
    entry = rows[1][0]
    lines = [row for row in rows[1:] if row[0] == entry]
    yield "an entry doubled", rows + lines
    head, _, fingerprint = entry.rsplit("-", 2)
    yield "an entry doubled under the next number", [*rows, *([f"{head}-002-{fingerprint}", *row[1:]] for row in lines)]
    yield "an entry dropped of which a later one is the reversal", [row for row in rows if row[0] != entry]


def test_every_alteration_is_refused(books, tmp_path):
    first, second = journals(books)
    rows = rows_of(first)
    last = next(row[0] for row in rows if row[4] == "LY-2041")
    rows = [rows[0], *[row for row in rows[1:] if row[0] == last], *[row for row in rows[1:25] if row[0] != last]]
    tried = 0
    for name, copy in alterations(rows):
        later = rows_of(second)[1:] if name.startswith("an entry dropped") else []
        run = judged(copy + later, tmp_path)
        assert run.returncode == 1 and run.stdout, name
        tried += 1
    assert tried > 90


def test_it_shares_nothing_with_the_package():
    from test_post import JUDGE

    assert "estimator" not in JUDGE.read_text(encoding="utf-8").replace("estimator/", "")
