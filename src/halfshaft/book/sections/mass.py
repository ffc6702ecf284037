"""Corner and axle loads, load states, the ledger."""

from __future__ import annotations

from collections import defaultdict

from halfshaft.book.blocks import (
    Block,
    Cell,
    bold,
    caution,
    column,
    heading,
    number,
    small,
    soft,
    table,
)
from halfshaft.book.frame import APPROVAL_NOTICE, Pages
from halfshaft.book.sections.handling import beside_the_donor
from halfshaft.studies.mass import Stand
from halfshaft.study import Study


def mass(study: Study, pages: Pages) -> None:
    """Corner and axle loads, load states, the ledger."""
    result, car = study.mass, study.conversion.car
    rows = [
        _stand_row("donor, as weighed", result.donor),
        _stand_row("bare, after taking out", result.bare),
        _stand_row("finished, nobody in it", result.finished),
        *(_stand_row(f"finished, {stand.name}", stand) for stand in result.loaded),
    ]
    limits: list[Cell] = [
        soft("limit"),
        soft(number(car.limits.gross_kg)),
        soft(number(car.limits.front_axle_kg)),
        soft(number(car.limits.rear_axle_kg)),
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
    ]
    columns = [
        column("State", "1fr"),
        *(column(head, "auto", "right") for head in ("Total, kg", "Front", "Rear", "F, %", "FL", "FR", "RL", "RR", "CG x, mm", "y", "z")),
    ]
    blocks = [
        caution("NOTICE", APPROVAL_NOTICE),
        heading("How it stands"),
        table(columns, [*rows, limits], size=8.5, group=0),
        small(f"State on the scales: {car.weighed.state}. Frame: x rearwards from the front axle line, y to the right, z up from the ground. Each thing loads axles and wheels by its place (statics; stiff body, level car). Wheel loads other than the weighed ones are an estimate: springs and their seats shift them, so weigh the finished car. Limits: type plate of this car."),
        *_height_blocks(study),
        *beside_the_donor(study),
        heading("What comes out"),
        _ledger(study, "removed"),
        heading("What goes in"),
        _groups(study),
        heading("What goes in, item by item"),
        _ledger(study, "fitted"),
    ]  # fmt: skip
    pages.add("Mass and axle loads", blocks)


def _stand_row(name: str, stand: Stand) -> list[Cell]:
    return [
        bold(name), bold(number(stand.total_kg, 1)), bold(number(stand.front_kg, 1)), bold(number(stand.rear_kg, 1)), number(stand.front_percent, 1),
        number(stand.front_left_kg, 1), number(stand.front_right_kg, 1), number(stand.rear_left_kg, 1), number(stand.rear_right_kg, 1),
        number(stand.x_mm), number(stand.y_mm), "" if stand.z_mm is None else number(stand.z_mm),
    ]  # fmt: skip


def _height_blocks(study: Study) -> list[Block]:
    height, car = study.mass.height, study.conversion.car
    if height is None:
        return [small("The height of the centre of gravity is not known, so none is computed.")]
    if height.step_mm is None:
        return [small(f"Height of the donor's centre of gravity {number(height.height_mm)} mm: {height.known}.")]
    raised, weighed = car.raised, car.weighed
    assert raised is not None
    level = weighed.front_kg if raised.axle == "rear" else weighed.rear_kg
    return [
        small(
            f"Height of the donor's centre of gravity from {height.known}: h = r + L (F′ − F) / (W tan θ), sin θ = H / L "
            f"= {car.tyre_static_radius_mm:g} + {car.wheelbase_mm:g} × ({raised.other_axle_kg:g} − {level:g}) / ({weighed.total_kg:g} × tan θ) "
            f"= {number(height.height_mm)} mm. One scale step of {weighed.scale_step_kg:g} kg moves it by {number(height.step_mm, 1)} mm. "
            "Published: ISO 10392, axle-lift method; suspension locked, brakes off, fluids full."
        )
    ]


def _ledger(study: Study, which: str) -> Block:
    entries = study.mass.removed if which == "removed" else study.mass.fitted
    entries = tuple(entry for entry in entries if entry.group not in ("wires", "tape, tube and duct")) if which == "fitted" else entries
    rows: list[list[Cell]] = [
        [bold(entry.ref), entry.name, number(entry.mass_kg, 2), number(entry.x_mm), number(entry.y_mm), number(entry.z_mm)]
        for entry in entries
    ]
    columns = [
        column("Ref"),
        column("What", "1fr"),
        column("Mass, kg", "auto", "right"),
        column("x, mm", "auto", "right"),
        column("y", "auto", "right"),
        column("z", "auto", "right"),
    ]
    return table(columns, rows, size=8.5)


def _groups(study: Study) -> Block:
    masses: dict[str, float] = defaultdict(float)
    moments: dict[str, float] = defaultdict(float)
    counts: dict[str, int] = defaultdict(int)
    for entry in study.mass.fitted:
        masses[entry.group] += entry.mass_kg
        moments[entry.group] += entry.mass_kg * entry.x_mm
        counts[entry.group] += 1
    rows: list[list[Cell]] = [
        [bold(group), str(counts[group]), number(total, 1), number(moments[group] / total if total else 0.0)]
        for group, total in masses.items()
    ]
    rows.append([bold("all together"), "", bold(number(sum(masses.values()), 1)), ""])
    return table(
        [
            column("Group", 60.0),
            column("Items", "auto", "right"),
            column("Mass, kg", "auto", "right"),
            column("Centre x, mm", "auto", "right"),
        ],
        rows,
    )
