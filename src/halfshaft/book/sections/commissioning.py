"""The commissioning sheet: what is measured before and while the car is first switched on, with boxes to write in."""

from __future__ import annotations

from collections.abc import Sequence

from halfshaft.book.blocks import BOX, Block, Cell, bold, caution, column, heading, number, para, small, table
from halfshaft.book.frame import DEFER, HV_WARNING, Pages
from halfshaft.model.finding import HV_CAUTION
from halfshaft.model.reading import Reading
from halfshaft.studies.commissioning.records import Commissioning, Part, Stage
from halfshaft.studies.commissioning.words import expected_words, passes_words
from halfshaft.study import Study

SIZE = 8
STOP = "Stop. Go on only when every line above passes and is signed. A line that fails: put it right, then measure its part again from its first line. "
FIRST_USE = (
    "These sheets say where to look and what to expect, not how to work safely. Whoever measures here is trained and allowed to do so by the rules of the place, "
    "works with a second person, and uses instruments, leads and gloves made for these volts. "
)


def commissioning(study: Study, pages: Pages) -> None:
    """Each stage starts a page and ends with a stop."""
    sheet = study.commissioning
    for index, stage in enumerate(sheet.stages, start=1):
        blocks: list[Block] = [caution("WARNING", HV_WARNING), para(f"Stage {index} of {len(sheet.stages)}. {stage.before}")]
        if index == 1:
            blocks += _opening(sheet)
        for part in stage.parts:
            blocks += _part(sheet, part)
        if sheet.unsaid and stage.key == "12 V":
            blocks.append(small(f"No line: {'; '.join(sheet.unsaid)}."))
        blocks += [{**caution("WARNING", STOP + DEFER), "leads": True}, {"kind": "sign"}]
        pages.add(
            f"Commissioning {index}: {_title(stage)}", blocks, hv=True, every_page=f"{HV_CAUTION} Go on only when every line above passes."
        )


def _title(stage: Stage) -> str:
    return stage.title[:1].lower() + stage.title[1:]


def _opening(sheet: Commissioning) -> list[Block]:
    stages = ", then ".join(_title(stage) for stage in sheet.stages)
    return [
        para(FIRST_USE + DEFER),
        para(f"In this order: {stages}. Lines are numbered through. Write what the instrument shows, volts with their sign; “open” where it shows no reading; “yes” or “no” where the unit says so. The same lines to fill on a screen are in the folder tests, file electrics.csv; “halfshaft test” reads them back, says which pass, and names what is suspected."),
    ]  # fmt: skip


def _part(sheet: Commissioning, part: Part) -> list[Block]:
    """One table, with what all its lines share above it, and whence the values come below; a second one for lines that only a failure asks for."""
    readings = [step.reading for step in sheet.of(part.key)]
    blocks: list[Block] = [heading(part.title), small(f"Instrument: {part.instrument}. {part.note}".strip(), leads=True)]
    blocks += _table([item for item in readings if not item.is_optional], "")
    blocks += _table([item for item in readings if item.is_optional], "Only where a line above fails. ")
    return [*blocks, small(f"Basis: {'; '.join(dict.fromkeys(map(str, part.basis)))}.")]


def _shared(states: Sequence[str]) -> str:
    """The whole state where it is the same for all, else what all begin with, up to a semicolon."""
    if len(set(states)) == 1:
        return states[0]
    first = states[0].split("; ")[0]
    return first if all(state.split("; ")[0] == first for state in states) else ""


def _table(readings: Sequence[Reading], words: str) -> list[Block]:
    """Without the columns that would say the same in each line: that stands above it."""
    if not readings:
        return []
    shared = _shared([item.state for item in readings])
    is_one_place = len(readings) > 1 and len({item.between for item in readings}) == 1
    lead = words + (f"{shared[:1].upper()}{shared[1:]}. " if shared else "")
    lead += f"From {readings[0].between[0]} to {readings[0].between[1]}." if is_one_place else ""
    texts: list[tuple[str, list[str]]] = (
        [] if is_one_place else [("From", [item.between[0] for item in readings]), ("To", [item.between[1] for item in readings])]
    )
    if any(item.state != shared for item in readings):
        texts.append(("State", [item.state.removeprefix(shared).removeprefix("; ") for item in readings]))
    texts.append(("If not, look at", [item.suspect for item in readings]))
    columns = [
        column("No", "auto", "right"),
        *(column(name, _share(cells)) for name, cells in texts[:-1]),
        column("Expect", "auto", "right"),
        column("Passes", "auto"),
        column(texts[-1][0], _share(texts[-1][1])),
        column("Found", 14.0),
        column("By", 10.0),
        column("Date", 12.0),
    ]
    rows: list[list[Cell]] = [
        [
            str(item.number),
            *(bold(cells[index]) if name == "From" else cells[index] for name, cells in texts[:-1]),
            expected_words(item, figure),
            passes_words(item, figure),
            texts[-1][1][index],
            BOX,
            BOX,
            BOX,
        ]
        for index, item in enumerate(readings)
    ]
    return [*([para(lead.strip(), leads=True)] if lead else []), table(columns, rows, size=SIZE, group=0)]


# Words up to this length get a column just as wide as they are: narrower, their pins would run into the next.
SHORT = 16


def _share(cells: Sequence[str]) -> str:
    """Short words as they are; of the room for longer ones, as much as they fill: between their longest and their mean."""
    longest, mean = max(map(len, cells)), sum(map(len, cells)) / len(cells)
    return "auto" if longest <= SHORT else f"{min((longest + mean) / 2, 40.0):.0f}fr"


def figure(value: float) -> str:
    """Three figures, and no decimals that a hand-held meter does not show."""
    size = abs(value)
    decimals = 0 if size >= 1000 or value == round(value) else 1 if size >= 10 else 2
    return number(value, decimals)
