"""The command `estimator`: its commands, and the one place where a refusal becomes words and an exit status."""

from __future__ import annotations

import contextlib
import io
import logging
import os
import sys
import tempfile
import time
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from estimator import __version__
from estimator.cli import (
    books,
    boxes,
    check,
    close,
    core,
    demo,
    draft,
    fill,
    history,
    jobs,
    letter,
    limits,
    log,
    new,
    pay,
    post,
    redraft,
    start,
    void,
)
from estimator.cli.output import CAUTION, say, write
from estimator.errors import EXIT_CANNOT_WRITE, EXIT_FAULT, EXIT_INTERRUPTED, EstimatorError, InputError, Refused

LOG = logging.getLogger("estimator")
COMMANDS = (
    *(demo, start, new, draft, boxes, fill, redraft, check, jobs, letter, limits, log, history),
    *(post, pay, books, core, void, close),
)

app = typer.Typer(
    add_completion=True,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)


def _print_version(wanted: bool) -> None:
    if wanted:
        write(f"estimator {__version__}\n")
        raise typer.Exit


@app.callback(
    help="Inspection, limits, labor hours, prices and books for stored-pressure hydraulic brakes, in one workbook."
    f"\n\n{CAUTION}",
    epilog="\b\nExamples:\n  estimator demo --out demo\n  estimator check demo\n\n\b\n"
    "Exit status: 0 no findings (notes allowed), 1 findings, 2 usage error,\n"
    "65 invalid input, 66 file not found, 70 internal error, 73 cannot write,\n130 interrupted.",
)
def _estimator(
    version: Annotated[
        bool, typer.Option("--version", callback=_print_version, is_eager=True, help="Print the version and exit.")
    ] = False,
    debug: Annotated[bool, typer.Option("--debug", help="Write a debug log (may stand anywhere on the line).")] = False,
) -> None: ...


for _module in COMMANDS:
    _name = _module.__name__.rsplit(".", 1)[1]
    _examples = "".join(f"\n  {example}" for example in _module.EXAMPLES)
    app.command(_name, epilog=f"\b\n{'Example' if len(_module.EXAMPLES) == 1 else 'Examples'}:{_examples}")(
        getattr(_module, _name)
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command. Returns its exit status; nothing is raised."""
    words = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    log = _start_log(words)
    status = 0
    try:
        status = _run(words)
        sys.stdout.flush()
    except OSError as error:
        if not isinstance(error, BrokenPipeError) and status != EXIT_CANNOT_WRITE:
            say(f"standard output cannot be written: {error.strerror}. Make room, or send it elsewhere.")
        status = EXIT_CANNOT_WRITE
        # Python must not try again at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    LOG.info("exit status %s", status)
    for handler in LOG.handlers:
        handler.close()
    if log:
        say(f"log: {log}")
    return status


def _run(words: list[str]) -> int:
    try:
        status = app([word for word in words if word != "--debug"], prog_name="estimator", standalone_mode=False)
        if status == EXIT_INTERRUPTED:  # newer versions of typer turn an interrupt into this status by themselves
            raise KeyboardInterrupt
        return status if isinstance(status, int) else 0
    except EstimatorError as refusal:
        LOG.info("refused", exc_info=True)
        return _refused(refusal)
    except (KeyboardInterrupt, typer.Abort):
        say("interrupted: files being written are complete or absent")
        return EXIT_INTERRUPTED
    except Exception as error:
        if hasattr(error, "show") and hasattr(error, "exit_code"):  # what typer says of a wrong command line
            error.show()
            return int(error.exit_code)
        return _fault(error)


def _refused(refusal: EstimatorError) -> int:
    for finding in refusal.findings if isinstance(refusal, Refused) else ():
        say(finding.line())
    for line in str(refusal).splitlines():
        say(line)
    if isinstance(refusal, InputError) and len(refusal.problems) > 1:
        say(f"{len(refusal.problems)} errors; nothing was written")
    return refusal.exit_status


def _fault(error: Exception) -> int:
    """The last resort: a fault of the program, in words, with a log that helps to mend it."""
    LOG.error("fault", exc_info=True)
    text = f"estimator {__version__}, Python {sys.version}\n{sys.argv}\n\n{traceback.format_exc()}"
    say(f"internal error ({type(error).__name__}: {error})")
    with contextlib.suppress(OSError):
        handle, name = tempfile.mkstemp(prefix="estimator-fault-", suffix=".log")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        say(f"Report it with this log: {name}")
    return EXIT_FAULT


def _start_log(words: list[str]) -> Path | None:
    """Where `--debug` writes: the present folder, or the one for temporary files where that can't be written."""
    LOG.handlers.clear()
    LOG.addHandler(logging.NullHandler())
    LOG.propagate = False
    if "--debug" not in words:
        return None
    name = f"estimator-debug-{time.strftime('%Y%m%d-%H%M%S')}-{os.getpid()}.log"
    for folder in (Path.cwd(), Path(tempfile.gettempdir())):
        with contextlib.suppress(OSError):
            handler = logging.FileHandler(folder / name, encoding="utf-8")
            handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
            LOG.addHandler(handler)
            LOG.setLevel(logging.DEBUG)
            LOG.info("estimator %s, Python %s, %s", __version__, sys.version.split()[0], words)
            return folder / name
    return None
