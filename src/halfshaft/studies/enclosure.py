"""Do the devices in an enclosure have room, see the wall that they face, and leave room before their plugs?

Lengths here are whole tenths of a millimetre, so that what just touches is not taken for an overlap.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.boxes import Look
from halfshaft.model.conversion import Conversion
from halfshaft.model.enclosures import Enclosure, EnclosureItem
from halfshaft.model.finding import Basis, Finding

STEPS_PER_MM = 10
Steps = tuple[int, int, int]
# Axis (across, deep, up) and whether the wall is the one of the greater coordinate.
WALLS: dict[Look, tuple[int, bool]] = {
    "left": (0, False),
    "right": (0, True),
    "front": (1, False),
    "rear": (1, True),
    "down": (2, False),
    "up": (2, True),
}
FITS = Basis("common practice", "geometry: what does not fit cannot be fitted")
REACH = Basis("common practice", "a fuse is changed and a plug is pulled without taking other devices out")


@dataclass(frozen=True, slots=True)
class Span:
    """An axis-aligned block inside an enclosure, in tenths of a millimetre."""

    low: Steps
    high: Steps

    def overlap(self, other: Span) -> int:
        """How deep two blocks reach into each other; nought or less where they do not."""
        return min(min(a, b) - max(c, d) for a, b, c, d in zip(self.high, other.high, self.low, other.low, strict=True))

    def to_wall(self, look: Look, room: Steps) -> Span:
        """This block and all between it and a wall."""
        axis, is_greater = WALLS[look]
        return self._with(axis, is_greater, room[axis] if is_greater else 0)

    def before(self, look: Look, reach: int) -> Span:
        """This block and so much room before its face that looks there."""
        axis, is_greater = WALLS[look]
        return self._with(axis, is_greater, self.high[axis] + reach if is_greater else self.low[axis] - reach)

    def _with(self, axis: int, is_greater: bool, value: int) -> Span:
        low, high = list(self.low), list(self.high)
        (high if is_greater else low)[axis] = value
        return Span((low[0], low[1], low[2]), (high[0], high[1], high[2]))


@dataclass(frozen=True, kw_only=True, slots=True)
class ItemPlace:
    """Where a device stands in an enclosure."""

    item: EnclosureItem
    span: Span


def steps(mm: float) -> int:
    """Tenths of a millimetre."""
    return round(mm * STEPS_PER_MM)


def room_of(enclosure: Enclosure) -> Steps:
    """Inner size."""
    return steps(enclosure.across_mm), steps(enclosure.deep_mm), steps(enclosure.high_mm)


def size_of(item: EnclosureItem) -> Steps:
    """Size as it stands."""
    return steps(item.size_across_mm), steps(item.size_deep_mm), steps(item.size_up_mm)


def described_place(item: EnclosureItem) -> ItemPlace | None:
    """Where the tables have it; None where they do not say."""
    if item.across_mm is None or item.deep_mm is None or item.up_mm is None:
        return None
    low = (steps(item.across_mm), steps(item.deep_mm), steps(item.up_mm))
    size = size_of(item)
    return ItemPlace(item=item, span=Span(low, (low[0] + size[0], low[1] + size[1], low[2] + size[2])))


def moved_to(place: ItemPlace) -> EnclosureItem:
    """The device's row with this place, and its size as it then stands."""
    low, high = place.span.low, place.span.high
    across, deep, up = (value / STEPS_PER_MM for value in low)
    size_across, size_deep, size_up = ((b - a) / STEPS_PER_MM for a, b in zip(low, high, strict=True))
    fields = {
        "across_mm": across,
        "deep_mm": deep,
        "up_mm": up,
        "size_across_mm": size_across,
        "size_deep_mm": size_deep,
        "size_up_mm": size_up,
    }
    return place.item.model_copy(update=fields)


def enclosure_findings(conversion: Conversion) -> Iterator[Finding]:
    """All rules of this study, over the places that are described."""
    for enclosure in conversion.enclosures:
        items = [item for item in conversion.enclosure_items if item.enclosure == enclosure.ref]
        places = [place for place in map(described_place, items) if place is not None]
        yield from not_placed(enclosure, items, places)
        for place in places:
            yield from outside(enclosure, place)
            yield from far_from_wall(enclosure, place)
        for index, place in enumerate(places):
            for other in places[index + 1 :]:
                yield from too_close(enclosure, place, other)
            for other in places:
                if other is not place:
                    yield from in_the_way(enclosure, place, other)


def not_placed(enclosure: Enclosure, items: list[EnclosureItem], places: list[ItemPlace]) -> Iterator[Finding]:
    """A device of an enclosure has no place yet."""
    placed = {place.item.ref for place in places}
    missing = tuple(item.ref for item in items if item.ref not in placed)
    if missing:
        yield Finding(
            rule="enclosure.not-placed",
            level="note",
            about=(*missing, enclosure.ref),
            text=f"Nothing says where in {enclosure.ref} stand: {', '.join(missing)}.",
            value=float(len(missing)),
            limit=0.0,
            unit="devices",
            basis=FITS,
        )


def outside(enclosure: Enclosure, place: ItemPlace) -> Iterator[Finding]:
    """A device, or the room before its plugs, reaches into a wall."""
    room, item = room_of(enclosure), place.item
    for what, span, level in (
        ("", place.span, "stop"),
        ("the room before the plugs of ", _plug_room(place), "fix"),
    ):
        over = max(max(-low for low in span.low), max(high - side for high, side in zip(span.high, room, strict=True)))
        if over > 0:
            yield Finding(
                rule="enclosure.outside" if level == "stop" else "enclosure.plug-room",
                level="stop" if level == "stop" else "fix",
                about=(item.ref, enclosure.ref),
                text=f"In {enclosure.ref}, {what}{item.ref} reaches {over / STEPS_PER_MM:g} mm into a wall or beyond it.",
                value=over / STEPS_PER_MM,
                limit=0.0,
                unit="mm",
                basis=FITS if level == "stop" else REACH,
            )
            return


def far_from_wall(enclosure: Enclosure, place: ItemPlace) -> Iterator[Finding]:
    """A device stands further from the wall that it faces than its plug or its window allows."""
    item = place.item
    if item.faces is None or item.wall_within_mm is None:
        return
    axis, is_greater = WALLS[item.faces]
    away = room_of(enclosure)[axis] - place.span.high[axis] if is_greater else place.span.low[axis]
    if away > steps(item.wall_within_mm):
        yield Finding(
            rule="enclosure.far-from-wall",
            level="fix",
            about=(item.ref, enclosure.ref),
            text=f"In {enclosure.ref}, {item.ref} stands {away / STEPS_PER_MM:g} mm from the {WALL_WORDS[item.faces]} that it faces; {item.wall_within_mm:g} mm are allowed.",
            value=away / STEPS_PER_MM,
            limit=item.wall_within_mm,
            unit="mm",
            basis=REACH,
        )


def too_close(enclosure: Enclosure, place: ItemPlace, other: ItemPlace) -> Iterator[Finding]:
    """Two devices share room, or stand closer than the enclosure's gap."""
    close = steps(enclosure.gap_mm) + place.span.overlap(other.span)
    if close > 0:
        gap_mm = (steps(enclosure.gap_mm) - close) / STEPS_PER_MM
        words = f"share {-gap_mm:g} mm of room" if gap_mm < 0 else f"stand {gap_mm:g} mm apart; {enclosure.gap_mm:g} mm are asked"
        yield Finding(
            rule="enclosure.overlap",
            level="stop" if gap_mm < 0 else "fix",
            about=(place.item.ref, other.item.ref, enclosure.ref),
            text=f"In {enclosure.ref}, {place.item.ref} and {other.item.ref} {words}.",
            value=gap_mm,
            limit=enclosure.gap_mm,
            unit="mm",
            basis=FITS,
        )


def in_the_way(enclosure: Enclosure, place: ItemPlace, other: ItemPlace) -> Iterator[Finding]:
    """Something stands before a device's face, before its plugs, or above one that must stay free above."""
    item, room = place.item, room_of(enclosure)
    if place.span.overlap(other.span) > 0:
        return
    blocked = [("enclosure.plug-room", _plug_room(place), f"in the {item.plug_room_mm:g} mm before the plugs of {item.ref}")]
    if item.faces is not None:
        before = f"between {item.ref} and the {WALL_WORDS[item.faces]} that it faces"
        blocked.append(("enclosure.face-blocked", place.span.to_wall(item.faces, room), before))
    if not item.others_above and item.faces != "up":
        blocked.append(("enclosure.nothing-above", place.span.to_wall("up", room), f"above {item.ref}, where nothing may be"))
    for rule, span, where in blocked:
        reach = span.overlap(other.span)
        if reach > 0:
            yield Finding(
                rule=rule,
                level="fix",
                about=(item.ref, other.item.ref, enclosure.ref),
                text=f"In {enclosure.ref}, {other.item.ref} stands {where}.",
                value=reach / STEPS_PER_MM,
                limit=0.0,
                unit="mm",
                basis=REACH,
            )


def _plug_room(place: ItemPlace) -> Span:
    item = place.item
    return place.span if item.plugs_look is None else place.span.before(item.plugs_look, steps(item.plug_room_mm))


WALL_WORDS: dict[Look, str] = {
    "left": "left wall",
    "right": "right wall",
    "front": "front wall",
    "rear": "rear wall",
    "down": "floor",
    "up": "lid",
}


def with_places(conversion: Conversion, places: tuple[ItemPlace, ...]) -> Conversion:
    """The conversion with devices of enclosures at these places."""
    moved = {place.item.ref: moved_to(place) for place in places}
    items = tuple(moved.get(item.ref, item) for item in conversion.enclosure_items)
    return conversion.model_copy(update={"enclosure_items": items})
