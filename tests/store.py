"""A small conversion and a database to keep it in, for the tests of the records."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import Point, Run

START = datetime(2026, 11, 28, 8, 0, tzinfo=UTC)
_minutes = itertools.count()

Edit = Callable[[Conversion], Conversion]


def clock() -> datetime:
    """A later time at each call, the same in every run."""
    return START + timedelta(seconds=next(_minutes))


def url_of(path: Path) -> str:
    return f"sqlite:///{path}"


def small_of(tern: Conversion) -> Conversion:
    """The demo's removed parts and route, and nothing that hangs on it."""
    return Conversion(
        job=tern.job,
        car=tern.car,
        supply=tern.supply.model_copy(update={"battery": None, "converter": None}),
        zones=tern.zones,
        coverings=tern.coverings,
        removed=tern.removed,
        points=tern.points,
        runs=tern.runs,
    )


def with_row(table: str, ref: str, **fields: Any) -> Edit:
    """An edit: some fields of one row."""

    def edit(conversion: Conversion) -> Conversion:
        rows = tuple(row.model_copy(update=fields) if row.ref == ref else row for row in getattr(conversion, table))
        return conversion.model_copy(update={table: rows})

    return edit


def without_row(table: str, ref: str) -> Edit:
    """An edit: one row less."""
    return lambda conversion: conversion.model_copy(update={table: tuple(row for row in getattr(conversion, table) if row.ref != ref)})


def with_new(table: str, record: Any) -> Edit:
    """An edit: one row more, at the end."""
    return lambda conversion: conversion.model_copy(update={table: (*getattr(conversion, table), record)})


def with_job(**fields: Any) -> Edit:
    """An edit of the head."""
    return lambda conversion: conversion.model_copy(update={"job": conversion.job.model_copy(update=fields)})


def point(ref: str) -> Point:
    return Point(ref=ref, name=f"point {ref}", x_mm=1.0, y_mm=2.0, z_mm=3.0, kind="clip")


def run(ref: str, from_point: str, to_point: str) -> Run:
    return Run(ref=ref, from_point=from_point, to_point=to_point, may_carry=("LV",))


def files_in(folder: Path) -> Iterator[tuple[str, bytes]]:
    """The files of a folder by their paths in it."""
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            yield str(path.relative_to(folder)), path.read_bytes()
