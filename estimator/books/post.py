"""To the books: each document once, a changed one by reversal and new entry, all of a call in one transaction."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from estimator.books.acts import clock, record_act
from estimator.books.batch_files import made_again, make_missing
from estimator.books.ledger_entries import Recorded, added, entry_of, insert_document, insert_entry, latest, reversal_of
from estimator.books.posting import Posting, canonical, cleaned, digest, has_lines
from estimator.books.posting_rules import posting_findings
from estimator.books.refusals import NONE_SET_ASIDE, Override, date_refusals, document_refusals
from estimator.books.register import opened, writing
from estimator.books.visits import record_visit
from estimator.errors import CannotWrite, Finding, sentences
from estimator.records.visits import PastVisit

Status = Literal["posted", "already-posted", "reversed-and-posted", "reversed", "refused", "voided"]


@dataclass(frozen=True)
class DocumentResult:
    """What became of one document. `entry_id` is the entry that stands."""

    document: str
    revision: int
    kind: str
    status: Status
    entry_id: str = ""
    messages: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class PostResult:
    """What became of a call. `batch` is None where nothing was added; `files` were written, relative to the folder."""

    batch: int | None
    documents: tuple[DocumentResult, ...]
    files: tuple[str, ...]
    messages: tuple[str, ...]


@dataclass(frozen=True)
class Call:
    """What holds for all documents of a call: who posts, when, the day that no date may lie after, what is overridden,
    which documents have authorized work that isn't done, whether their date was given by a person, and what their
    workbooks measured, by document and revision."""

    who: str
    now: str
    today: dt.date
    override: Override = NONE_SET_ASIDE
    undone: Collection[str] = ()
    dated: bool = True
    visits: Mapping[tuple[str, int], PastVisit] = field(default_factory=dict)


def post(
    postings: Sequence[Posting],
    books_dir: Path | str,
    who: str,
    *,
    now: str | None = None,
    today: dt.date | None = None,
    reports: bool = True,
    override: Override = NONE_SET_ASIDE,
    undone: Collection[str] = (),
    dated: bool = True,
    visits: Sequence[PastVisit] = (),
) -> PostResult:
    """Post documents: each content once, however often and by however many it is posted.

    An unchanged document adds nothing. A changed or another revision writes the reversal of the entry that stands and
    the new entry, in one transaction with all other documents of the call, which make one batch; one on which nothing
    is agreed any more writes the reversal alone. A document that doesn't hold together to the cent, or that
    `refusals.py` keeps out, is refused and the others are posted. Files of earlier batches that are missing are made
    again first. A stop at any moment leaves the whole batch in the register or nothing; its files follow at the next run.
    Parameters: postings; the books folder, made if missing; who posts; now, the time in ISO 8601, and today, if not the
    clock's; reports, whether files of months are renewed; override, refusals set aside, which are recorded; undone,
    documents whose authorized work isn't marked done; dated, whether a person gave the dates: without, a document that
    was posted before keeps its own; visits, what was measured. Consent is weighed before, by `pricing.consent.consent_findings`.
    Returns: a PostResult, documents in the order given. Raises: CannotWrite, UnreadableFile, as `register.opened`.
    """
    call = Call(
        cleaned(who),
        now or clock(),
        today or dt.date.today(),
        override,
        undone,
        dated,
        {(item.document, item.revision): item for item in visits},
    )
    results: dict[int, DocumentResult] = {}
    sound = []
    postings = [cleaned(posting) for posting in postings]
    for place, posting in enumerate(postings):
        findings = posting_findings(posting) or _twins(postings, place)
        if findings:
            results[place] = _result(posting, "refused", messages=tuple(f.line() for f in findings), findings=findings)
        else:
            sound.append((posting.revision, place, posting))
    with opened(books_dir, create=True) as connection:
        repaired = make_missing(connection, Path(books_dir), reports=reports)
        batch = None
        if sound:
            with writing(connection):
                for _, place, posting in sorted(sound, key=lambda item: item[:2]):
                    batch, results[place] = post_one(connection, batch, posting, call)
        try:
            files = make_missing(connection, Path(books_dir), reports=reports) if batch else ()
        except CannotWrite as refusal:
            fix = f"the entries are safe in the register, and the next run writes the files; {refusal.fix}"
            raise CannotWrite(refusal.path, refusal.what, fix) from refusal
    return PostResult(batch, tuple(results[place] for place in range(len(postings))), files, made_again(repaired))


def _result(
    posting: Posting,
    status: Status,
    entry_id: str = "",
    messages: tuple[str, ...] = (),
    findings: tuple[Finding, ...] = (),
) -> DocumentResult:
    return DocumentResult(posting.document, posting.revision, posting.kind, status, entry_id, messages, findings)


def _twins(postings: Sequence[Posting], place: int) -> tuple[Finding, ...]:
    """Two contents of one document and revision, or two customers' documents of one number, in one call: neither is
    posted, since one must be a mistake."""
    mine = postings[place]
    for other in postings:
        whose = [(item.document, item.kind, item.customer.name, item.car_text) for item in (mine, other)]
        if whose[0][:2] == whose[1][:2] and whose[0] != whose[1]:
            what = f'{mine.document} is given for "{whose[0][2]}, {whose[0][3]}" and "{whose[1][2]}, {whose[1][3]}"'
            return (Finding("number-reused", "stop", what, "give each document a number of its own"),)
        same = (other.document, other.revision, other.kind) == (mine.document, mine.revision, mine.kind)
        if same and other != mine:
            what = f"{mine.document} revision {mine.revision} is given twice with different content"
            return (
                Finding("out-of-balance", "stop", what, "post the right one alone, or redraft it as the next revision"),
            )
    return ()


def post_one(
    connection: sqlite3.Connection, batch: int | None, posting: Posting, call: Call
) -> tuple[int | None, DocumentResult]:
    """Post one sound document within a transaction; a batch is opened where something is added and none is given."""
    content = canonical(posting)
    sha = digest(content)
    last = latest(connection, posting.document, posting.kind)
    stands = last is not None and not last.entry.is_reversal
    if not has_lines(posting) and not stands:
        words = "no authorized work; nothing to post. Record the customer's decisions, then post again"
        return batch, _result(posting, "refused", messages=(words,))
    if last and stands and last.entry.digest in (sha, _dated_as(posting, last, call)):
        words = f"posted before, in batch {last.entry.batch}; nothing was added"
        if record_visit(connection, last.entry_id, call.visits.get((posting.document, posting.revision))):
            words = f"posted before, in batch {last.entry.batch}; its readings were brought up to date"
        return batch, _result(posting, "already-posted", entry_id=last.entry_id, messages=(words,))
    refused = tuple(date_refusals(connection, posting.date, call.today, posting.document))
    doubts = tuple(document_refusals(connection, posting, last, posting.document in call.undone))
    refused += tuple(finding for finding in doubts if finding.rule not in call.override.rules)
    if refused:
        said = tuple(sentences(finding.what, finding.fix) for finding in refused)
        return batch, _result(posting, "refused", messages=said, findings=refused)
    if batch is None:
        batch = new_batch(connection, call)
    number = last.entry.number if last else 0
    if last and stands:
        reversal = reversal_of(last.entry, batch, posting.date.isoformat())
        insert_entry(connection, last.document_row, reversal)
        number = reversal.number
    if not has_lines(posting):
        words = "no authorized work left: the earlier posting is reversed and not replaced"
        return batch, _result(posting, "reversed", messages=(words,))
    entry = entry_of(posting, sha, batch, number + 1)
    insert_entry(connection, insert_document(connection, batch, posting, content, sha), entry)
    record_visit(connection, entry.entry_id, call.visits.get((posting.document, posting.revision)))
    for rule in sorted({finding.rule for finding in doubts}):
        record_act(connection, call.now, call.who, "override", entry.entry_id, call.override.why, rule)
    status: Status = "reversed-and-posted" if stands else "posted"
    messages = _changes(connection, last, posting) if last and stands else ()
    return batch, _result(posting, status, entry.entry_id, messages)


def new_batch(connection: sqlite3.Connection, call: Call) -> int:
    """The number of a batch that is opened."""
    statement = "INSERT INTO batches (posted_at, posted_by) VALUES (?, ?)"
    return added(connection, statement, (call.now, call.who))


def _dated_as(posting: Posting, last: Recorded, call: Call) -> str:
    """The digest that a posting without a date of its own has with the date of the entry that stands."""
    return "" if call.dated else digest(canonical(replace(posting, date=last.posting.date)))


def _changes(connection: sqlite3.Connection, old: Recorded, new: Posting) -> tuple[str, ...]:
    """What a person should look at when one document takes the place of another."""
    was = old.posting
    words = [f"revision {was.revision} with a total of {was.totals['total']} was reversed and this one posted"]
    pattern = f"{new.document}-core-%"
    if connection.execute("SELECT 1 FROM entries WHERE kind = 'core-entry' AND document LIKE ?", (pattern,)).fetchone():
        words.append("core deposits of it were settled before: verify the books, and record again what they name")
    return tuple(words)
