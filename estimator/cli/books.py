"""`estimator books`: what has been posted, and whether it still agrees."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.output import columns, counted, out, out_json, say
from estimator.errors import EXIT_FINDINGS, EstimatorError

if TYPE_CHECKING:
    from estimator.books.document_steps import Step
    from estimator.books.listing import Listing

EXAMPLES = (
    "estimator books demo/books",
    "estimator books demo/books --verify",
    "estimator books demo/books --month 2026-11 --json",
    "estimator books demo/books --document LY-311-A",
)


def month_of(text: str | None) -> str | None:
    """A month as it is written. Raises BadParameter."""
    if text is not None and not re.fullmatch(r"[0-9]{4}-(0[1-9]|1[0-2])", text):
        raise typer.BadParameter(f'"{text}" is not a month; write it as 2026-11')
    return text


def books(
    folder: Annotated[Path, typer.Argument(metavar="BOOKS", help="The books folder.")],
    as_json: Annotated[bool, typer.Option("--json", help="As JSON.")] = False,
    verify: Annotated[
        bool, typer.Option("--verify", help="Recompute every digest, balance and file; nothing is changed.")
    ] = False,
    month: Annotated[
        str | None, typer.Option("--month", metavar="YYYY-MM", callback=month_of, help="Only what this month added.")
    ] = None,
    document: Annotated[
        str | None, typer.Option("--document", metavar="DOCUMENT", help="Only its entries, and what each did.")
    ] = None,
) -> int:
    """List what has been posted; --verify checks it.

    By document, by month, by account; open balances; with --document, its entries one by one.
    """
    from estimator.books.listing import list_books, listing_data, plain_data
    from estimator.books.verify import verify as verified

    findings = verified(folder) if verify else ()
    data: dict[str, object] = {}
    try:
        if document is not None:
            from estimator.books.document_steps import document_steps

            steps = document_steps(folder, document)
            data = {"entries": [plain_data(step) for step in steps]}
        else:
            listing = list_books(folder, month)
            data = listing_data(listing)
    except EstimatorError as damage:
        if not findings:
            raise
        say(str(damage))
    if as_json:
        from dataclasses import asdict

        more = {"findings": [asdict(finding) for finding in findings]} if verify else {}
        out_json({"schema": 1, **data, **more})
    elif data and document is not None:
        _print_history(steps)
    elif data:
        _print(listing)
    for finding in findings:
        say(finding.line())
    if verify:
        say(
            f"verified: {counted(len(findings), 'disagreement')}"
            if findings
            else "verified: register, balances and files agree"
        )
    return EXIT_FINDINGS if findings else 0


def _print_history(steps: Sequence[Step]) -> None:
    for step in steps:
        out(f"{step.date}  {step.doc_type}  {step.entry_id}")
        out(f"  batch {step.batch}, {step.posted_at}, {step.posted_by}: {step.did}")


def _print(listing: Listing) -> None:
    out("Documents", bold=True)
    for item in listing.documents:
        if item.kind == "payment":
            continue
        state = item.standing or "reversed"
        out(f"  {item.document} revision {item.revision} ({item.kind}) {item.date}  {item.total} {item.currency}")
        out(f"    {item.customer} · {item.car}")
        out(f"    entry in force: {state}; entries: {len(item.entries)}")
    out()
    out("Open balances", bold=True)
    head = ("document", "customer", "invoiced", "credited", "paid", "open", "")
    rows = [
        (b.document, b.customer, f"{b.invoiced}", f"{b.credited}", f"{b.paid}", f"{b.open}", b.currency)
        for b in listing.balances
    ]
    for line in columns([head, *rows], right=range(2, 6), indent="  "):
        out(line)
    out()
    out("Months" + (f" (closed through {listing.closed_through})" if listing.closed_through else ""), bold=True)
    names = ("month", "posted", "reversed", "debit", "credit", "total", "tax", "")
    months = [
        (m.month, str(m.posted), str(m.reversed), f"{m.debit}", f"{m.credit}", f"{m.total}", f"{m.tax}", m.currency)
        for m in listing.months
    ]
    for line in columns([names, *months], right=range(1, 7), indent="  "):
        out(line)
    out()
    out("Accounts", bold=True)
    titles = ("code", "name", "debit", "credit", "balance", "")
    accounts = [(a.code, a.name, f"{a.debit}", f"{a.credit}", f"{a.balance}", a.currency) for a in listing.accounts]
    for line in columns([titles, *accounts], right=(2, 3, 4), indent="  "):
        out(line)
