"""What a wire bears in its place: for good, for some minutes, and for the moment of a short circuit."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from halfshaft.model.conversion import Conversion
from halfshaft.standards import constants, table
from halfshaft.studies.cable.choices import OVERLOAD_K
from halfshaft.studies.cable.heat import HOTTEST_C, Around, Body, body, temperature_for
from halfshaft.studies.cable.study import ADIABATIC_UP_TO_S, CableHeat, capacity_of
from halfshaft.studies.cable.transient import adiabatic_i2t_a2s
from halfshaft.studies.looms.routing import LaidWire
from halfshaft.studies.wires.study import zones_passed


@dataclass(frozen=True, kw_only=True, slots=True)
class Bearing:
    """One wire, or one conductor of a cable, in the place in which it is worst off.

    `factor` is what its loaded neighbours leave of its capacity. They count as warm as they may be, so this wire begins from
    there; `limit_c` is its class, `short_c` what its insulation stands at the end of a short circuit.
    """

    body: Body
    around: Around
    factor: float
    limit_c: float
    short_c: float

    def for_good_a(self, over_k: float = 0.0) -> float:
        """Amperes that take it to so many kelvin above its class, its neighbours being warm."""
        hottest_a = capacity_of(self.body, self.around, self.limit_c + over_k).current_a
        return math.sqrt(max(hottest_a**2 - self._neighbours_a2(), 0.0))

    def _neighbours_a2(self) -> float:
        """The square of amperes that would warm it as its neighbours do when all of them are at what they may carry."""
        alone_a: float = capacity_of(self.body, self.around, self.limit_c).current_a
        return (1 - self.factor**2) * alone_a**2

    def short_s(self, current_a: float) -> float:
        """Seconds to the end of what it bears in a short circuit, begun at its class, no heat lost. Source: IEC 60949."""
        return adiabatic_i2t_a2s(self.body.section_mm2, self.limit_c, self.short_c) / current_a**2

    @property
    def time_constant_s(self) -> float:
        """Of its warming by 50 K, begun at its class, with copper alone to store heat: short, so on the safe side.

        One time constant, as for any body that loses heat by its rise: what stays in the copper at first by IEC 60949.
        """
        spare_a2 = self.for_good_a(OVERLOAD_K) ** 2 - self.for_good_a() ** 2
        return adiabatic_i2t_a2s(self.body.section_mm2, self.limit_c, self.limit_c + OVERLOAD_K) / spare_a2

    def overload_s(self, current_a: float) -> float:
        """Seconds until it is 50 K above its class, begun at its class; infinite where it never is."""
        most_a2, current_a2 = self.for_good_a(OVERLOAD_K) ** 2, current_a**2
        if current_a2 <= most_a2:
            return math.inf
        return self.time_constant_s * math.log((current_a2 - self.for_good_a() ** 2) / (current_a2 - most_a2))

    def reaches_c(self, current_a: float, seconds: float) -> float:
        """How hot a current makes it in so many seconds of overload, begun at its class or, where they never end, at last."""
        for_good_c = min(temperature_for(self.body, self.around, math.sqrt(current_a**2 + self._neighbours_a2())).conductor_c, HOTTEST_C)
        if math.isinf(seconds):
            return for_good_c
        return self.limit_c + (for_good_c - self.limit_c) * -math.expm1(-seconds / self.time_constant_s)

    def withstand_s(self, current_a: float) -> float:
        """The longest that it bears a current; infinite where that is for good."""
        short_s = self.short_s(current_a)
        return short_s if short_s <= ADIABATIC_UP_TO_S else max(ADIABATIC_UP_TO_S, self.overload_s(current_a))

    def thicker(self, body: Body) -> Bearing:
        """Another wire in its place."""
        return replace(self, body=body)


def short_circuit_c(material: str, limit_c: float) -> float:
    """What an insulation stands for a short circuit, by the words in its material; of an unknown one 50 K above its class."""
    found = [float(row["temperature_c"]) for row in table("short_circuit_temperatures") if row["word"].lower() in material.lower()]
    return max(min(found, default=limit_c + OVERLOAD_K), limit_c)


def overload_for_hours_k() -> float:
    """Kelvin above its class that an insulation bears for as long as a fuse holds what it must hold."""
    return constants()["short_overload_k"].value


def bearing_of(conversion: Conversion, heat: CableHeat) -> Bearing:
    """A wire or cable in the place in which the cable study found it worst off."""
    insulation = next(item for item in conversion.insulation_classes if item.ref == heat.insulation_class)
    return Bearing(
        body=heat.body,
        around=heat.place.around,
        factor=heat.place.factor,
        limit_c=heat.limit_c,
        short_c=short_circuit_c(insulation.material, heat.limit_c),
    )


def bearing_alone(conversion: Conversion, laid: LaidWire) -> Bearing:
    """A wire of which no current is known: alone in the hottest zone that it passes."""
    kind = conversion.wire_type[laid.wire.section_mm2]
    insulation = next(item for item in conversion.insulation_classes if item.ref == laid.wire.insulation_class)
    return Bearing(
        body=body(section_mm2=kind.section_mm2, outside_mm=kind.outside_diameter_mm, resistance_mohm_per_m=kind.resistance_mohm_per_m),
        around=Around(ambient_c=max((conversion.zone[name].ambient_max_c for name in zones_passed(conversion, laid)), default=20.0)),
        factor=1.0,
        limit_c=insulation.temperature_max_c,
        short_c=short_circuit_c(insulation.material, insulation.temperature_max_c),
    )
