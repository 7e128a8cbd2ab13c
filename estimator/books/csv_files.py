"""The journal and the summary of a batch as CSV (RFC 4180, UTF-8, decimal point), and the data package that describes
them: the same bytes however often they are made."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Iterable, Sequence
from typing import Any

from estimator.books.journal import COLUMNS, as_text
from estimator.books.ledger_entries import Recorded
from estimator.money import money_text
from estimator.pricing.fees_and_tax import TOTALS

SUMMARY_COLUMNS = (
    "entry_id",
    "batch",
    "posted_at",
    "posted_by",
    "entry_date",
    "doc_type",
    "doc_id",
    "doc_rev",
    "customer",
    "car",
    *TOTALS,
    "currency",
    "reverses",
    "refers_to",
    "declined_safety_work",
    "content_sha256",
)
_NUMBERS = {"debit", "credit", *TOTALS}
_WHOLE = {"line_no", "doc_rev", "batch"}
_MEANINGS = {
    "entry_id": "The entry: document, revision, count of the document's entries, and a fingerprint of the entry's rows",
    "line_no": "The line within the entry, from 1",
    "entry_date": "The date of the entry; a reversal has the date of what replaces it",
    "doc_type": "invoice, credit-note, core-entry or payment; with -reversal, the entry that takes one back in full",
    "doc_id": "The document's number",
    "doc_rev": "The document's revision, from 1",
    "account_code": "The account's code in the shop's books",
    "account_name": "The account's name in the shop's books",
    "description": "What the line is; an apostrophe stands before words that a spreadsheet would take for a formula",
    "debit": "Debit in the currency of the line; 0.00 where the line is a credit",
    "credit": "Credit in the currency of the line; 0.00 where the line is a debit",
    "currency": "The currency, ISO 4217",
    "tax_code": "taxed or untaxed for lines sold; the jurisdiction for tax; empty for what the customer owes",
    "content_sha256": "SHA-256 of the document's canonical content, as the register holds it",
    "batch": "The batch: all that one posting added",
    "posted_at": "When the batch was posted, UTC, ISO 8601",
    "posted_by": "Who posted the batch",
    "customer": "The customer's name",
    "car": "The car",
    "labor": "Labor; negative in reversals and credit notes, as are all amounts here",
    "parts": "Parts",
    "sublet": "Work done by others",
    "fees": "Shop supplies and disposal",
    "core_deposits": "Deposits on old parts",
    "discount": "Discount, negative",
    "tax": "Tax, all parts",
    "total": "The total: all of these together",
    "reverses": "The entry that this one takes back, without its fingerprint",
    "refers_to": "Documents that this one refers to",
    "declined_safety_work": "Safety work that the customer declined",
}


def journal_csv(entries: Iterable[Recorded]) -> bytes:
    """The journal of a batch: a row a line, in the order of posting."""
    return csv_bytes(COLUMNS, (row for item in entries for row in item.entry.rows()))


def summary_csv(entries: Iterable[Recorded], posted_at: str, posted_by: str) -> bytes:
    """The summary of a batch: a row an entry, so that the totals of all rows are those of the books."""
    return csv_bytes(SUMMARY_COLUMNS, (_summary_row(item, posted_at, posted_by) for item in entries))


def _summary_row(item: Recorded, posted_at: str, posted_by: str) -> tuple[str, ...]:
    entry, posting = item.entry, item.posting
    sign = (1 if posting.kind == "invoice" else -1) * (-1 if entry.is_reversal else 1)
    replaced = f"{entry.document}-r{entry.revision}-{entry.number - 1:03d}" if entry.is_reversal else ""
    return (
        item.entry_id,
        str(entry.batch),
        posted_at,
        as_text(posted_by),
        entry.date,
        entry.doc_type,
        entry.document,
        str(entry.revision),
        as_text(posting.customer.name),
        as_text(posting.car_text),
        *(money_text(sign * posting.totals[name]) for name in TOTALS),
        entry.currency,
        replaced,
        as_text("; ".join(posting.references)),
        as_text("; ".join(posting.declined_safety)),
        entry.digest,
    )


def data_package(batch: int, journal: tuple[str, bytes], summary: tuple[str, bytes]) -> bytes:
    """The description of a batch's files as a data package (datapackage.org, version 1): each column with its type and
    meaning, the keys, the size and the SHA-256 of each file. Parameters: file names and their bytes."""
    resources = [
        _resource("journal", *journal, COLUMNS, ["entry_id", "line_no"]),
        _resource("summary", *summary, SUMMARY_COLUMNS, ["entry_id"]),
    ]
    resources[0]["schema"]["foreignKeys"] = [
        {"fields": ["entry_id"], "reference": {"resource": "summary", "fields": ["entry_id"]}}
    ]
    package = {
        "name": f"batch-{batch:06d}",
        "title": f"Books, batch {batch}",
        "profile": "tabular-data-package",
        "resources": resources,
    }
    return (json.dumps(package, indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def _resource(name: str, path: str, content: bytes, columns: Sequence[str], key: list[str]) -> dict[str, Any]:
    return {
        "name": name,
        "path": path,
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "quoteChar": '"', "doubleQuote": True, "header": True},
        "bytes": len(content),
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
        "schema": {
            "fields": [_field(column, column in key) for column in columns],
            "primaryKey": key,
            "missingValues": [""],
        },
    }


def _field(column: str, required: bool) -> dict[str, Any]:
    kind: dict[str, Any] = {"type": "string"}
    if column in _NUMBERS:
        kind = {"type": "number", "decimalChar": "."}
    elif column in _WHOLE:
        kind = {"type": "integer"}
    elif column == "entry_date":
        kind = {"type": "date", "format": "%Y-%m-%d"}
    constraints: dict[str, Any] = {"required": True} if required or column in _NUMBERS | _WHOLE | {"entry_date"} else {}
    if column in ("debit", "credit"):
        constraints["minimum"] = 0
    if column == "content_sha256":
        constraints["pattern"] = "[0-9a-f]{64}"
    return {
        "name": column,
        **kind,
        "description": _MEANINGS[column],
        **({"constraints": constraints} if constraints else {}),
    }


def csv_bytes(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue().encode("utf-8")
