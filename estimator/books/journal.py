"""Double entry: the journal of a document, its reversal, and the fingerprint that an entry carries in its id."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

from estimator.books.posting import InvoiceLine, PostingLine
from estimator.money import ZERO, add, money_text
from estimator.records import Shop

COLUMNS = (
    "entry_id",
    "line_no",
    "entry_date",
    "doc_type",
    "doc_id",
    "doc_rev",
    "account_code",
    "account_name",
    "description",
    "debit",
    "credit",
    "currency",
    "tax_code",
    "content_sha256",
)
_CONTROLS = re.compile(r"[\x00-\x1f\x7f]")
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


@dataclass(frozen=True)
class Account:
    code: str
    name: str

    @classmethod
    def parse(cls, text: str) -> Account:
        """A code and a name as a shop writes them, the code first.

        >>> Account.parse("WORK Labor")
        Account(code='WORK', name='Labor')
        """
        code, _, name = text.strip().partition(" ")
        return cls(code, name.strip() or code)


def accounts_of(shop: Shop) -> dict[str, Account]:
    """A shop's accounts by "receivable", "tax" and kind of line, and by "forfeited" for core deposits that stay."""
    texts = shop.accounts.model_dump()
    texts |= {"core": texts.pop("core_deposits"), "forfeited": texts.pop("core_forfeited")}
    return {name: Account.parse(text) for name, text in texts.items()}


def journal_of(
    lines: Sequence[InvoiceLine],
    tax_parts: Sequence[tuple[str, Decimal, Decimal]],
    accounts: Mapping[str, Account],
    *,
    credit_note: bool = False,
) -> tuple[PostingLine, ...]:
    """The balanced journal of a document: the customer owes the total, and kinds of line and taxes stand against it.

    Formula: debit receivable = SUM(net)+SUM(tax); credit each kind, taxed and untaxed apart, SUMIFS(net,kind,taxed);
    credit each tax part. A negative amount changes sides; a zero one is left out. A credit note runs the other way.
    Parameters: lines and tax parts (name, rate, amount) in currency units; accounts by "receivable", "tax" and kind of
    line (labor, parts, supplies, disposal, sublet, core, discount). Returns: the lines, the receivable first.
    Raises: KeyError for a kind without an account.
    """
    tax = add(amount for _, _, amount in tax_parts)
    sums: dict[tuple[str, bool], Decimal] = {}
    for line in lines:
        sums[line.kind, line.taxed] = sums.get((line.kind, line.taxed), ZERO) + line.net
    sides = [_side(accounts["receivable"], "Customer", -(add(line.net for line in lines) + tax), "")]
    for (kind, taxed), amount in sums.items():
        words = {"core": "Core deposits", "labor": "Labor"}.get(kind, kind.capitalize())
        sides.append(_side(accounts[kind], words, amount, "taxed" if taxed else "untaxed"))
    sides += [_side(accounts["tax"], f"Tax, {name}", amount, name) for name, _, amount in tax_parts]
    kept = tuple(side for side in sides if side.debit or side.credit)
    return reverse(kept, "") if credit_note else kept


def reverse(lines: Sequence[PostingLine], words: str = "Reversal: ") -> tuple[PostingLine, ...]:
    """The same lines with debit and credit exchanged."""
    return tuple(
        replace(line, debit=line.credit, credit=line.debit, description=f"{words}{line.description}") for line in lines
    )


def _side(account: Account, description: str, credit: Decimal, tax_code: str) -> PostingLine:
    return PostingLine(account.code, account.name, description, max(ZERO, -credit), max(ZERO, credit), tax_code)


@dataclass(frozen=True)
class Entry:
    """A journal entry as the register holds it: one document posted, or one reversed.

    `number` counts the entries of a document from 1: odd ones post, even ones reverse the one before.
    """

    batch: int
    document: str
    revision: int
    kind: str
    number: int
    date: str
    currency: str
    digest: str
    lines: tuple[PostingLine, ...]

    @property
    def is_reversal(self) -> bool:
        return self.number % 2 == 0

    @property
    def doc_type(self) -> str:
        return f"{self.kind}-reversal" if self.is_reversal else self.kind

    @property
    def short_id(self) -> str:
        """The number that people and documents use."""
        return f"{self.document}-r{self.revision}-{self.number:03d}"

    @cached_property
    def entry_id(self) -> str:
        """`short_id` and the first 12 hexadecimal digits of the SHA-256 of the entry's rows without this column.

        So a row that was moved, dropped, doubled or altered by a cent shows in the file alone.
        """
        rows = "\n".join("\x1f".join(row) for row in self._cells)
        return f"{self.short_id}-{hashlib.sha256(rows.encode('utf-8')).hexdigest()[:12]}"

    def rows(self) -> list[tuple[str, ...]]:
        """The entry's rows in the order of COLUMNS, as text."""
        return [(self.entry_id, *row) for row in self._cells]

    @cached_property
    def _cells(self) -> list[tuple[str, ...]]:
        head = (self.date, self.doc_type, self.document, str(self.revision))
        return [
            (
                str(place),
                *map(as_text, head),
                as_text(line.account_code),
                as_text(line.account_name),
                as_text(line.description),
                money_text(line.debit),
                money_text(line.credit),
                self.currency,
                as_text(line.tax_code),
                self.digest,
            )
            for place, line in enumerate(self.lines, start=1)
        ]


def as_text(words: str) -> str:
    """Words for a CSV cell: on one line, and never a formula when a spreadsheet program opens the file.

    Words that begin with = + - @ get an apostrophe before them; line ends and other controls become spaces.

    >>> as_text('=HYPERLINK("x")')
    '\\'=HYPERLINK("x")'
    """
    clean = _CONTROLS.sub(" ", words)
    return f"'{clean}" if words.startswith(_FORMULA_STARTS) else clean
