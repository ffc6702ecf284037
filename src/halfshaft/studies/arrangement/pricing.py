"""What a choice of fillings makes of the car, for many choices at once: prices, and what its limits refuse."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from halfshaft.model.pack import ArrangementSettings
from halfshaft.studies.arrangement.context import AS_DESCRIBED, Context, allowed_counts
from halfshaft.studies.arrangement.halves import Reals
from halfshaft.studies.arrangement.records import Filling, Price

# Columns of a row of sums; the last one counts boxes that are there already, and is no goal.
MASS, ALONG, ACROSS, HEIGHT, SECOND, LUGGAGE, THERE = range(7)
GOALS = ("cg_height_mm", "split_off_percent", "luggage_lost_l", "boxes", "hv_cable_m", "yaw_change_kg_m2", "energy_kwh")
# Goals that depend on the sums; the others depend on which spaces are used and on how many modules there are.
SUMMED = GOALS[:3] + GOALS[5:6]
SPLIT_OFF = 1

# More steps than any price has.
MANY_STEPS = 1e9

Counts = tuple[tuple[str, int], ...]


def row_of(filling: Filling, context: Context, settings: ArrangementSettings) -> list[float]:
    """One filling as a row of sums."""
    weights = context.weights(filling, settings)
    is_there = float(AS_DESCRIBED in filling.kinds)
    return [weights.mass_kg, weights.along, weights.across, weights.height, weights.second_kg_m2, weights.luggage_l, is_there]


def scores_of(prices: Reals, rows: Reals, steps: Reals) -> Reals:
    """Which of two is taken that are alike in every goal, in steps: what needs fewer boxes made, then what is better by parts of a step."""
    scores: Reals = (prices / steps).sum(axis=1) - MANY_STEPS * rows[:, THERE]
    return scores


def front_share(rows: Reals, context: Context) -> Reals:
    """Percent of the whole car on the front axle, by moments about the rear one."""
    base = context.base
    total = base.total_kg + rows[:, MASS]
    return 100 * (base.front_kg + fronts_of(rows, context)) / total


def fronts_of(rows: Reals, context: Context) -> Reals:
    """Kilograms that the battery puts on the front axle."""
    rear = (rows[:, ALONG] + rows[:, MASS] * context.base.x_mm) / context.wheelbase_mm
    return rows[:, MASS] - rear


def summed_prices(rows: Reals, context: Context) -> Reals:
    """Height of the centre of gravity, distance of the split from its target, lost luggage room, yaw inertia added.

    Yaw inertia about the new centre: what is added about the bare car's centre, less the whole car times the square of
    the way between both centres (parallel axes, for the bare car and the battery together). Where no height of the donor is known the
    height is that of the battery alone.
    """
    base = context.base
    total = base.total_kg + rows[:, MASS]
    # A car whose height nobody knows counts for nothing here.
    known_kg = 0.0 if base.z_mm is None else base.total_kg
    height = (known_kg * (base.z_mm or 0.0) + rows[:, HEIGHT]) / (known_kg + rows[:, MASS])
    split = np.abs(front_share(rows, context) - context.target_front_percent)
    yaw = np.abs(rows[:, SECOND] - (rows[:, ALONG] ** 2 + rows[:, ACROSS] ** 2) / total / 1e6)
    return np.stack([height, split, rows[:, LUGGAGE], yaw], axis=1)


def in_steps(prices: Reals, steps: Reals) -> npt.NDArray[np.int64]:
    """Prices in whole steps. The edge between two steps is moved off the half, where measured figures and their sums like to lie."""
    return np.floor(prices / steps + 0.500_001).astype(np.int64)


def price_of(summed: Reals, used: frozenset[str], counts: Counts, context: Context) -> Price:
    """The whole price from one row of summed goals."""
    height, split, luggage, yaw = (float(value) for value in summed)
    return Price(
        cg_height_mm=height,
        split_off_percent=split,
        luggage_lost_l=luggage,
        boxes=len(used),
        hv_cable_m=context.chains[used].cable_mm * context.strings / 1000,
        yaw_change_kg_m2=yaw,
        energy_kwh=context.energy_kwh(counts),
    )


def steps_of(price: Price, context: Context) -> list[int]:
    """A whole price in steps, smaller is better in each."""
    values = [getattr(price, goal) * (-1 if goal == "energy_kwh" else 1) for goal in GOALS]
    steps = [getattr(context.steps, goal) for goal in GOALS]
    return [int(value) for value in in_steps(np.array(values, dtype=float), np.array(steps, dtype=float))]


@dataclass(frozen=True, slots=True)
class Limit:
    """What the battery may put on an axle, or weigh at most, for the finished car and every load state to stay in its plate."""

    name: str
    most_kg: float

    def loads(self, rows: Reals, context: Context) -> Reals:
        """What it is held against."""
        front = fronts_of(rows, context)
        return {"front": front, "rear": rows[:, MASS] - front}.get(self.name.split(" ")[0], rows[:, MASS])


def limits_of(context: Context) -> tuple[Limit, ...]:
    """Both axles and the whole car, each in the load state that loads it most."""
    base, plate = context.base, context.limits
    found = []
    for axle, words, carries_kg, limit_kg in (
        ("front", "front axle over {:.0f} kg{}", base.front_kg, plate.front_axle_kg),
        ("rear", "rear axle over {:.0f} kg{}", base.rear_kg, plate.rear_axle_kg),
        ("gross", "gross over {:.0f} kg{}", base.total_kg, plate.gross_kg),
    ):
        added_kg, state = context.worst[axle]
        found.append(Limit(words.format(limit_kg, state), limit_kg - carries_kg - added_kg))
    return tuple(found)


def against_counts(counts: Counts, settings: ArrangementSettings, context: Context) -> str | None:
    """Why so many modules cannot be: strings that are not equal, or volts outside a unit's window. Empty: they can. None: not asked for."""
    total = sum(count for _, count in counts)
    low, high = allowed_counts(settings, context)
    if total < low or (high is not None and total > high) or total == 0:
        return None
    uneven = [(module, count) for module, count in counts if count % context.strings]
    if uneven:
        return f"{uneven[0][1]} modules of {uneven[0][0]} do not divide into {context.strings} equal strings"
    string = [(module, count // context.strings) for module, count in counts]
    full_v, empty_v = context.full_v(string), context.empty_v(string)
    for unit in context.units:
        if full_v > unit.operate_max_v:
            return f"{total} modules: {full_v:.0f} V full, {unit.ref} works up to {unit.operate_max_v:g} V"
        if empty_v < unit.operate_min_v:
            return f"{total} modules: {empty_v:.0f} V empty, {unit.ref} works from {unit.operate_min_v:g} V"
    return ""


@dataclass(frozen=True, slots=True)
class Miss:
    """A choice that breaks a limit: how far it is from what is looked for, the limit it breaks most, by how much, and its fillings."""

    off: float
    limit: str
    over_kg: float
    fillings: Callable[[], tuple[Filling, ...]]


@dataclass(slots=True)
class Refusals:
    """What was left out, by reason; and of what broke a limit, what comes nearest to the limits and to the target."""

    counts: dict[str, int] = field(default_factory=dict)
    nearest: dict[str, Miss] = field(default_factory=dict)

    def add(self, reason: str, count: int) -> None:
        """Count some more."""
        if count:
            self.counts[reason] = self.counts.get(reason, 0) + count

    def note(self, looked_for: str, miss: Miss) -> None:
        """Keep it where it is nearer than what is kept."""
        if looked_for not in self.nearest or miss.off < self.nearest[looked_for].off:
            self.nearest[looked_for] = miss
