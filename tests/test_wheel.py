"""What is installed: one package, its data and the labor tables in it; and it works from there, without this folder."""

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from cli_runs import ROOT, environment

BUILD = "import sys; from setuptools import build_meta; print(build_meta.build_wheel(sys.argv[1]))"
SOURCES = ("estimator", "labor_tables", "pyproject.toml", "setup.py", "README.md", "LICENSE")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    for name in SOURCES:
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, folder / name)
    done = subprocess.run([sys.executable, "-c", BUILD, folder], cwd=folder, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return folder / done.stdout.split()[-1]


def files_of(folder: str) -> list[str]:
    paths = (ROOT / folder).rglob("*")
    return [path.relative_to(ROOT).as_posix() for path in paths if path.is_file() and "__pycache__" not in path.parts]


def test_one_package_with_all_its_files_is_installed(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        packed = {name for name in archive.namelist() if ".dist-info/" not in name}
    assert {name.partition("/")[0] for name in packed} == {"estimator"}
    wanted = {*files_of("estimator"), *(f"estimator/{name}" for name in files_of("labor_tables"))}
    assert packed == wanted


def test_it_works_from_there(wheel: Path, tmp_path: Path) -> None:
    """`start` writes the files of a first job, the labor tables among them, and `draft` finds them."""
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path / "installed")
    env = environment(PYTHONPATH=str(tmp_path / "installed"))

    def told(*words: str) -> str:
        command = [sys.executable, "-P", "-m", "estimator", *words]
        done = subprocess.run(command, cwd=tmp_path, env=env, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        return done.stdout

    told("start", "workshop")
    assert (tmp_path / "workshop/labor_tables/steps.csv").read_bytes() == (ROOT / "labor_tables/steps.csv").read_bytes()
    assert told("draft", "workshop/job.toml", "-o", "quote.xlsx") == "quote.xlsx\n"
