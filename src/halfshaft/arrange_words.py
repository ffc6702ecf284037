"""A front of arrangements as plain values for another program or as words for a screen; and what taking one has changed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from halfshaft.model.finding import BATTERY_PLACE_CAUTION
from halfshaft.show.tables import plain, table
from halfshaft.studies.arrangement.context import AS_DESCRIBED
from halfshaft.studies.arrangement.records import Arrangement, Filling, Front, Menu
from halfshaft.studies.arrangement.take import Taken
from halfshaft.studies.arrangement.words import better_than, letters_of, lower_by_mm, name_of, to_show


def as_plain(front: Front) -> Any:
    """Everything that was found, as mappings, lists, words and numbers."""
    return plain(front)


def as_words(front: Front, *, show_all: bool = False) -> str:
    """The choice to look at first, or every best arrangement, as a table; what stands where; and what was looked at and refused."""
    shown = list(front.arrangements) if show_all else to_show(front)
    pieces = [_head(front, len(shown))]
    if shown or front.present:
        rows = [item for item in (front.present, *shown) if item is not None]
        letters = letters_of(front)
        pieces.append(_arrangements(front, rows, letters))
        pieces += [_orders(shown), _boxes(shown, letters)] if shown else []
    pieces += [front.nearest, _menus(front.menus), _notes(front)]
    return "\n\n".join(piece for piece in pieces if piece)


def _head(front: Front, shown: int) -> str:
    words = f"{len(front.arrangements)} best of {front.looked_at} arrangements"
    if shown < len(front.arrangements):
        words += f"; {shown} of them here, `--all` prints every one"
    refused = "; ".join(f"{count} refused: {reason}" for reason, count in front.refused)
    return f"{words}\n{refused}" if refused else words


def _arrangements(front: Front, rows: Sequence[Arrangement], letters: dict[Filling, str]) -> str:
    lines = []
    for item in rows:
        price, is_now = item.price, item is front.present
        best = f"as described now{_beside_the_best(front)}" if is_now else ", ".join(item.best_at)
        lines.append(
            [
                "now" if is_now else str(item.number),
                ", ".join(name_of(filling, letters) for filling in item.fillings),
                f"{price.cg_height_mm:.1f}",
                f"{item.front_percent:.1f}",
                f"{item.front_kg:.0f}",
                f"{item.rear_kg:.0f}",
                f"{price.luggage_lost_l:.1f}",
                f"{price.hv_cable_m:.1f}",
                f"{price.yaw_change_kg_m2:.0f}",
                f"{price.energy_kwh:.1f}",
                f"{item.live_v:.0f}",
                f"{item.cost_eur:.0f}",
                f"{item.hours:g}",
                _proof(item, front),
                best,
            ]
        )
    header = [
        "no", "modules in", "CG mm", "front %", "front kg", "rear kg", "luggage l", "cable m", "yaw kg m2", "kWh", "live V", "EUR", "hours",
        "lower mm", "best at",
    ]  # fmt: skip
    return table(header, lines)


def _beside_the_best(front: Front) -> str:
    """How what is described now stands to the best: one of them, or worse than one, or not compared."""
    assert front.present is not None
    if front.present.number:
        return f"; the same as number {front.present.number}"
    better = better_than(front.present, front)
    return f"; number {better.number} is as good or better in everything" if better else "; not one of those compared"


def _proof(item: Arrangement, front: Front) -> str:
    """By how much the centre of gravity could be lower at most with as many modules in each space."""
    by_mm = lower_by_mm(item, front.menus)
    return "" if by_mm is None else f"{by_mm:.1f}"


def _orders(shown: Sequence[Arrangement]) -> str:
    """The way of the pack's cable, once for every set of spaces."""
    ways: dict[tuple[tuple[str, ...], int | None], list[int]] = {}
    for item in shown:
        ways.setdefault((item.order, item.before_disconnect), []).append(item.number)
    lines = []
    for (order, before), numbers in ways.items():
        stops = list(order)
        if before is not None:
            stops.insert(before, "service disconnect")
        lines.append(f"cable: plus, {', '.join(stops)}, minus ({'number' if len(numbers) == 1 else 'numbers'} {_listed(numbers)})")
    return "\n".join(lines)


def _listed(numbers: Sequence[int]) -> str:
    return ", ".join(map(str, numbers)) if len(numbers) < 8 else f"{numbers[0]} to {numbers[-1]}, {len(numbers)} of them"


def _boxes(shown: Sequence[Arrangement], letters: dict[Filling, str]) -> str:
    """Every box that is named in the table."""
    fillings: dict[str, Filling] = {}
    for item in shown:
        for filling in item.fillings:
            fillings[name_of(filling, letters)] = filling
    rows = []
    for name, filling in sorted(fillings.items(), key=lambda pair: (pair[1].space, pair[1].count, pair[0])):
        box = filling.box
        rows.append(
            [
                name,
                " x ".join(f"{side:.0f}" for side in box.size),
                f"{box.x_min:.0f} to {box.x_max:.0f}",
                f"{box.y_min:.0f} to {box.y_max:.0f}",
                f"{box.z_min:.0f} to {box.z_max:.0f}",
                "the box that is described now" if AS_DESCRIBED in filling.kinds else filling.how,
            ]
        )
    return table(["box", "mm", "x", "y", "z", "modules"], rows)


def _menus(menus: Sequence[Menu]) -> str:
    lines = []
    for menu in menus:
        if menu.refused:
            lines.append(f"{menu.space}: {menu.refused}")
        elif menu.most == menu.most_bound:
            lines.append(f"{menu.space}: at most {menu.most} modules, proven{_over(menu)}")
        else:
            lines.append(f"{menu.space}: {menu.most} modules found, more than {menu.most_bound} proven not to fit{_over(menu)}")
    return "\n".join(lines)


def _over(menu: Menu) -> str:
    """Over what a proof goes, where the space is not cut exactly."""
    return "" if menu.grid_mm is None else f" over its free blocks, cut to a grid of {menu.grid_mm:g} mm on the safe side"


def _notes(front: Front) -> str:
    return "\n".join(
        [
            f"front %: share of the front axle, finished car without people; aimed at {front.target_front_percent:.1f}",
            "yaw kg m2: what battery and boxes add to the yaw inertia of the car without them",
            "cable m: with the boxes joined in the order that takes least, what is described now, too",
            "live V: most volts between two plugs with the service disconnect out, all cells full",
            "lower mm: the centre of gravity could be lower by so much at most, with as many modules in each space and boxes as the settings have them; 0.0: proven lowest",
            "EUR and hours: boxes only, by their outside area, labour counted in; modules, cables, hoses and mounts stay out",
            "HV cables, hoses and mounts weigh what they do now",
            BATTERY_PLACE_CAUTION,
        ]
    )


def taken_words(arrangement: Arrangement, taken: Taken) -> str:
    """What was changed, and what is left."""
    price = arrangement.price
    head = (
        f"taken: number {arrangement.number}, {', '.join(f'{space} {count}' for space, count in arrangement.counts)}: "
        f"centre of gravity {price.cg_height_mm:.0f} mm, {arrangement.front_percent:.1f} % on the front axle"
    )
    lines = [head, "", "changed in the folder:", *(f"  {line}" for line in taken.changed)]
    lines += ["", "still to describe or measure:", *(f"  {line}" for line in taken.to_do)] if taken.to_do else []
    return "\n".join([*lines, "", BATTERY_PLACE_CAUTION])
