"""Posts, payments, voids and closings with every slip mixed in, each killed at a random moment, then done again.

    python killed_slips.py FOLDER TIMES SEED

The same deeds are done on other books without a kill; at the end both hold the same, to the byte. Prints what was met.
"""

import contextlib
import datetime as dt
import json
import os
import random
import signal
import sqlite3
import sys
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

sys.path[:0] = [str(folder) for folder in Path(__file__).resolve().parents[:3]]

from book_samples import ACCOUNTS, DAY, Party, posting, random_posting, revised  # noqa: E402
from killed_posting import contents  # noqa: E402

import estimator.books.month_files  # noqa: E402, F401
from estimator.books.core_deposits import settle_core  # noqa: E402
from estimator.books.payments import pay  # noqa: E402
from estimator.books.post import post  # noqa: E402
from estimator.books.refusals import OVERRIDES, Override  # noqa: E402
from estimator.books.register import FILE_NAME  # noqa: E402
from estimator.books.verify import verify  # noqa: E402
from estimator.books.voids import close_month, void  # noqa: E402
from estimator.errors import Refused  # noqa: E402
from estimator.intake.toml_files import load_toml  # noqa: E402
from estimator.records import Shop  # noqa: E402

NOW, TODAY = "2027-03-01T09:00:00+00:00", dt.date(2027, 3, 1)
SHOP = load_toml(Path(__file__).resolve().parents[2] / "estimator/demo/files/shop.toml", Shop)
OTHER = Party("Bram Tolliver", (), "GB")


def deeds(rng, times):
    """What people do: name, and a function of a books folder."""
    for _ in range(times):
        number = f"LY-{rng.randrange(12)}"
        day = DAY + dt.timedelta(days=rng.randrange(90))
        one = replace(random_posting(random.Random(number), number, date=day), revision=rng.randint(1, 3))
        any_rule = Override(frozenset(OVERRIDES), "meant so") if rng.random() < 0.3 else Override()
        slips = {
            "post": [one],
            "another's number": [replace(one, customer=OTHER)],
            "two contents at once": [one, revised(one, revision=one.revision)],
            "not balanced": [replace(one, totals={**one.totals, "labor": one.totals["labor"] + 1})],
            "to come": [replace(one, date=TODAY + dt.timedelta(days=9))],
            "nothing agreed": [posting(number, lines=(), revision=one.revision, date=day)],
            "several": [one, random_posting(rng, f"LY-{20 + rng.randrange(12)}", date=day)],
        }
        name = rng.choice([*slips, "post", "several", "work not done", "pay", "pay", "core", "void", "close"])
        if name in slips or name == "work not done":
            given = slips.get(name, [one])
            undone = {number} if name == "work not done" else ()
            yield name, _post(given, any_rule, undone, rng.random() < 0.3)
        elif name == "pay":
            yield name, _pay(number, rng, day)
        elif name == "core":
            yield name, _core(number, rng, day)
        elif name == "void":
            yield name, _void(number, day)
        else:
            yield name, _close(f"2026-{rng.choice((10, 10, 11))}")


def _post(given, override, undone, reports):
    def do(books):
        options = {"now": NOW, "today": TODAY, "override": override, "undone": undone}
        done = post(given, books, "T. Quill", reports=reports, **options)
        return sorted(item.status for item in done.documents)

    return do


def _pay(number, rng, day):
    amount, way, deposit = rng.randint(1, 9999), rng.choice(("cash", "card")), rng.choice(("", "Odile Marchbank"))
    refund = rng.random() < 0.2

    def do(books):
        options = {"deposit_of": deposit, "refund": refund, "now": NOW, "today": TODAY, "reports": False}
        done = pay(books, number, amount_of(amount), way, day, SHOP, "T. Quill", **options)
        return [done.documents[0].status]

    return do


def amount_of(cents):
    from decimal import Decimal

    return Decimal(cents) / 100


def _core(number, rng, day):
    ref, outcome = f"core {rng.randrange(4)}", rng.choice(("returned", "kept", "expired"))

    def do(books):
        options = {"now": NOW, "today": TODAY, "reports": False}
        return [settle_core(books, number, ref, outcome, day, ACCOUNTS, "T. Quill", **options).documents[0].status]

    return do


def _void(number, day):
    return lambda books: [
        void(books, number, "a slip", "T. Quill", day, now=NOW, today=TODAY, reports=False).documents[0].status
    ]


def _close(month):
    return lambda books: [close_month(books, month, "T. Quill", now=NOW, today=TODAY).act]


def done(deed, books):
    try:
        return deed(books)
    except Refused:
        return ["refused"]


def killed(deed, books, after):
    """Do it in a child that is killed after a time. Returns whether it was."""
    child = os.fork()
    if not child:
        with contextlib.suppress(BaseException):
            done(deed, books)
        os._exit(0)
    time.sleep(after)
    os.kill(child, signal.SIGKILL)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def register_of(books):
    with contextlib.closing(sqlite3.connect(books / FILE_NAME)) as connection:
        return list(connection.iterdump())


def main(folder, times, seed):
    rng, counts = random.Random(seed), Counter()
    books, calm = folder / "killed", folder / "calm"
    post([posting("LY-0"), posting("LY-1")], books, "T. Quill", now=NOW, today=TODAY, reports=False)
    post([posting("LY-0"), posting("LY-1")], calm, "T. Quill", now=NOW, today=TODAY, reports=False)
    for name, deed in deeds(rng, times):
        started = time.monotonic()
        wanted = done(deed, calm)
        taken = time.monotonic() - started
        counts["killed"] += killed(deed, books, rng.uniform(0, 1.2 * taken))
        done(deed, books)
        counts[name] += 1
        counts.update(wanted)
        stops = [item.line() for item in verify(books, reports=False) if item.severity == "stop"]
        assert stops == [], (name, stops)
        assert register_of(books) == register_of(calm), name
    for place in (books, calm):
        post([posting("LY-99")], place, "T. Quill", now=NOW, today=TODAY)
    assert contents(books) == contents(calm)
    assert [item for item in verify(books) if item.severity == "stop"] == []
    print(json.dumps(counts))


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
