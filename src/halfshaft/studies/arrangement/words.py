"""What is said of a front: what an arrangement is best at, which ones to show first, and what comes nearest where nothing will do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfshaft.model.pack import ArrangementSettings
from halfshaft.studies.arrangement.context import Context, allowed_counts
from halfshaft.studies.arrangement.pricing import Refusals
from halfshaft.studies.arrangement.records import Arrangement, Filling, Front, Menu

TITLES = {
    "cg_height_mm": "lowest",
    "split_off_percent": "split nearest to target",
    "luggage_lost_l": "most luggage",
    "boxes": "fewest boxes",
    "hv_cable_m": "least HV cable",
    "yaw_change_kg_m2": "least yaw inertia",
    "energy_kwh": "most energy",
}
ALL_ROUND = "all round"
# Nearer to the target than this no scale would tell.
SPLIT_STEP_PERCENT = 0.5


def shares_of(points: Sequence[Sequence[float]]) -> list[list[float]]:
    """Each goal from 0 (best there is) to 1 (worst there is)."""
    columns = list(zip(*points, strict=True))
    low, high = [min(column) for column in columns], [max(column) for column in columns]
    return [
        [(value - least) / (most - least) if most > least else 0.0 for value, least, most in zip(point, low, high, strict=True)]
        for point in points
    ]


def best_at(points: Sequence[Sequence[float]], goals: Sequence[str]) -> dict[int, tuple[str, ...]]:
    """For each goal the point that is best in it, of several the one that is best in all others weighed alike; and the one best all round."""
    if not points:
        return {}
    shares = shares_of(points)
    titles: dict[int, list[str]] = {}
    for column, goal in enumerate(goals):
        if min(point[column] for point in points) == max(point[column] for point in points):
            continue
        index = min(range(len(points)), key=lambda number: (points[number][column], sum(shares[number]), number))
        titles.setdefault(index, []).append(TITLES[goal])
    middle = min(range(len(points)), key=lambda number: (sum(shares[number]), number))
    titles.setdefault(middle, []).append(ALL_ROUND)
    return {index: tuple(words) for index, words in titles.items()}


def chosen(points: Sequence[Sequence[float]], first: Sequence[int], count: int) -> list[int]:
    """Indices of a manageable choice: the given ones, then, one after another, what differs most from all chosen so far."""
    shares = shares_of(points)
    picked = list(dict.fromkeys(first))
    if not picked and points:
        picked = [0]
    far = [min(_apart(shares[index], shares[other]) for other in picked) for index in range(len(points))]
    while len(picked) < min(count, len(points)):
        index = max(range(len(points)), key=lambda number: (far[number], -number))
        if far[index] <= 0:
            break
        picked.append(index)
        far = [min(known, _apart(shares[number], shares[index])) for number, known in enumerate(far)]
    return sorted(picked)


def _apart(one: Sequence[float], other: Sequence[float]) -> float:
    return sum((a - b) ** 2 for a, b in zip(one, other, strict=True))


def spaces_words(fillings: Sequence[Filling]) -> str:
    """`SP1 4, SP2 4, SP4 5`."""
    return ", ".join(f"{filling.space} {filling.count}" for filling in sorted(fillings, key=lambda item: item.space))


def _dividing(context: Context, settings: ArrangementSettings) -> str:
    """The numbers next to those asked for that make equal strings, where none of those does."""
    low, high = allowed_counts(settings, context)
    below = low - low % context.strings
    above = below + context.strings
    if below == low or high is None or above <= high:
        return ""  # one of those asked for does; something else is in the way
    numbers = " and ".join(str(number) for number in (below, above) if number > 0)
    return f" Next to them {numbers} make {context.strings} equal strings: set modules_min and modules_max under [arrangement]."


def nearest_words(
    menus: Sequence[Menu], arrangements: Sequence[Arrangement], context: Context, settings: ArrangementSettings, refusals: Refusals
) -> str:
    """What comes nearest, and why, where a target or a limit is met by none; empty where one meets all."""
    if arrangements:
        return _nearest_split(arrangements, context, refusals)
    if "limits" in refusals.nearest:
        miss = refusals.nearest["limits"]
        return f"No arrangement keeps every limit. The nearest, {spaces_words(miss.fillings())}, has its {miss.limit}, by {miss.over_kg:.1f} kg."
    if refusals.counts:
        return f"No number of modules that was asked for will do: {'; '.join(refusals.counts)}.{_dividing(context, settings)}"
    if not menus:
        return "No space is marked for batteries: set for_batteries of those in which boxes may stand."
    refused = [menu.refused for menu in menus if menu.refused]
    most = sum(sorted((menu.most for menu in menus), reverse=True)[: settings.boxes_max or len(menus)])
    if not most:
        return " ".join(refused) or "No module fits into any space."
    low, high = allowed_counts(settings, context)
    wanted = f"{low}" if high == low else f"{low} to {high}" if high is not None else f"at least {low}"
    if most < low:
        short = f"No arrangement holds {wanted} modules: at most {most} fit, {', '.join(f'{menu.space} {menu.most}' for menu in menus)}."
        return " ".join([short, *refused])
    return f"No arrangement holds {wanted} modules with the menus found."


def _nearest_split(arrangements: Sequence[Arrangement], context: Context, refusals: Refusals) -> str:
    """Which arrangement comes nearest to a target that none meets; what a limit refused nearer to it; and where the battery would have to be."""
    nearest = min(arrangements, key=lambda item: (item.price.split_off_percent, item.number))
    if nearest.price.split_off_percent <= SPLIT_STEP_PERCENT:
        return ""
    battery_kg = nearest.total_kg - context.base.total_kg
    off_kg = nearest.front_kg - context.target_front_percent / 100 * nearest.total_kg
    shift_mm = off_kg * context.wheelbase_mm / battery_kg
    words = (
        f"No arrangement puts {context.target_front_percent:.1f} % on the front axle. The nearest is number {nearest.number}, "
        f"{spaces_words(nearest.fillings)}, with {nearest.front_percent:.1f} %: to meet the target its {battery_kg:.0f} kg of "
        f"boxes would have to stand {abs(shift_mm):.0f} mm further {'rear' if shift_mm > 0 else 'for'}wards."
    )
    miss = refusals.nearest.get("target")
    if miss is None or miss.off >= nearest.price.split_off_percent:
        return words
    return f"{words} {spaces_words(miss.fillings())} would come nearer, {miss.off:.1f} % off, but has its {miss.limit}, by {miss.over_kg:.1f} kg."


def to_show(front: Front, count: int = 15) -> list[Arrangement]:
    """The best in each goal, the one described now if it is among them, and a spread of others."""
    first = [index for index, item in enumerate(front.arrangements) if item.best_at]
    if front.present is not None and front.present.number:
        first.append(front.present.number - 1)
    points = [goals_of(item) for item in front.arrangements]
    return [front.arrangements[index] for index in chosen(points, first, count)]


def goals_of(item: Arrangement) -> list[float]:
    """All goals as numbers of which the smaller is the better."""
    price = item.price
    return [getattr(price, goal) * (-1 if goal == "energy_kwh" else 1) for goal in TITLES]


def better_than(item: Arrangement, front: Front) -> Arrangement | None:
    """The first of the best that is at least as good in every goal, up to rounding of sums."""
    mine = goals_of(item)
    better = (other for other in front.arrangements if all(a <= b + 1e-9 for a, b in zip(goals_of(other), mine, strict=True)))
    return next(better, None)


def lower_by_mm(item: Arrangement, menus: Sequence[Menu]) -> float | None:
    """How much lower the centre of gravity could be at most with as many modules in each space, by what is proven of the menus.

    A box is as much higher as its modules are, on average, than those of the lowest one found, and the gap of that one.
    None where nothing is proven of a box, or modules of several types are mixed in it.
    """
    moment = 0.0
    for filling in item.fillings:
        menu = next(menu for menu in menus if menu.space == filling.space)
        proven = [other for other in menu.fillings if other.counts == filling.counts and other.gap_mm is not None]
        if not proven or len(filling.counts) > 1:
            return None
        lowest_mm = min(mean_height_mm(other) - (other.gap_mm or 0.0) for other in proven)
        moment += max(0.0, mean_height_mm(filling) - lowest_mm) * filling.count
    return moment / sum(filling.count for filling in item.fillings) * item.battery_kg / item.total_kg


def mean_height_mm(filling: Filling) -> float:
    """Height of the middle of its modules, which are alike."""
    return sum(module.block.centre[2] for module in filling.modules) / filling.count


def letters_of(front: Front) -> dict[Filling, str]:
    """A letter for every filling that shares its space and number of modules with another one of the front."""
    alike: dict[tuple[str, int], dict[Filling, None]] = {}
    for item in front.arrangements:
        for filling in item.fillings:
            alike.setdefault((filling.space, filling.count), {})[filling] = None
    letters = {}
    for fillings in alike.values():
        for number, filling in enumerate(sorted(fillings, key=lambda item: (item.box, item.how))):
            letters[filling] = _letters(number) if len(fillings) > 1 else ""
    return letters


def _letters(number: int) -> str:
    """a to z, then aa, ab ..."""
    high, low = divmod(number, 26)
    return (_letters(high - 1) if high else "") + chr(ord("a") + low)


def name_of(filling: Filling, letters: Mapping[Filling, str]) -> str:
    """`SP1 4`, or `SP1 4b` where several boxes of the front hold as many."""
    return f"{filling.space} {filling.count}{letters.get(filling, '')}"
