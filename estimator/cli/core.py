"""`estimator core`: what became of old parts that a core deposit stands for."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.output import out, out_json, say
from estimator.errors import InputError, InputProblem

if TYPE_CHECKING:
    from estimator.books.core_deposits import CoreUnit
    from estimator.books.journal import Account

EXAMPLES = (
    "estimator core demo/books",
    "estimator core demo/books LY-311-A core.part.accumulator-rebuilt-glycol.accumulator-exchange.accumulator-2"
    " returned --shop demo/shop.toml --date 2026-12-08",
)


def _day(text: str | None) -> str | None:
    try:
        return text if text is None or dt.date.fromisoformat(text) else None
    except ValueError:
        raise typer.BadParameter(f'"{text}" isn\'t a date; write it as 2026-11-25') from None


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
    date: Annotated[
        str | None,
        typer.Option("--date", metavar="YYYY-MM-DD", callback=_day, help="Date of the entry (default: today)."),
    ] = None,
    who: Annotated[
        str | None, typer.Option("--who", metavar="NAME", help="Who posts (default: your user name).")
    ] = None,
    keep_tax: Annotated[bool, typer.Option("--keep-tax", help="Do not refund the tax on a returned deposit.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="The list as JSON.")] = False,
) -> int:
    """List core deposits, or post the outcome of one.

    An outcome is posted once, however often it is given.
    """
    import getpass

    from estimator.books.core_deposits import OUTCOMES, core_deposits, settle_core

    if document is None:
        _list(core_deposits(books), as_json)
        return 0
    if ref is None or outcome is None:
        raise typer.BadParameter(f"DOCUMENT needs REF and OUTCOME ({', '.join(OUTCOMES)})")
    day = dt.date.fromisoformat(date) if date else dt.date.today()
    accounts = _accounts(shop, outcome)
    name = who or getpass.getuser()
    result = settle_core(books, document, ref, outcome, day, accounts, name, unit=unit, tax_back=not keep_tax)
    for message in (*result.messages, *result.documents[0].messages):
        say(message)
    found = result.documents[0]
    out(f"{found.document} revision {found.revision}: {found.status.replace('-', ' ')}, entry {found.entry_id}")
    for file in result.files:
        out(f"written: {books / file}")
    return 0


def _list(units: tuple[CoreUnit, ...], as_json: bool) -> None:
    from estimator.books.listing import plain_data
    from estimator.money import money_text

    if as_json:
        out_json({"schema": 1, "core_deposits": [plain_data(item) for item in units]})
        return
    for item in units:
        out(f"{item.document}  {item.ref}  unit {item.unit}")
        when = f" on {item.settled_on}, tax back {money_text(item.tax_back)}" if item.settled_on else ""
        stale = "; its document was revised since: post it again" if item.stale else ""
        out(
            f"  {item.description}: {money_text(item.deposit)} {item.currency} of {item.taken_on}, {item.state}{when}{stale}"
        )
    if not units:
        say("no core deposits on file")


def _accounts(shop_file: Path, outcome: str) -> dict[str, Account]:
    from estimator.books.journal import accounts_of
    from estimator.intake.toml_files import load_toml
    from estimator.records import Shop

    shop = load_toml(shop_file, Shop)
    if outcome != "returned" and not shop.accounts.core_forfeited:
        allowed = "a deposit that is not refunded goes to an account of its own"
        fix = 'add it, for example core_forfeited = "CORE-KEPT Core deposits forfeited"'
        problem = InputProblem(str(shop_file), '[accounts], key "core_forfeited"', "missing", allowed, fix)
        raise InputError([problem])
    return accounts_of(shop)
