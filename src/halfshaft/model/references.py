"""Do all names in a conversion lead somewhere, and does each name one thing only? Every fault is found at once."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from pydantic.fields import FieldInfo

from halfshaft.model.base import DeviceConnector, DeviceElement, LoadElement, PinOrSplice, Record, RefersTo
from halfshaft.model.codes import hose_code, wire_code
from halfshaft.model.conversion import Conversion
from halfshaft.standards import colours

Path = tuple[str | int, ...]

# What makes a record of a table the only one of its kind. Tables that are not named here have a `ref`.
KEYS: dict[str, tuple[str, ...]] = {
    "modules": ("part",),
    "wire_types": ("section_mm2",),
    "tails": ("device", "connector"),
    "load_states": ("state", "name"),
    "case_loads": ("case", "load"),
    "case_contacts": ("case", "contact"),
    "case_units": ("case", "unit"),
    "fuse_points": ("part", "fuse", "current_a"),
    "bus_nodes": ("bus", "device"),
    "messages": ("bus",),
    "messages.messages": ("frame_id", "name"),
    "cable_cores": ("cable", "core"),
    "board_ways": ("loom", "from_node", "to_node"),
    "board_pegs": ("loom", "peg"),
}


# How a screen that goes on as another one is written.
SCREEN_OF = "screen of "


@dataclass(frozen=True, slots=True)
class BadReference:
    """One name that leads nowhere, or one that is used twice; `path` is table, index, field ..."""

    path: Path
    message: str


def key_of(table: str, record: Any) -> Any:
    """What a record is known by in its table: a single value, or a tuple of them."""
    fields = KEYS.get(table, ("ref",))
    values = tuple(getattr(record, field, None) for field in fields)
    return values[0] if len(values) == 1 else values


def nearest(word: str, names: Collection[str]) -> str:
    """The tail of a sentence that offers the nearest existing name, or what there is to choose from."""
    close = difflib.get_close_matches(word, names, n=1, cutoff=0.5)
    if close:
        return f"; did you mean {close[0]!r}?"
    some = sorted(names)
    if not some:
        return "; there is none yet"
    if len(some) <= 8:
        return "; there are " + ", ".join(some)
    return f"; there are {len(some)}, from {some[0]} to {some[-1]}"


def tables(conversion: Conversion) -> Iterator[tuple[str, tuple[Record, ...]]]:
    """Every table of the conversion with its records."""
    for name in type(conversion).model_fields:
        value = getattr(conversion, name, None)  # of a conversion that could not be read whole, some are not there
        if isinstance(value, tuple):
            yield name, value


def bad_references(
    conversion: Conversion, also_known: Mapping[str, Collection[Any]] | None = None, lost: Collection[str] = ()
) -> list[BadReference]:
    """All references that lead nowhere and all names used twice.

    `also_known` holds, by table, keys of rows that could not be read: whoever refers to one of those is not at fault.
    Nor is whoever refers to a table that is `lost`: nobody knows what stood in it.
    """
    known: dict[str, set[Any]] = {name: {key_of(name, record) for record in rows} for name, rows in tables(conversion)}
    unread = {name: set(keys) for name, keys in (also_known or {}).items()}
    for name, keys in unread.items():
        known.setdefault(name, set()).update(keys)
    check = _Checker(conversion, known, unread, lost)
    found: list[BadReference] = []
    for name in type(conversion).model_fields:
        record = getattr(conversion, name, None)
        if isinstance(record, Record):
            found.extend(check.record((name,), record))
    for name, rows in tables(conversion):
        found.extend(_duplicates(name, rows))
        for index, record in enumerate(rows):
            found.extend(check.record((name, index), record))
    found.extend(_places_of_splices(conversion))
    found.extend(_ends_of_runs(conversion))
    if "parts" not in check.lost:
        found.extend(_connectors_of_tails(conversion))
        found.extend(_inside_of_parts(conversion))
    found.extend(_colours(conversion))
    if check.lost.isdisjoint(_OF_STOCK) and not any(check.unread.get(table) for table in _OF_STOCK):
        found.extend(_items_of_stock(conversion))
    if "devices" not in check.lost and not check.unread.get("devices"):
        found.extend(_hoses(conversion))
    if check.lost.isdisjoint(("devices", "parts")):
        found.extend(_screens(conversion, check))
    found.extend(_board_ways(conversion, check))
    if "parts" not in check.lost and not check.unread.get("parts"):
        found.extend(_fuses_of_points(conversion))
    if check.lost.isdisjoint(("boxes", "devices", "parts")):
        found.extend(_studs(conversion, check))
    return found


def _duplicates(table: str, rows: tuple[Record, ...]) -> Iterator[BadReference]:
    first: dict[Any, int] = {}
    fields = KEYS.get(table, ("ref",))
    for index, record in enumerate(rows):
        key = key_of(table, record)
        if key in first:
            shown = key if not isinstance(key, tuple) else " / ".join(str(part) for part in key)
            yield BadReference(
                (table, index, fields[0]), f"{shown} stands here a second time; each may stand once, so rename or delete one"
            )
        first.setdefault(key, index)


@cache
def _marked(model: type[Record]) -> dict[str, Any]:
    """Fields of a record type that refer to something, with their marks."""
    marks = {}
    for name, info in model.model_fields.items():
        mark = _mark(info)
        if mark is not None:
            marks[name] = mark
    return marks


def mark_of(record: type[Record], field: str) -> Any:
    """What a field refers to, or None."""
    return _marked(record).get(field)


def _mark(info: FieldInfo) -> Any:
    kinds = (RefersTo, PinOrSplice, DeviceConnector, DeviceElement, LoadElement)
    for item in info.metadata:
        if isinstance(item, kinds):
            return item
    # In `Annotated[...] | None` and in tuples the mark sits one level further down.
    pending = list(getattr(info.annotation, "__args__", ()))
    while pending:
        inner = pending.pop()
        for item in getattr(inner, "__metadata__", ()):
            if isinstance(item, kinds):
                return item
        pending.extend(getattr(inner, "__args__", ()))
    return None


@cache
def _to_look_at(model: type[Record]) -> tuple[str, ...]:
    """Fields of a record type that refer to something, or hold records, which may; most do neither, and to pass them by is quick."""
    return tuple(
        name for name, info in model.model_fields.items() if name in _marked(model) or name == "section_mm2" or _may_hold_records(info)
    )


def _may_hold_records(info: FieldInfo) -> bool:
    pending: list[Any] = [info.annotation]
    while pending:
        inner = pending.pop()
        if isinstance(inner, type) and issubclass(inner, Record):
            return True
        pending.extend(getattr(inner, "__args__", ()))
    return False


class _Checker:
    def __init__(self, conversion: Conversion, known: dict[str, set[Any]], unread: dict[str, set[Any]], lost: Collection[str]) -> None:
        self.conversion = conversion
        self.known = known
        self.unread = unread
        self.lost = frozenset(lost)

    def record(self, path: Path, record: Record) -> Iterator[BadReference]:
        marks = _marked(type(record))
        for name in _to_look_at(type(record)):
            value = getattr(record, name, None)
            if value is None:
                continue
            if isinstance(value, Record):
                yield from self.record((*path, name), value)
            elif isinstance(value, tuple) and value and isinstance(value[0], Record):
                for index, inner in enumerate(value):
                    yield from self.record((*path, name, index), inner)
            elif name in marks:
                for item in value if isinstance(value, tuple) else (value,):
                    message = self.value(marks[name], str(item))
                    if message:
                        yield BadReference((*path, name), message)
            if name == "section_mm2" and path[0] == "wires" and not self._is_known("wire_types", value):
                names = [_number(section) for section in sorted(self.known["wire_types"])]
                yield BadReference(
                    (*path, name), f"no wire of {_number(value)} mm2 in wire_types.csv; there are {', '.join(names) or 'none yet'}"
                )

    def value(self, mark: Any, value: str) -> str:
        if isinstance(mark, RefersTo):
            return "" if self._is_known(mark.table, value) else f"no {value!r} in {mark.table}{nearest(value, self.known[mark.table])}"
        if isinstance(mark, (LoadElement, DeviceElement)):
            device, _, _ = value.partition(".")
            if self._unreadable(device):
                return ""
            element = self.conversion.element.get(value)
            asked = mark.kind if isinstance(mark, DeviceElement) else ""
            if element is not None:
                return f"{value!r} is a {element.kind}; a {asked} belongs here" if asked not in ("", element.kind) else ""
            return f"nothing inside a device is called {value!r}{nearest(value, self.conversion.element)}"
        if isinstance(mark, DeviceConnector):
            device, _, connector = value.partition(".")
            return self._connector(device, connector, value)
        return self._pin(value)

    def node(self, value: str) -> str:
        """What is wrong with the name of a route point or of a connector."""
        if "." not in value:
            return "" if self._is_known("points", value) else f"no point {value!r}{nearest(value, self.known['points'])}"
        device, _, connector = value.partition(".")
        return self._connector(device, connector, value)

    def _is_known(self, table: str, name: Any) -> bool:
        return table in self.lost or name in self.known[table]

    def _pin(self, value: str) -> str:
        if "." not in value:
            return "" if self._is_known("splices", value) else f"no splice {value!r}{nearest(value, self.known['splices'])}"
        pieces = value.split(".")
        if len(pieces) != 3:
            return f"{value!r} is no pin; a pin is written device.connector.cavity, a splice by its mark alone"
        if value in self.conversion.cavity:
            return ""
        problem = self._connector(pieces[0], pieces[1], value)
        if problem or self._unreadable(pieces[0]):
            return problem
        stem = f"{pieces[0]}.{pieces[1]}."
        others = [pin for pin in self.conversion.cavity if pin.startswith(stem)]
        return f"no pin {value!r}{nearest(value, others)}"

    def _connector(self, device: str, connector: str, value: str) -> str:
        if not self._is_known("devices", device):
            return f"no device {device!r} for {value!r}{nearest(device, self.known['devices'])}"
        if (device, connector) in self.conversion.connector or self._unreadable(device):
            return ""
        names = [f"{ref}.{name}" for ref, name in self.conversion.connector if ref == device]
        return f"device {device} has no connector {connector!r}{nearest(f'{device}.{connector}', names)}"

    def _unreadable(self, device: str) -> bool:
        """Whether the device or its part stands in a row that could not be read, so that its pins are unknown."""
        if not self.lost.isdisjoint(("devices", "parts")) or device in self.unread.get("devices", set()):
            return True
        found = self.conversion.device.get(device)
        return found is not None and found.part not in self.conversion.part


def _places_of_splices(conversion: Conversion) -> Iterator[BadReference]:
    """A splice has no place, a run, or a run with a place on it measured from one of its ends."""
    for index, splice in enumerate(conversion.splices):
        if splice.run is None and (splice.from_point is not None or splice.at_mm is not None):
            yield BadReference(
                ("splices", index, "run"), f"{splice.ref} has a place but no run; name the run, or leave the place blank too"
            )
        if (splice.from_point is None) != (splice.at_mm is None):
            field = "from_point" if splice.from_point is None else "at_mm"
            yield BadReference(
                ("splices", index, field), f"{splice.ref} wants both from_point and at_mm; leave both blank to have its place chosen"
            )
        run = conversion.run.get(splice.run or "")
        if run is not None and splice.from_point not in (None, run.from_point, run.to_point):
            yield BadReference(
                ("splices", index, "from_point"),
                f"run {run.ref} goes from {run.from_point} to {run.to_point}, so {splice.ref} cannot be measured from {splice.from_point}",
            )


def _board_ways(conversion: Conversion, check: _Checker) -> Iterator[BadReference]:
    """How a stretch lies on a board: its ends are points or connectors, a place has two numbers, and a bend three."""
    for index, row in enumerate(conversion.board_ways):
        for field in ("from_node", "to_node"):
            message = check.node(getattr(row, field))
            if message:
                yield BadReference(("board_ways", index, field), message)
        if row.from_node == row.to_node:
            yield BadReference(("board_ways", index, "to_node"), f"begins and ends at {row.from_node}; a stretch has two ends")
        if (row.x_mm is None) != (row.y_mm is None):
            field = "x_mm" if row.x_mm is None else "y_mm"
            yield BadReference(("board_ways", index, field), "a place has x_mm and y_mm; give both, or neither where it is not fixed")
        bend = [field for field in ("before_mm", "turn_deg", "radius_mm") if getattr(row, field) is None]
        if bend and (len(bend) < 3 or row.more_bends):
            yield BadReference(("board_ways", index, bend[0]), "a bend has before_mm, turn_deg and radius_mm; give all three, or none")


def _fuses_of_points(conversion: Conversion) -> Iterator[BadReference]:
    """A point of a curve belongs to a fuse inside a part."""
    for index, row in enumerate(conversion.fuse_points):
        part = conversion.part.get(row.part)
        names = [element.ref for element in part.inside if element.kind == "fuse"] if part else []
        if part and row.fuse not in names:
            yield BadReference(("fuse_points", index, "fuse"), f"part {row.part} has no fuse {row.fuse!r}{nearest(row.fuse, names)}")


def _studs(conversion: Conversion, check: _Checker) -> Iterator[BadReference]:
    """A bar or joint is at a stud of a module, `M01.P` or `M01.N`, or at a pin."""
    modules = {module.ref for box in conversion.boxes for module in box.modules}
    studs = {f"{module}.{pole}" for module in modules for pole in "PN"}
    named = [
        ("busbars", index, field, getattr(bar, field)) for index, bar in enumerate(conversion.busbars) for field in ("from_stud", "to_stud")
    ]
    named += [("joints", index, "stud", joint.stud) for index, joint in enumerate(conversion.joints)]
    for table, index, field, value in named:
        if value.count(".") == 2:
            message = check.value(PinOrSplice(), value)
        else:
            message = "" if value in studs else f"no stud {value!r}{nearest(value, studs)}"
        if message:
            yield BadReference((table, index, field), message)


def _ends_of_runs(conversion: Conversion) -> Iterator[BadReference]:
    for index, run in enumerate(conversion.runs):
        if run.from_point == run.to_point:
            yield BadReference(("runs", index, "to_point"), f"run {run.ref} begins and ends at {run.from_point}; a run joins two points")
    for index, loom in enumerate(conversion.looms):
        if (loom.board_width_mm is None) != (loom.board_height_mm is None):
            field = "board_width_mm" if loom.board_width_mm is None else "board_height_mm"
            yield BadReference(
                ("looms", index, field),
                f"loom {loom.ref} has one side of its board's sheet only; give both, or neither for a loom without a board",
            )
    for index, grommet in enumerate(conversion.grommets):
        if (grommet.point is None) == (grommet.run is None):
            yield BadReference(("grommets", index, "point"), f"grommet {grommet.ref} needs either a point or a run, and not both")


def _connectors_of_tails(conversion: Conversion) -> Iterator[BadReference]:
    for index, tail in enumerate(conversion.tails):
        device = conversion.device.get(tail.device)
        if device is None or device.part not in conversion.part:
            continue
        names = [connector.ref for connector in conversion.part[device.part].connectors]
        if tail.connector not in names:
            yield BadReference(
                ("tails", index, "connector"), f"device {tail.device} has no connector {tail.connector!r}{nearest(tail.connector, names)}"
            )


def _inside_of_parts(conversion: Conversion) -> Iterator[BadReference]:
    for index, part in enumerate(conversion.parts):
        yield from _twice(("parts", index, "connectors"), [connector.ref for connector in part.connectors])
        yield from _twice(("parts", index, "inside"), [element.ref for element in part.inside])
        for at, connector in enumerate(part.connectors):
            yield from _twice(("parts", index, "connectors", at, "cavities"), [cavity.ref for cavity in connector.cavities])
            if len(connector.cavities) > connector.rows * connector.columns:
                yield BadReference(
                    ("parts", index, "connectors", at, "rows"),
                    f"{len(connector.cavities)} cavities do not fit {connector.rows} rows of {connector.columns}",
                )
        pins = [f"{connector.ref}.{cavity.ref}" for connector in part.connectors for cavity in connector.cavities]
        for at, element in enumerate(part.inside):
            for field in ("pin_a", "pin_b"):
                value = getattr(element, field)
                if not value.startswith("~") and value not in pins:
                    yield BadReference(("parts", index, "inside", at, field), f"part {part.ref} has no pin {value!r}{nearest(value, pins)}")


def _twice(path: Path, names: list[str]) -> Iterator[BadReference]:
    for index, name in enumerate(names):
        if name in names[:index]:
            yield BadReference((*path, index, "ref"), f"{name} stands here a second time; each may stand once")


def _hoses(conversion: Conversion) -> Iterator[BadReference]:
    """A hose that follows no route lies between devices; one end at least must name its device, or its mass is nowhere."""
    for index, hose in enumerate(conversion.hoses):
        follows_route = hose.from_point is not None and hose.to_point is not None
        marks = {part.split()[0] for part in (hose.from_part, hose.to_part)}
        if not follows_route and marks.isdisjoint(conversion.device):
            yield BadReference(
                ("hoses", index, "from_part"),
                f"hose {hose.ref} has not two route points, and neither end begins with a device's mark{nearest(hose.from_part.split()[0], conversion.device)}",
            )


def _screens(conversion: Conversion, check: _Checker) -> Iterator[BadReference]:
    """A screen's drain ends at a pin, or the screen goes on as another one."""
    screens = {wire.screen for wire in conversion.wires if wire.screen}
    for index, wire in enumerate(conversion.wires):
        joined = wire.screen_joined_to
        if not (joined and wire.screen):
            continue
        path: Path = ("wires", index, "screen_joined_to")
        if joined.startswith(SCREEN_OF):
            other = joined.removeprefix(SCREEN_OF)
            if other not in screens:
                yield BadReference(path, f"no screen {other!r} round any wire{nearest(other, screens)}")
        elif message := check.value(PinOrSplice(), joined):
            yield BadReference(path, message)


# Tables whose codes may stand in the stock.
_OF_STOCK = ("wire_types", "insulation_classes", "cable_types", "coverings", "wires", "hoses")


def _items_of_stock(conversion: Conversion) -> Iterator[BadReference]:
    """Stock is of something in the catalogue, used or not; and of one thing only."""
    alike: dict[str, dict[str, None]] = {}
    for wire in conversion.wires:
        full = wire_code(wire.section_mm2, wire.colour, wire.insulation_class)
        alike.setdefault(wire_code(wire.section_mm2, wire.colour), {})[full] = None
    for hose in conversion.hoses:
        alike.setdefault(hose_code(hose.bore_mm), {})[hose_code(hose.bore_mm, hose.outside_mm)] = None
    others = {*conversion.cable_type, *conversion.covering}
    names = [*alike, *(name for full in alike.values() for name in full), *sorted(others)]
    for index, row in enumerate(conversion.stock):
        path: Path = ("stock", index, "item")
        meant = list(alike.get(row.item, ()))
        if len(meant) > 1:
            yield BadReference(path, f"{row.item!r} may be {' or '.join(meant)}; write which one it is")
        elif row.item not in names and not _is_wire(conversion, row.item):
            yield BadReference(path, f"nothing in the catalogues is called {row.item!r}{nearest(row.item, names)}")


def _is_wire(conversion: Conversion, item: str) -> bool:
    """Whether a code is that of a wire which could be bought: a section of the catalogue, letters of a colour, perhaps a class."""
    words = item.split(" ")
    sections = {f"{kind.section_mm2:g}" for kind in conversion.wire_types}
    classes = {kind.ref for kind in conversion.insulation_classes}
    is_colour = len(words) > 1 and (words[1] == "GNYE" or all(code in colours() for code in words[1].split("-")))
    return len(words) in (2, 3) and words[0] in sections and is_colour and (len(words) == 2 or words[2] in classes)


def _colours(conversion: Conversion) -> Iterator[BadReference]:
    letters = colours()
    for table, field in (("wires", "colour"), ("seals", "colour")):
        for index, record in enumerate(getattr(conversion, table)):
            colour = getattr(record, field)
            for code in [] if colour is None else colour.split("-"):
                if code not in letters:
                    yield BadReference((table, index, field), f"{code!r} is no colour of IEC 60757{nearest(code, letters)}")


def _number(value: float) -> str:
    return f"{value:g}"
