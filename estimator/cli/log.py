"""`estimator log`: figures from a recorded gauge, each with its uncertainty."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.output import CAUTION, out, out_json, say, wrapped
from estimator.errors import EXIT_FINDINGS

if TYPE_CHECKING:
    from estimator.pressure_logs.figures import Figure, LogFindings
    from estimator.pressure_logs.setting import Measured

EXAMPLES = (
    "estimator log demo/bleed_down.csv --car demo/car.toml --system 1",
    "estimator log demo/bleed_down.csv --car demo/car.toml --system 1 -o bleed.svg --entries bleed.csv",
)
_PATIENCE = 2.0


def log(
    file: Annotated[Path, typer.Argument(metavar="FILE.csv", help="A log of time and pressure.")],
    car: Annotated[Path, typer.Option("--car", metavar="CAR.toml", help="The car.")],
    system: Annotated[str, typer.Option("--system", metavar="1", help="The system measured: its number or id.")],
    kind: Annotated[
        str, typer.Option("--kind", help="bleed-down, charging, hold or applications (default: guessed).")
    ] = "",
    shop: Annotated[
        Path | None, typer.Option("--shop", metavar="SHOP.toml", help="Default: shop.toml beside the car.")
    ] = None,
    accumulator: Annotated[
        str,
        typer.Option("--accumulator", metavar="ID", help="The one that is not isolated, where a system has several."),
    ] = "",
    gauge: Annotated[
        str, typer.Option("--gauge", metavar="ID", help="Gauge of shop.toml (default: the usual one).")
    ] = "",
    settling: Annotated[
        str,
        typer.Option(
            "--settling", metavar="TIME", help="Time constant with which the gas settles (default: the shop's)."
        ),
    ] = "",
    time_column: Annotated[str, typer.Option("--time-column", metavar="NAME", help="Or its number from 1.")] = "",
    time_unit: Annotated[str, typer.Option("--time-unit", help="s, ms, min or h (default: by the header).")] = "",
    pressure_column: Annotated[
        str, typer.Option("--pressure-column", metavar="NAME", help="Or its number from 1.")
    ] = "",
    pressure_unit: Annotated[
        str, typer.Option("--pressure-unit", help="Such as psi or bar (default: by the header).")
    ] = "",
    picture: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE.svg", help="A picture of the log, SVG or PNG.")
    ] = None,
    entries: Annotated[
        Path | None, typer.Option("--entries", metavar="FILE.csv", help="The readings as entries for `fill`.")
    ] = None,
    after: Annotated[bool, typer.Option("--after", help="Entries are readings after work (default: before).")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, values in SI.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Overwrite existing files.")] = False,
) -> int:
    """Precharge, leak, cut-in and cut-out from a recorded gauge.

    Each figure with its standard uncertainty and what it rests on. What the log cannot tell is a bound, which decides its
    own side only, or an indication, which never clears a car. Exit status 1: no reading among the figures.
    """
    from estimator.drawing import refuse_suffix
    from estimator.errors import InputError, InputProblem
    from estimator.files import refuse_output, write_whole
    from estimator.pressure_logs.columns import Wanted
    from estimator.pressure_logs.entries import entries_text
    from estimator.pressure_logs.figures import KINDS
    from estimator.pressure_logs.kinds import log_findings
    from estimator.pressure_logs.log_file import read_log
    from estimator.pressure_logs.picture import picture as drawn
    from estimator.pressure_logs.setting import measured

    known = next((item for item in KINDS if item == kind), None)
    if kind and known is None:
        raise InputError([InputProblem("--kind", "the option", f'"{kind}"', f"allowed: {', '.join(KINDS)}")])
    for path in (picture, entries):
        if path is not None:
            refuse_output(path, force=force)
    if picture is not None:
        refuse_suffix(picture)
    of = measured(car, shop, system, accumulator, gauge, settling)
    wanted = Wanted(time_column, time_unit, pressure_column, pressure_unit)
    recorded = read_log(file, wanted, of.system.removeprefix("system-"), _Progress().show)
    found = log_findings(recorded, of.setting, known)
    if as_json:
        out_json(_data(found, of))
    else:
        _print(found, of)
    if picture is not None:
        title = f"{of.system.replace('-', ' ')}: {found.kind}, {file.name}"
        write_whole(picture, drawn(found, title, of.pressure_unit, picture.suffix.lower()))
        say(f"picture: {picture}")
    if entries is not None:
        write_whole(entries, entries_text(found, of, "after" if after else "before").encode("utf-8"))
        say(f"entries: {entries}")
    for line in wrapped(CAUTION):
        say(line)
    return 0 if any(figure.standing == "reading" for figure in found.figures) else EXIT_FINDINGS


class _Progress:
    """Tells a person at a terminal how much of a long log is read."""

    def __init__(self) -> None:
        self.began = time.monotonic()

    def show(self, share: float) -> None:
        if sys.stderr.isatty() and time.monotonic() - self.began > _PATIENCE:
            sys.stderr.write(f"\rreading the log: {share:.0%} " + ("\n" if share >= 1 else ""))
            sys.stderr.flush()


def _print(found: LogFindings, of: Measured) -> None:
    recorded = found.log
    guessed = "guessed; --kind overrides" if found.guessed else "as given"
    out(f"{of.system.replace('-', ' ')}, {found.kind} ({guessed})", bold=True)
    gauge = of.gauge.title if of.gauge else "no gauge known: its uncertainty is not in these figures (--shop)"
    out(f"{len(recorded.time):,} samples in {recorded.duration:,.0f} s; {gauge}")
    for figure in found.figures:
        if figure.ref.startswith("after."):
            out(f"  {figure.title}: {_shown(figure.value, figure, of)}, u {_shown(figure.u, figure, of)}")
            continue
        out()
        told = "" if figure.standing == "reading" else f"{figure.standing} "
        out(f"{figure.title}: {told}{_shown(figure.value, figure, of)}", bold=True)
        if figure.parts:
            parts = ", ".join(f"{name} {_shown(u, figure, of)}" for name, u in figure.parts)
            for line in wrapped(f"standard uncertainty {_shown(figure.u, figure, of)}: {parts}", "  ", "    "):
                out(line)
        for line in wrapped(figure.rests_on, "  ", "    "):
            out(line)
    for remark in (*found.remarks, *recorded.remarks):
        out()
        for line in wrapped(remark):
            out(line)


def _unit(figure: Figure, of: Measured) -> str:
    return {"pressure": of.pressure_unit, "time": "s", "flow": "mL/s", "count": "count"}[figure.quantity]


def _shown(value: float, figure: Figure, of: Measured) -> str:
    from estimator.quantities import UNITS

    unit = _unit(figure, of)
    if unit == "count":
        return f"{value:.3g}"
    known = UNITS[unit]
    number = value / known.factor
    more = 1 if number and abs(number) < 10 ** (1 - known.decimals) else 0
    return f"{number:,.{known.decimals + more}f} {unit}"


def _data(found: LogFindings, of: Measured) -> dict[str, Any]:
    return {
        "schema": 1,
        "file": found.log.path.name,
        "sha256": found.log.digest,
        "system": of.system,
        "kind": found.kind,
        "guessed": found.guessed,
        "samples": len(found.log.time),
        "gauge": of.gauge.id if of.gauge else "",
        "figures": [
            {
                "ref": figure.ref,
                "title": figure.title,
                "standing": figure.standing,
                "quantity": figure.quantity,
                "value_si": figure.value,
                "standard_uncertainty_si": figure.u,
                "parts_si": dict(figure.parts),
                "at_seconds": figure.at,
                "rests_on": figure.rests_on,
            }
            for figure in found.figures
        ],
        "remarks": [*found.remarks, *found.log.remarks],
    }
