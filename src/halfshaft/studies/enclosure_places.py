"""Places for unequal devices in an enclosure, or the proof that there are none and which wall is in the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from halfshaft.model.boxes import Look
from halfshaft.model.enclosures import Enclosure, EnclosureItem
from halfshaft.studies.enclosure import STEPS_PER_MM, WALLS, ItemPlace, Span, Steps, room_of, size_of, steps

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

# Lowest and highest corner of a device, each coordinate a whole number or an expression of the solver.
Corners = tuple[list[Any], list[Any]]
UP = 2
DIMENSIONS = ("across", "from front to rear", "in height")
# Deterministic time of each question, near seconds.
TIME = 10.0
TIME_LOWERING = 0.5


@dataclass(frozen=True, kw_only=True, slots=True)
class Growth:
    """How much longer one inner dimension must be for all devices to find a place.

    `grow_mm` is None where no growth of that dimension alone helps; `is_proven` says that this, or that less does not do, is proven.
    """

    dimension: str
    grow_mm: float | None
    is_proven: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class DevicePlaces:
    """Places of all devices; or, where there are none, whether that is proven, and which dimension is in the way.

    `growths` stand least first; those that do not help stand last.
    """

    places: tuple[ItemPlace, ...]
    is_proven: bool
    growths: tuple[Growth, ...]

    def sentence(self, enclosure: Enclosure) -> str:
        """What came out, in a sentence."""
        if self.places:
            return f"All {len(self.places)} devices find a place in {enclosure.ref}."
        words = (
            "is proven not to hold its devices"
            if self.is_proven
            else "holds its devices in no way that was found; none is proven to exist or not"
        )
        helps = [growth for growth in self.growths if growth.grow_mm is not None]
        if not helps:
            return f"{enclosure.ref} {words}; no growth of one dimension alone was found to help."
        listed = "; or ".join(
            f"{growth.grow_mm:g} mm more {growth.dimension}" + ("" if growth.is_proven else " (less was not excluded)") for growth in helps
        )
        return f"{enclosure.ref} {words}. What would do: {listed}."


def place_devices(enclosure: Enclosure, items: tuple[EnclosureItem, ...], *, time: float = TIME) -> DevicePlaces:
    """Places for all devices of an enclosure, wherever the tables have them now.

    `time` is the deterministic time that each of up to four questions may take.
    """
    room = room_of(enclosure)
    model = _Model(enclosure, items, grows=None)
    outcome = model.solved(time)
    if outcome.places or not items:
        return DevicePlaces(places=model.lowered(outcome.places), is_proven=True, growths=())
    growths = []
    for axis, words in enumerate(DIMENSIONS):
        grown = _Model(enclosure, items, grows=axis).solved(time)
        grow_mm = None if grown.side is None else (grown.side - room[axis]) / STEPS_PER_MM
        growths.append(Growth(dimension=words, grow_mm=grow_mm, is_proven=grown.is_proven))
    growths.sort(key=lambda growth: (growth.grow_mm is None, growth.grow_mm or 0.0))
    return DevicePlaces(places=(), is_proven=outcome.is_proven, growths=tuple(growths))


@dataclass(frozen=True, kw_only=True, slots=True)
class _Outcome:
    places: tuple[ItemPlace, ...]
    side: int | None
    is_proven: bool


class _Model:
    """The question to the solver, in tenths of a millimetre; `grows`: the dimension that is made as small as can be, from the present one up."""

    def __init__(self, enclosure: Enclosure, items: tuple[EnclosureItem, ...], *, grows: int | None) -> None:
        from ortools.sat.python import cp_model

        self.items = items
        self.model = cp_model.CpModel()
        room = room_of(enclosure)
        gap = steps(enclosure.gap_mm)
        # In a row of all devices, each with its greatest side and its plugs' room, everything has room.
        most = sum(max(size_of(item)) + steps(item.plug_room_mm) + gap for item in items)
        self.walls: list[Any] = list(room)
        self.most = [side + most if axis == grows else side for axis, side in enumerate(room)]
        self.side: cp_model.IntVar | None = None
        if grows is not None:
            self.side = self.model.new_int_var(room[grows], self.most[grows], "")
            self.walls[grows] = self.side
            self.model.minimize(self.side)
        self.spans = [self._span(item) for item in items]
        for index, (item, span) in enumerate(zip(items, self.spans, strict=True)):
            self._inside(item, span)
            for other in range(len(items)):
                if other != index:
                    self._clear(item, span, self.spans[other])
            for other in range(index):
                self._apart(span, self.spans[other], gap)

    def _span(self, item: EnclosureItem) -> Corners:
        """Lowest and highest corner of a device; turned, its two sides across the direction that it faces are exchanged."""
        size = size_of(item)
        axis = UP if item.faces is None else WALLS[item.faces][0]
        low: list[Any] = [self.model.new_int_var(0, max(0, self.most[at] - min(size)), "") for at in range(3)]
        sides: list[Any] = list(size)
        if item.may_roll:
            rolled = self.model.new_bool_var("")
            one, two = (at for at in range(3) if at != axis)
            sides[one] = size[one] + (size[two] - size[one]) * rolled
            sides[two] = size[two] + (size[one] - size[two]) * rolled
        return low, [start + side for start, side in zip(low, sides, strict=True)]

    def _inside(self, item: EnclosureItem, span: Corners) -> None:
        low, high = span
        for axis in range(3):
            self.model.add(high[axis] <= self.walls[axis])
        if item.plugs_look is not None:
            axis, is_greater = WALLS[item.plugs_look]
            room = steps(item.plug_room_mm)
            self.model.add(high[axis] + room <= self.walls[axis] if is_greater else low[axis] >= room)
        if item.wall_within_mm is not None and item.faces is not None:
            axis, is_greater = WALLS[item.faces]
            within = steps(item.wall_within_mm)
            self.model.add(self.walls[axis] - high[axis] <= within if is_greater else low[axis] <= within)

    def _clear(
        self,
        item: EnclosureItem,
        span: Corners,
        other: Corners,
    ) -> None:
        """Keeps another device from between this one and its wall, from its plugs' room and, where asked, from above it."""
        looks: list[tuple[Look, int | None]] = [] if item.faces is None else [(item.faces, None)]
        if item.plugs_look is not None:
            looks.append((item.plugs_look, steps(item.plug_room_mm)))
        if not item.others_above and item.faces != "up":
            looks.append(("up", None))
        for look, reach in looks:
            axis, is_greater = WALLS[look]
            ways = self._beside(span, other, axis)
            if is_greater:
                ways.append(other[1][axis] <= span[0][axis])
                if reach is not None:
                    ways.append(span[1][axis] + reach <= other[0][axis])
            else:
                ways.append(span[1][axis] <= other[0][axis])
                if reach is not None:
                    ways.append(other[1][axis] <= span[0][axis] - reach)
            self._one_of(ways)

    def _beside(
        self,
        span: Corners,
        other: Corners,
        axis: int,
    ) -> list[Any]:
        """Ways of not meeting along the two other axes."""
        return [way for at in range(3) if at != axis for way in (span[1][at] <= other[0][at], other[1][at] <= span[0][at])]

    def _apart(
        self,
        span: Corners,
        other: Corners,
        gap: int,
    ) -> None:
        self._one_of([way for at in range(3) for way in (span[1][at] + gap <= other[0][at], other[1][at] + gap <= span[0][at])])

    def _one_of(self, ways: list[Any]) -> None:
        chosen = [self.model.new_bool_var("") for _ in ways]
        for way, choice in zip(ways, chosen, strict=True):
            self.model.add(way).only_enforce_if(choice)
        self.model.add_bool_or(chosen)

    def lowered(self, places: tuple[ItemPlace, ...]) -> tuple[ItemPlace, ...]:
        """Of all ways that fit, one that stands low, as far as a little time goes: nothing floats that need not."""
        for place, (low, _) in zip(places, self.spans, strict=True):
            for variable, value in zip(low, place.span.low, strict=True):
                self.model.add_hint(variable, value)
        self.model.minimize(sum(low[UP] for low, _ in self.spans))
        return self.solved(TIME_LOWERING).places or places

    def solved(self, time: float) -> _Outcome:
        """Places, the side that was made small, and whether the answer is proven."""
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.max_deterministic_time = time
        status = solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return _Outcome(places=(), side=None, is_proven=status == cp_model.INFEASIBLE)
        places = tuple(
            ItemPlace(item=item, span=Span(_values(solver, low), _values(solver, high)))
            for item, (low, high) in zip(self.items, self.spans, strict=True)
        )
        return _Outcome(places=places, side=None if self.side is None else solver.value(self.side), is_proven=status == cp_model.OPTIMAL)


def _values(solver: cp_model.CpSolver, corner: list[Any]) -> Steps:
    across, deep, up = (int(solver.value(value)) for value in corner)
    return across, deep, up
