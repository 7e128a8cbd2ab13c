"""`estimator pay`: money received for a document, and what remains open."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Annotated

import typer

from estimator.cli.core import print_result, shop_with
from estimator.cli.keys import Who, name_of
from estimator.cli.today import EntryDate, Today, day_of

EXAMPLES = ("estimator pay demo/books LY-311-A 500.00 card --shop demo/shop.toml --date 2026-12-08 --today 2026-12-08",)


def _money(text: str) -> Decimal:
    try:
        amount = Decimal(text)
    except InvalidOperation:
        amount = Decimal("NaN")
    if not amount.is_finite():
        raise typer.BadParameter(f'"{text}" is not an amount; write it as 500.00')
    return amount


def pay(
    books: Annotated[Path, typer.Argument(metavar="BOOKS", help="The books folder.")],
    document: Annotated[str, typer.Argument(metavar="DOCUMENT", help="The invoice that is paid.")],
    amount: Annotated[Decimal, typer.Argument(metavar="AMOUNT", parser=_money, help="In the shop's currency.")],
    way: Annotated[str, typer.Argument(metavar="WAY", help="cash, check, card, transfer or other.")],
    shop: Annotated[Path, typer.Option("--shop", metavar="SHOP.toml", help="Names the accounts.")] = Path("shop.toml"),
    deposit_of: Annotated[
        str, typer.Option("--deposit-of", metavar="CUSTOMER", help="Received before the document is posted.")
    ] = "",
    refund: Annotated[bool, typer.Option("--refund", help="Paid back to the customer.")] = False,
    another: Annotated[
        bool, typer.Option("--another", help="A second payment of the same amount, day and way.")
    ] = False,
    date: EntryDate = None,
    who: Who = None,
    today: Today = None,
) -> int:
    """Record a payment or a deposit received.

    Posts it once against the document and shows the open balance. A wrong one is taken back with `estimator void`.
    """
    from estimator.books.payments import pay as paid

    result = paid(
        books,
        document,
        amount,
        way,
        day_of(date or today),
        shop_with(shop, ("received",)),
        name_of(who),
        deposit_of=deposit_of,
        refund=refund,
        another=another,
        today=day_of(today),
    )
    print_result(result, books)
    return 0
