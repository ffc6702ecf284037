"""What there is to know of each space before anything is arranged: its size, what is free of it, how many modules it takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.errors import HalfshaftError
from halfshaft.model.conversion import Conversion
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.records import Block, Menu, Room

LITRES = "Usable litres are the area of the plan times the height, less what keep-outs take; of a mesh, what its triangles hold between floor and lid, less the same."
COUNTS = (
    "Modules are counted for one box a space, built as [arrangement] in conversion.toml says. A number alone is proven to be the most; "
    "of two, the first was found at once, in even rows, and more than the second is proven not to fit."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class SpaceFacts:
    """One space.

    `usable_l` is what lies between floor and lid and clear of keep-outs. Free blocks are cut to a grid of `step_mm`, on the
    safe side; None: they are exact. `largest` is None where nothing is free.

    `most` modules were found to fit into one box here, in grids, at once; more than `most_bound` are proven not to fit. Both
    are None where no battery box may stand, or where modules cannot be counted; `refused` then says why, as it does
    where not one module fits.
    """

    ref: str
    name: str
    loaded_from: str
    floor_z_mm: float
    top_z_mm: float
    usable_l: float
    step_mm: float | None
    largest: Block | None
    for_batteries: bool
    most: int | None
    most_bound: int | None
    refused: str

    @property
    def most_words(self) -> str:
        """`6`, or `6, at most 7` where more than was found is not ruled out."""
        if not self.for_batteries:
            return "not for batteries"
        if self.most is None:
            return "not counted"
        return str(self.most) if self.most == self.most_bound else f"{self.most}, at most {self.most_bound}"


def space_facts(conversion: Conversion, rooms: Mapping[str, Room]) -> tuple[SpaceFacts, ...]:
    """The facts of every space, by their marks."""
    menus, refused = _menus(conversion, rooms)
    return tuple(
        _facts(space, rooms[space.ref], menus.get(space.ref), refused) for space in sorted(conversion.spaces, key=lambda space: space.ref)
    )


def _menus(conversion: Conversion, rooms: Mapping[str, Room]) -> tuple[dict[str, Menu], str]:
    """First answers for spaces that are for batteries; or none, and why modules cannot be counted."""
    from halfshaft.studies.arrangement.menus import menu_of
    from halfshaft.studies.arrangement.search import kinds_of, plate_mm_of

    try:
        kinds, plate_mm = kinds_of(conversion), plate_mm_of(conversion)
    except HalfshaftError as error:
        return {}, str(error)
    spaces = [space for space in conversion.spaces if space.for_batteries]
    return {space.ref: menu_of(space, rooms[space.ref], kinds, conversion.arrangement, plate_mm, 0.0) for space in spaces}, ""


def _facts(space: Space, room: Room, menu: Menu | None, refused: str) -> SpaceFacts:
    return SpaceFacts(
        ref=space.ref,
        name=space.name,
        loaded_from=space.loaded_from,
        floor_z_mm=space.floor_z_mm,
        top_z_mm=space.top_z_mm,
        usable_l=room.usable_l,
        step_mm=room.step_mm,
        largest=room.blocks[0] if room.blocks else None,
        for_batteries=space.for_batteries,
        most=menu.most if menu else None,
        most_bound=menu.most_bound if menu else None,
        refused=menu.refused if menu else refused if space.for_batteries else "",
    )
