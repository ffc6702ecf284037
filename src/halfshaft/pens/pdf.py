"""Drawings and documents to PDF. Text stays text, a millimetre stays a millimetre, and the same input gives the same bytes."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from pathlib import Path as FilePath
from typing import Any

from halfshaft.drawings.shapes import Drawing
from halfshaft.drawings.tiles import EDGE_MM, SIDE_MM, Correction, Tiling
from halfshaft.errors import HalfshaftError
from halfshaft.pens.svg import svg

FONTS = FilePath(__file__).parent.parent / "fonts"
# A fixed moment: no clock goes into a file.
_STAMP = 946_684_800


class PenError(HalfshaftError):
    """A document could not be typeset; the text says what the typesetter said."""


def typeset(source: str, files: Mapping[str, bytes], *, data: Any = None) -> bytes:
    """Typeset a document with the files that it names; `data` reaches it as JSON.

    Raises PenError where the typesetter refuses, or warns: a missing letter would be a wrong paper.
    """
    import typst

    with tempfile.TemporaryDirectory(prefix="halfshaft-") as folder:
        root = FilePath(folder)
        for name, content in {**files, "main.typ": source.encode()}.items():
            (root / name).write_bytes(content)
        if data is not None:
            (root / "data.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        try:
            pdf, warnings = typst.compile_with_warnings(
                str(root / "main.typ"),
                root=str(root),
                font_paths=[str(FONTS)],
                ignore_system_fonts=True,
                timestamp=_STAMP,
                pdf_tags=False,
            )
        except typst.TypstError as error:
            raise PenError(f"a paper could not be typeset: {error}") from None
        if warnings:
            raise PenError(f"a paper could not be typeset cleanly: {warnings[0].message}")
    return bytes(pdf)


def drawing_pdf(drawings: list[Drawing]) -> bytes:
    """Drawings as pages of their own size, 1:1."""
    files = {f"{index}.svg": svg(drawing).encode() for index, drawing in enumerate(drawings)}
    pages = [
        f"#page(width: {drawing.width_mm}mm, height: {drawing.height_mm}mm, margin: 0mm)"
        f'[#image("{index}.svg", width: {drawing.width_mm}mm, height: {drawing.height_mm}mm)]'
        for index, drawing in enumerate(drawings)
    ]
    title = drawings[0].title if drawings else ""
    return typeset("\n".join([f"#set document(title: {json.dumps(title, ensure_ascii=False)})", *pages]), files)


def tiles_pdf(board: bytes, board_mm: tuple[float, float], cut: Tiling, overlays: list[Drawing], correction: Correction) -> bytes:
    """A finished board cut into sheets: on each its part of the board, then what is drawn over it, both stretched alike."""
    files = {"board.pdf": board}
    width, height = cut.page_mm
    pages = []
    for index, (tile, over) in enumerate(zip(cut.tiles, overlays, strict=True)):
        name = f"{index}.svg"
        files[name] = svg(over).encode()
        # Typst counts downwards from the upper left: the window's corner on the page, then the board's in the window.
        left, top = SIDE_MM / correction.x, EDGE_MM / correction.y
        board_top = tile.bottom_mm + tile.height_mm - board_mm[1]
        pages.append(
            f"#page(width: {width}mm, height: {height}mm, margin: 0mm)[#scale(x: {100 * correction.x}%, y: {100 * correction.y}%, "
            f"origin: top + left)[#block(width: {over.width_mm}mm, height: {over.height_mm}mm)["
            f"#place(top + left, dx: {left}mm, dy: {top}mm, block(width: {tile.width_mm}mm, height: {tile.height_mm}mm, clip: true)["
            f"#place(top + left, dx: {-tile.left_mm}mm, dy: {board_top}mm, "
            f'image("board.pdf", width: {board_mm[0]}mm, height: {board_mm[1]}mm))])'
            f'#place(top + left, image("{name}", width: {over.width_mm}mm, height: {over.height_mm}mm))]]]'
        )
    return typeset("\n".join(pages), files)
