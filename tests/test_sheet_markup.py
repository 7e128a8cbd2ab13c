"""Markup written by hand: what each kind of cell, formula, comment and damage comes to."""

from pathlib import Path

import openpyxl
import pytest
from hostile import HEAD, MAIN, SHEET, TAB, TAIL, pack, parts_of, with_part, with_sheet
from openpyxl_judge import differences, judged
from returned_workbooks import demo_record, write

from estimator import __version__
from estimator.errors import UnreadableFile
from estimator.readback.cells import ErrorValue, ReadCell, read_workbook
from estimator.readback.values import text_value


def cells_of(path: Path, markup: str) -> dict[tuple[int, int], ReadCell]:
    return read_workbook(with_sheet(markup)(path)).sheets[TAB].cells


def refused(path: Path, markup: str) -> str:
    with pytest.raises(UnreadableFile) as caught:
        cells_of(path, markup)
    assert caught.value.rule == "unreadable-file"
    return caught.value.what


def row(cells: str, number: int = 1) -> str:
    return f'<row r="{number}">{cells}</row>'


# ECMA-376 part 1, 18.3.1.4 (c), 18.18.11 (ST_CellType). Style 1 of the sound workbook shows dates.
CELLS = {
    '<c r="A1"><v>5</v></c>': ReadCell(5),
    '<c r="A1" t="n"><v>-1.50</v></c>': ReadCell(-1.5),
    '<c r="A1"><v> 7 </v></c>': ReadCell(7),
    '<c r="A1" t="b"><v>1</v></c>': ReadCell(True),
    '<c r="A1" t="b"><v>false</v></c>': ReadCell(False),
    '<c r="A1" t="e"><v>#DIV/0!</v></c>': ReadCell(ErrorValue("#DIV/0!")),
    '<c r="A1" t="s"><v>0</v></c>': ReadCell("pressure 3, system 1"),
    '<c r="A1" t="str"><v>a &lt;b&gt; &#38;amp; &quot;c&apos;</v></c>': ReadCell("a <b> &amp; \"c'"),
    '<c r="A1" t="inlineStr"><is><t xml:space="preserve"> led </t></is></c>': ReadCell(" led "),
    '<c r="A1" t="inlineStr"><is><r><t>a</t></r><r><rPr><b/></rPr><t>b</t></r></is></c>': ReadCell("ab"),
    '<c r="A1" s="1"><v>46351.5</v></c>': ReadCell(46351.5, None, True),
    '<c r="A1" s="1" t="str"><v>soon</v></c>': ReadCell("soon"),
    '<c r="A1" t="d"><v>2026-11-25T12:00:00Z</v></c>': ReadCell(46351.5, None, True),
    '<c r="A1" t="d"><v>2026-11-25</v></c>': ReadCell(46351, None, True),
    '<c r="A1" t="d"><v>06:00:00</v></c>': ReadCell(0.25, None, True),
    '<c r="A1" t="d"><v>1900-01-01</v></c>': ReadCell(1, None, True),
    '<c r="A1"><f>1+1</f><v>2</v></c>': ReadCell(2, "=1+1"),
    '<c r="A1"><f>B1</f></c>': ReadCell(None, "=B1"),
    '<c r="A1"><f>B1</f><v/></c>': ReadCell(None, "=B1"),
    '<c r="A1" t="str"><f>""</f><v></v></c>': ReadCell(None, '=""'),
    '<c r="A1" cm="1"><f t="array" ref="A1:A3" aca="false">B1:B3*2</f><v>4</v></c>': ReadCell(
        4, "=B1:B3*2", False, "A1:A3"
    ),
    '<c r="A1"><f t="dataTable" ref="A1:B2" dt2D="1" dtr="1" r1="C1" r2="D1"/><v>4</v></c>': ReadCell(
        4, "=TABLE(C1,D1)", False, "A1:B2"
    ),
}


@pytest.mark.parametrize("markup", CELLS)
def test_one_cell(markup: str, tmp_path: Path) -> None:
    path = tmp_path / "quote.xlsx"
    assert cells_of(path, row(markup)) == {(1, 1): CELLS[markup]}
    kinds = {str: str, ErrorValue: ErrorValue, bool: bool}
    read, wanted = cells_of(path, row(markup))[1, 1], CELLS[markup]
    assert kinds.get(type(read.value)) is kinds.get(type(wanted.value))
    if "false" not in markup:  # which openpyxl can't read
        assert differences(read_workbook(path), judged(path)) == []


@pytest.mark.parametrize(
    "markup",
    [
        '<c r="A1"/>',
        '<c r="A1" s="1"></c>',
        '<c r="A1"><v></v></c>',
        '<c r="A1" t="inlineStr"><is><t></t></is></c>',
        "",
    ],
)
def test_a_cell_that_holds_nothing_is_left_out(markup: str, tmp_path: Path) -> None:
    assert cells_of(tmp_path / "quote.xlsx", row(markup)) == {}


@pytest.mark.parametrize(
    ("markup", "words"),
    [
        ('<c r="B7"><v>12a</v></c>', '"12a" where a number should be (B7)'),
        ('<c r="B7"><v>nan</v></c>', "where a number should be"),
        ('<c r="B7"><v>1e999</v></c>', "where a number should be"),
        ('<c r="B7"><v>1_000</v></c>', "where a number should be"),
        ('<c r="B7"><v>٣</v></c>', "where a number should be"),
        (f'<c r="B7"><v>{"9" * 5000}</v></c>', "where a number should be"),
        (f'<c r="B7"><v>{"0" * 5000}1</v></c>', "where a number should be"),
        ('<c r="B7" t="b"><v>yes</v></c>', "where a truth value should be"),
        ('<c r="B7" t="d"><v>soon</v></c>', "where a date should be"),
        ('<c r="B7" t="s"><v>99</v></c>', '"99", which is no shared text (B7)'),
        ('<c r="B7" t="s"><v>-1</v></c>', "which is no shared text"),
        ('<c r="B7" t="x"><v>1</v></c>', 'a cell of the type "x"'),
        ('<c r="B7"><v>1</v></c><c r="B7"><v>2</v></c>', "a cell that is there twice (B7)"),
        ('<c r="B7"><v>1</v><v>2</v></c>', 'an element "v" twice'),
        ('<c r="B7"><f>1</f><f>2</f><v>2</v></c>', 'an element "f" twice'),
        ('<c r="B7"><is><t>text</t></is></c>', "a text in a cell of another type"),
        ('<c r="B7" t="inlineStr"><v>1</v></c>', "a number in a cell for text"),
        ('<c r="XFE7"><v>1</v></c>', '"XFE7" as the address of a cell'),
        ('<c r="A1048577"><v>1</v></c>', '"A1048577" as the address of a cell'),
        ('<c r="B8"><v>1</v></c>', 'the cell "B8" in the row 7'),
        ('</row><row r="1048577"/><row r="9">', '"1048577" as the number of a row'),
        ('</row><row r="-2"/><row r="9">', '"-2" as the number of a row'),
        ('</row><row r="x"/><row r="9">', '"x" as the number of a row'),
        ('</row><row r="7"/><row r="9">', "the row 7 twice"),
        ('</row><row r="6"/><row>', "the row 7 twice"),
        ('<c r="B7"><v><x/>1</v></c>', 'an element "x" out of place'),
        ('<c r="B7"><v>1<f/></v></c>', 'an element "f" out of place'),
        ('<c r="B7"><v/><v>2</v></c>', 'an element "v" twice'),
        ('<c r="B7"> <v>1</v><v>2</v></c>', 'an element "v" twice'),
        ('<c r="B7"><v>1</v> <f>1</f><f>2</f></c>', 'an element "f" twice'),
        ('<c r="b7"><v>1</v></c>', '"b7" as the address of a cell'),
        ('<c r="B7"><f t="shared" si="4"/><v>1</v></c>', "a share in a formula that isn't there (B7)"),
        ('<c r="B7"><f t="fast">1</f></c>', 'a formula of the kind "fast"'),
        (f'<c r="B7"><f>{"1+" * 9000}1</f></c>', "a formula of 18,001 characters (B7)"),
        ('</row><c r="B7"><v>1</v></c><row>', 'an element "c" out of place'),
        ('<c>="B7" s="12"><f>1+1</f><v>2</v></c>', 'a text in an element "c", where none may stand'),
        ('<c r="B7"><v>2</v> psi</c>', 'a text in an element "c", where none may stand'),
        ('<c r="B7">2</c>', 'a text in an element "c", where none may stand'),
        ('<c r="B7"><v>1</v></c>r="C7"><c><v>2</v></c>', 'a text in an element "row", where none may stand'),
        ('<c r="B7"><v>1</v></c></row>7<row>', 'a text in an element "sheetData", where none may stand'),
        ('<c r="B7"><v>&bogus;</v></c>', "not well-formed"),
        ('<c r="B7" s="1" s="2"><v>1</v></c>', "not well-formed"),
        ('<c r="B7"><v>\x01</v></c>', "not well-formed"),
        ('<c r="B7"><v>1</v></d>', "not well-formed"),
    ],
)
def test_what_contradicts_itself_is_refused_with_the_cell(markup: str, words: str, tmp_path: Path) -> None:
    assert words in refused(tmp_path / "quote.xlsx", row(markup, 7))


def test_cells_and_rows_without_addresses_follow_one_another(tmp_path: Path) -> None:
    path = tmp_path / "quote.xlsx"
    first, second = '<row><c><v>1</v></c><c r="D1"><v>2</v></c><c><v>3</v></c></row>', "<row><c><v>4</v></c></row>"
    markup = f'{first}{second}<row r="9"><c><v>5</v></c></row>'
    assert {place: cell.value for place, cell in cells_of(path, markup).items()} == {
        (1, 1): 1, (1, 4): 2, (1, 5): 3, (2, 1): 4, (9, 1): 5
    }  # fmt: skip
    assert differences(read_workbook(path), judged(path)) == []


FALSE_CELL = '<c r="A1"><v>666</v></c>'


@pytest.mark.parametrize(
    "markup",
    [f"<!--{row(FALSE_CELL)}-->", f"<!-- <sheetData>{row(FALSE_CELL)}</sheetData> -->", f"<?note {row(FALSE_CELL)}?>"],
)
def test_what_only_looks_like_a_cell_is_none(markup: str, tmp_path: Path) -> None:
    path = tmp_path / "quote.xlsx"
    assert cells_of(path, markup + row('<c r="A1"><v>1</v></c>')) == {(1, 1): ReadCell(1)}
    before = HEAD.replace("<sheetData>", markup + "<sheetData>")
    with_sheet(row('<c r="A1"><v>1</v></c>'), head=before)(path)
    assert read_workbook(path).sheets[TAB].cells == {(1, 1): ReadCell(1)}


@pytest.mark.parametrize(
    "markup",
    [
        f'<x:row xmlns:x="urn:other">{FALSE_CELL.replace("<", "<x:").replace("<x:/", "</x:")}</x:row>',
        f'<row xmlns="urn:other" r="1">{FALSE_CELL}</row>',
        f"<rox>{FALSE_CELL}</rox>",
        f"<row><cc>{FALSE_CELL}</cc></row>",
        f'<x:AlternateContent xmlns:x="urn:other">{row(FALSE_CELL)}</x:AlternateContent>',
    ],
)
def test_what_would_go_unread_is_refused(markup: str, tmp_path: Path) -> None:
    assert "out of place" in refused(tmp_path / "quote.xlsx", markup + row('<c r="A1"><v>1</v></c>'))


@pytest.mark.parametrize(
    "markup",
    [
        '<row r="1" ht="20" spans="1:2" ht="20"><c r="A1"><v>1</v></c></row>',
        '<row r="1"><c r="A1" s="0" s="0"><v>1</v></c></row>',
        '<row r="1"><c r="A1"><f ca="1" ca="1">1</f><v>1</v></c></row>',
    ],
)
def test_an_attribute_twice_is_no_xml(markup: str, tmp_path: Path) -> None:
    assert "not well-formed" in refused(tmp_path / "quote.xlsx", markup)


def test_an_attribute_twice_in_a_shared_text_is_no_xml(tmp_path: Path) -> None:
    path = tmp_path / "quote.xlsx"
    look = '<rPr><sz val="9" val="9"/></rPr>'
    texts = f'<sst xmlns="{MAIN}"><si><r>{look}<t>a</t></r><r><t>b</t></r></si></sst>'
    with_part(path, "xl/sharedStrings.xml", texts)
    with pytest.raises(UnreadableFile, match="not well-formed"):
        read_workbook(path)


def test_a_tab_hidden_in_a_comment_does_not_pass_for_the_real_one(tmp_path: Path) -> None:
    """The first "<sheetData>" stands in a comment that ends after a "</sheetData>"; the real one has a prefix."""
    head = (
        f'<x:worksheet xmlns="{MAIN}" xmlns:x="{MAIN}"><x:sheetData><!-- <sheetData>{row(FALSE_CELL)}</sheetData> -->'
    )
    real = row('<c r="A1"><v>1</v></c>').replace("<", "<x:").replace("<x:/", "</x:")
    path = tmp_path / "quote.xlsx"
    with_sheet(real, head=head, tail="</x:sheetData></x:worksheet>")(path)
    assert read_workbook(path).sheets[TAB].cells == {(1, 1): ReadCell(1)}


def test_rows_after_the_rows_are_not_lost(tmp_path: Path) -> None:
    path = tmp_path / "quote.xlsx"
    second = f'</sheetData><sheetData><row r="2"><c r="A2"><v>2</v></c></row>{TAIL}'
    with_sheet(row('<c r="A1"><v>1</v></c>'), tail=second)(path)
    assert read_workbook(path).sheets[TAB].cells == {(1, 1): ReadCell(1), (2, 1): ReadCell(2)}


@pytest.mark.parametrize(
    ("markup", "text"),
    [
        ("_x0041_", "A"), ("_x005F_x0041_", "_x0041_"), ("a_x000D_b", "a\rb"), ("_x0007_", "\x07"), ("_x000a_", "\n"),
        ("_x0000_", "_x0000_"), ("_xD83D_", "_xD83D_"), ("_xFFFF_", "_xFFFF_"), ("_x41_", "_x41_"), ("_x00e9_", "é"),
    ],
)  # fmt: skip
def test_escapes_are_read_as_the_standard_says(markup: str, text: str, tmp_path: Path) -> None:
    """ECMA-376 part 1, 22.9.2.19 (ST_Xstring): _xHHHH_ is the letter of that number, _x005F_ the underscore itself."""
    assert text_value(markup) == text
    cells = cells_of(tmp_path / "quote.xlsx", row(f'<c r="A1" t="inlineStr"><is><t>{markup}</t></is></c>'))
    assert cells[1, 1].value == text


def test_texts_with_runs_and_readings_are_the_letters_alone(tmp_path: Path) -> None:
    texts = (
        '<si><r><rPr><b/><sz val="11"/></rPr><t xml:space="preserve">read </t></r><r><t>twice</t></r></si><si><t/></si>'
        '<si><t>課</t><rPh sb="0" eb="1"><t>か</t></rPh></si><si/><si><t>end</t></si>'
    )
    path = tmp_path / "quote.xlsx"
    with_part(path, "xl/sharedStrings.xml", f'<sst xmlns="{MAIN}" count="5">{texts}</sst>')
    parts = parts_of(path) | {
        SHEET: (HEAD + row("".join(f'<c r="{c}1" t="s"><v>{n}</v></c>' for n, c in enumerate("ABCDE"))) + TAIL).encode()
    }
    pack(path, parts)
    assert {column: cell.value for (_, column), cell in read_workbook(path).sheets[TAB].cells.items()} == {
        1: "read twice", 3: "課", 5: "end"
    }  # fmt: skip
    assert differences(read_workbook(path), judged(path)) == []


def test_a_workbook_names_the_shop_and_this_program_in_its_properties(tmp_path: Path) -> None:
    """Read by another library; the elements are those of ISO/IEC 29500-2, core properties."""
    record = demo_record()
    properties = openpyxl.load_workbook(write(tmp_path / "a.xlsx", demo_record)).properties
    assert properties.title == f"{record.job.document} revision 1: {record.car.car.name}, {record.car.car.year}"
    assert properties.creator == record.shop.shop.name and properties.language == "en-US" and properties.subject
    assert properties.description == f"Drafted by estimator {__version__}"
    assert properties.created.date() == record.job.date
