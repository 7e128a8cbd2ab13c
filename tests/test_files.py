"""A file is written whole or not at all."""

import os
import subprocess
import sys
import threading

import pytest

from estimator.errors import CannotWrite
from estimator.files import refuse_existing, write_whole


def test_makes_folders_and_replaces(tmp_path):
    target = tmp_path / "a" / "b.txt"
    write_whole(target, b"first")
    write_whole(target, b"second, longer")
    assert target.read_bytes() == b"second, longer"
    assert [entry.name for entry in target.parent.iterdir()] == ["b.txt"]


def test_rights_of_the_old_file_stay_and_a_new_file_follows_the_mask(tmp_path):
    target = tmp_path / "rights"
    write_whole(target, b"x")
    plain = tmp_path / "plain"
    plain.write_bytes(b"x")
    assert target.stat().st_mode == plain.stat().st_mode
    target.chmod(0o640)
    write_whole(target, b"y")
    assert target.stat().st_mode & 0o777 == 0o640


def test_refusal_names_the_file_and_what_to_do(tmp_path):
    blocker = tmp_path / "blocker"
    blocker.write_bytes(b"a file where a folder is wanted")
    with pytest.raises(CannotWrite) as refusal:
        write_whole(blocker / "x.csv", b"")
    assert refusal.value.exit_status == 73
    assert "x.csv" in str(refusal.value) and "Make sure" in str(refusal.value)


def test_a_folder_in_the_place_of_the_file_leaves_nothing_behind(tmp_path):
    (tmp_path / "taken").mkdir()
    with pytest.raises(CannotWrite):
        write_whole(tmp_path / "taken", b"x")
    assert [entry.name for entry in tmp_path.iterdir()] == ["taken"]


@pytest.mark.skipif(os.name == "nt", reason="limits on file size are set through a POSIX call")
def test_a_full_disk_keeps_the_old_file(tmp_path):
    target = tmp_path / "kept"
    target.write_bytes(b"old")
    program = (
        "import resource, signal, sys\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "from estimator.files import refuse_existing, write_whole\nfrom estimator.errors import CannotWrite\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))\n"
        "try:\n    write_whole(sys.argv[1], b'z' * 100000)\n"
        "except CannotWrite as refusal:\n    print(refusal)\n"
    )
    run = subprocess.run([sys.executable, "-c", program, str(target)], capture_output=True, text=True, check=True)
    assert "couldn't be written" in run.stdout
    assert target.read_bytes() == b"old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["kept"]


def test_a_reader_never_sees_a_part(tmp_path):
    target = tmp_path / "seen"
    contents = [bytes([letter]) * 200_000 for letter in b"ab"]
    write_whole(target, contents[0])
    done = threading.Event()

    def write():
        for turn in range(40):
            write_whole(target, contents[turn % 2])
        done.set()

    writer = threading.Thread(target=write)
    writer.start()
    while not done.is_set():
        assert target.read_bytes() in contents
    writer.join()


def test_a_link_to_nothing_is_not_replaced(tmp_path):
    """A disk that isn't there just now: what the link points to may come back. With --force too."""
    link = tmp_path / "letter.html"
    link.symlink_to(tmp_path / "away" / "letter.html")
    for attempt in (lambda: write_whole(link, b"x"), lambda: refuse_existing(link, force=True)):
        with pytest.raises(CannotWrite, match=r"a link to .*which is not there"):
            attempt()
    assert link.is_symlink() and [entry.name for entry in tmp_path.iterdir()] == ["letter.html"]
