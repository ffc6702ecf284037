"""A paper of many pages in the look of the book."""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import Literal

from halfshaft.book.blocks import Block
from halfshaft.book.frame import Pages
from halfshaft.drawings.shapes import Drawing, Sketch
from halfshaft.drawings.sheet import dots
from halfshaft.pens.pdf import typeset
from halfshaft.pens.svg import svg
from halfshaft.study import Study

Word = Literal["book", "report"]
KINDS: dict[Word, str] = {"book": "Build book", "report": "Change report"}


def paper_pdf(word: Word, study: Study, pages: Pages, cover: list[Block], digest: str) -> bytes:
    """Front page with contents, then the sections, as PDF."""
    job = study.conversion.job
    square = Sketch()
    dots(square, 0.0, 0.0, 18.0, f"{job.ref} {job.revision} {digest}")
    files = {name: svg(picture).encode() for name, picture in pages.pictures.items()}
    files["square.svg"] = svg(Drawing(18.0, 18.0, tuple(square.shapes))).encode()
    data = {
        "kind": KINDS[word],
        "word": word,
        "title": f"{KINDS[word]}, {job.name}",
        "name": job.name,
        "owner": job.owner,
        "revision": job.revision,
        "date": job.date,
        "status": job.status,
        "hash": digest,
        "cover": cover,
        "sections": pages.sections,
    }
    source = (FilePath(__file__).parent / "book.typ").read_text(encoding="utf-8")
    return typeset(source, files, data=data)
