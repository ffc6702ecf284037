"""Which module is plugged to which plug of which sense board, box by box, and what stands against it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.boxes import Box, ModulePlace, ModuleType
from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Device
from halfshaft.model.finding import COMMON_PRACTICE, HV_CAUTION, Finding
from halfshaft.model.parts import Cavity, Part
from halfshaft.studies.module_places import Spot, sense_plug

TAP, SENSOR, CHAIN = "cell_tap", "sensor", "chain"


@dataclass(frozen=True, kw_only=True, slots=True)
class Plug:
    """Cell taps from minus to plus and sensors, as pins `device.connector.cavity`."""

    device: str
    connectors: tuple[str, ...]
    taps: tuple[str, ...]
    sensors: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class SensedModule:
    """A module that has cell taps; `spot` is the middle of its sense plug in the car, None where that is not known."""

    place: ModulePlace
    kind: ModuleType
    plug: Plug
    spot: Spot | None

    @property
    def ref(self) -> str:
        """Its mark."""
        return self.place.ref


@dataclass(frozen=True, kw_only=True, slots=True)
class SenseBox:
    """One battery box: its modules along the string, its sense boards and their plugs, in the order in which they are given to modules."""

    box: Box
    modules: tuple[SensedModule, ...]
    boards: tuple[Device, ...]
    plugs: tuple[Plug, ...]

    @property
    def pairs(self) -> tuple[tuple[SensedModule, Plug], ...]:
        """Each module with its plug; those for which there is none, or no place to lead wires to, are left out."""
        return tuple(
            (module, plug)
            for module, plug in zip(self.modules, self.plugs, strict=False)
            if module.spot is not None and len(plug.taps) >= len(module.plug.taps)
        )


def sense_boxes(conversion: Conversion) -> tuple[SenseBox, ...]:
    """Every box that has a module with cell taps."""
    found = (_sense_box(conversion, box) for box in conversion.boxes)
    return tuple(item for item in found if item.modules)


def _sense_box(conversion: Conversion, box: Box) -> SenseBox:
    kinds = {kind.part: kind for kind in conversion.modules}
    modules = []
    for place in sorted(box.modules, key=lambda item: (item.string, item.order_in_string, item.ref)):
        plug = _plug(place.ref, conversion.part[place.module])
        if plug.taps:
            kind = kinds[place.module]
            modules.append(SensedModule(place=place, kind=kind, plug=plug, spot=sense_plug(place, kind)))
    boards = tuple(device for device in conversion.devices if is_inside(box, device) and _board_plugs(conversion, device))
    plugs = tuple(plug for board in boards for plug in _board_plugs(conversion, board))
    return SenseBox(box=box, modules=tuple(modules), boards=boards, plugs=plugs)


def is_inside(box: Box, device: Device) -> bool:
    """Whether a device, not the box itself, has its centre in a box."""
    return (
        device.ref != box.ref
        and box.x_min_mm < device.x_mm < box.x_max_mm
        and box.y_min_mm < device.y_mm < box.y_max_mm
        and box.z_min_mm < device.z_mm < box.z_max_mm
    )


def _plug(device: str, part: Part) -> Plug:
    """All cell taps of a module, on however many connectors they are."""
    pins = [(connector.ref, cavity) for connector in part.connectors for cavity in connector.cavities]
    connectors = dict.fromkeys(name for name, cavity in pins if cavity.role in (TAP, SENSOR))
    return Plug(device=device, connectors=tuple(connectors), taps=_pins(device, pins, TAP), sensors=_pins(device, pins, SENSOR))


def _board_plugs(conversion: Conversion, device: Device) -> list[Plug]:
    """Each connector of a device with cell taps is a plug for one module."""
    plugs = []
    for connector in conversion.part[device.part].connectors:
        pins = [(connector.ref, cavity) for cavity in connector.cavities]
        taps = _pins(device.ref, pins, TAP)
        if taps:
            plugs.append(Plug(device=device.ref, connectors=(connector.ref,), taps=taps, sensors=_pins(device.ref, pins, SENSOR)))
    return plugs


def _pins(device: str, pins: list[tuple[str, Cavity]], role: str) -> tuple[str, ...]:
    return tuple(f"{device}.{connector}.{cavity.ref}" for connector, cavity in pins if cavity.role == role)


def plug_findings(conversion: Conversion) -> Iterator[Finding]:
    """All rules about boards and plugs."""
    for item in sense_boxes(conversion):
        if item.boards:
            yield from few_plugs(item)
            yield from plug_differs(item)
        else:
            yield no_board(item)
        yield from no_plug_place(item)
        yield from mark_taken(conversion, item)


def no_board(item: SenseBox) -> Finding:
    """A box has modules with cell taps, and nothing in it that reads them."""
    return Finding(
        rule="sensing.no-board",
        level="fix",
        about=(item.box.ref,),
        text=f"Nothing in box {item.box.ref} reads the cells of its {len(item.modules)} modules: put a sense board in devices.csv with its centre inside the box.",
        value=0.0,
        limit=1.0,
        unit="boards",
        basis=COMMON_PRACTICE,
        caution=HV_CAUTION,
    )


def few_plugs(item: SenseBox) -> Iterator[Finding]:
    """The boards of a box have fewer plugs than it has modules."""
    left = [module.ref for module in item.modules[len(item.plugs) :]]
    if left:
        yield Finding(
            rule="sensing.few-plugs",
            level="fix",
            about=(item.box.ref, *left),
            text=f"Box {item.box.ref} has {len(item.modules)} modules, and its sense boards have plugs for {len(item.plugs)}: nothing reads {', '.join(left)}. Put a second board in the box, or a larger one.",
            value=float(len(item.plugs)),
            limit=float(len(item.modules)),
            unit="plugs",
            basis=COMMON_PRACTICE,
            caution=HV_CAUTION,
        )


def plug_differs(item: SenseBox) -> Iterator[Finding]:
    """A plug of a board has fewer ways than the module that comes to it has taps or sensors."""
    for module, plug in zip(item.modules, item.plugs, strict=False):
        for what, have, want in (("taps", plug.taps, module.plug.taps), ("sensor ways", plug.sensors, module.plug.sensors)):
            if len(have) < len(want):
                place = f"{plug.device}.{plug.connectors[0]}"
                yield Finding(
                    rule="sensing.plug-differs",
                    level="fix",
                    about=(module.ref, place),
                    text=f"{module.ref} has {len(want)} {what} and plug {place} takes {len(have)}: choose a board whose plugs fit the module.",
                    value=float(len(have)),
                    limit=float(len(want)),
                    unit="ways",
                    basis=COMMON_PRACTICE,
                    caution=HV_CAUTION,
                )


def no_plug_place(item: SenseBox) -> Iterator[Finding]:
    """Nobody has said where a module's sense plug is, so no wire can be led to it."""
    for module in item.modules:
        if module.spot is None:
            kind = module.kind
            is_known = None not in (kind.sense_along_mm, kind.sense_across_mm, kind.sense_above_mm)
            remedy = (
                "say in boxes.toml where its cooled face and its plus end look, two directions that are square to each other"
                if is_known
                else f"measure it on the module and write sense_along_mm, sense_across_mm and sense_above_mm of {kind.part} in modules.toml"
            )
            yield Finding(
                rule="sensing.no-plug-place",
                level="fix",
                about=(module.ref,),
                text=f"Where the sense plug of {module.ref} is in the car is not known, so its wires have no length: {remedy}.",
                basis=COMMON_PRACTICE,
            )


def mark_taken(conversion: Conversion, item: SenseBox) -> Iterator[Finding]:
    """A module is called as a device is, so that a pin of one could be meant for a pin of the other."""
    for module in item.modules:
        if module.ref in conversion.device:
            yield Finding(
                rule="sensing.mark-taken",
                level="fix",
                about=(module.ref, item.box.ref),
                text=f"Module {module.ref} of box {item.box.ref} has the mark of a device: rename one of them, or no sense loom can be made for this box.",
                basis=COMMON_PRACTICE,
            )
