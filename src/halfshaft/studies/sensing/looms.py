"""What lies inside the battery boxes as a conversion of its own: each box's sense wires are a loom like any other."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from halfshaft.model.conversion import Conversion, Supply
from halfshaft.model.devices import Device, Tail
from halfshaft.model.parts import Connector
from halfshaft.model.wires import Loom, Point, Run, Wire
from halfshaft.standards import colours
from halfshaft.studies.sensing.plugs import CHAIN, SenseBox, SensedModule, sense_boxes
from halfshaft.studies.sensing.trunk import Outlet, Ways, inside_wall, ways_in

SECTION_MM2 = 0.35
# A quarter of a full sheet of board.
BOARD_MM = (1220.0, 610.0)
# Letters of IEC 60757 that are not used for sense wires: orange is left to high voltage, green-and-yellow to protective
# earth, and metal tones are hard to tell from grey and yellow on a thin wire.
NOT_USED = ("OG", "GNYE", "GD", "TQ", "SR")


@dataclass(slots=True)
class _Tables:
    """The tables of the new conversion as they are filled."""

    devices: dict[str, Device] = field(default_factory=dict)
    points: list[Point] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    tails: list[Tail] = field(default_factory=list)
    looms: list[Loom] = field(default_factory=list)
    wires: list[Wire] = field(default_factory=list)


def sensing_conversion(conversion: Conversion) -> Conversion | None:
    """Modules, sense boards and the insides of boxes as devices, and one loom a box; None where there is nothing to lead."""
    if not (conversion.wire_types and conversion.insulation_classes):
        return None
    tables = _Tables()
    for item in sense_boxes(conversion):
        if item.pairs and all(module.ref not in conversion.device for module, _ in item.pairs):
            _add_box(conversion, item, tables)
    if not tables.looms:
        return None
    used = {device.part for device in tables.devices.values()}
    kept = ("job", "car", "shop", "coolant", "terminals", "seals", "wire_types", "insulation_classes", "coverings", "cable_types", "zones")
    return Conversion(
        **{name: getattr(conversion, name) for name in kept},
        supply=Supply(voltage_v=conversion.supply.voltage_v),
        parts=tuple(part for part in conversion.parts if part.ref in used),
        devices=tuple(tables.devices.values()),
        points=tuple(tables.points),
        runs=tuple(tables.runs),
        tails=tuple(tables.tails),
        looms=tuple(tables.looms),
        wires=tuple(tables.wires),
    )


def _add_box(conversion: Conversion, item: SenseBox, tables: _Tables) -> None:
    links = list(_chain(conversion, item))
    ways = ways_of(conversion, item)
    for device in (conversion.device[item.box.ref], *item.boards, *(_as_device(item, module) for module, _ in item.pairs)):
        tables.devices[device.ref] = device
    tables.points += ways.points
    tables.runs += ways.runs
    tables.tails += ways.tails
    loom = loom_of(conversion, item.box.ref)
    tables.looms.append(
        Loom(
            ref=loom,
            name=f"Cell sense loom of {item.box.ref}",
            carries="sense",
            built="on a board, tested before it goes into the box",
            board_width_mm=BOARD_MM[0],
            board_height_mm=BOARD_MM[1],
            covering="taped, clear of bars and sharp edges",
        )
    )
    wires = [*_module_wires(item), *links]
    shades = shades_of()
    section_mm2 = section_of(conversion)
    tables.wires += [
        Wire(
            ref=ref,
            meaning=meaning,
            from_pin=start,
            to_pin=end,
            section_mm2=section_mm2,
            colour=colour or shades[number % len(shades)],
            insulation_class=class_of(conversion),
            loom=loom,
        )
        for ref, meaning, start, end, number, colour in wires
    ]


def loom_of(conversion: Conversion, box: str) -> str:
    """The mark of a box's sense loom: I for inside, and the box; further letters where a loom is called so already."""
    mark = f"I{box}"
    while mark in conversion.loom:
        mark = f"I{mark}"
    return mark


def ways_of(conversion: Conversion, item: SenseBox) -> Ways:
    """The trunk of one box and its branches to modules, boards and the plug in the wall."""
    outlets = [
        Outlet(
            name=f"the sense plug of {module.ref}",
            spot=module.spot,
            connectors=tuple((module.ref, connector) for connector in module.plug.connectors),
        )
        for module, _ in item.pairs
        if module.spot is not None
    ]
    outlets += [_board_outlet(conversion, item, board) for board in item.boards]
    walls = chain_connectors(conversion, item.box.ref)
    if walls:
        outlets.append(_wall_outlet(conversion, item, walls))
    zone = next((board.zone for board in item.boards), None)
    return ways_in(item.box, outlets, zone=zone)


def _board_outlet(conversion: Conversion, item: SenseBox, board: Device) -> Outlet:
    """All plugs of a board hang above its middle, from where they reach either of its ends."""
    part = conversion.part[board.part]
    used = {plug.connectors[0] for _, plug in item.pairs if plug.device == board.ref}
    used |= {connector.ref for connector in chain_connectors(conversion, board.ref)}
    return Outlet(
        name=f"sense board {board.ref}",
        spot=(board.x_mm, board.y_mm, board.z_mm),
        connectors=tuple((board.ref, connector.ref) for connector in part.connectors if connector.ref in used),
        reach_mm=max(part.length_mm, part.width_mm, part.height_mm) / 2,
    )


def _wall_outlet(conversion: Conversion, item: SenseBox, walls: list[Connector]) -> Outlet:
    """Where the chain comes through the wall: nearest to the point from which its plug outside is reached, or to the first board."""
    ref = item.box.ref
    links = _through_the_wall(conversion, ref)
    outside = next(
        (conversion.tail[ref, name] for name in sorted({pin.split(".")[1] for pin in links.values()}) if (ref, name) in conversion.tail),
        None,
    )
    place = item.boards[0] if outside is None else conversion.point[outside.point]
    return Outlet(
        name=f"the chain plug in the wall of {ref}",
        spot=inside_wall(item.box, {"x": place.x_mm, "y": place.y_mm, "z": place.z_mm}),
        connectors=tuple((ref, connector.ref) for connector in walls),
    )


def _through_the_wall(conversion: Conversion, device: str) -> dict[str, str]:
    """Pins of a device, each with the pin that a link inside joins it to."""
    found = {}
    for element in conversion.part[conversion.device[device].part].inside:
        if element.kind == "link":
            one, other = f"{device}.{element.pin_a}", f"{device}.{element.pin_b}"
            found[one], found[other] = other, one
    return found


def chain_connectors(conversion: Conversion, device: str) -> list[Connector]:
    """Connectors of a device that carry the chain from board to board, and nothing else."""
    part = conversion.part[conversion.device[device].part]
    return [connector for connector in part.connectors if all(cavity.role == CHAIN for cavity in connector.cavities)]


def _chain_pins(conversion: Conversion, device: str) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """Pins of the chain with their names: those coming in, listed first, and those going out."""
    pins = [
        (f"{device}.{connector.ref}.{cavity.ref}", cavity.name)
        for connector in chain_connectors(conversion, device)
        for cavity in connector.cavities
    ]
    half = len(pins) // 2
    return pins[:half], pins[half:]


# Number, meaning, both pins, number of its shade, and a colour where it goes on from another wire.
_Line = tuple[str, str, str, str, int, str]


def _chain(conversion: Conversion, item: SenseBox) -> Iterator[_Line]:
    """From the wall to the first board, from board to board, and back to the wall."""
    if not chain_connectors(conversion, item.box.ref):
        return
    links = _through_the_wall(conversion, item.box.ref)
    colour_at = {pin: wire.colour for wire in conversion.wires for pin in (wire.from_pin, wire.to_pin)}
    into, out = _chain_pins(conversion, item.box.ref)
    number = 0
    boards = [_chain_pins(conversion, board.ref) for board in item.boards]
    stages = [(into, boards[0][0]), *((one[1], other[0]) for one, other in itertools.pairwise(boards)), (out, boards[-1][1])]
    for starts, ends in stages:
        for (start, name), (end, _) in zip(starts, ends, strict=False):
            number += 1
            # Inside it has the colour of the wire that it goes on from outside.
            yield f"{item.box.ref}-K{number}", name, start, end, number - 1, colour_at.get(links.get(start, ""), "")


def _module_wires(item: SenseBox) -> Iterator[_Line]:
    """Taps from minus to plus, then sensors: pin for pin to the plug of the board."""
    for module, plug in item.pairs:
        for number, (start, end) in enumerate(zip(module.plug.taps, plug.taps, strict=False)):
            yield f"{module.ref}-{number}", f"tap {number} of {module.ref}", start, end, number, ""
        for number, (start, end) in enumerate(zip(module.plug.sensors, plug.sensors, strict=False), start=1):
            yield f"{module.ref}-T{number}", f"sensor wire {number} of {module.ref}", start, end, len(module.plug.taps) + number - 1, ""


def _as_device(item: SenseBox, module: SensedModule) -> Device:
    place = module.place
    return Device(
        ref=module.ref,
        part=place.module,
        name=f"battery module {module.ref}",
        place=f"box {item.box.ref}",
        x_mm=(place.x_min_mm + place.x_max_mm) / 2,
        y_mm=(place.y_min_mm + place.y_max_mm) / 2,
        z_mm=(place.z_min_mm + place.z_max_mm) / 2,
        zone=next((board.zone for board in item.boards), None),
    )


def section_of(conversion: Conversion) -> float:
    """0.35 mm2 where the shop keeps it, else the thinnest that it keeps."""
    sections = sorted(kind.section_mm2 for kind in conversion.wire_types)
    return SECTION_MM2 if SECTION_MM2 in sections else sections[0]


def class_of(conversion: Conversion) -> str:
    """The insulation of most sense wires outside the boxes; without any, the first of the catalogue."""
    counts = Counter(wire.insulation_class for wire in conversion.wires if conversion.loom[wire.loom].carries == "sense")
    listed = [kind.ref for kind in conversion.insulation_classes]
    return max(listed, key=lambda ref: (counts[ref], -listed.index(ref)))


def shades_of() -> list[str]:
    """Colours in the order in which wires of one plug get them: whole ones in the order of IEC 60757, then with a tracer.

    Pink stands where orange would, so that red and yellow stay apart. No two neighbours are alike.

    >>> shades_of()[:12]
    ['BK', 'BN', 'RD', 'PK', 'YE', 'GN', 'BU', 'VT', 'GY', 'WH', 'BK-WH', 'BN-WH']
    """
    order = ["PK" if code == "OG" else code for code in colours() if code != "PK"]
    whole = [code for code in order if code not in NOT_USED]
    traced = [f"{base}-{tracer}" for tracer in reversed(whole) for base in whole if base != tracer]
    return [*whole, *traced]
