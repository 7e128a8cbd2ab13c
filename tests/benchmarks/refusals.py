"""How long refusing each damaged or hostile file takes, as a multiple of a loop of a million squares.

PYTHONPATH=.:tests python tests/benchmarks/refusals.py
"""

import contextlib
import tempfile
import time
from pathlib import Path

from refused_files import REFUSED

from estimator.errors import EstimatorError
from estimator.readback.cells import read_workbook


def seconds(path: Path) -> float:
    """The processor's time for reading a file, or for refusing it."""
    started = time.process_time()
    with contextlib.suppress(EstimatorError):
        read_workbook(path)
    return time.process_time() - started


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        loop = time.process_time()
        sum(number * number for number in range(10**6))
        loop = time.process_time() - loop
        print(f"{'a million squares':45} {loop:6.2f} s")
        for name, case in REFUSED.items():
            path = Path(folder) / f"{len(name)}.xlsx"
            case.build(path)
            print(f"{name:45} {seconds(path) / loop:6.1f} times that")
            path.unlink()


if __name__ == "__main__":
    main()
