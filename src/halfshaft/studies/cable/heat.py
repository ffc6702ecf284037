"""Steady heat balance of one round insulated cable in air.

What the current makes in the conductor passes the insulation, and a tube with the air in it where there is one, and
leaves the outer surface by convection and radiation. Everything follows from the temperature of the outermost surface, so
one search for that temperature answers both questions: amperes for a temperature, temperature for amperes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfshaft.standards import constants
from halfshaft.studies.cable.air import KELVIN, STEFAN_BOLTZMANN_W_PER_M2_K4, air_at, surface_w_per_m
from halfshaft.studies.cable.roots import meets
from halfshaft.studies.wires.study import resistance_at

# Hotter than this nothing is computed: copper melts at 1085 °C.
HOTTEST_C = 1000.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Body:
    """A cable as the heat sees it. Cores of one cable count as one conductor of their joint section, all with the same current.

    A screen counts as insulation: it conducts heat far better and is thin, so that errs to the warm side.
    """

    cores: int
    section_mm2: float
    conductor_mm: float
    outside_mm: float
    resistance_mohm_per_m: float
    thermal_resistivity_k_m_per_w: float
    emissivity: float

    @property
    def insulation_k_m_per_w(self) -> float:
        """From conductor to surface, one metre long: ln(D/d) / 2 pi k."""
        return self.thermal_resistivity_k_m_per_w * math.log(self.outside_mm / self.conductor_mm) / (2 * math.pi)

    def made_w_per_m(self, current_a: float, conductor_c: float) -> float:
        """What the current makes in one metre of all cores at a temperature."""
        return self.cores * current_a**2 * resistance_at(self.resistance_mohm_per_m / 1000, conductor_c)


@dataclass(frozen=True, kw_only=True, slots=True)
class Around:
    """What a cable lies in: air, still unless blown, and a tube round it where there is one (diameters 0: none)."""

    ambient_c: float
    air_m_per_s: float = 0.0
    tube_bore_mm: float = 0.0
    tube_outside_mm: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Balance:
    """One steady state."""

    current_a: float
    conductor_c: float
    surface_c: float
    heat_w_per_m: float


def body(*, section_mm2: float, outside_mm: float, resistance_mohm_per_m: float, cores: int = 1) -> Body:
    """A cable of the catalogue. Its strands fill the published share of the circle round them."""
    known = constants()
    bare_mm = math.sqrt(4 * cores * section_mm2 / math.pi / known["strand_fill"].value)
    return Body(
        cores=cores,
        section_mm2=section_mm2,
        # Insulation of no thickness at all is a slip of the pen in the catalogue, not a cable.
        conductor_mm=min(bare_mm, 0.95 * outside_mm),
        outside_mm=outside_mm,
        resistance_mohm_per_m=resistance_mohm_per_m,
        thermal_resistivity_k_m_per_w=known["insulation_thermal_resistivity"].value,
        emissivity=known["surface_emissivity"].value,
    )


def current_for(cable: Body, around: Around, conductor_c: float) -> Balance:
    """The steady current that heats the conductor to a temperature; 0 A where the air is as hot already."""
    if conductor_c <= around.ambient_c:
        return Balance(current_a=0.0, conductor_c=around.ambient_c, surface_c=around.ambient_c, heat_w_per_m=0.0)
    outer_c = meets(lambda outer: _state(cable, around, outer).conductor_c, conductor_c, around.ambient_c, conductor_c)
    assert outer_c is not None
    return _state(cable, around, outer_c)


def temperature_for(cable: Body, around: Around, current_a: float) -> Balance:
    """Where a steady current takes the conductor; `conductor_c` is infinite where nothing holds below 1000 °C."""
    outer_c = meets(lambda outer: _state(cable, around, outer).current_a, current_a, around.ambient_c, HOTTEST_C)
    if outer_c is None:
        return Balance(current_a=current_a, conductor_c=math.inf, surface_c=math.inf, heat_w_per_m=math.inf)
    return _state(cable, around, outer_c)


def lost_w_per_m(cable: Body, around: Around, surface_c: float) -> float:
    """What leaves one metre of the cable's own surface at a temperature, through a tube where there is one."""
    if not around.tube_outside_mm:
        return surface_w_per_m(cable.outside_mm, surface_c, around.ambient_c, emissivity=cable.emissivity, air_m_per_s=around.air_m_per_s)
    outer_c = meets(lambda outer: _through_tube(cable, around, outer)[1], surface_c, around.ambient_c, max(surface_c, around.ambient_c))
    return 0.0 if outer_c is None else _through_tube(cable, around, outer_c)[0]


def _state(cable: Body, around: Around, outer_c: float) -> Balance:
    """The steady state that goes with a temperature of the outermost surface."""
    heat, surface_c = _through_tube(cable, around, outer_c)
    conductor_c = surface_c + heat * cable.insulation_k_m_per_w
    ohm = cable.cores * resistance_at(cable.resistance_mohm_per_m / 1000, conductor_c)
    return Balance(current_a=math.sqrt(heat / ohm), conductor_c=conductor_c, surface_c=surface_c, heat_w_per_m=heat)


def _through_tube(cable: Body, around: Around, outer_c: float) -> tuple[float, float]:
    """Heat that leaves the outermost surface, and the temperature that the cable's own surface has behind it."""
    bare = not around.tube_outside_mm
    outside_mm = cable.outside_mm if bare else around.tube_outside_mm
    heat = surface_w_per_m(outside_mm, outer_c, around.ambient_c, emissivity=cable.emissivity, air_m_per_s=around.air_m_per_s)
    if bare:
        return heat, outer_c
    wall = cable.thermal_resistivity_k_m_per_w * math.log(around.tube_outside_mm / around.tube_bore_mm) / (2 * math.pi)
    return heat, _across_gap(cable, around, outer_c + heat * wall, heat)


def _across_gap(cable: Body, around: Around, tube_c: float, heat_w_per_m: float) -> float:
    """The cable's surface inside a tube: still air in the gap conducts, and both walls radiate.

    The cable is taken as in the middle, where it is warmest. Source: conduction through a hollow cylinder; radiation
    between long concentric cylinders, 1/e = 1/e1 + (d/D)(1/e2 - 1).
    """
    inner_m, share = cable.outside_mm / 1000, cable.outside_mm / around.tube_bore_mm
    # A bundle that fills its tube has hardly a gap; a twentieth of the bore is left between the two at least.
    gap = 2 * math.pi * air_at(tube_c).conductivity_w_per_mk / math.log(1 / min(share, 0.95))
    grey = 1 / (1 / cable.emissivity + share * (1 / cable.emissivity - 1))
    radiant = grey * STEFAN_BOLTZMANN_W_PER_M2_K4 * math.pi * inner_m
    tube_k = tube_c + KELVIN
    rise = heat_w_per_m / (gap + 4 * radiant * tube_k**3)
    for _ in range(6):  # Newton on a smooth rising curve from its upper side: the error is squared each time
        excess = gap * rise + radiant * ((tube_k + rise) ** 4 - tube_k**4) - heat_w_per_m
        rise -= excess / (gap + 4 * radiant * (tube_k + rise) ** 3)
    return tube_c + rise
