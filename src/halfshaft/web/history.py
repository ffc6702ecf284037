"""What the pages of revisions show: the list with the what-ifs, two revisions held against each other, cells that want a choice."""

from __future__ import annotations

from typing import Any

from fastapi import Request

from halfshaft.records import lines, revisions
from halfshaft.records.values import RecordError
from halfshaft.web.editing import cells_between
from halfshaft.web.merging import conflict_out, what_if_out
from halfshaft.web.shelf import Opened, Shelf


def history_values(shelf: Shelf, one: Opened, leaf: str, request: Request) -> dict[str, Any]:
    """The values of one leaf."""
    if leaf == "list":
        return _all(shelf, one)
    if leaf == "compare":
        return _compared(shelf, one, request.query_params.get("before", ""), request.query_params.get("after", ""))
    return _to_choose(shelf, one, request.query_params.get("aside", ""))


def _all(shelf: Shelf, one: Opened) -> dict[str, Any]:
    found = [what_if_out(shelf, item) for item in lines.lines(shelf.db, one.entry.ref)]
    main = next(item for item in found if item.kind == "main")
    return {
        "history": revisions.history(shelf.db, one.line.head),
        "moves": revisions.moves(shelf.db, one.line.id, limit=50),
        "main": main,
        "others": [item for item in found if item.kind != "main"],
    }


def _compared(shelf: Shelf, one: Opened, before: str, after: str) -> dict[str, Any]:
    """Two revisions: without one named, the latest against the one before it."""
    known = revisions.history(shelf.db, one.line.head)
    first = revisions.revision(shelf.db, before) if before else known[min(1, len(known) - 1)]
    second = revisions.revision(shelf.db, after) if after else known[0]
    shelf.open(one.entry.ref, first.id), shelf.open(one.entry.ref, second.id)
    return {"first": first, "second": second, "known": known, "cells": cells_between(shelf, first.id, second.id)}


def _to_choose(shelf: Shelf, one: Opened, aside: str) -> dict[str, Any]:
    """What was kept aside because others had changed the same cells."""
    waiting = [item for item in lines.lines(shelf.db, one.entry.ref) if item.kind == "aside" and item.state == "open"]
    line = shelf.line(one.entry.ref, aside) if aside else waiting[-1] if waiting else None
    if line is None:
        return {"aside": None, "conflict": None, "words": "Nothing waits for a choice."}
    try:
        found = lines.conflict(shelf.db, line.id)
    except RecordError as error:
        return {"aside": None, "conflict": None, "words": str(error)}
    return {"aside": what_if_out(shelf, line), "conflict": conflict_out(found) if found else None, "words": ""}
