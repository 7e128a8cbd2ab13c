"""What the books take of a document: its money, its lines, its journal, as plain frozen data, and the digest of it."""

from __future__ import annotations

import datetime as dt
import functools
import hashlib
import json
import re
from dataclasses import dataclass, field, fields, is_dataclass, replace
from decimal import Decimal
from typing import Any, Literal

from pydantic import TypeAdapter, ValidationError

from estimator.money import money_text

Kind = Literal["invoice", "credit-note", "core-entry", "payment"]
KINDS: tuple[Kind, ...] = ("invoice", "credit-note", "core-entry", "payment")
LINE_KINDS = ("labor", "parts", "supplies", "disposal", "sublet", "core", "discount")
SCHEMA = 1

_MONEY = {"debit", "credit", "unit_price", "net", "amount"}
# Fields younger than the first books: left out of the content where they are empty, so that digests stay.
_LATER = {"payment"}
# Controls, and what turns or hides text where it is shown: directions, joiners of no width, line and paragraph ends.
_CONTROLS = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_HIDDEN = re.compile("[\u00ad\u061c\u180e\u200b\u200e\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb]")


@dataclass(frozen=True)
class PostingLine:
    """One side of a journal entry: debit or credit in currency units, the other 0."""

    account_code: str
    account_name: str
    description: str
    debit: Decimal
    credit: Decimal
    tax_code: str = ""


@dataclass(frozen=True)
class InvoiceLine:
    """One line of a document: `net` = quantity × unit_price, rounded once. A discount's net is negative.

    `unit` is h, each, L, mL, m, kg, set, pair and the like. Labor may stand as hours × rate where that gives the net;
    where shared hours have no exact product, the document shows it as one unit with its hours in a note.
    """

    ref: str
    kind: str
    description: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    net: Decimal
    tax_class: str
    taxed: bool
    note: str = ""
    job_title: str = ""
    hours_alone: float | None = None
    hours_in_visit: float | None = None


@dataclass(frozen=True)
class Party:
    """Seller or customer. `country` is the two-letter code of ISO 3166; `tax_id` is a VAT number where tax is VAT."""

    name: str
    address: tuple[str, ...] = ()
    country: str = ""
    tax_id: str = ""


@dataclass(frozen=True)
class PostedConsent:
    stage: str
    date: dt.date
    amount: Decimal
    who: str
    how: str = ""
    taken_by: str = ""


@dataclass(frozen=True)
class CoreOutcome:
    """Which core deposit a core entry settles, and how: returned, refused, expired, kept."""

    document: str
    ref: str
    unit: int
    outcome: str


@dataclass(frozen=True)
class Payment:
    """Money received for a document, or paid back (negative), and the way: cash, check, card, transfer, other."""

    document: str
    way: str
    amount: Decimal


@dataclass(frozen=True)
class Posting:
    """A document as it goes to the books.

    Money in currency units with two decimals; `tax_rate` and the rates in `tax_parts` (name, rate, amount) are
    fractions. A credit note's lines and totals are positive; its journal runs the other way. `tax_is_difference` marks
    a core deposit given back, whose tax is the difference of two taxes and so may be a cent off its own base.
    """

    document: str
    revision: int
    kind: Kind
    date: dt.date
    currency: str
    seller: Party
    customer: Party
    car_text: str
    tax_kind: Literal["sales", "vat", "none"]
    tax_rate: Decimal
    tax_parts: tuple[tuple[str, Decimal, Decimal], ...]
    lines: tuple[InvoiceLine, ...]
    totals: dict[str, Decimal]
    journal: tuple[PostingLine, ...]
    tax_level: Literal["document", "line"] = "document"
    consents: tuple[PostedConsent, ...] = ()
    declined_safety: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    references: tuple[str, ...] = ()
    tax_is_difference: bool = False
    core: CoreOutcome | None = None
    payment: Payment | None = None
    terms: str = field(default="Due on receipt")


def has_lines(posting: Posting) -> bool:
    """Whether anything is sold, settled or paid: a document without is nothing to post."""
    return posting.kind in ("core-entry", "payment") or any(line.kind != "discount" for line in posting.lines)


def deposit_of(posting: Posting) -> Decimal:
    """The deposit that a core entry settles: what its journal debits."""
    return next(side.debit for side in posting.journal if side.debit)


def cleaned(value: Any) -> Any:
    """A posting, or a part of one, with words that read as they are stored: controls become spaces, and characters
    that turn or hide text are left out.

    >>> cleaned("Tol\\u202eliver\\x0bMill")
    'Tolliver Mill'
    """
    if isinstance(value, str):
        return _HIDDEN.sub("", _CONTROLS.sub(" ", value))
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{item.name: cleaned(getattr(value, item.name)) for item in fields(value)})
    return tuple(map(cleaned, value)) if isinstance(value, tuple) else value


def canonical(posting: Posting) -> str:
    """The canonical content: JSON with sorted keys, money as 2-decimal strings, no times, no paths, no spaces.

    Raises: ValueError where an amount has a fraction of a cent.
    """
    content = {"schema": SCHEMA, **_plain(posting)}
    return json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def digest(content: str) -> str:
    """The SHA-256 of a canonical content, in hexadecimal."""
    return hashlib.sha256(content.encode("utf-8")).hexdigest()


def from_canonical(content: str) -> Posting:
    """The posting that a canonical content was made from: `canonical(from_canonical(text)) == text`.

    Raises: ValueError for another schema, or for a content that isn't one.
    """
    data = json.loads(content)
    if data.pop("schema", None) != SCHEMA:
        raise ValueError(f"the content isn't of schema {SCHEMA}")
    try:
        return _posting().validate_python(data)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        raise ValueError(f"{'.'.join(map(str, first['loc']))}: {first['msg']}") from None


@functools.cache
def _posting() -> TypeAdapter[Posting]:
    return TypeAdapter(Posting)


def _plain(value: Any, name: str = "") -> Any:
    if is_dataclass(value):
        given = {item.name: getattr(value, item.name) for item in fields(value)}
        return {key: _plain(part, key) for key, part in given.items() if part is not None or key not in _LATER}
    if name == "tax_parts":
        return [[part, plain_number(rate), money_text(amount)] for part, rate, amount in value]
    if name == "totals":
        return {key: money_text(amount) for key, amount in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    if isinstance(value, Decimal):
        return money_text(value) if name in _MONEY else plain_number(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value + 0:.6f}"
    return value


def plain_number(x: Decimal) -> str:
    """A number without exponent and without trailing zeros.

    >>> plain_number(Decimal("1E+1")), plain_number(Decimal("0.500"))
    ('10', '0.5')
    """
    text = format(x, "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text
