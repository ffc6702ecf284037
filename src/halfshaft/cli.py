"""Commands that read, call and print. Whatever takes long to load is loaded by the command that needs it."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from halfshaft import __version__

if TYPE_CHECKING:
    from halfshaft.model.finding import Finding
    from halfshaft.records.values import Role
    from halfshaft.studies.arrangement.records import Front
    from halfshaft.studies.changes.records import Changes
    from halfshaft.study import Study

STOPS, CANNOT_READ = 1, 2
STUDIES = (
    "mass",
    "handling",
    "mounts",
    "spaces",
    "looms",
    "wires",
    "low_voltage",
    "pack",
    "high_voltage",
    "cable",
    "protection",
    "fault_finder",
    "hv_safety",
    "bus",
    "boards",
    "parts",
    "batch",
    "commissioning",
    "tests",
    "sensing",
    "enclosures",
    "findings",
)
WORDS = {"stop": "STOP", "fix": "put right", "note": "know"}


def main() -> None:
    """Run, and let no traceback reach a user."""
    try:
        commands(standalone_mode=False)
    except click.ClickException as error:
        error.show()
        sys.exit(CANNOT_READ)
    except (click.Abort, KeyboardInterrupt):
        _leave("stopped; nothing was changed")
    except BrokenPipeError:
        # Whoever read our output has read enough.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except SystemExit:
        raise
    except BaseException as error:
        _leave(_words_for(error))


def _words_for(error: BaseException) -> str:
    from halfshaft.errors import HalfshaftError

    if isinstance(error, HalfshaftError):
        return str(error)
    if isinstance(error, MemoryError):
        return "there is not enough memory for this"
    if isinstance(error, OSError):
        return f"{error.filename or 'a file'}: {error.strerror or error}"
    import traceback

    place = traceback.extract_tb(error.__traceback__)[-1]
    return (
        f"a mistake in Halfshaft itself ({type(error).__name__}: {error}, {Path(place.filename).name} line {place.lineno}); "
        "nothing was changed. Please report it with the folder that caused it."
    )


def _leave(words: str) -> NoReturn:
    click.echo(words, err=True)
    sys.exit(CANNOT_READ)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="halfshaft")
def commands() -> None:
    """From the description of one electric conversion to everything a workshop needs to build it.

    A conversion is a folder of plain text. Begin with `halfshaft new FOLDER`, look at it with `halfshaft check FOLDER`,
    and make its papers with `halfshaft book FOLDER --to OUT`.
    """


@commands.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--blank", is_flag=True, help="Commented, empty tables for a car of your own instead of the demo.")
def new(folder: Path, blank: bool) -> None:
    """Make FOLDER with a conversion to start from: the demo car, or empty tables."""
    from halfshaft.files.start import start_files
    from halfshaft.files.whole import write_whole

    write_whole(start_files(blank=blank), folder)
    click.echo(f"made {folder}")
    click.echo(f"next: halfshaft check {folder}" if not blank else "next: docs/your-own-car.md says in which order to fill it")


@commands.command()
@click.argument("folder", type=click.Path(path_type=Path))
def check(folder: Path) -> None:
    """Say what is wrong with the design in FOLDER.

    Exit 0: nothing stops the work. 1: something does. 2: the folder cannot be read. Boards are not laid here and
    cuts not planned, since those are searches: `halfshaft show FOLDER findings` and the book do that, and say where a sheet is
    too small or the stock runs short.
    """
    findings = _study(folder).design_findings
    for finding in findings:
        click.echo(_finding_words(finding))
    counts = {level: sum(finding.level == level for finding in findings) for level in WORDS}
    click.echo(f"{counts['stop']} that stop, {counts['fix']} to put right, {counts['note']} to know; boards not laid, cuts not planned")
    if counts["stop"]:
        sys.exit(STOPS)


def _finding_words(finding: Finding) -> str:
    measure = ""
    if finding.value is not None and finding.limit is not None:
        measure = f" [{finding.value:.4g} against {finding.limit:.4g} {finding.unit}]"
    caution = f"\n           {finding.caution}" if finding.caution and finding.level != "note" else ""
    return f"{WORDS[finding.level]:>9}  {finding.text}{measure}\n           {finding.rule}; {finding.basis}{caution}"


@commands.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.argument("study", type=click.Choice(STUDIES))
@click.option("--json", "as_json", is_flag=True, help="Everything the study found, for another program.")
def show(folder: Path, study: str, as_json: bool) -> None:
    """Print what one STUDY has to say about the conversion in FOLDER."""
    from halfshaft.show import as_plain, as_words

    found = _study(folder)
    if study in ("boards", "findings"):
        _progress()("laying the boards")
        _ = found.boards
    if as_json:
        import json

        click.echo(json.dumps(as_plain(found, study), indent=1, ensure_ascii=False))
    else:
        click.echo(as_words(found, study))


@commands.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--to", "target", required=True, type=click.Path(path_type=Path), help="Folder for the book; the last book there is replaced."
)
@click.option(
    "--bar-x", type=click.FloatRange(80, 120), default=100.0, show_default=True, help="What the 100 mm bar in x measured on your print."
)
@click.option(
    "--bar-y", type=click.FloatRange(80, 120), default=100.0, show_default=True, help="What the 100 mm bar in y measured on your print."
)
@click.option("--against", "earlier", type=click.Path(path_type=Path), help="Folder with the car as it was: the book says what changed.")
def book(folder: Path, target: Path, bar_x: float, bar_y: float, earlier: Path | None) -> None:
    """Write the build book of FOLDER: papers, boards at full size, labels, lists."""
    from halfshaft.book.build import CONTENTS, build_book, digest_of
    from halfshaft.drawings.tiles import Correction
    from halfshaft.files.folder import folder_files
    from halfshaft.files.whole import make_sure, write_whole

    make_sure(target, replaces=CONTENTS)
    study, changes = _study(folder), None
    if earlier is not None:
        from halfshaft.compare import compare as compared

        before, study = _both_studies(earlier, folder)
        changes = compared(before, study, say=_progress())
    digest = digest_of(folder_files(study.conversion))
    made = build_book(study, digest=digest, correction=Correction(bar_x, bar_y), say=_progress(), changes=changes)
    write_whole(made.files, target, replaces=CONTENTS)
    boards = [item for item in made.items if item.kind == "board" and item.file.endswith(".pdf")]
    click.echo(f"{target / 'book.pdf'}: the book to read")
    click.echo(f"{target / 'boards'}: {len(boards)} boards at full size, and the same on A4 and A3")
    click.echo(f"{target}: {len(made.items)} files in all, listed in contents.json")


@commands.command()
@click.option(
    "--host", default="127.0.0.1", show_default=True, help="Address to answer at; for any but this computer's own an account is wanted."
)
@click.option("--port", default=8460, show_default=True, type=click.IntRange(1, 65_535), help="Port to answer at.")
@click.option("--database", help="Where the records are: sqlite:////home/me/shop.db or postgresql://...; without it, in your data folder.")
def serve(host: str, port: int, database: str | None) -> None:
    """Answer as a web app on this computer, for a browser: http://127.0.0.1:8460."""
    from halfshaft.web.serve import serve as answer

    answer(host, port, database)


@commands.command()
@click.argument("name")
@click.option(
    "--role",
    type=click.Choice(["look", "build", "design", "run"]),
    default="design",
    show_default=True,
    help="What they may do; each may do what those before it may.",
)
@click.option("--database", help="Where the records are; without it, in your data folder.")
@click.password_option(help="Asked for where it is not given.")
def account(name: str, role: Role, database: str | None, password: str) -> None:
    """Make an account by which NAME signs in where the app answers to others.

    look: see everything. build: lay and test as well. design: change conversions. run: keep accounts.
    """
    from halfshaft.records.people import create_account
    from halfshaft.web.serve import now, open_records

    made = create_account(open_records(database), name, password, role, at=now())
    click.echo(f"{made.name} may {made.role}")


@commands.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.argument("loom")
def keep(folder: Path, loom: str) -> None:
    """Keep the board of LOOM in FOLDER as it is laid now, because it is being drilled.

    Every stretch and every hole is written into board_ways.csv and board_pegs.csv. From then on a change of the
    conversion moves only what it must, and the findings say which pegs to drill and which to leave empty.
    """
    from halfshaft.errors import HalfshaftError
    from halfshaft.files.folder import folder_files
    from halfshaft.files.whole import put_files
    from halfshaft.model.references import nearest

    study = _study(folder)
    _progress()("laying the boards")
    if loom not in study.boards:
        raise HalfshaftError(f"no loom {loom!r} has a board{nearest(loom, study.boards)}")
    kept = folder_files(study.with_board_kept(loom))
    put_files({name: kept[name] for name in ("board_ways.csv", "board_pegs.csv")}, folder)
    click.echo(f"kept board {loom}: {len(study.boards[loom].stretches)} stretches, {len(study.boards[loom].pegs)} pegs")


@commands.command()
@click.argument("folder_a", type=click.Path(path_type=Path))
@click.argument("folder_b", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Everything that was found, for another program.")
@click.option(
    "--to", "target", type=click.Path(path_type=Path), help="Folder for the report as PDF and spreadsheet; the last one there is replaced."
)
def compare(folder_a: Path, folder_b: Path, as_json: bool, target: Path | None) -> None:
    """Say what follows when the car of FOLDER_A is to become that of FOLDER_B.

    FOLDER_A describes the car as it was, or as it is built already, FOLDER_B as it is to be. Printed is what it does to the car,
    then what must be done, in the order of work. Exit 0: nothing that is built changes. 1: something must be made again. 2: a
    folder cannot be read.
    """
    from halfshaft.compare import compare as compared
    from halfshaft.show.changes import changes_plain, changes_words

    if target is not None:
        _sure_of_report(target)
    before, after = _both_studies(folder_a, folder_b)
    changes = compared(before, after, say=_progress())
    if target is not None:
        _write_report(target, after, changes)
    if as_json:
        import json

        click.echo(json.dumps(changes_plain(changes), indent=1, ensure_ascii=False))
    else:
        click.echo(changes_words(changes))
    if changes.is_built_otherwise:
        sys.exit(STOPS)


@commands.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--effort", type=click.FloatRange(0, 3600), default=10.0, show_default=True, help="Seconds of proof a space; 0: first answers only."
)
@click.option("--json", "as_json", is_flag=True, help="Everything that was found, for another program.")
@click.option("--all", "show_all", is_flag=True, help="Every best arrangement, not a choice of them.")
@click.option("--picture", type=click.Path(path_type=Path), help="Draw them into this file (.svg) that is not there yet.")
@click.option("--cluster", metavar="ADDRESS", help="Search on the workers of the Dask scheduler at this address.")
@click.option("--take", "number", type=click.IntRange(1), metavar="K", help="Write arrangement number K into FOLDER.")
def arrange(
    folder: Path, effort: float, as_json: bool, show_all: bool, picture: Path | None, cluster: str | None, number: int | None
) -> None:
    """Find the best arrangements of the battery of FOLDER over its spaces, and take one.

    Every best one has a number. The same folder and effort give the same numbers, so look first, then `--take` one;
    what it changes and what is left to describe is printed.
    """
    from halfshaft.arrange_words import as_plain, as_words
    from halfshaft.files.whole import write_file
    from halfshaft.workers import workers

    study = _study(folder)
    with workers(cluster) as executor:
        front = study.arrange(executor=executor, effort=effort, say=_progress())
    if picture is not None:
        from halfshaft.drawings.front_picture import front_picture
        from halfshaft.pens.svg import svg

        write_file(svg(front_picture(front)).encode(), picture)
    if number is not None:
        _take(folder, study, front, number)
    elif as_json:
        import json

        click.echo(json.dumps(as_plain(front), indent=1, ensure_ascii=False))
    else:
        click.echo(as_words(front, show_all=show_all))
    if picture is not None:
        click.echo(f"drawn: {picture}", err=True)
    if not front.arrangements:
        sys.exit(STOPS)


def _take(folder: Path, study: Study, front: Front, number: int) -> None:
    from halfshaft.arrange_words import taken_words
    from halfshaft.errors import HalfshaftError
    from halfshaft.files.folder import folder_files
    from halfshaft.files.whole import put_files
    from halfshaft.study import Study

    if number > len(front.arrangements):
        raise HalfshaftError(f"there is no arrangement {number}: there are {len(front.arrangements)}. {front.nearest}".rstrip())
    taken = study.taken(front.arrangements[number - 1])
    before, after = folder_files(study.conversion), folder_files(taken.conversion)
    put_files(
        {name: data for name, data in after.items() if before.get(name) != data},
        folder,
        remove=[name for name in before if name not in after],
    )
    click.echo(taken_words(front.arrangements[number - 1], taken))
    for finding in Study(taken.conversion).new_stops(study):
        click.echo(f"this stops the work: {finding.text}")
    click.echo(f"next: halfshaft check {folder}")


@commands.command("test")
@click.argument("folder", type=click.Path(path_type=Path))
@click.argument("filled", type=click.Path(path_type=Path))
def test_(folder: Path, filled: Path) -> None:
    """Read a FILLED test sheet of FOLDER, of a loom or of the whole electrics, and name the likely fault.

    FILLED is a CSV of the book's folder `tests` with its column `found` filled. Exit 0: every line is measured and
    passes. 1: a line fails, or is not measured. 2: the folder or the sheet cannot be read.
    """
    from halfshaft.files.filled import read_filled
    from halfshaft.show.readings import diagnosis_words

    study = _study(folder)
    measured = read_filled(filled, study.test_sheets)
    diagnoses = [study.diagnosis(name, lines) for name, lines in measured.items()]
    click.echo("\n\n".join(map(diagnosis_words, diagnoses)))
    if not all(diagnosis.is_good for diagnosis in diagnoses):
        sys.exit(STOPS)


@commands.group()
def sheet() -> None:
    """The same conversion as one .xlsx workbook, there and back."""


@sheet.command("out")
@click.argument("folder", type=click.Path(path_type=Path))
@click.argument("workbook", type=click.Path(path_type=Path))
def sheet_out(folder: Path, workbook: Path) -> None:
    """Write the conversion in FOLDER as WORKBOOK (a file that is not there yet)."""
    from halfshaft.files.folder import read_folder
    from halfshaft.files.whole import write_file
    from halfshaft.files.workbook import write_workbook

    write_file(write_workbook(read_folder(folder)), workbook)
    click.echo(f"made {workbook}")


@sheet.command("in")
@click.argument("workbook", type=click.Path(path_type=Path))
@click.argument("folder", type=click.Path(path_type=Path))
def sheet_in(workbook: Path, folder: Path) -> None:
    """Write the conversion in WORKBOOK as FOLDER (a folder that is not there yet)."""
    from halfshaft.files.folder import folder_files
    from halfshaft.files.whole import write_whole
    from halfshaft.files.workbook import read_workbook

    write_whole(folder_files(read_workbook(workbook)), folder)
    click.echo(f"made {folder}")


def _study(folder: Path) -> Study:
    from halfshaft.files.folder import read_folder
    from halfshaft.study import Study

    return Study(read_folder(folder))


def _both_studies(folder_a: Path, folder_b: Path) -> tuple[Study, Study]:
    """Two folders; where neither can be read, the faults of both are said at once, each with its folder."""
    from halfshaft.errors import HalfshaftError

    studies, faults = [], []
    for folder in (folder_a, folder_b):
        try:
            studies.append(_study(folder))
        except HalfshaftError as error:
            faults.append("\n".join(f"{folder}: {words}" for words in str(error).splitlines()))
    if faults:
        raise HalfshaftError("\n".join(faults))
    return studies[0], studies[1]


def _sure_of_report(target: Path) -> None:
    from halfshaft.book.build import CONTENTS
    from halfshaft.files.whole import make_sure

    make_sure(target, replaces=CONTENTS)


def _write_report(target: Path, study: Study, changes: Changes) -> None:
    from halfshaft.book.build import CONTENTS, digest_of
    from halfshaft.book.report import change_report
    from halfshaft.files.folder import folder_files
    from halfshaft.files.whole import write_whole

    report = change_report(study, changes, digest=digest_of(folder_files(study.conversion)))
    write_whole(report.files, target, replaces=CONTENTS)
    click.echo(f"{target / 'changes.pdf'}: the report to work through", err=True)


def _progress() -> Callable[[str], Any]:
    """Lines on the error channel, where they mix with nothing."""

    def say(words: str) -> None:
        click.echo(f"  {words} ...", err=True)

    return say
