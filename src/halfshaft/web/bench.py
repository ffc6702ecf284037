"""The bench: laying and testing line by line. What is said there is kept with the revision, each step once, whoever sends it again."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Request
from fastapi.responses import Response
from pydantic import AwareDatetime, BaseModel, Field

from halfshaft.files.filled import found_value
from halfshaft.model.finding import HV_CAUTION
from halfshaft.model.reading import Measured
from halfshaft.records import laying
from halfshaft.records.values import Done, NotThere, RecordError, Step, Work
from halfshaft.show.readings import diagnosis_words
from halfshaft.studies.commissioning.records import SHEET
from halfshaft.studies.looms.faults import Diagnosis
from halfshaft.study import Study
from halfshaft.web.api import Open, ShelfHere
from halfshaft.web.assets import Assets
from halfshaft.web.bench_sheets import (
    STAGE,
    Bench,
    Said,
    WorkSheet,
    laying_items,
    laying_sheet,
    note_of,
    owner_of,
    readings_of,
    said_of,
    testing_items,
    testing_sheet,
    titles,
)  # fmt: skip
from halfshaft.web.contents import BENCH, BY_SLUG
from halfshaft.web.doors import session_of
from halfshaft.web.pages import Frame, Selected, render
from halfshaft.web.shelf import HERE, Opened, Shelf, now

router = APIRouter(prefix="/api", tags=["bench"])
pages = APIRouter(include_in_schema=False)
# A tablet's clock may go before ours; beyond this its time is not believed.
AHEAD = timedelta(minutes=5)
WORK_WORDS = {"lay": "Lay", "test": "Test"}
Sheet = Annotated[str, Path(pattern=r"^[A-Za-z0-9][A-Za-z0-9_+-]{0,40}$", description="mark of a loom, or `bus`, `electrics`, `sense-B1`")]


class Told(BaseModel):
    """One thing that was said at the bench. `id` is made by whoever says it: sent again, it counts once."""

    id: str = Field(min_length=8, max_length=64, pattern=r"^[A-Za-z0-9-]+$")
    item: str = Field(min_length=1, max_length=80, description="a wire's ref; the number of a line; `stage 12 V`")
    state: Done
    found: str = Field("", max_length=40, description="what the meter showed: `12.3`, `open`, `+3.65`, `yes`; only when testing")
    note: str = Field("", max_length=1000)
    by: str = Field("", max_length=80, description="who, where nobody signs in")
    at: AwareDatetime


class SaidOut(BaseModel):
    """What is kept of every item of a sheet after a step."""

    is_new: bool
    said: dict[str, Said]


class SuspectOut(BaseModel):
    """A likely fault, and where to look."""

    about: list[str]
    text: str
    look: str


class FailedOut(BaseModel):
    """A line out of limits."""

    number: int
    between: tuple[str, str]
    found: str


class DiagnosisOut(BaseModel):
    """What a filled sheet says: which lines fail, and the faults that explain them; of several explanations one is true."""

    passed: int
    failed: list[FailedOut]
    not_measured: list[int]
    explanations: list[list[SuspectOut]]
    unexplained: list[int]
    unexpected: list[int]
    told: list[str]
    then: str
    caution: str
    words: str

    @classmethod
    def of(cls, found: Diagnosis, *, typed: dict[int, str], caution: str) -> DiagnosisOut:
        """From the study."""
        return cls(
            passed=len(found.passed),
            failed=[FailedOut(number=item.reading.number, between=item.reading.between, found=f"{typed[item.reading.number]} {item.reading.unit}") for item in found.failed],
            not_measured=[item.number for item in found.not_measured],
            explanations=[[SuspectOut(about=list(one.about), text=one.text, look=one.look) for one in item.suspects] for item in found.explanations],
            unexplained=[item.reading.number for item in found.unexplained], unexpected=[item.reading.number for item in found.unexpected],
            told=list(found.told), then=_then(found), caution=caution if found.failed else "", words=diagnosis_words(found),
        )  # fmt: skip


def _then(found: Diagnosis) -> str:
    """What to do after a fault is mended."""
    whole = "from the first line of its part on" if found.loom == SHEET else "the whole loom"
    return f"Put it right, then measure {whole} again: one fault can hide another." if found.failed else ""


@router.get("/conversions/{ref}/bench")
def benches(shelf: ShelfHere, one: Open) -> list[Bench]:
    """What can be worked through, and how far it is at this revision."""
    return benches_of(shelf, one)


def benches_of(shelf: Shelf, one: Opened) -> list[Bench]:
    """The same for a page."""
    latest: dict[tuple[str, str], dict[str, str]] = {}
    for step in laying.log(shelf.db, one.entry.ref):
        if step.revision == one.revision.id and not step.item.startswith(STAGE):
            latest.setdefault((step.loom, step.work), {})[step.item] = step.state
    return [
        Bench(
            sheet=sheet, name=name, work=work, revision=one.revision.id, of=count,
            done=sum(state == "done" for state in latest.get((sheet, work), {}).values()),
            problems=sum(state == "problem" for state in latest.get((sheet, work), {}).values()),
        )
        for sheet, name, work, count in titles(one.study)
        if count
    ]  # fmt: skip


def begun_elsewhere(shelf: Shelf, one: Opened) -> list[tuple[str, Work, str, int, datetime]]:
    """Work that was begun at other revisions: mark, kind of work, revision, how many items are done, when last; latest first."""
    found: dict[tuple[str, Work, str], tuple[dict[str, str], datetime]] = {}
    for step in laying.log(shelf.db, one.entry.ref):
        if step.revision != one.revision.id:
            states, _ = found.get((step.loom, step.work, step.revision), ({}, step.at))
            found[step.loom, step.work, step.revision] = {**states, step.item: step.state}, step.at
    rows = [(*key, sum(state == "done" for state in states.values()), at) for key, (states, at) in found.items()]
    return sorted(rows, key=lambda row: row[-1], reverse=True)


@router.get("/conversions/{ref}/bench/{sheet}/{work}")
def work_sheet(shelf: ShelfHere, one: Open, sheet: Sheet, work: Work) -> WorkSheet:
    """Everything that the bench needs to go on by itself: lines, faces, the board, and what was said so far."""
    make = laying_sheet if work == "lay" else testing_sheet
    return make(one.held, sheet, conversion=one.entry.ref, revision=one.revision.id, said=_said(shelf, one, sheet, work))


@router.post("/conversions/{ref}/bench/{sheet}/{work}/steps")
def say(request: Request, shelf: ShelfHere, one: Open, sheet: Sheet, work: Work, told: Told) -> SaidOut:
    """Keep one step. Of a reading the limits decide whether it passes; `open` takes back what was said of an item."""
    items = laying_items(one.study, sheet) if work == "lay" else testing_items(one.study, sheet)
    if told.item not in items:
        raise NotThere(f"{sheet} has no {told.item} in this revision")
    session = session_of(request)
    step = Step(
        id=told.id, revision=one.revision.id, loom=sheet, work=work, item=told.item, state=_judged(one.study, sheet, work, told),
        by=session.account.name if session else told.by.strip() or HERE, at=min(told.at, now() + AHEAD), note=note_of(work, told.found.strip(), told.note.strip()),
    )  # fmt: skip
    is_new = laying.record(shelf.db, step) == 1
    return SaidOut(is_new=is_new, said=_said(shelf, one, sheet, work))


def _judged(study: Study, sheet: str, work: Work, told: Told) -> Done:
    """Done or a problem: what was found decides, where something was."""
    if work == "lay" or not told.found.strip() or told.item.startswith(STAGE) or told.state == "open":
        if work == "test" and told.state == "done" and not told.item.startswith(STAGE):
            raise RecordError("a line is done by what the meter shows: send `found`")
        return told.state
    reading = next(item for item in readings_of(study, sheet) if str(item.number) == told.item)
    try:
        value = found_value(told.found, reading)
    except ValueError as error:
        raise RecordError(str(error)) from None
    return "done" if value is not None and reading.passes(value) else "problem"


def _said(shelf: Shelf, one: Opened, sheet: str, work: Work) -> dict[str, Said]:
    return {item: said_of(step) for item, step in laying.state(shelf.db, one.revision.id, sheet, work).items()}


@router.get("/conversions/{ref}/bench/{sheet}/test/diagnosis")
def diagnosis(shelf: ShelfHere, one: Open, sheet: Sheet) -> DiagnosisOut:
    """What the readings taken so far say: which fail, and what is likely wrong."""
    study = one.study
    said = _said(shelf, one, sheet, "test")
    typed = {int(item): words.found for item, words in said.items() if not item.startswith(STAGE) and words.found}
    measured = [
        Measured(reading=item, found=found_value(typed.get(item.number, ""), item), by=said[str(item.number)].by if item.number in typed else "")
        for item in readings_of(study, sheet)
    ]  # fmt: skip
    found = study.diagnosis(sheet, measured)
    is_live = HV_CAUTION in diagnosis_words(found)
    return DiagnosisOut.of(found, typed=typed, caution=HV_CAUTION if is_live else "")


def assets_of(request: Request) -> Assets:
    """The files that pages load."""
    assets: Assets = request.app.state.assets
    return assets


@pages.get("/c/{ref}/bench", response_model=None)
def choose(request: Request, shelf: ShelfHere, one: Open, sel: Selected = None) -> Response:
    """What there is to do at the bench."""
    page = BY_SLUG[BENCH]
    frame = Frame(request, one, page, one.things.by_key.get(sel or ""))
    found: dict[str, dict[Work, Bench]] = {}
    for item in benches_of(shelf, one):
        found.setdefault(item.sheet, {})[item.work] = item
    names = {sheet: next(iter(works.values())).name for sheet, works in found.items()}
    return frame.render("bench.html", page.tabs[0], benches=found, elsewhere=begun_elsewhere(shelf, one), names=names, words=WORK_WORDS)


@pages.get("/c/{ref}/bench/{sheet}/{work}", response_model=None)
def at_work(request: Request, one: Open, sheet: Sheet, work: Literal["lay", "test"]) -> Response:
    """The page of the bench: one line at a time. It stays at the revision that it was opened with."""
    if work == "lay":
        owner_of(one.study, sheet)
    else:
        readings_of(one.study, sheet)
    return render("at_work.html", request, one=one, sheet=sheet, work=work)


@pages.get("/bench-worker.js", response_model=None)
def worker(request: Request) -> Response:
    """What keeps the bench's pages in the browser; it may only look after pages below its own address."""
    return assets_of(request).answer("bench_worker.js", request)
