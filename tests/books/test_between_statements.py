"""Someone posts between any two statements of a reader: what is read is the register before that, or after, never half."""

import random
import shutil
from pathlib import Path

import pytest
from book_samples import random_posting, verify
from test_post import do_post

from estimator.books import register
from estimator.books.batch_files import make_missing
from estimator.books.core_deposits import core_deposits, core_findings
from estimator.books.listing import list_books
from estimator.books.month_files import month_files
from estimator.books.register import opened, reading
from estimator.errors import CannotWrite


def documents(first, count):
    return [random_posting(random.Random(seed), f"LY-{seed}") for seed in range(first, first + count)]


@pytest.fixture(scope="module")
def states(tmp_path_factory):
    """The books before someone posts, and after."""
    before, after = tmp_path_factory.mktemp("before"), tmp_path_factory.mktemp("after")
    do_post(documents(0, 3), before)
    shutil.copytree(before, after, dirs_exist_ok=True)
    do_post(documents(3, 2), after)
    return before, after


def made(books):
    with opened(books) as connection:
        make_missing(connection, books, reports=False)
    return verify(books)


def reported(books):
    with opened(books) as connection, reading(connection):
        return {item.name: item.content() for item in month_files(connection)}


def settled(books):
    with opened(books) as connection:
        return tuple(core_findings(connection)), core_deposits(books)


READERS = {"make_missing": made, "month_report": reported, "verify": verify, "list": list_books, "core": settled}


def interrupted(read, books, at, monkeypatch):
    """What a reader gives when someone posts before its statement number `at`, and whether it had so many."""
    seen, connect = [], register.sqlite3.connect

    def watched(*given, **more):
        connection = connect(*given, **more)
        connection.set_trace_callback(before_each)
        return connection

    def before_each(statement):
        seen.append(statement)
        if len(seen) == at + 1:
            with monkeypatch.context() as patched:
                patched.setattr(register.sqlite3, "connect", connect)
                patched.setattr(register, "WAIT_SECONDS", 0.0)
                try:
                    do_post(documents(3, 2), books)
                except CannotWrite as refusal:
                    assert "locked" in refusal.what

    with monkeypatch.context() as patched:
        patched.setattr(register.sqlite3, "connect", watched)
        answer = read(books)
    return answer, len(seen) > at


@pytest.mark.parametrize("reader", READERS)
def test_before_or_after_never_half(reader, states, tmp_path, monkeypatch):
    read = READERS[reader]
    before, after = (read(Path(shutil.copytree(state, tmp_path / state.name))) for state in states)
    answers, at, reached = [], 0, True
    while reached:
        books = Path(shutil.copytree(states[0], tmp_path / f"{at}"))
        answer, reached = interrupted(read, books, at, monkeypatch)
        assert answer in (before, after), f"posted before statement {at}"
        answers.append(answer)
        at += 1
    assert at > 5 and answers[-1] == before  # no one posted the last time
    if before != after:
        assert after in answers
