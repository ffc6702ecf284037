"""Are the spaces what they are taken for: in the car, large enough for a module, with keep-outs that keep something out?"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import permutations

from halfshaft.model.boxes import Attitude, ModuleType
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis, Finding, sentence
from halfshaft.model.parts import Part
from halfshaft.model.spaces import KeepOut, Space
from halfshaft.studies.arrangement.records import Room
from halfshaft.studies.device_blocks import block_round

GEOMETRY = Basis("common practice", "geometry: what does not fit cannot be fitted")
# What stands just beside a space is worth writing down, too; further off, a figure or the space's mark is more likely wrong.
BESIDE_MM = 100.0
Sides = tuple[float, float, float]


def space_findings(conversion: Conversion, rooms: Callable[[], Mapping[str, Room]]) -> Iterator[Finding]:
    """All rules of this study. Rooms are only asked for where a space holds no box that shows that something fits."""
    spaces = {space.ref: space for space in conversion.spaces}
    yield from too_small(conversion, rooms)
    for space in conversion.spaces:
        yield from outside_car(conversion, space)
    for keep_out in conversion.keep_outs:
        if keep_out.space is not None:
            yield from keep_out_elsewhere(conversion, keep_out, spaces[keep_out.space])
    yield from mesh_repaired(conversion)


def too_small(conversion: Conversion, rooms: Callable[[], Mapping[str, Room]]) -> Iterator[Finding]:
    """No module fits, however it stands, in a space that is meant for batteries."""
    taken = {box.space for box in conversion.boxes if box.modules}
    kinds = [(kind, conversion.part[kind.part]) for kind in conversion.modules]
    for space in conversion.spaces:
        if not kinds or not space.for_batteries or space.ref in taken:
            continue
        lacking, nearest = min((_lacking_mm(rooms()[space.ref], kind, part), kind.part) for kind, part in kinds)
        if lacking > 0:
            yield Finding(
                rule="spaces.too-small",
                level="fix",
                about=(space.ref,),
                text=f"No module fits in {space.name}, however it may stand: {nearest} alone, without a box, lacks {lacking:.0f} mm. "
                "Say for_batteries = false, or measure again.",
                value=lacking,
                limit=0.0,
                unit="mm",
                basis=GEOMETRY,
            )


def _lacking_mm(room: Room, kind: ModuleType, part: Part) -> float:
    """By how much the free block that comes nearest is too short on its shortest side for a module; above zero in any case where none fits."""
    blocks = [block.size for block in room.blocks] or [(0.0, 0.0, 0.0)]
    stands = [stand for attitude in kind.attitudes for stand in standing(part, attitude)]
    return min(max(need - have for need, have in zip(stand, size, strict=True)) for stand in stands for size in blocks)


def standing(part: Part, attitude: Attitude) -> tuple[Sides, Sides]:
    """A module's sides along x, y and z in an attitude, both ways round."""
    up = {"flat": part.height_mm, "long edge": part.width_mm, "short end": part.length_mm}[attitude]
    level = [part.length_mm, part.width_mm, part.height_mm]
    level.remove(up)
    (a, b), (c, d) = permutations(level)
    return (a, b, up), (c, d, up)


def outside_car(conversion: Conversion, space: Space) -> Iterator[Finding]:
    """A space reaches beyond the car's own edges: most likely a scan in axes of its own."""
    car, block = conversion.car, block_round(conversion, space)
    beyond_mm = max(
        car.front_edge_x_mm - block.x_min,
        block.x_max - car.rear_edge_x_mm,
        -car.overall_width_mm / 2 - block.y_min,
        block.y_max - car.overall_width_mm / 2,
        block.z_max - car.overall_height_mm,
        -block.z_min,
    )
    if beyond_mm > 0:
        cure = "its mesh must stand in the car's axes" if space.mesh else "a sign or a figure is wrong, or the car's edges are"
        yield Finding(
            rule="spaces.outside-car",
            level="fix",
            about=(space.ref,),
            text=f"{sentence(space.name)} reaches {beyond_mm:.0f} mm beyond the car: x {block.x_min:.0f} to {block.x_max:.0f}, "
            f"y {block.y_min:.0f} to {block.y_max:.0f}, z {block.z_min:.0f} to {block.z_max:.0f}; {cure}.",
            value=beyond_mm,
            limit=0.0,
            unit="mm",
            basis=Basis("common practice", "the car's own overall sizes"),
        )


def keep_out_elsewhere(conversion: Conversion, keep_out: KeepOut, space: Space) -> Iterator[Finding]:
    """A keep-out lies far from the space of which it is said to be a part."""
    block = block_round(conversion, space)
    away_mm = max(
        block.x_min - keep_out.x_max_mm,
        keep_out.x_min_mm - block.x_max,
        block.y_min - keep_out.y_max_mm,
        keep_out.y_min_mm - block.y_max,
        max(block.z_min, space.floor_z_mm) - keep_out.z_max_mm,
        keep_out.z_min_mm - min(block.z_max, space.top_z_mm),
    )
    if away_mm > BESIDE_MM:
        yield Finding(
            rule="spaces.keep-out-elsewhere",
            level="fix",
            about=(keep_out.ref, space.ref),
            text=f"{sentence(keep_out.name)} ({keep_out.ref}) lies {away_mm:.0f} mm away from {space.name} and keeps nothing of it free: "
            "its space, a sign or a figure is wrong.",
            value=away_mm,
            limit=BESIDE_MM,
            unit="mm",
            basis=Basis("common practice", "a keep-out lies in its space or just beside it"),
        )


def mesh_repaired(conversion: Conversion) -> Iterator[Finding]:
    """A mesh was not as its file had it, and has been put right."""
    for mesh in conversion.meshes:
        if mesh.repaired:
            yield Finding(
                rule="spaces.mesh-repaired",
                level="note",
                about=(mesh.ref,),
                text=f"Mesh {mesh.ref} was put right when it was read: {mesh.repaired}. Look at it once beside the car before boxes are made to it.",
                basis=Basis("common practice", "a scan that wants repair may be wrong elsewhere, too"),
            )
