"""The finished car beside the donor: wheels, braking, cornering, turning, ride height; and the feet of battery boxes."""

from __future__ import annotations

from collections.abc import Callable

from halfshaft.book.blocks import Block, Cell, bold, caution, column, heading, number, para, small, table
from halfshaft.book.frame import Pages
from halfshaft.studies.handling import YAW_BAND, Manner, Ride
from halfshaft.studies.mount_rules import MOUNT_CAUTION
from halfshaft.studies.mounts import BoxMounts, CaseLoads
from halfshaft.study import Study

FEET_IN_A_TABLE = 6
Figure = Callable[[Manner], float | None]


def beside_the_donor(study: Study) -> list[Block]:
    """How the finished car stands, brakes, corners and turns, beside the donor in each state of its tank."""
    result, car = study.handling, study.conversion.car
    fuel = car.fuel
    heads = ["Donor"]
    if fuel is not None:
        heads = [f"Donor, {fuel.weighed_l:g} l", f"Tank full, {fuel.tank_l:g} l", "Tank empty"]
    columns = [column("", "1fr"), *(column(head, 22.0, "right") for head in [*heads, "Finished", "Change"])]
    rows: list[list[Cell]] = []
    lines: list[int] = []
    for group in _figures(study):
        # Without a height some figures are not known of any state; a row of blanks would look like one to fill in.
        rows += [_row(study, *figure) for figure in group if figure[1](result.finished) is not None]
        lines.append(len(rows))
    rows.append(_yaw_row(study))
    unknown = (
        ""
        if result.finished.stability_factor
        else " The height of the centre of gravity is not known, so that braking, cornering and the stability factor are not computed."
    )
    return [
        heading("Beside the donor"),
        table(columns, rows, size=8.5, group=lines),
        small("Change: finished less donor as weighed. Cross weight: front right and rear left. Load moved: m a h / L in braking, m a h / T in cornering, T the mean track (statics; stiff car that does not roll or dive, level road). How cornering is shared between the axles depends on springs, anti-roll bars and roll centres, which are not known here. Stability factor: T / 2h, published by a national road-safety agency; it compares two cars on the same tracks and is no promise about either." + unknown),
        _yaw_note(study),
        heading("Ride height and springs"),
        *_springs(study),
    ]  # fmt: skip


def _figures(study: Study) -> list[list[tuple[str, Figure, int]]]:
    """Rows in their groups: what it is, how to get it, and its decimals."""
    shop = study.conversion.shop
    at_braking, at_cornering = f"braking at {shop.braking_g:g} g", f"cornering at {shop.cornering_g:g} g"
    return [
        [
            ("Total, kg", lambda m: m.stand.total_kg, 1),
            ("Front axle, kg", lambda m: m.stand.front_kg, 1),
            ("Rear axle, kg", lambda m: m.stand.rear_kg, 1),
        ],
        [
            ("Front left wheel, kg", lambda m: m.stand.front_left_kg, 1),
            ("Front right, kg", lambda m: m.stand.front_right_kg, 1),
            ("Rear left, kg", lambda m: m.stand.rear_left_kg, 1),
            ("Rear right, kg", lambda m: m.stand.rear_right_kg, 1),
            ("Left side, %", lambda m: m.left_percent, 1),
            ("Cross weight, %", lambda m: m.cross_percent, 1),
        ],
        [
            ("Height of centre of gravity, mm", lambda m: m.stand.z_mm, 0),
            ("Static stability factor", lambda m: m.stability_factor, 2),
        ],
        [
            (f"Moved forwards, {at_braking}, kg", lambda m: m.braking and m.braking.shifted_kg, 1),
            ("Front axle then, kg", lambda m: m.braking and m.braking.loaded_kg, 1),
            ("Rear axle then, kg", lambda m: m.braking and m.braking.relieved_kg, 1),
            ("Front axle then, % of the car", lambda m: m.braking and m.braking.loaded_percent, 1),
        ],
        [
            (f"Moved outwards, {at_cornering}, kg", lambda m: m.cornering and m.cornering.shifted_kg, 1),
            ("Inner wheels then, kg", lambda m: m.cornering and m.cornering.relieved_kg, 1),
        ],
    ]


def _row(study: Study, name: str, figure: Figure, decimals: int) -> list[Cell]:
    result = study.handling
    values = [figure(manner) for manner in (*result.donors, result.finished)]
    cells: list[Cell] = [_maybe(value, decimals) for value in values]
    cells[-1] = bold(_maybe(values[-1], decimals))
    return [bold(name), *cells, _change(values[0], values[-1], decimals)]


def _maybe(value: float | None, decimals: int) -> str:
    return "" if value is None else number(value, decimals)


def _change(before: float | None, after: float | None, decimals: int) -> str:
    """A difference with its sign, of the figures as they are printed, so that a reader who subtracts agrees."""
    if before is None or after is None:
        return ""
    return _signed(round(after, decimals) - round(before, decimals), decimals)


def _signed(value: float, decimals: int) -> str:
    words = number(value, decimals)
    return f"+{words}" if float(f"{value:.{decimals}f}") > 0 else words


def _yaw_row(study: Study) -> list[Cell]:
    yaw = study.handling.yaw
    between: list[Cell] = [""] * (len(study.handling.donors) - 1)
    values = number(yaw.donor_kg_m2), bold(number(yaw.finished_kg_m2)), _change(yaw.donor_kg_m2, yaw.finished_kg_m2, 0)
    return [bold("Yaw inertia, kg m²"), values[0], *between, *values[1:]]


def _yaw_note(study: Study) -> Block:
    yaw = study.handling.yaw
    if yaw.is_estimated:
        known = (
            "The donor's yaw inertia is estimated: 1.13 m a b, a and b from the centre of gravity to both axles (published: a national road-safety "
            f"agency's measured cars, those before 1987; nearly all cars lie within {100 * YAW_BAND:.0f} %, here ±{number(yaw.band_kg_m2)} kg m²). "
        )
    else:
        known = "The donor's yaw inertia is as given. "
    return small(known + "The change is the sum over everything removed and fitted by parallel axes about the new centre of gravity, and is much firmer than either figure: modules, plates and boxes count as even blocks, all else as points. More of it makes a car slower to turn in, and slower to catch.")  # fmt: skip


def _springs(study: Study) -> list[Block]:
    rides = study.handling.rides
    if not rides:
        return [
            para(
                "No wheel rate is given, so ride height is not computed. Load the car by a known weight and measure how far each axle sinks."
            )
        ]
    columns = [
        column("Axle"), column("Against", "1fr"), column("Load before, kg", "auto", "right"), column("now, kg", "auto", "right"),
        column("Wheel rate, N/mm", "auto", "right"), column("Stands", "auto", "right"), column("Rate that restores, N/mm", "auto", "right"),
        column("Springs", "auto", "right"),
    ]  # fmt: skip
    per_state = len({ride.axle for ride in rides})
    return [
        table(columns, [_ride_row(ride) for ride in rides], size=8.5, group=per_state),
        caution("WARNING", "Springs under load can kill. Compress them only with the tool made for them, car on stands. New rates and heights change brakes, lamps, drive-shaft angles and bump travel. Local rules and qualified people decide."),
        small("Lower by: change of load on one wheel over its wheel rate. Rate that restores: rate × load now / load before, a linear spring of the same free length; the bounce stays as quick as it was. Axle loads are taken whole, as nobody says what wheels and axles weigh: with that taken off, an axle that gained load wants somewhat more than this, one that lost, somewhat less. Springs: by how many percent stiffer (+) or softer; the same share holds at the spring itself whatever its lever. The other way is to keep the springs and pack them up or let them down, by the height given times the spring's lever."),
    ]  # fmt: skip


def _ride_row(ride: Ride) -> list[Cell]:
    word = "lower" if ride.lower_mm > 0 else "higher"
    share = ride.stiffer_percent
    return [
        bold(ride.axle), ride.against, number(ride.before_kg, 1), number(ride.after_kg, 1), number(ride.rate_n_per_mm, 1),
        f"{number(abs(ride.lower_mm))} mm {word}", _maybe(ride.restoring_n_per_mm, 1),
        "" if share is None else f"{_signed(share, 0)} %",
    ]  # fmt: skip


def mounts(study: Study, pages: Pages) -> None:
    """What each foot of each battery box bears in each case."""
    if not study.mounts:
        return
    cases = study.conversion.mount_cases
    basis_rows: list[list[Cell]] = [
        [bold(case.ref), case.toward, f"{case.acceleration_g:g} g", case.basis + (", to be confirmed" if case.basis == "from memory" else ""), case.source]
        for case in cases
    ]  # fmt: skip
    blocks: list[Block] = [
        caution("WARNING", MOUNT_CAUTION + " Local rules and qualified people decide what must be borne, and by what."),
        para("Each box with all that is in it pulls at its feet as the cases say, and by its own weight, which is not set against an upward pull. In each cell: shear across the bolt / along it, kN; along it + lifts the box off its foot and draws the bolt, − presses the box on its foot."),
    ]  # fmt: skip
    if basis_rows:
        heads = [column("Case"), column("Pulls towards"), column("By", "auto", "right"), column("How it is known"), column("Source", "1fr")]
        blocks.append(table(heads, basis_rows, size=8.5))
    for box in study.mounts:
        blocks += _box_blocks(box)
    blocks.append(small("A stiff box on feet that yield alike every way (elastic method of bolt groups): of all forces at the feet that balance pull and moment, those with the least sum of squares. Bolts are taken to stand upright and to take all shear: neither friction, nor what they are tightened with, nor prying is counted. As plain pull: √(tension² + 3 shear²). Proof load: published, EN ISO 898-1, coarse thread, as printed by one fastener supplier; it is the bolt's alone. Spreader plates, sheet metal, welds and the box's own walls often give way first, and are not looked at here. Of a box that hangs below its feet a push counts as a pull, as nobody says which side of the metal it hangs on."))  # fmt: skip
    pages.add("Feet of the battery boxes", blocks, hv=True)


def _box_blocks(box: BoxMounts) -> list[Block]:
    blocks: list[Block] = [
        heading(
            f"Box {box.box}: {number(box.mass_kg, 1)} kg full, centre at x {number(box.x_mm)}, y {number(box.y_mm)}, z {number(box.z_mm)}"
        )
    ]
    if not box.bolts:
        return [*blocks, para("No feet are given, so nothing is computed.")]
    if not box.is_held:
        return [*blocks, para("Its feet are fewer than three or lie on one line, so nothing is computed.")]
    if not box.cases:
        return [*blocks, para("No case is given in mount_cases.csv, so nothing is computed.")]
    feet = list(range(len(box.bolts)))
    parts = [feet[at : at + FEET_IN_A_TABLE] for at in range(0, len(feet), FEET_IN_A_TABLE)]
    return [*blocks, *(_loads(box, part, is_last=part is parts[-1]) for part in parts)]


def _loads(box: BoxMounts, feet: list[int], *, is_last: bool) -> Block:
    """Cases down, feet across; behind the last feet what is worst of all of them."""
    columns = [column("Case"), *(column(f"{box.bolts[foot].mount}, {box.bolts[foot].bolt}", "auto", "right") for foot in feet)]
    columns += [column("Worst, as plain pull", "1fr", "right")] if is_last else []
    rows: list[list[Cell]] = []
    for case in box.cases:
        loads = [case.mounts[foot] for foot in feet]
        cells: list[Cell] = [f"{number(load.shear_n / 1000, 2)} / {_signed(-load.force_n[2] / 1000, 2)}" for load in loads]
        rows.append([bold(case.case), *cells, *([_worst(box, case)] if is_last else [])])
    return table(columns, rows, size=8.5)


def _worst(box: BoxMounts, case: CaseLoads) -> str:
    """The bolt that is nearest to its proof load, or without proof loads the one that is strained most; nothing where none is strained."""
    pairs = list(zip(box.bolts, case.mounts, strict=True))
    bolt, load = max(pairs, key=lambda pair: pair[1].combined_n / (pair[0].proof_n or 1.0))
    if load.combined_n < 0.5:
        return ""
    against = f", {100 * load.combined_n / bolt.proof_n:.0f} % of proof" if bolt.proof_n else ""
    return f"{load.mount}: {number(load.combined_n / 1000, 2)} kN{against}"
