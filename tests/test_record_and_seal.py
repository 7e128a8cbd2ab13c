"""The Record tab: damage is named, a change on purpose needs the shop's key to be made unseen, a key is never shown."""

import hashlib
import hmac
import json
import os
import re
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from boxes_by_key import appraise_boxes
from returned_workbooks import address_of, book_of, check, entries_of, rules, small_record, with_cells, write
from written_file import emptied, to_value

from estimator.cli.app import main
from estimator.readback.check import Checked, check_workbook
from estimator.readback.report import report
from estimator.workbook import seal as sealing
from estimator.workbook.compose import compose
from estimator.workbook.seal import KEY_VARIABLE, NoKey, SealKey, seal_key
from estimator.workbook.tabs.record import PIECE, SCHEMA, pack, unpack
from estimator.workbook.write import workbook_bytes

SECRET = b"a7c1-not-a-real-key-5f0e2d"
KEY = SealKey(SECRET)
NOTE = "reading.cut-out.system-1.1.note"
OTHER = SealKey(b"another key of the shop")
SEED = 3


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(tmp_path_factory.mktemp("record") / "plain.xlsx", seed=SEED)


@pytest.fixture(scope="module")
def sealed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("record") / "sealed.xlsx"
    path.write_bytes(workbook_bytes(compose(appraise_boxes(small_record(), entries_of(small_record, SEED)), KEY)))
    return path


def row(label: str) -> str:
    return f"record.{label.replace(' ', '-')}.value"


def value(label: str) -> str:
    return book_of(small_record, SEED).by_key[row(label)].value


def texts_of(book: object) -> list[str]:
    """Record and manifest, unpacked."""
    rows = sorted(
        (key for key in book.by_key if re.fullmatch(r"record\.record-\d+\.value", key)),
        key=lambda key: int(key.split("-")[1].split(".")[0]),
    )
    return unpack("".join(book.by_key[key].value[1:] for key in rows)).split("\n")


def carried() -> list[str]:
    return texts_of(book_of(small_record, SEED))


# --- damage -----------------------------------------------------------------------------------------------------------

DAMAGE: dict[str, tuple[str, Callable[[str], str], str]] = {
    "a letter of the record": (
        "record 1",
        lambda text: text[:500] + chr(ord(text[500]) ^ 1) + text[501:],
        "record-altered",
    ),
    "the record cut short": ("record 1", lambda text: text[:-40], "record-altered"),
    "the record emptied": ("record 1", lambda text: "", "record-altered"),
    "the record typed over": ("record 1", lambda text: "nothing to see", "record-altered"),
    "a piece gone": ("record 2", lambda text: "", "record-altered"),
    "no manifest": ("record 1", lambda text: "z" + pack(carried()[0]), "record-altered"),
    "the manifest is another text": (
        "record 1",
        lambda text: "z" + pack(carried()[0] + '\n{"tabs": []}'),
        "record-altered",
    ),
    "the manifest is a list": ("record 1", lambda text: "z" + pack(carried()[0] + "\n[1, 2]"), "record-altered"),
    "the digest": ("digest", lambda text: "0" * 64, "record-altered"),
    "the schema": ("schema", lambda text: "one", "record-altered"),
    "a later schema": ("schema", lambda text: str(SCHEMA + 1), "other-version"),
    "a schema without end": ("schema", lambda text: "9" * 5000, "record-altered"),
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_damage_to_the_record_is_named(damage: str, plain: Path, tmp_path: Path) -> None:
    label, change, rule = DAMAGE[damage]
    new = change(value(label))
    edits = {address_of(row(label), book_of(small_record, SEED)): to_value(new) if new else emptied}
    if damage.startswith(("no manifest", "the manifest")):
        for number in range(2, 99):
            if row(f"record {number}") in book_of(small_record, SEED).by_key:
                edits[address_of(row(f"record {number}"), book_of(small_record, SEED))] = emptied
    checked = check(with_cells(plain, tmp_path / "a.xlsx", edits))
    assert checked.state == "unsound"
    finding = next(item for item in checked.integrity if item.rule == rule)
    assert finding.severity == "stop" and finding.what and finding.fix and "\n" not in finding.line()
    assert len(finding.line()) < 600


def test_a_later_schema_is_refused_in_words(plain: Path, tmp_path: Path) -> None:
    edits = {address_of(row("schema")): to_value(str(SCHEMA + 1)), address_of(row("program")): to_value("9.4.0")}
    (finding,) = check(with_cells(plain, tmp_path / "a.xlsx", edits)).integrity
    assert "9.4.0" in finding.what and "schema" in finding.what and "later" in finding.fix


def test_rows_are_short_enough_and_survive_being_typed_again() -> None:
    rows = [cell.value for key, cell in book_of().by_key.items() if re.fullmatch(r"record\.record-\d+\.value", key)]
    assert len(rows) >= 3 and max(map(len, rows)) <= PIECE + 1 < 30_000
    assert all(re.fullmatch(r"z[A-Za-z0-9+/=]+", text) for text in rows)


def test_packing() -> None:
    text = "Cut-in 1800 psi, ungefähr; שלום " * 999
    assert unpack(pack(text)) == text
    packed = pack(text)
    for wrong in (packed[:-4], packed[4:], packed + packed, packed.replace(packed[9], "é"), "", "AAAA"):
        with pytest.raises(ValueError, match="packed text is"):
            unpack(wrong)


def test_text_that_unpacks_without_end_is_refused() -> None:
    with pytest.raises(ValueError, match="far too long"):
        unpack(pack("0" * 64_000_001))


def test_the_boxes_alone_hold_the_entries(plain: Path) -> None:
    entries = appraise_boxes(small_record(), {**entries_of(small_record, SEED), "visit.before.by": "Perpetua Quillon"})
    book = compose(entries)
    texts = "".join(texts_of(book))
    assert "Perpetua" not in texts and small_record().job.document in texts


# --- seal -------------------------------------------------------------------------------------------------------------


def test_a_workbook_says_whether_it_is_sealed(plain: Path, sealed: Path) -> None:
    def words(path: Path) -> str:
        with zipfile.ZipFile(path) as book:
            return book.read("xl/sharedStrings.xml").decode()

    assert "It isn&apos;t sealed" in words(plain) or "It isn't sealed" in words(plain)
    assert "It is sealed" in words(sealed)
    assert check(plain).seal == "not sealed"
    assert check(sealed).seal == "sealed; not looked at, because no key was given"


def with_key(path: Path, key: SealKey) -> Checked:
    return check_workbook(path, key)


def test_the_right_key_finds_nothing_wrong(sealed: Path) -> None:
    checked = with_key(sealed, KEY)
    assert (checked.state, checked.seal) == (
        "sound",
        "sealed: record, limits and rates as drafted; entries not sealed",
    )


@pytest.mark.parametrize("key", [OTHER, KEY])
def test_another_key_or_no_seal_is_an_altered_record(key: SealKey, plain: Path, sealed: Path) -> None:
    checked = with_key(sealed if key is OTHER else plain, key)
    assert checked.state == "unsound" and rules(checked) == {"record-altered": 1}


def test_a_changed_rate_that_agrees_with_itself_is_seen_by_the_seal_alone(sealed: Path, tmp_path: Path) -> None:
    """Whoever has the program can draft a workbook with other rates; without the key it can't be sealed."""
    record = small_record()
    rates = tuple(rate.model_copy(update={"per_hour": rate.per_hour + 20}) for rate in record.shop.labor.rates)
    shop = record.shop.model_copy(update={"labor": record.shop.labor.model_copy(update={"rates": rates})})
    dearer = record.model_copy(update={"shop": shop})
    entries = entries_of(small_record, SEED)
    forged = compose(appraise_boxes(dearer, entries), OTHER)
    old = compose(appraise_boxes(record, entries), KEY).by_key["record.seal.value"].value
    tabs = [*forged.tabs]
    tabs[-1] = replace(tabs[-1], blocks=(_with_seal(tabs[-1].blocks[0], old),))
    path = tmp_path / "forged.xlsx"
    path.write_bytes(workbook_bytes(replace(forged, tabs=tuple(tabs))))
    assert check(path).state == "sound"
    assert rules(with_key(path, KEY)) == {"record-altered": 1}


def _with_seal(block: object, seal: str) -> object:
    def changed(item: object) -> object:
        if item.ref != "seal":
            return item
        return replace(item, cells=(item.cells[0], item.cells[1]._replace(value=seal)))

    return replace(block, rows=tuple(map(changed, block.rows)))


def test_the_seal_is_an_hmac_sha256_of_what_is_carried(sealed: Path) -> None:
    """Worked out here by RFC 2104 from the texts of the tab, without the program's own code."""
    book = compose(appraise_boxes(small_record(), entries_of(small_record, SEED)), KEY)
    parts = [book.by_key[row(name)].value for name in ("schema", "program")] + texts_of(book)
    message = json.dumps(["estimator seal", *parts]).encode()
    block = SECRET.ljust(64, b"\0")
    inner = hashlib.sha256(bytes(byte ^ 0x36 for byte in block) + message).digest()
    wanted = hashlib.sha256(bytes(byte ^ 0x5C for byte in block) + inner).hexdigest()
    assert book.by_key[row("seal")].value == wanted


def test_seals_are_compared_in_constant_time(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []
    compare = hmac.compare_digest
    monkeypatch.setattr(sealing.hmac, "compare_digest", lambda a, b: seen.append((a, b)) or compare(a, b))
    seal = KEY.seal("one", "two")
    assert KEY.made(seal, "one", "two") and not KEY.made(seal, "onet", "wo") and not KEY.made("schön", "one")
    assert len(seen) == 3


def test_no_key_is_ever_shown(sealed: Path, capfd: pytest.CaptureFixture[str]) -> None:
    with zipfile.ZipFile(sealed) as book:
        assert not [name for name in book.namelist() if SECRET in book.read(name)]
    told = json.dumps(report(sealed, KEY).data()) + repr(KEY) + str(KEY) + repr(with_key(sealed, KEY).findings)
    assert SECRET.decode() not in told and "secret" not in repr(KEY)
    for content in (b"fifteen letters", SECRET * 300):
        with pytest.raises(NoKey) as refusal:
            sealing._key(content, "the key file")
        assert content.decode()[:30] not in str(refusal.value)
    assert SECRET.decode() not in "".join(capfd.readouterr())


# --- where a key comes from -------------------------------------------------------------------------------------------


def key_file(folder: Path, content: bytes = SECRET + b"\n", mode: int = 0o600) -> Path:
    path = folder / "seal.key"
    path.write_bytes(content)
    path.chmod(mode)
    return path


def test_a_key_from_a_file_or_from_the_environment(tmp_path: Path) -> None:
    assert seal_key(key_file(tmp_path), {}) == KEY
    assert seal_key(None, {KEY_VARIABLE: SECRET.decode()}) == KEY
    assert seal_key(None, {}) is None
    assert seal_key(key_file(tmp_path), {KEY_VARIABLE: "another key that is long"}) == KEY


@pytest.mark.skipif(os.name == "nt", reason="rights are other there")
@pytest.mark.parametrize("mode", [0o640, 0o604, 0o622, 0o666])
def test_a_key_file_that_others_can_read_is_warned_about(mode: int, tmp_path: Path) -> None:
    key = seal_key(key_file(tmp_path, mode=mode), {})
    assert key.secret == SECRET and "others" in key.warning and "chmod 600" in key.warning
    assert seal_key(key_file(tmp_path), {}).warning == ""


@pytest.mark.parametrize(
    ("content", "words", "status"),
    [
        (b"", "too short", 65),
        (b"only 15 letters", "too short", 65),
        (b"x" * 5000, "too long", 65),
        (None, "cannot be read", 66),
    ],
)
def test_what_is_no_key_is_refused(content: bytes | None, words: str, status: int, tmp_path: Path) -> None:
    path = tmp_path / "none" if content is None else key_file(tmp_path, content)
    with pytest.raises(NoKey) as refusal:
        seal_key(path, {})
    assert words in str(refusal.value) and refusal.value.exit_status == status and "openssl" in str(refusal.value)


def test_an_empty_variable_is_no_key_and_says_so() -> None:
    with pytest.raises(NoKey, match=KEY_VARIABLE):
        seal_key(None, {KEY_VARIABLE: ""})


def test_entries_are_sealed_beside_the_workbook_and_typing_later_is_told(
    sealed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    key, mine = tmp_path / "key", tmp_path / "mine.xlsx"
    key.write_bytes(SECRET)
    key.chmod(0o600)
    mine.write_bytes(sealed.read_bytes())
    assert main(["check", str(mine), "--seal-entries"]) == 1  # without the key
    main(["check", str(mine), "--seal", str(key), "--seal-entries"])
    assert "entries sealed: " in capsys.readouterr().err
    assert check_workbook(mine, KEY).seal.endswith("as drafted; entries as they were sealed")
    typed = with_cells(mine, tmp_path / "typed.xlsx", {address_of(NOTE): to_value("seen by Tam Orrick")})
    typed.replace(mine)
    later = check_workbook(mine, KEY)
    (finding,) = [item for item in later.findings if item.rule == "entries-changed"]
    assert later.state == "sound", [item.line() for item in later.integrity]
    assert finding.key == NOTE and NOTE in finding.what
    beside = mine.with_name("mine.xlsx.entries-seal")
    for damage in (b"", b"[]", beside.read_bytes().replace(b'"seal": "', b'"seal": "0')):
        beside.write_bytes(damage)
        (finding,) = [item for item in check_workbook(mine, KEY).findings if item.rule == "entries-changed"]
        assert "not a seal of these entries" in finding.what
