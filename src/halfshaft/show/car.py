"""Weights, handling and mounts, for a screen."""

from __future__ import annotations

from halfshaft.show.tables import table
from halfshaft.studies.mount_rules import MOUNT_CAUTION
from halfshaft.study import Study


def mass(study: Study) -> str:
    """States of the car."""
    result = study.mass
    rows = [
        (
            stand.name,
            stand.total_kg,
            stand.front_kg,
            stand.rear_kg,
            stand.front_percent,
            stand.front_left_kg,
            stand.front_right_kg,
            stand.rear_left_kg,
            stand.rear_right_kg,
            stand.x_mm,
            stand.y_mm,
            stand.z_mm,
        )
        for stand in (result.donor, result.bare, result.finished, *result.loaded)
    ]
    return table(("state", "kg", "front", "rear", "front %", "FL", "FR", "RL", "RR", "x mm", "y mm", "z mm"), rows)


def handling(study: Study) -> str:
    """Before and after: loads, springs, turning."""
    result = study.handling
    states = [
        (
            manner.stand.name,
            manner.left_kg,
            manner.right_kg,
            manner.left_percent,
            manner.cross_percent,
            _digits(manner.stability_factor, 3),
            *((shift.shifted_kg, shift.loaded_percent) if (shift := manner.braking) else (None, None)),
            *((shift.shifted_kg, shift.relieved_kg) if (shift := manner.cornering) else (None, None)),
        )
        for manner in (*result.donors, result.finished)
    ]
    shop = study.conversion.shop
    header = (
        "state", "left", "right", "left %", "cross %", "T/2h",
        f"to front at {shop.braking_g:g} g", "front %", f"to outside at {shop.cornering_g:g} g", "kg left inside",
    )  # fmt: skip
    rides = table(
        ("axle", "against", "kg before", "kg after", "N/mm a wheel", "lower mm", "N/mm that restores"),
        [(r.axle, r.against, r.before_kg, r.after_kg, r.rate_n_per_mm, r.lower_mm, r.restoring_n_per_mm) for r in result.rides],
    )
    if not result.rides:
        rides = "no wheel rate is given, so nothing is said of ride height"
    yaw = result.yaw
    band = f"; the donor is estimated, so both may be out by {yaw.band_kg_m2:.0f}" if yaw.is_estimated else ""
    turning = f"yaw inertia, kg m2: donor {yaw.donor_kg_m2:.0f}, finished {yaw.finished_kg_m2:.0f}, change {yaw.change_kg_m2:+.0f}{band}"
    return f"{table(header, states)}\n\n{rides}\n\n{turning}"


def _digits(value: float | None, decimals: int) -> str | None:
    return None if value is None else f"{value:.{decimals}f}"


def mounts(study: Study) -> str:
    """What the feet of battery boxes bear."""
    boxes = table(
        ("box", "kg", "x mm", "y mm", "z mm", "feet", "bolts"),
        [
            (box.box, box.mass_kg, box.x_mm, box.y_mm, box.z_mm, len(box.bolts), ", ".join(sorted({bolt.bolt for bolt in box.bolts})))
            for box in study.mounts
        ],
    )
    loads = table(
        ("box", "case", "g", "foot", "shear kN", "tension kN", "as plain pull kN", "proof kN"),
        [
            (
                box.box,
                case.case,
                f"{case.acceleration_g:g}",
                load.mount,
                _digits(load.shear_n / 1000, 2),
                _digits(load.tension_n / 1000, 2),
                _digits(load.combined_n / 1000, 2),
                bolt.proof_n / 1000 if bolt.proof_n else None,
            )
            for box in study.mounts
            for case in box.cases
            for bolt, load in zip(box.bolts, case.mounts, strict=False)
        ],
    )
    return f"{boxes}\n\n{loads}\n\n{MOUNT_CAUTION}"
