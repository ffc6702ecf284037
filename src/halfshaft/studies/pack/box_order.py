"""In which order boxes are best joined: the least HV cable from the pack's plus through every box to its minus."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.lengths import round_up
from halfshaft.studies.looms.network import Network
from halfshaft.studies.looms.routing import WHOLE_MM
from halfshaft.studies.pack.rows import Row
from halfshaft.studies.pack.shortest import MOST, Costs, Stand, least_order
from halfshaft.studies.pack.strings import Join, String
from halfshaft.studies.pack.study import Pack

# A disconnect that leaves no more than this on one side does what it is for (common practice).
LARGER_SIDE_PERCENT = 60.0

# The plus and the minus plug of a box or of the disconnect, each written `device.connector`.
Plugs = tuple[str, str]


@dataclass(frozen=True, kw_only=True, slots=True)
class BoxOrder:
    """Boxes of one string and the service disconnect, plus first: as they are, and with the least cable."""

    string: int
    now: tuple[str, ...]
    now_mm: float
    best: tuple[str, ...]
    best_mm: float


def box_orders(conversion: Conversion, network: Network, pack: Pack) -> tuple[BoxOrder, ...]:
    """Every string of two to twelve boxes that cables join to each other directly or through the disconnect, each entered once."""
    found = (_box_order(conversion, network, pack, string) for string in pack.strings)
    return tuple(order for order in found if order is not None)


def _box_order(conversion: Conversion, network: Network, pack: Pack, string: String) -> BoxOrder | None:
    ends = conversion.pack
    plugs = _plugs(conversion, string)
    if plugs is None or ends.plus_at is None or ends.minus_at is None:
        return None
    names, things, full_v = list(string.boxes), list(plugs), [math.fsum(item.full_v for item in run) for run in string.runs]
    split = next((item for item in pack.splits if item.string == string.number), None)
    now: list[Stand] = [(index, 0) for index in range(len(things))]
    if split is not None:
        # The disconnect is one more thing in the row, which may be turned round.
        ahead = sum(run[-1].place.order_in_string < _order_of(string, split.before) for run in string.runs)
        now.insert(ahead, (len(things), 0))
        names.append(str(ends.service_disconnect))
        things.append(_through(string, str(ends.service_disconnect)))
    most_percent = max(LARGER_SIDE_PERCENT, split.larger_percent) if split is not None else 100.0
    costs = _costs(partial(cable_mm, conversion, network), things, full_v, most_percent, (ends.plus_at, ends.minus_at))
    now_mm = costs.of(now)
    best = least_order([1] * len(string.runs) + [2] * (split is not None), costs)
    if math.isinf(now_mm) or best is None:
        return None
    return BoxOrder(
        string=string.number,
        now=tuple(names[index] for index, _ in now),
        now_mm=now_mm,
        best=tuple(names[index] for index, _ in best),
        best_mm=costs.of(best),
    )


def _costs(distance: Callable[[str, str], float], things: list[Plugs], full_v: list[float], most_percent: float, ends: Plugs) -> Costs:
    """Metres of cable; the disconnect, which comes after all boxes in the list, stands at no end and leaves no side too large."""
    boxes, whole_v = len(full_v), math.fsum(full_v)

    def plugs(stand: Stand) -> Plugs:
        index, way = stand
        return things[index] if way == 0 else things[index][::-1]

    def between(one: Stand, other: Stand, ahead: int) -> float:
        if other[0] == boxes:
            ahead_v = math.fsum(volts for index, volts in enumerate(full_v) if ahead >> index & 1)
            if 100 * max(ahead_v, whole_v - ahead_v) / whole_v > most_percent + 1e-9:
                return math.inf
        return distance(plugs(one)[1], plugs(other)[0])

    return Costs(
        first=lambda stand: distance(ends[0], plugs(stand)[0]) if stand[0] < boxes else math.inf,
        between=between,
        last=lambda stand: distance(plugs(stand)[1], ends[1]) if stand[0] < boxes else math.inf,
    )


def cable_mm(conversion: Conversion, network: Network, one: str, other: str) -> float:
    """Cut length of a cable between two connectors by the shortest way open to HV; infinite without one."""
    tails = [conversion.tail.get((device, name)) for device, _, name in (end.partition(".") for end in (one, other))]
    if tails[0] is None or tails[1] is None:
        return math.inf
    route = network.shortest(tails[0].point, tails[1].point, kind="HV")
    if route is None:
        return math.inf
    return round_up(route.length_mm + tails[0].tail_mm + tails[1].tail_mm + conversion.shop.cable_ends_mm, step_mm=WHOLE_MM)


def _order_of(string: String, module: str) -> int:
    return next(item.place.order_in_string for item in string.modules if item.ref == module)


def _plugs(conversion: Conversion, string: String) -> list[Plugs] | None:
    """By run, the plugs at which the string comes into its box and leaves it; None where cables do not say so, or a box is entered twice."""
    runs, settings = string.runs, conversion.pack
    if not 2 <= len(runs) < MOST or len(set(string.boxes)) < len(runs):
        return None
    passed = {*string.boxes, settings.service_disconnect, *(str(end).partition(".")[0] for end in (settings.plus_at, settings.minus_at))}
    found: list[Plugs] = []
    at = 0
    for run in runs:
        before, after = string.joins[at], string.joins[at + len(run)]
        at += len(run)
        pair = _cable_end(before, run), _cable_end(after, run)
        others = {end.partition(".")[0] for join in (before, after) for end in _cable_ends(join)} - passed
        if pair[0] is None or pair[1] is None or others:
            return None
        found.append((pair[0], pair[1]))
    return found


def _cable_ends(join: Join) -> list[str]:
    """Connectors at the ends of the cables in a join."""
    return [pin.rpartition(".")[0] for link in join.links or () if link.kind == "cables" for pin in (link.one, link.other)]


def _cable_end(join: Join, run: Row) -> str | None:
    return next((end for end in _cable_ends(join) if end.partition(".")[0] == run[0].box), None)


def _through(string: String, device: str) -> Plugs:
    """The two plugs of the disconnect, the one that looks to the pack's plus first."""
    ends = [end for join in string.joins[1:-1] for end in _cable_ends(join) if end.partition(".")[0] == device]
    return ends[0], ends[-1]
