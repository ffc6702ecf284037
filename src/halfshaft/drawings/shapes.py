"""What a drawing is made of. Millimetres, x to the right and y upwards from the lower left corner."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import cache
from importlib import resources
from typing import Literal

from halfshaft.studies.looms.geometry import Path, Place, ahead, bounds

CAPITAL = 0.656  # height of a capital in Source Sans 3, as a share of the font size (measured from the file)
INK, SOFT, PAPER, BUNDLE = "#1C2126", "#555C63", "#FFFFFF", "#F3F1EA"
HV, HV_FILL, HV_TINT = "#CC4E00", "#F67828", "#FCE8D9"

LONG_DASH_DOT, LONG_DASH_TWO_DOTS, DASHED = (24.0, 3.0, 0.5, 3.0), (24.0, 3.0, 0.5, 3.0, 0.5, 3.0), (12.0, 3.0)


@dataclass(frozen=True, slots=True)
class Style:
    """How a shape is drawn. `layer` says what it means, for whoever opens the drawing in a drawing program.

    `dash` is in line widths (ISO 128-2), so that it grows with the line. `about` is the thing that it is drawn for, as
    `wire:W103`, so that a viewer can choose it; blank for what is no thing of the conversion.
    """

    layer: str
    width_mm: float = 0.35
    stroke: str | None = INK
    fill: str | None = None
    dash: tuple[float, ...] = ()
    round_ends: bool = False
    about: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    start: Place
    end: Place
    style: Style


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed outline of straight lines."""

    corners: tuple[Place, ...]
    style: Style


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle."""

    centre: Place
    radius_mm: float
    style: Style


@dataclass(frozen=True, slots=True)
class Track:
    """A centre line of straights and arcs, as wide as its style says; what it is the line of, for whoever reads the drawing with a program."""

    path: Path
    style: Style
    name: str = ""


Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Text:
    """One line of words. `height_mm` is the height of a capital; the place is on the base line."""

    at: Place
    words: str
    height_mm: float
    style: Style
    anchor: Anchor = "start"
    angle_deg: float = 0.0
    bold: bool = False

    @property
    def width_mm(self) -> float:
        """How wide the words come out."""
        return text_width_mm(self.words, self.height_mm, bold=self.bold)


Shape = Line | Polygon | Circle | Track | Text


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes on a sheet of a size, in the order in which they are laid over each other."""

    width_mm: float
    height_mm: float
    shapes: tuple[Shape, ...]
    title: str = ""


@dataclass(slots=True)
class Sketch:
    """Shapes being gathered; the one mutable thing of the drawings, and it never leaves the function that made it."""

    shapes: list[Shape] = field(default_factory=list)

    @contextmanager
    def about(self, thing: str) -> Iterator[None]:
        """Whatever is added meanwhile is drawn for this thing, where it does not say already what it is for."""
        first = len(self.shapes)
        yield
        self.shapes[first:] = [
            shape if shape.style.about else replace(shape, style=replace(shape.style, about=thing)) for shape in self.shapes[first:]
        ]

    def line(self, start: Place, end: Place, style: Style) -> None:
        """Add a line."""
        self.shapes.append(Line(start, end, style))

    def box(self, left: float, bottom: float, right: float, top: float, style: Style) -> None:
        """Add an upright rectangle."""
        self.shapes.append(Polygon(((left, bottom), (right, bottom), (right, top), (left, top)), style))

    def polygon(self, corners: Sequence[Place], style: Style) -> None:
        """Add a closed outline."""
        self.shapes.append(Polygon(tuple(corners), style))

    def circle(self, centre: Place, radius_mm: float, style: Style) -> None:
        """Add a circle."""
        self.shapes.append(Circle(centre, radius_mm, style))

    def text(
        self, at: Place, words: str, height_mm: float, *, style: Style | None = None, anchor: Anchor = "start",
        angle_deg: float = 0.0, bold: bool = False,
    ) -> None:  # fmt: skip
        """Add a line of words."""
        self.shapes.append(Text(at, words, height_mm, style or TEXT, anchor, angle_deg, bold))


TEXT = Style("TEXT", 0.25)
SOFT_TEXT = Style("TEXT", 0.25, SOFT)


@cache
def _letters() -> dict[str, tuple[int, int]]:
    text = resources.files(__package__).joinpath("letter_widths.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return {chr(int(row["codepoint"], 16)): (int(row["regular"]), int(row["semibold"])) for row in rows}


def text_width_mm(words: str, height_mm: float, *, bold: bool = False) -> float:
    """Width of words in Source Sans 3 with capitals of this height, from the advance widths in the font file."""
    letters = _letters()
    units = sum(letters.get(letter, (600, 640))[bold] for letter in words)
    return units / 1000 * height_mm / CAPITAL


def shortened(words: str, height_mm: float, width_mm: float, *, bold: bool = False) -> str:
    """Words that fit a width: cut at a word, with an ellipsis, where they do not."""
    if text_width_mm(words, height_mm, bold=bold) <= width_mm:
        return words
    pieces = words.split(" ")
    while len(pieces) > 1:
        pieces.pop()
        candidate = " ".join(pieces).rstrip(",;:") + "…"
        if text_width_mm(candidate, height_mm, bold=bold) <= width_mm:
            return candidate
    letters = words
    while letters and text_width_mm(letters + "…", height_mm, bold=bold) > width_mm:
        letters = letters[:-1]
    return letters + "…"


def wrapped(words: str, height_mm: float, width_mm: float) -> list[str]:
    """Words broken into lines that fit a width; a single word that does not is shortened."""
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, height_mm) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(shortened(word, height_mm, width_mm))
    return lines


def moved(shape: Shape, dx_mm: float, dy_mm: float) -> Shape:
    """The same shape elsewhere."""

    def shift(place: Place) -> Place:
        return place[0] + dx_mm, place[1] + dy_mm

    match shape:
        case Line(start, end, style):
            return Line(shift(start), shift(end), style)
        case Polygon(corners, style):
            return Polygon(tuple(shift(corner) for corner in corners), style)
        case Circle(centre, radius, style):
            return Circle(shift(centre), radius, style)
        case Track(path, style, name):
            return Track(path.moved(dx_mm, dy_mm), style, name)
        case Text(at, words, height, style, anchor, angle, bold):
            return Text(shift(at), words, height, style, anchor, angle, bold)


def box_of(shape: Shape) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of a shape, its line's width left aside except where it is a thing of its true width."""
    match shape:
        case Line(start, end, _):
            return bounds((start, end))
        case Polygon(corners, _):
            return bounds(corners)
        case Circle((x, y), radius, _):
            return x - radius, y - radius, x + radius, y + radius
        case Track(path, style):
            left, bottom, right, top = bounds(path.corners)
            half = style.width_mm / 2
            return left - half, bottom - half, right + half, top + half
        case Text():
            back = {"start": 0.0, "middle": shape.width_mm / 2, "end": shape.width_mm}[shape.anchor]
            start = ahead(shape.at, shape.angle_deg, -back)
            end = ahead(start, shape.angle_deg, shape.width_mm)
            up = [ahead(place, shape.angle_deg + 90.0, shape.height_mm) for place in (start, end)]
            return bounds((start, end, *up))
