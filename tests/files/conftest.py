from __future__ import annotations

import pytest

from halfshaft.model.conversion import Conversion


@pytest.fixture(scope="session")
def pedal(tern: Conversion) -> Conversion:
    """No more of the demo conversion than its pedal and what that needs."""
    ends = {"R23", "R24"}
    return Conversion(
        job=tern.job,
        car=tern.car,
        shop=tern.shop,
        supply=tern.supply.model_copy(update={"battery": None, "converter": None}),
        coolant=tern.coolant,
        zones=tern.zones,
        terminals=tern.terminals,
        spaces=tern.spaces[:1],
        parts=tuple(part for part in tern.parts if part.ref in ("AT-PED", "AT-SPD")),
        devices=tuple(device for device in tern.devices if device.ref == "PED"),
        points=tuple(point for point in tern.points if point.ref in ends),
        removed=tern.removed,
    )
