"""The car in the round, as numbers for a viewer: the same solids as in the book's scene file."""

from __future__ import annotations

import itertools
from typing import Any

from halfshaft.drawings.scene import Kind, Solid, Tube, scene_of
from halfshaft.drawings.triangles import around_of, triangles_of
from halfshaft.drawings.views.body import plan_line, rear_line, side_line
from halfshaft.model.car import Car
from halfshaft.web.shelf import Opened

# What each kind of solid is called as a thing; the others are no things.
THINGS: dict[Kind, str] = {
    "box": "device", "device": "device", "module": "module", "coolant plate": "plate", "HV cable": "cable", "hose": "hose", "space": "space",
    "keep-out": "keep-out", "luggage room": "luggage-room",
}  # fmt: skip
# At this share of its height the body is widest.
WIDEST = 0.46
LOADS = (("front", "Front axle"), ("rear", "Rear axle"))


def scene(opened: Opened) -> dict[str, Any]:
    """Solids with their corners in whole tenths of a millimetre, axle loads, and the size of the car."""
    study = opened.study
    conversion, mass = study.conversion, study.mass
    car = conversion.car
    return {
        "solids": [_solid(solid, opened) for solid in scene_of(conversion, study.routing, mass)],
        "axles": [
            {
                "name": words,
                "x_mm": 0.0 if which == "front" else car.wheelbase_mm,
                "now_kg": getattr(mass.finished, f"{which}_kg"),
                "before_kg": getattr(mass.donor, f"{which}_kg"),
                "limit_kg": getattr(car.limits, f"{which}_axle_kg"),
            }
            for which, words in LOADS
        ],
        "body": _body(car),
        "car": {
            "front_mm": car.front_edge_x_mm,
            "rear_mm": car.rear_edge_x_mm,
            "wide_mm": car.overall_width_mm,
            "high_mm": car.overall_height_mm,
            "wheelbase_mm": car.wheelbase_mm,
        },
    }


def _body(car: Car) -> list[list[float]]:
    """Lines of the schematic body, as places after each other: from the side in the centre plane, from above where it is widest, from behind."""
    side = [(x, 0.0, z) for x, z in side_line(car)]
    plan = [(x, y, WIDEST * car.overall_height_mm) for x, y in plan_line(car)]
    rear = [(car.wheelbase_mm * 0.6, y, z) for y, z in rear_line(car)]
    return [[round(value, 1) for spot in line for value in spot] for line in (side, [*plan, plan[0]], [*rear, rear[0]])]


def _solid(solid: Solid, opened: Opened) -> dict[str, Any]:
    mesh = triangles_of(solid.shape)
    return {
        "name": solid.name,
        "kind": solid.kind,
        "about": solid.about,
        "key": _key(solid, opened),
        # A tube is bent: its corners come in rings of so many, one at each place.
        "around": around_of(solid.shape) if isinstance(solid.shape, Tube) else 0,
        "places_mm": [round(value, 1) for place in mesh.corners for value in place],
        "faces": list(itertools.chain(*mesh.faces)),
    }


def _key(solid: Solid, opened: Opened) -> str:
    """The thing that it is; a loom's tube is a run."""
    if solid.kind == "loom":
        return f"run:{solid.name.partition(' ')[2].partition(' ')[0]}"
    kind = THINGS.get(solid.kind)
    # A name that two tables share has its kind behind it in the scene.
    key = f"{kind}:{solid.name.partition(' ')[0]}"
    return key if kind and key in opened.things.by_key else ""
