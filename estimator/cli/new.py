"""`estimator new`: from what is said at the counter to a job file and a drafted workbook."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.draft import write_draft
from estimator.cli.keys import KeyFile, key_from
from estimator.cli.output import counted, out, say
from estimator.cli.today import EntryDate, day_of
from estimator.errors import InputError, InputProblem
from estimator.records.fields import UNKNOWN_FAMILY

if TYPE_CHECKING:
    from estimator.intake.load_job import JobFile
    from estimator.workbook.seal import SealKey

EXAMPLES = (
    'estimator new demo --customer "Wren Castellow" --car longcourt --concern "Long pedal" --job "rebuild front caliper, all"',
    'estimator new demo --customer "Ida Moss" --new-car "Vardowe Farcourt" --fluid glycol --concern "Stood for nine years"'
    ' --job "brake system overhaul"',
)


def _names_of_jobs(incomplete: str) -> list[str]:
    """What shell completion offers: the jobs and packages of the present folder's tables, else of the program's."""
    from estimator.intake.labor_tables import FOLDER_NAME, load_tables_and_packages, packaged_tables
    from estimator.intake.plain_words import meant

    beside = Path(FOLDER_NAME)
    tables, packages = load_tables_and_packages(beside if beside.is_dir() else packaged_tables())
    names: dict[str, tuple[str, ...]] = {row.package: () for row in packages}
    names |= {row.job_id.replace("-", " "): (row.title,) for row in tables.jobs}
    return meant(incomplete, names) if incomplete else list(names)


def _names_of_cars(incomplete: str) -> list[str]:
    from estimator.intake.new_job import cars_in
    from estimator.intake.plain_words import meant

    names = {path.stem: names for path, names in cars_in(Path()).items()}
    return meant(incomplete, names) if incomplete else list(names)


def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder of jobs, with shop.toml.")] = Path(),
    customer: Annotated[str, typer.Option("--customer", metavar="NAME", help="Who pays.")] = "",
    car: Annotated[
        str,
        typer.Option(
            "--car",
            metavar="NAME",
            help="A car on file (in DIR/cars, else in DIR): words of its name, plate or chassis number, or its file.",
            autocompletion=_names_of_cars,
        ),
    ] = "",
    new_car: Annotated[
        str, typer.Option("--new-car", metavar="NAME", help="Begin a file for a car of which little is known.")
    ] = "",
    variant: Annotated[str, typer.Option("--variant", metavar="A|B", help="Of a new car.")] = "A",
    fluid: Annotated[
        str, typer.Option("--fluid", metavar="FAMILY", help="Of a new car: glycol, mineral, silicone, not known.")
    ] = "",
    systems: Annotated[int, typer.Option("--systems", min=1, max=2, help="Of a new car: how many.")] = 2,
    concern: Annotated[str, typer.Option("--concern", metavar="TEXT", help="What the customer says.")] = "",
    job: Annotated[
        list[str] | None,
        typer.Option(
            "--job",
            metavar="WORDS",
            help='A job and its places ("front pads", "rear calip exch, rear left", "pump reseal, all"), or a package '
            '("annual service"); repeatable.',
            autocompletion=_names_of_jobs,
        ),
    ] = None,
    check: Annotated[
        list[str] | None, typer.Option("--check", metavar="WORDS", help="A check made on request; repeatable.")
    ] = None,
    document: Annotated[
        str, typer.Option("--document", metavar="NUMBER", help="Document number (default: the next free one).")
    ] = "",
    phone: Annotated[str, typer.Option("--phone", help="Of the customer.")] = "",
    email: Annotated[str, typer.Option("--email", help="Of the customer.")] = "",
    odometer: Annotated[str, typer.Option("--odometer", metavar="TEXT")] = "",
    books: Annotated[
        Path | None, typer.Option("--books", metavar="BOOKS", help="Books that hold numbers (default: DIR/books).")
    ] = None,
    shop: Annotated[str, typer.Option("--shop", metavar="SHOP.toml", help="In DIR.")] = "shop.toml",
    tables: Annotated[
        Path | None, typer.Option("--tables", metavar="TABLES", help="Default: DIR/labor_tables.")
    ] = None,
    date: EntryDate = None,
    seal: KeyFile = None,
) -> int:
    """Write the job file and the workbook of a new job.

    Questions follow for what is missing, at a terminal. The document number is the next free one; one in use is refused.
    """
    from estimator.cli.counter import asked, car_of, needed, take_jobs
    from estimator.intake.document_numbers import in_use, next_free
    from estimator.intake.labor_tables import FOLDER_NAME, load_tables_and_packages
    from estimator.intake.load_job import JobFile
    from estimator.intake.new_job import CARS, TRAILER, Order, car_text, file_name_of, job_text, path_from, worrying
    from estimator.intake.toml_files import load_toml, parsed_text, validated
    from estimator.records import Car, Shop

    key, day = key_from(seal), day_of(date)
    needed(customer=customer, car=car or new_car, concern=concern, job=job or check, fluid=fluid or not new_car)
    load_toml(folder / shop, Shop)
    held, packages = load_tables_and_packages(tables or folder / FOLDER_NAME)
    known = _numbers(folder, books)
    customer = customer or asked("Customer")
    files: dict[Path, str] = {}
    if new_car:
        cars = folder / CARS if (folder / CARS).is_dir() else folder
        path = cars / file_name_of(new_car)
        family = fluid or asked("Fluid by the label on the reservoir (glycol, mineral, silicone, not known)")
        files[path] = car_text(new_car, variant, family, systems)
        of_car = validated(parsed_text(files[path], path), Car, path)
    else:
        path = car_of(car, folder)
        of_car = load_toml(path, Car)
    concern = concern or asked("Concern, in the customer's words")
    order = Order(held, packages, of_car)
    titles = {job_id: row.title for job_id, row in order.jobs.items()}
    take_jobs(order, job or [], check or [], titles)
    free = next_free(known, day.year)
    document = document or (asked("Document number", free) if sys.stdin.isatty() else free)
    if where := in_use(document, known):
        found, allowed = f"{document} is in use: {where}", f"a number is given once; the next free one is {free}"
        raise InputError([InputProblem("--document", "the number", found, allowed)])
    said = {
        "document": document,
        "revision": 1,
        "date": day,
        "shop": shop,
        "car": path_from(folder, path),
        "tables": path_from(folder, tables) if tables else "",
        "odometer": odometer,
        "complaint": concern,
        "checks": order.asked.checks,
        "customer": {"name": customer, "phone": phone, "email": email},
    }
    target = folder / f"{document}.toml"
    files[target] = job_text(said, order.jobs_asked(), titles)
    written = validated(parsed_text(files[target], target), JobFile, target)
    workbook = folder / f"{document}-r1.xlsx"
    lines = _write_all(files, written, target, workbook, key)
    for title in order.asked.left_out:
        say(f"not a job for this car: {title}")
    if of_car.fluid.family == UNKNOWN_FAMILY:
        say("fluid family not known: no part that meets fluid is in the estimate yet")
    if worrying(concern):
        say(f"tell the customer: {TRAILER}")
    for done in (*files, workbook):
        out(str(done))
    say(f"{document}: {counted(lines, 'job line')}; next: measure the car, with estimator boxes {workbook}")
    return 0


def _numbers(folder: Path, books: Path | None) -> dict[str, str]:
    """The document numbers of the folder and the books, each with where it stands."""
    from estimator.books.listing import list_books
    from estimator.books.register import FILE_NAME
    from estimator.intake.document_numbers import numbers_in

    place = books or folder / "books"
    posted = list_books(place).documents if books or (place / FILE_NAME).is_file() else ()
    return numbers_in(folder) | {item.document: f"posted in {place}" for item in posted}


def _write_all(files: Mapping[Path, str], written: JobFile, job: Path, workbook: Path, key: SealKey | None) -> int:
    """Write the files of a job and its workbook, all or none. Returns how many job lines it has."""
    from estimator.files import refuse_output, write_whole
    from estimator.intake.load_job import load_written

    for path in (*files, workbook):
        refuse_output(path)
    made: list[Path] = []
    try:
        for path, text in files.items():
            write_whole(path, text.encode("utf-8"))
            made.append(path)
        record, _ = load_written(written, job)
        write_draft(record, workbook, key)
    except BaseException:
        for path in made:
            path.unlink(missing_ok=True)
        raise
    return len(record.job.jobs)
