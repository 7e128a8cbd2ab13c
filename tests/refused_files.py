"""Files that are refused: what each is, how it is built, the rule, words of the message."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import hostile
from hostile import HEAD, MAIN, SHEET, TAB, TAIL, edited, holding, named, noise, poured, repeated, with_part, with_sheet

BODY = HEAD[HEAD.index("<worksheet") :]
SST, STRINGS = f'<sst xmlns="{MAIN}">', "xl/sharedStrings.xml"
WORKBOOK, RELATIONS = "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
LAUGHS = "".join(f"<!ENTITY a{n} '{f'&a{n - 1};' * 10}'>" for n in range(1, 10))
ATTRIBUTES = " ".join(f"a{number}=''" for number in range(90_000))
SUM_OF_999 = "+".join(f"A{number}" for number in range(1, 1000))


def row(number: int, cells: str) -> str:
    return f'<row r="{number}">{cells}</row>'


def cell(number: int) -> str:
    return row(number + 1, f'<c r="A{number + 1}"><v>1</v></c>')


def share(number: int) -> str:
    return row(number + 2, f'<c r="B{number + 2}"><f t="shared" si="0"/><v>1</v></c>')


def styles(path: Path) -> Path:
    formats = "".join(f'<xf numFmtId="{number % 50}" fontId="{number}"/>' for number in range(300_000))
    return with_part(path, "xl/styles.xml", f'<styleSheet xmlns="{MAIN}"><cellXfs>{formats}</cellXfs></styleSheet>')


def names(path: Path) -> Path:
    many = "".join(f'<definedName name="n{number}">Basis!$A$1</definedName>' for number in range(20_000))
    return edited(WORKBOOK, b"<calcPr", f"<definedNames>{many}</definedNames><calcPr".encode())(path)


def doubled(
    part: str, which: bytes, target: bytes = b"", name: bytes = b"rIdX", kind: bytes = b""
) -> Callable[[Path], Path]:
    """A builder: the relationship of this kind stands twice in a part of relationships."""

    def edit(content: bytes) -> bytes:
        found = re.search(rb"<Relationship [^>]*/" + which + rb'"[^>]*/>', content)
        assert found is not None
        second = re.sub(rb'Id="[^"]*"', b'Id="' + name + b'"', found[0])
        if target:
            second = re.sub(rb'Target="[^"]*"', target, second)
        if kind:
            second = re.sub(rb'Type="[^"]*"', b'Type="' + kind + b'"', second)
        return content.replace(b"</Relationships>", second + b"</Relationships>")

    return lambda path: with_part(path, part, edit)


class Case(NamedTuple):
    build: Callable[[Path], object]
    rule: str
    words: str


BIG, BAD = "over-size", "unreadable-file"
FAN = HEAD + row(1, f'<c r="B1"><f t="shared" ref="B1:B60000" si="0">{SUM_OF_999}</f></c>')
REFUSED = {
    # too much of something
    "600 MiB of blanks": Case(poured(SHEET, hostile.blanks, level=9), BIG, "unpacks to more than 300 times"),
    "60 MiB of empty cells": Case(
        poured(SHEET, repeated(HEAD, lambda n: row(n + 1, "<c/>" * 9), 10**6, TAIL)), BIG, ""
    ),
    "a million cells": Case(poured(SHEET, repeated(HEAD, cell, 10**6, TAIL)), BIG, "cells with content"),
    "a fan of shared formulas": Case(poured(SHEET, repeated(FAN, share, 60_000, TAIL)), BIG, "shared formulas"),
    "a merge over the whole sheet": Case(
        with_sheet(cell(0), tail='</sheetData><mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells></worksheet>'),
        BIG,
        "4,000,000 cells in merged ranges",
    ),
    "300,000 cell formats": Case(styles, BIG, "65,490 cell formats"),
    "20,000 names": Case(names, BIG, "10,000 defined names"),
    "3,000 parts": Case(hostile.crowded, BIG, "2,000 parts"),
    "a million shared texts": Case(
        poured(STRINGS, repeated(SST, lambda n: f"<si><t>{n}</t></si>", 10**6, "</sst>")), BIG, "shared texts"
    ),
    "texts of wide letters": Case(
        poured(STRINGS, repeated(SST, lambda n: f"<si><t>\U0001f4a0{n:01000}</t></si>", 60_000, "</sst>")), BIG, ""
    ),
    "one text of 50 MiB": Case(
        poured(STRINGS, repeated(SST + "<si><t>", lambda n: f"{n:01024}", 50 * 1024, "</t></si></sst>")),
        BIG,
        "a text of more than",
    ),
    "a tag without end": Case(
        poured(SHEET, repeated(BODY + '<row r="', lambda n: f"{n:01024}", 50 * 1024, '"/>' + TAIL)),
        BIG,
        "a tag or comment",
    ),
    "a comment without end": Case(
        poured(SHEET, repeated(BODY + "<!--", lambda n: f"{n:01024}", 50 * 1024, "-->" + TAIL)), BIG, "a tag or comment"
    ),
    "elements nested without end": Case(
        poured(SHEET, repeated(BODY.removesuffix("<sheetData>"), lambda n: "<a>", 10**6, "")), BIG, "too deep"
    ),
    "a tag of many attributes": Case(
        with_sheet("", head=BODY.replace("<sheetData>", f"<x {ATTRIBUTES}/><sheetData>")), BIG, "endless tag"
    ),
    "many small elements": Case(
        poured(
            SHEET, repeated(BODY.removesuffix("<sheetData>"), lambda n: "<a/>", 10**7, "<sheetData>" + TAIL), level=6
        ),
        BIG,
        "",
    ),
    "shared formulas of many brackets": Case(
        with_sheet(
            "".join(row(n + 1, f'<c r="B{n + 1}"><f t="shared" si="{n}">{"[]" * 4000}</f></c>') for n in range(100))
        ),
        BIG,
        "250,000 characters in formulas that are shared",
    ),
    "many shared formulas": Case(
        with_sheet(
            "".join(row(n + 1, f'<c r="B{n + 1}"><f t="shared" si="{n}">{SUM_OF_999}+{n}</f></c>') for n in range(400))
        ),
        BIG,
        "250,000 characters in formulas that are shared",
    ),
    "an endless namespace": Case(
        with_sheet("<x:c/>" * 100_000, head=HEAD.replace("<sheetData>", f'<sheetData xmlns:x="{noise(900_000)}">')),
        BIG,
        "endless name",
    ),
    "an endless name": Case(with_sheet(f"<n{noise(900_000)}>" + "<a/>" * 100_000), BIG, "endless name"),
    "a kind of cell for each cell": Case(
        poured(SHEET, repeated(HEAD, lambda n: row(n + 1, f'<c r="A{n + 1}" z="{n}"/>'), 10**6, TAIL)), BIG, ""
    ),
    "a comment on every cell": Case(
        poured(
            "xl/comments1.xml",
            repeated(
                f'<comments xmlns="{MAIN}"><commentList>',
                lambda n: f'<comment ref="A{n + 1}"><text><t>x</t></text></comment>',
                50_000,
                "</commentList></comments>",
            ),
        ),
        BIG,
        "10,000 comments",
    ),
    # one file that programs would show as two
    "a root that only ends as a workbook's does": Case(
        edited(
            "_rels/.rels",
            b"http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument",
            b"urn:other/officeDocument",
        ),
        BAD,
        "a zip archive without a workbook",
    ),
    "two workbooks": Case(
        doubled("_rels/.rels", b"officeDocument", b'Target="xl/worksheets/sheet1.xml"'),
        BAD,
        '2 parts as its "officeDocument"',
    ),
    "shared texts twice": Case(doubled(RELATIONS, b"sharedStrings"), BAD, '2 parts as its "sharedStrings"'),
    "shared texts twice, in the strict form too": Case(
        doubled(
            RELATIONS, b"sharedStrings", kind=b"http://purl.oclc.org/ooxml/officeDocument/relationships/sharedStrings"
        ),
        BAD,
        '2 parts as its "sharedStrings"',
    ),
    "cell formats twice": Case(doubled(RELATIONS, b"styles"), BAD, '2 parts as its "styles"'),
    "comments of a tab twice": Case(
        doubled("xl/worksheets/_rels/sheet1.xml.rels", b"comments"), BAD, '2 parts as its "comments"'
    ),
    "a relationship's identifier twice": Case(
        doubled(RELATIONS, b"theme", name=b"rId1"), BAD, 'the identifier "rId1" twice'
    ),
    "a tab whose type only ends as a sheet's does": Case(
        edited(
            RELATIONS,
            b"http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet",
            b"urn:other/worksheet",
        ),
        BAD,
        "is of no known kind",
    ),
    "shared texts whose type only ends so": Case(
        edited(
            RELATIONS,
            b"http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings",
            b"urn:other/sharedStrings",
        ),
        BAD,
        "which is no shared text",
    ),
    "a content type that only ends as a workbook's does": Case(
        edited(
            "[Content_Types].xml",
            b"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
            b"other/spreadsheetml.sheet.main+xml",
        ),
        BAD,
        "a zip archive without a workbook",
    ),
    "two content types of one part": Case(
        edited(
            "[Content_Types].xml",
            b"</Types>",
            b'<Override PartName="/xl/workbook.xml" ContentType="text/xml"/></Types>',
        ),
        BAD,
        "two content types",
    ),
    # what isn't there, or isn't what it says
    "a part bigger than it says": Case(hostile.understated, BAD, "can't be unpacked"),
    "parts that overlap": Case(hostile.overlapping, BAD, "overlap"),
    "a part outside the file": Case(named("../../evil.xml"), BAD, "points outside"),
    "a part from the root": Case(named("/etc/passwd.xml"), BAD, "points outside"),
    "a part for other systems": Case(named("..\\..\\evil.xml"), BAD, "points outside"),
    "a part that is there twice": Case(named("xl/Workbook.xml"), BAD, "is there twice"),
    "a part whose name breaks off": Case(named("xl/styles.xml\0\0"), BAD, "points outside the file or is none"),
    "an encrypted archive": Case(hostile.flagged, BAD, "is encrypted"),
    "entities that multiply": Case(
        with_sheet(cell(0), head=f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a0 "ha">{LAUGHS}]>{BODY}'),
        BAD,
        "document type",
    ),
    "an entity from a file": Case(
        with_sheet(cell(0), head=f'<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/hostname">]>{BODY}'),
        BAD,
        "document type",
    ),
    "a document type in UTF-16": Case(
        lambda path: with_part(path, SHEET, f'<!DOCTYPE x [<!ENTITY e "ha">]>{BODY}{cell(0)}{TAIL}'.encode("utf-16")),
        BAD,
        "document type",
    ),
    "a document type in the workbook": Case(
        edited(WORKBOOK, b"<workbook", b"<!DOCTYPE workbook><workbook"), BAD, "document type"
    ),
    "cut short": Case(hostile.truncated, BAD, "cut short"),
    "zeros in a part": Case(hostile.cut_in_a_part, BAD, "can't be unpacked"),
    "markup that breaks off": Case(with_sheet('<row r="1"><c r="A1">', tail=""), BAD, "not well-formed"),
    "a tab without content": Case(
        edited(RELATIONS, b"sheet1.xml", b"sheet9.xml"), BAD, f'the tab "{TAB}" has no content'
    ),
    "a tab outside the file": Case(
        edited(
            RELATIONS,
            b'Target="worksheets/sheet1.xml"',
            b'Target="http://example.org/sheet1.xml" TargetMode="External"',
        ),
        BAD,
        "has no content",
    ),
    "two tabs of one part": Case(edited(RELATIONS, b"sheet2.xml", b"sheet1.xml"), BAD, "is there twice"),
    "two tabs of one name": Case(edited(WORKBOOK, b'name="Basis"', b'name="INSPECTION"'), BAD, "is there twice"),
    "no workbook in it": Case(
        edited("[Content_Types].xml", b"sheet.main+xml", b"sheet.other+xml"), BAD, "zip archive without a workbook"
    ),
    # other things altogether
    "nothing": Case(holding(b""), BAD, "an empty file (0 bytes)"),
    "zeros": Case(holding(bytes(5000)), BAD, "only zeros"),
    "a CSV file": Case(holding(b"part;price\nhose, 3/16;12,50\n"), BAD, "plain text (CSV"),
    "a CSV file in UTF-16": Case(holding("part\tprice\n".encode("utf-16")), BAD, "plain text (CSV"),
    "a web page": Case(holding(b"<!DOCTYPE html><html><p>Please sign in"), BAD, "a web page"),
    "XML of 2003": Case(
        holding(b'<?xml version="1.0"?><?mso-application progid="Excel.Sheet"?><Workbook/>'), BAD, "one XML text"
    ),
    "a picture": Case(holding(hostile.picture()), BAD, "a picture (PNG)"),
    "a PDF": Case(holding(b"%PDF-1.7\n"), BAD, "a PDF"),
    "a program": Case(holding(b"MZ\x90\0" + bytes(100)), BAD, "not a workbook (it begins with the bytes 4d 5a 90 00)"),
    "an encrypted workbook": Case(holding(hostile.compound("EncryptedPackage")), BAD, "encrypted with a password"),
    "an old workbook": Case(holding(hostile.compound("Workbook")), BAD, "of the old kind (.xls)"),
    "a compound file cut short": Case(holding(hostile.OLE_BEGINNING + b"\xff" * 100), BAD, "of the old kind"),
    "an OpenDocument workbook": Case(hostile.open_document, BAD, "OpenDocument workbook (.ods)"),
    "an empty archive": Case(lambda path: hostile.pack(path, {}), BAD, "an empty zip archive"),
}
