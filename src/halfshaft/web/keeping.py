"""Keeping what was done by hand on a page: a revision of the main line or of a what-if, and what the page is told."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Literal

from fastapi import Body
from pydantic import BaseModel

from halfshaft.model.conversion import Conversion
from halfshaft.records import lines, saving
from halfshaft.records.values import Conflict, RecordError
from halfshaft.web.shelf import Opened, Shelf, now

Why = Annotated[str, Body(max_length=500, description="why: it stands beside the revision")]
Where = Annotated[Literal["main", "what-if"], Body(description="on the main line, or on a what-if of its own")]


class KeptOut(BaseModel):
    """What was kept: the revision, where to see it, whether somebody else's changes are in it, and what could not be joined."""

    revision: str
    href: str
    merged: bool = False
    beside: str = ""


def keep(shelf: Shelf, one: Opened, change: Callable[[Conversion], Conversion], *, by: str, reason: str, where: str = "main") -> KeptOut:
    """Save what `change` makes of the revision that the page shows."""
    if not reason.strip():
        raise RecordError("say in a few words why, so that the others know; nothing was kept")
    line = one.line.id
    if where == "what-if":
        line = lines.start(shelf.db, line, reason.strip()[:60], by=by, at=now(), revision_id=one.revision.id).id
    saved = saving.edit(shelf.db, line, one.revision.id, change, by=by, at=now(), reason=reason)
    if isinstance(saved, Conflict):
        cells = ", ".join(str(clash.cell) for clash in saved.clashes[:3]) or "; ".join(saved.faults)
        words = f"somebody changed the same meanwhile ({cells}); yours is kept beside it as {saved.aside.name!r}, nothing is lost"
        return KeptOut(revision=saved.mine, href=f"/c/{one.entry.ref}/car?line={saved.aside.id}", beside=words)
    is_main = where == "main" and one.is_main
    href = f"/c/{one.entry.ref}" if is_main else f"/c/{one.entry.ref}/car?line={line}"
    return KeptOut(revision=saved.revision.id, href=href, merged=saved.merged)
