"""What stands beside the cells: threads of comments, text in shapes, protection, states, names."""

from pathlib import Path

import pytest
import xlsxwriter
from hostile import TAB, edited, pack, parts_of, sound

from estimator.errors import UnreadableFile
from estimator.readback.cells import read_workbook


def test_a_thread_of_comments_stands_for_its_copy(tmp_path: Path) -> None:
    path = sound(tmp_path / "quote.xlsx")
    parts = parts_of(path)
    relations = "xl/worksheets/_rels/sheet1.xml.rels"
    parts[relations] = parts[relations].replace(
        b"</Relationships>",
        b'<Relationship Id="rId9" Type="http://schemas.microsoft.com/office/2017/10/relationships/threadedComment" '
        b'Target="../threadedComments/threadedComment1.xml"/></Relationships>',
    )
    parts["xl/threadedComments/threadedComment1.xml"] = (
        b'<ThreadedComments xmlns="http://schemas.microsoft.com/office/spreadsheetml/2018/threadedcomments">'
        b'<threadedComment ref="B1" id="{1}"><text>hot oil?</text></threadedComment>'
        b'<threadedComment ref="B1" id="{2}" parentId="{1}"><text>no, cold &amp; bled</text></threadedComment>'
        b"</ThreadedComments>"
    )
    assert read_workbook(pack(path, parts)).sheets[TAB].comments == {(1, 2): "hot oil?\nno, cold & bled"}


def test_text_in_a_drawn_box_is_read(tmp_path: Path) -> None:
    book = xlsxwriter.Workbook(tmp_path / "quote.xlsx")
    tab = book.add_worksheet("Inspection")
    tab.insert_textbox("B2", "left hose damp\nseen at 40 bar")
    tab.insert_chart("E5", _chart(book))
    book.close()
    assert read_workbook(tmp_path / "quote.xlsx").sheets["Inspection"].shapes == ("left hose damp\nseen at 40 bar",)


def _chart(book: object) -> object:
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "=Inspection!$A$1:$A$3", "name": "pressure"})
    return chart


def test_protection_states_and_names(tmp_path: Path) -> None:
    path = tmp_path / "quote.xlsx"
    names = b'<definedNames><definedName name="rate">Basis!$A$1</definedName>'
    names += b'<definedName name="rate" localSheetId="1">Basis!$B$1</definedName></definedNames><calcPr'
    edited("xl/workbook.xml", b"<calcPr", names)(path)
    book = read_workbook(path)
    assert book.defined_names == {"rate": "Basis!$A$1", "Basis!rate": "Basis!$B$1"}
    assert book.program == "Microsoft Excel"
    assert [(tab.state, tab.protected) for tab in book.sheets.values()] == [("visible", False)] * 2
    for place in (b"9", b"--1", b"1" * 5000):
        edited("xl/workbook.xml", b"<calcPr", names.replace(b'localSheetId="1"', b'localSheetId="%s"' % place))(path)
        with pytest.raises(UnreadableFile, match="belongs to a tab that isn't there"):
            read_workbook(path)


def test_comments_whose_relationship_is_gone_are_not_lost_in_silence(tmp_path: Path) -> None:
    path = sound(tmp_path / "quote.xlsx")
    parts = parts_of(path)
    del parts["xl/worksheets/_rels/sheet1.xml.rels"]
    with pytest.raises(UnreadableFile, match='the comments or shapes of the tab "Inspection" are missing'):
        read_workbook(pack(path, parts))


def test_a_part_renamed_in_the_directory_alone_is_noticed(tmp_path: Path) -> None:
    path = sound(tmp_path / "quote.xlsx")
    content = path.read_bytes()
    place = content.rfind(b"docProps/core.xml")
    path.write_bytes(content[:place] + b"docProps/cord.xml" + content[place + 17 :])
    with pytest.raises(UnreadableFile, match="isn't where the archive's directory has it"):
        read_workbook(path)
