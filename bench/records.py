"""How long it takes to save the demo, to merge and to take it back, and how many edits a minute twenty-five people get in. Printed, never asserted."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

from halfshaft.files.folder import folder_files, read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.records import conversions, drafts, lines, revisions, saving, steps
from halfshaft.records.database import Database, open_database
from halfshaft.records.values import Line, Saved

TERN = Path(__file__).parents[1] / "examples" / "tern"
PEOPLE, EDITS = 25, 8


def now() -> datetime:
    return datetime.now(UTC)


def noted(row: int, note: str) -> Callable[[Conversion], Conversion]:
    def edit(conversion: Conversion) -> Conversion:
        removed = list(conversion.removed)
        removed[row] = removed[row].model_copy(update={"note": note})
        return conversion.model_copy(update={"removed": tuple(removed)})

    return edit


def saved(db: Database, main: Line, base: str, row: int, note: str) -> Saved:
    done = saving.edit(db, main.id, base, noted(row, note), by="bench", at=now(), reason="bench")
    assert isinstance(done, Saved)
    return done


def timed(words: str, work: Callable[[int], object], times: int = 15) -> None:
    """The middle of some runs."""
    seconds = []
    for number in range(times):
        begun = time.perf_counter()
        work(number)
        seconds.append(time.perf_counter() - begun)
    print(f"{words:<58} {1000 * sorted(seconds)[times // 2]:7.1f} ms")


def main() -> None:
    tern = read_folder(TERN)
    with tempfile.TemporaryDirectory() as place:
        db = open_database(f"sqlite:///{place}/records.db")
        main = conversions.create(db, tern, by="bench", at=now())
        start = main.head
        head = [start]
        timed("save of one cell of the demo", lambda number: head.append(saved(db, main, head[-1], 0, f"{number}").revision.id))
        timed("save of another on an earlier one, merged", lambda number: saved(db, main, start, 1 + number, "of another"), times=10)
        table = folder_files(tern)["wires.csv"].decode().replace("BU", "BLUE", 1)
        top = lines.line(db, main.id).head
        timed(
            "table kept as typed, with a fault",
            lambda _: drafts.save_texts(db, main.id, top, {"wires.csv": table}, by="bench", at=now(), reason=""),
        )
        timed("undo and redo", lambda _: steps.redo(db, main.id, steps.undo(db, main.id, top, by="b", at=now()).head, by="b", at=now()))
        timed("conversion that is held", lambda _: revisions.conversion_at(db, top))

        def read(_: int) -> None:
            db.held.clear()
            revisions.conversion_at(db, top)

        timed("conversion read from its files", read, times=5)
        many(db, tern)
        db.close()


def many(db: Database, tern: Conversion) -> None:
    """Everybody edits a row of their own, from what they last saw."""
    main = conversions.create(db, tern, by="bench", at=now())

    def work(person: int) -> None:
        seen = main.head
        for number in range(EDITS):
            seen = saved(db, main, seen, person % len(tern.removed), f"{person // len(tern.removed)} {number}").revision.id

    people = min(PEOPLE, len(tern.removed))
    begun = time.perf_counter()
    with ThreadPoolExecutor(people) as pool:
        list(pool.map(work, range(people)))
    print(
        f"{f'{people} people at once, {EDITS} edits each: one edit in':<58} {1000 * (time.perf_counter() - begun) / people / EDITS:7.1f} ms"
    )


if __name__ == "__main__":
    main()
