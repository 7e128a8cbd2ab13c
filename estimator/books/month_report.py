"""A month of the books as a workbook: by account, by kind of job, by tax class, core deposits, documents.

The report is made from the register alone; it says as of which batch it is, and the same register gives the same bytes.
"""

from __future__ import annotations

import datetime as dt
import io
import sqlite3
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from estimator.books.ledger_entries import Recorded, cents, recorded
from estimator.books.posting import InvoiceLine, deposit_of
from estimator.text_width import text_lines
from estimator.workbook.write import File

if TYPE_CHECKING:
    import pandas
    import xlsxwriter
    from xlsxwriter.format import Format

_ACCOUNTS = ["account", "name", "currency", "debit", "credit", "balance"]
_JOBS = ["job", "currency", "labor", "parts", "other", "hours if done alone", "hours billed", "hours saved"]
_CLASSES = ["tax class", "taxed", "currency", "net"]
_TAXES = ["tax", "currency", "amount"]
_CORES = ["core deposits", "currency", "amount"]
_WIDE = 46  # characters of a column of words
_CORE_ORDER = ("owed before", "taken", "returned", "refused", "expired", "kept")
_DOCUMENTS = ["entry", "date", "type", "customer", "currency", "total", "tax included"]
_MONEY = {"debit", "credit", "balance", "labor", "parts", "other", "net", "amount", "total", "tax included"}


def month_report(connection: sqlite3.Connection, month: str, batch: int, form: str) -> bytes:
    """The report of one month ("2026-11") as xlsx. Amounts of reversals, credit notes and core deposits given back are
    negative. Totals are formulas with their values stored beside them. Parameters: the last batch that counts in it;
    form, which names what made it."""

    tables = _tables(connection, month)
    shop = next(recorded(connection, "WHERE e.batch = ?", (batch,))).posting.seller.name
    (posted_at,) = connection.execute("SELECT posted_at FROM batches WHERE batch = ?", (batch,)).fetchone()
    target = io.BytesIO()
    book = File(target, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    words = f"as of batch {batch}"
    created = dt.datetime.fromisoformat(posted_at).replace(tzinfo=None)
    told = f"{words}, form {form}"
    about = {"title": f"Books, {month}", "subject": "Month report", "author": shop, "company": shop, "comments": told}
    book.set_properties(about | {"created": created})
    looks = {
        "title": book.add_format({"bold": True, "font_size": 14}),
        "words": book.add_format({"text_wrap": True, "valign": "vcenter"}),
        "head": book.add_format({"bold": True, "bottom": 1, "text_wrap": True}),
        "figure head": book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "align": "right"}),
        "money": book.add_format({"num_format": "#,##0.00", "valign": "vcenter"}),
        "hours": book.add_format({"num_format": "0.00", "valign": "vcenter"}),
        "sum": book.add_format({"bold": True, "top": 1, "num_format": "#,##0.00"}),
        "note": book.add_format({"italic": True}),
    }
    for title, table in tables.items():
        _sheet(book, looks, f"{title}, {month}, {words}", title, table)
    _chart(book, len(tables["By job"]))
    book.close()
    return target.getvalue()


def _sheet(
    book: xlsxwriter.Workbook, looks: dict[str, Format], heading: str, title: str, table: pandas.DataFrame
) -> None:
    sheet = book.add_worksheet(title)
    sheet.write_string(0, 0, heading, looks["title"])
    sheet.freeze_panes(3, 0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(2)
    for column, name in enumerate(table.columns):
        wide = column == 0 or name in ("name", "customer")
        sheet.set_column(column, column, _WIDE if wide else 14)
        money, hours = name in _MONEY, name.startswith("hours")
        sheet.write_string(2, column, name, looks["figure head" if money or hours else "head"])
        values = list(table[name])
        for row, value in enumerate(values, start=3):
            if money:
                sheet.write_number(row, column, value / 100, looks["money"])
            elif hours:
                sheet.write_number(row, column, value, looks["hours"])
            else:
                sheet.write_string(row, column, str(value), looks["words"])
        if (money or hours) and values and len(set(table["currency"])) == 1:
            letter, last = chr(ord("A") + column), len(values) + 3
            total = sum(values) / 100 if money else round(sum(values), 6)
            sheet.write_formula(last, column, f"=SUM({letter}4:{letter}{last})", looks["sum"], total)
        elif values:
            sheet.write_blank(len(values) + 3, column, None, looks["sum"])
    for row, text in enumerate(table.iloc[:, 0], start=3):
        sheet.set_row(
            row, 3 + 14 * len(text_lines(str(text), 6 * _WIDE, 11))
        )  # not every program fits rows to their texts
    if len(table):
        sheet.write_string(len(table) + 3, 0, "All", looks["sum"])
    else:
        sheet.write_string(3, 0, "nothing in this month", looks["note"])


def _chart(book: xlsxwriter.Workbook, jobs: int) -> None:
    """The chart of the hours, on a tab and a page of its own."""
    if not jobs:
        return
    sheet = book.add_worksheet("Hours by job")
    sheet.set_landscape()
    sheet.fit_to_pages(1, 1)
    sheet.hide_gridlines(2)
    chart = book.add_chart({"type": "bar"})
    for column, color, pattern in ((5, "#0072B2", None), (6, "#56B4E9", "wide_upward_diagonal")):
        series = {
            "name": ["By job", 2, column],
            "categories": ["By job", 3, 0, 2 + jobs, 0],
            "values": ["By job", 3, column, 2 + jobs, column],
            "fill": {"color": color},
        }
        if pattern:
            series["pattern"] = {"pattern": pattern, "fg_color": "#000000", "bg_color": color}
        chart.add_series(series)
    chart.set_title({"name": "Hours if done alone and hours billed, by job"})
    chart.set_x_axis({"name": "hours", "min": 0})
    chart.set_y_axis({"reverse": True})
    chart.set_size({"width": 900, "height": min(620, 140 + 34 * jobs)})
    words = "Bars for each kind of job: the hours if done alone beside the hours billed"
    sheet.insert_chart(0, 0, chart, {"description": words})


def _tables(connection: sqlite3.Connection, month: str) -> dict[str, pandas.DataFrame]:
    """The tables of a month, amounts in whole cents, so that no sum of them can be off."""
    import pandas as pd

    accounts, lines, classes, parts, documents = [], [], [], [], []
    cores: list[tuple[str, str, int]] = []
    where = (
        "WHERE substr(e.entry_date, 1, 7) = ? OR (substr(e.entry_date, 1, 7) < ? "
        "AND (e.kind = 'core-entry' OR instr(d.content, '\"kind\":\"core\"') > 0))"
    )
    for item in recorded(connection, where, (month, month)):
        entry, posting = item.entry, item.posting
        inside = entry.date[:7] == month
        sign = (1 if entry.kind == "invoice" else -1) * (-1 if entry.is_reversal else 1)
        cores += _core_rows(item, inside)
        if not inside:
            continue
        for side in entry.lines:
            debit, credit = cents(side.debit), cents(side.credit)
            accounts.append((side.account_code, side.account_name, entry.currency, debit, credit, debit - credit))
        jobs = {line.ref.partition(".")[2]: line.job_title for line in posting.lines if line.job_title}
        for line in posting.lines:
            kind = line.kind if line.kind in ("labor", "parts") else "other"
            net, hours = sign * cents(line.net), [sign * (x or 0.0) for x in (line.hours_alone, line.hours_in_visit)]
            amounts = [net if kind == name else 0 for name in ("labor", "parts", "other")]
            lines.append((_job(line, jobs), entry.currency, *amounts, *hours, hours[0] - hours[1]))
            taxed = "taxed" if line.taxed else "untaxed"
            classes.append((line.tax_class, taxed, entry.currency, net))
        parts += [(name, entry.currency, sign * cents(amount)) for name, _, amount in posting.tax_parts]
        total, tax = (sign * cents(posting.totals[name]) for name in ("total", "tax"))
        documents.append((item.entry_id, entry.date, entry.doc_type, posting.customer.name, entry.currency, total, tax))
    return {
        "By account": _grouped(pd.DataFrame(accounts, columns=_ACCOUNTS), _ACCOUNTS[:3]),
        "By job": _grouped(pd.DataFrame(lines, columns=_JOBS), _JOBS[:2]),
        "By tax class": _grouped(pd.DataFrame(classes, columns=_CLASSES), _CLASSES[:3]),
        "Tax": _grouped(pd.DataFrame(parts, columns=_TAXES), _TAXES[:2]),
        "Core deposits": _grouped(pd.DataFrame(cores, columns=_CORES), _CORES[:2], keep_order=True),
        "Documents": pd.DataFrame(documents, columns=_DOCUMENTS),
    }


def _job(line: InvoiceLine, jobs: Mapping[str, str]) -> str:
    """The job that a line belongs to: a part's reference ends with that of its job's line."""
    part_of = (title for ref, title in jobs.items() if line.ref.endswith(f".{ref}"))
    return line.job_title or next(part_of, "") or "not assigned to a job"


def _core_rows(item: Recorded, inside: bool) -> Iterator[tuple[str, str, int]]:
    """What an entry does to the deposits: owed before the month, taken in it, settled in it (negative)."""
    entry, posting = item.entry, item.posting
    sign = -1 if entry.is_reversal else 1
    if posting.core is not None:
        yield (posting.core.outcome if inside else "owed before", entry.currency, -sign * cents(deposit_of(posting)))
    elif entry.kind == "invoice":
        for line in posting.lines:
            if line.kind == "core":
                yield ("taken" if inside else "owed before", entry.currency, sign * cents(line.net))


def _grouped(table: pandas.DataFrame, by: list[str], keep_order: bool = False) -> pandas.DataFrame:
    if keep_order:
        table = table.sort_values(by[0], key=lambda names: names.map(_CORE_ORDER.index), kind="stable")
    grouped = table.groupby(by, sort=not keep_order, as_index=False).sum()
    for name in grouped.columns:
        if name.startswith("hours"):
            grouped[name] = grouped[name].round(6) + 0.0
    return grouped
