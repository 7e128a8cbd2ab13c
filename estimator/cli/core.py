"""`estimator core`: what became of old parts that a core deposit stands for."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.keys import Who, name_of
from estimator.cli.output import out, out_json, say
from estimator.cli.today import EntryDate, Today, day_of
from estimator.errors import InputError, InputProblem

if TYPE_CHECKING:
    from estimator.books.core_deposits import CoreUnit
    from estimator.books.post import PostResult
    from estimator.records import Shop

EXAMPLES = (
    "estimator core demo/books",
    "estimator core demo/books LY-311-A accumulator-2"
    " returned --shop demo/shop.toml --date 2026-12-08 --today 2026-12-08",
)


def core(
    books: Annotated[Path, typer.Argument(metavar="BOOKS", help="The books folder.")],
    document: Annotated[
        str | None, typer.Argument(metavar="DOCUMENT", help="Document (default: list all core deposits).")
    ] = None,
    ref: Annotated[str | None, typer.Argument(metavar="REF", help="The core deposit, as the list names it.")] = None,
    outcome: Annotated[
        str | None, typer.Argument(metavar="OUTCOME", help="returned, refused (by the supplier), expired, or kept.")
    ] = None,
    shop: Annotated[Path, typer.Option("--shop", metavar="SHOP.toml", help="Names the accounts.")] = Path("shop.toml"),
    unit: Annotated[int, typer.Option("--unit", min=1, metavar="N", help="Which, where the line has several.")] = 1,
    date: EntryDate = None,
    who: Who = None,
    keep_tax: Annotated[bool, typer.Option("--keep-tax", help="Do not refund the tax on a returned deposit.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="The list as JSON.")] = False,
    today: Today = None,
) -> int:
    """List core deposits, or post the outcome of one.

    An outcome is posted once, however often it is given.
    """
    from estimator.books.core_deposits import OUTCOMES, core_deposits, settle_core

    if document is None:
        _list(core_deposits(books), as_json)
        return 0
    if ref is None or outcome is None:
        raise typer.BadParameter(f"DOCUMENT needs REF and OUTCOME ({', '.join(OUTCOMES)})")
    from estimator.books.journal import accounts_of

    known = shop_with(shop, () if outcome == "returned" else ("core_forfeited",))
    result = settle_core(
        books,
        document,
        ref,
        outcome,
        day_of(date or today),
        accounts_of(known),
        name_of(who),
        unit=unit,
        tax_back=not keep_tax,
        today=day_of(today),
    )
    print_result(result, books)
    return 0


def print_result(result: PostResult, books: Path) -> None:
    """What became of the one document of a call, and the files that were written."""
    for message in (*result.messages, *result.documents[0].messages):
        say(message)
    found = result.documents[0]
    out(f"{found.document} revision {found.revision}: {found.status.replace('-', ' ')}, entry {found.entry_id}")
    for file in result.files:
        out(f"written: {books / file}")


def _list(units: tuple[CoreUnit, ...], as_json: bool) -> None:
    from estimator.books.core_deposits import short_refs
    from estimator.books.listing import plain_data
    from estimator.money import money_text

    if as_json:
        out_json({"schema": 1, "core_deposits": [plain_data(item) for item in units]})
        return
    refs: dict[str, list[str]] = {}
    for item in units:
        refs.setdefault(item.document, []).append(item.ref)
    short = {document: short_refs(mine) for document, mine in refs.items()}
    for item in units:
        out(f"{item.document}  {short[item.document][item.ref]}  unit {item.unit}")
        when = f" on {item.settled_on}, tax back {money_text(item.tax_back)}" if item.settled_on else ""
        stale = "; its document was revised since: post it again" if item.stale else ""
        out(
            f"  {item.description}: {money_text(item.deposit)} {item.currency} of {item.taken_on}, {item.state}{when}{stale}"
        )
    if not units:
        say("no core deposits on file")


_EXAMPLES_OF_ACCOUNTS = {
    "core_forfeited": 'core_forfeited = "CORE-KEPT Core deposits forfeited"',
    "received": 'received = "TILL Payments received"',
}


def shop_with(shop_file: Path, needed: Sequence[str]) -> Shop:
    """The shop of a file. Raises InputError where one of these accounts, which are optional, is missing."""
    from estimator.intake.toml_files import load_toml
    from estimator.records import Shop

    shop = load_toml(shop_file, Shop)
    problems = [
        InputProblem(
            str(shop_file),
            f'[accounts], key "{name}"',
            "missing",
            "this entry needs an account of its own",
            f"add it, for example {_EXAMPLES_OF_ACCOUNTS[name]}",
        )
        for name in needed
        if not getattr(shop.accounts, name)
    ]
    if problems:
        raise InputError(problems)
    return shop
