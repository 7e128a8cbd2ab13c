"""A million samples of a recorded gauge: what reading and fitting cost beside reading by pandas alone.

    python tests/benchmarks/long_log.py [SAMPLES ...]      1,000,000 and 8,000,000 if left out

Each kind of log, by ours (read, checked, guessed, fitted) and by pandas (`read_csv` alone), each in a process of its own that
has imported what it needs before it is timed: processor time, the median of three, and the most memory that the work added.
"""

import json
import statistics
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS), str(TESTS.parent)]


def make(folder: Path, kind: str, samples: int) -> Path:
    import numpy as np
    from simulated_logs import Bleed, applications, bleed, charging, hold

    rng = np.random.default_rng(1)
    if kind == "bleed-down":
        time, pressure = bleed(Bleed(knee=samples * 0.01 / 1.1, step=0.01), rng)
    elif kind == "hold":
        time, pressure, _ = hold(rng, lasts=samples * 0.01, step=0.01, leak=40.0 * 180000 / samples)
    elif kind == "charging":
        time, pressure, _ = charging(rng, cycles=samples // 14_000, step=0.01)
    else:
        time, pressure, *_ = applications(rng, count=40, step=300 / samples)
    path = folder / f"{kind}-{samples}.csv"
    with path.open("w", encoding="utf-8") as file:
        file.write("Time (s),Pressure (psi)\n")
        file.writelines(f"{t:.4f},{p:.1f}\n" for t, p in zip(time, pressure, strict=True))
    return path


def timed(way: str, path: str, rounds: int = 3) -> None:
    """Print seconds of processor time and megabytes added, as JSON."""
    import time

    import matplotlib  # noqa: F401
    import pandas as pd
    from simulated_logs import setting

    from estimator.pressure_logs.columns import Wanted
    from estimator.pressure_logs.kinds import log_findings
    from estimator.pressure_logs.log_file import read_log

    def ours() -> str:
        found = log_findings(read_log(Path(path), Wanted(), "1"), setting(), None)
        return f"{found.kind}: {len(found.figures)} figures"

    def alone() -> str:
        return f"{len(pd.read_csv(path)):,} rows"

    pd.read_csv(path, nrows=1000)
    before = most_memory()
    taken = []
    for _ in range(rounds):
        start = time.process_time()
        said = {"ours": ours, "pandas": alone}[way]()
        taken.append(time.process_time() - start)
    added = most_memory() - before
    print(json.dumps([statistics.median(taken), added, said]))


def most_memory() -> float:
    """The most memory that this process has held, in megabytes; `getrusage` counts what its parent held too."""
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    return int(status.partition("VmHWM:")[2].split()[0]) / 1024


def run(way: str, path: Path) -> tuple[float, float, str]:
    done = subprocess.run(
        [sys.executable, __file__, "--time", way, str(path)], capture_output=True, text=True, check=True
    )
    seconds, added, said = json.loads(done.stdout)
    return seconds, added, said


def main(sizes: list[int]) -> None:
    with TemporaryDirectory() as name:
        for samples in sizes:
            for kind in ("bleed-down", "charging", "hold", "applications"):
                path = make(Path(name), kind, samples)
                ours, alone = run("ours", path), run("pandas", path)
                assert ours[2].startswith(kind), ours
                print(
                    f"{kind}, {alone[2]}: ours {ours[0]:.2f} s, {ours[1]:.0f} MB ({ours[2]}); "
                    f"pandas {alone[0]:.2f} s, {alone[1]:.0f} MB; {ours[0] / alone[0]:.1f} times"
                )
                path.unlink()


if __name__ == "__main__":
    if sys.argv[1:2] == ["--time"]:
        timed(*sys.argv[2:4])
    else:
        main([int(text) for text in sys.argv[1:]] or [1_000_000, 8_000_000])
