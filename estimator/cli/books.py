"""`estimator books`: what has been posted, and whether it still agrees."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.output import columns, counted, out, out_json, say
from estimator.errors import EXIT_FINDINGS

if TYPE_CHECKING:
    from estimator.books.listing import Listing

EXAMPLES = (
    "estimator books demo/books",
    "estimator books demo/books --verify",
    "estimator books demo/books --month 2026-11 --json",
)


def _month(text: str | None) -> str | None:
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
        str | None, typer.Option("--month", metavar="YYYY-MM", callback=_month, help="Only what this month added.")
    ] = None,
) -> int:
    """List what has been posted; --verify checks it.

    By document, by month, by account.
    """
    from estimator.books.listing import list_books, listing_data
    from estimator.books.verify import verify as verified

    listing = list_books(folder, month)
    findings = verified(folder) if verify else ()
    if as_json:
        from dataclasses import asdict

        data = {"schema": 1, **listing_data(listing)}
        out_json(data | ({"findings": [asdict(finding) for finding in findings]} if verify else {}))
    else:
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


def _print(listing: Listing) -> None:
    out("Documents", bold=True)
    for item in listing.documents:
        state = item.standing or "reversed"
        out(f"  {item.document} revision {item.revision} ({item.kind}) {item.date}  {item.total} {item.currency}")
        out(f"    {item.customer} · {item.car}")
        out(f"    entry in force: {state}; entries: {len(item.entries)}")
    out()
    out("Months", bold=True)
    head = ("month", "posted", "reversed", "debit", "credit", "total", "tax", "")
    rows = [
        (m.month, str(m.posted), str(m.reversed), f"{m.debit}", f"{m.credit}", f"{m.total}", f"{m.tax}", m.currency)
        for m in listing.months
    ]
    for line in columns([head, *rows], right=range(1, 7), indent="  "):
        out(line)
    out()
    out("Accounts", bold=True)
    names = ("code", "name", "debit", "credit", "balance", "")
    accounts = [(a.code, a.name, f"{a.debit}", f"{a.credit}", f"{a.balance}", a.currency) for a in listing.accounts]
    for line in columns([names, *accounts], right=(2, 3, 4), indent="  "):
        out(line)
