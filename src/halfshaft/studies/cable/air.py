"""Air, and how it takes heat from a round horizontal cable.

Viscosity and conductivity: US Standard Atmosphere 1976, equations 51 and 53; density: ideal gas at 101 325 Pa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfshaft.standards import constants

KELVIN = 273.15
PRESSURE_PA = 101_325.0
GAS_J_PER_KG_K = 287.05
HEAT_CAPACITY_J_PER_KG_K = 1006.0
STEFAN_BOLTZMANN_W_PER_M2_K4 = 5.670_374e-8


@dataclass(frozen=True, slots=True)
class Air:
    """Air at one temperature, SI units."""

    conductivity_w_per_mk: float
    viscosity_pa_s: float
    density_kg_per_m3: float

    @property
    def prandtl(self) -> float:
        """Viscosity by conduction of heat."""
        return HEAT_CAPACITY_J_PER_KG_K * self.viscosity_pa_s / self.conductivity_w_per_mk


def air_at(temperature_c: float) -> Air:
    """Dry air at sea level.

    >>> round(air_at(70).conductivity_w_per_mk, 4)
    0.0293
    """
    kelvin = temperature_c + KELVIN
    return Air(
        conductivity_w_per_mk=2.646_38e-3 * kelvin**1.5 / (kelvin + 245.4 * 10 ** (-12 / kelvin)),
        viscosity_pa_s=1.458e-6 * kelvin**1.5 / (kelvin + 110.4),
        density_kg_per_m3=PRESSURE_PA / (GAS_J_PER_KG_K * kelvin),
    )


def still_air_w_per_m(diameter_mm: float, surface_c: float, ambient_c: float) -> float:
    """Natural convection of a horizontal cylinder.

    Source: Churchill and Chu (1975), properties at the film temperature, Rayleigh number up to 1e12.
    """
    if surface_c <= ambient_c:
        return 0.0
    air, diameter_m, film_k = air_at((surface_c + ambient_c) / 2), diameter_mm / 1000, (surface_c + ambient_c) / 2 + KELVIN
    kinematic = air.viscosity_pa_s / air.density_kg_per_m3
    rayleigh = constants()["standard_gravity"].value * (surface_c - ambient_c) * diameter_m**3 / (film_k * kinematic**2) * air.prandtl
    nusselt: float = (0.6 + 0.387 * rayleigh ** (1 / 6) / (1 + (0.559 / air.prandtl) ** (9 / 16)) ** (8 / 27)) ** 2
    return nusselt * math.pi * air.conductivity_w_per_mk * (surface_c - ambient_c)


def moving_air_w_per_m(diameter_mm: float, surface_c: float, ambient_c: float, air_m_per_s: float) -> float:
    """Air blown across a cylinder, the larger of the formula for low and the one for high speed. Source: IEEE 738, equations 3a and 3b."""
    air = air_at((surface_c + ambient_c) / 2)
    reynolds = diameter_mm / 1000 * air.density_kg_per_m3 * air_m_per_s / air.viscosity_pa_s
    per_kelvin: float = max(1.01 + 1.35 * reynolds**0.52, 0.754 * reynolds**0.6) * air.conductivity_w_per_mk
    return per_kelvin * (surface_c - ambient_c)


def radiated_w_per_m(diameter_mm: float, hot_c: float, cold_c: float, emissivity: float) -> float:
    """Grey radiation of a cylinder to what surrounds it. Source: Stefan-Boltzmann law."""
    fourth = (hot_c + KELVIN) ** 4 - (cold_c + KELVIN) ** 4
    return emissivity * STEFAN_BOLTZMANN_W_PER_M2_K4 * math.pi * diameter_mm / 1000 * fourth


def surface_w_per_m(diameter_mm: float, surface_c: float, ambient_c: float, *, emissivity: float, air_m_per_s: float = 0.0) -> float:
    """What one metre of a cable's surface gives away: convection, the larger of still and moving air, and radiation."""
    convected = still_air_w_per_m(diameter_mm, surface_c, ambient_c)
    if air_m_per_s > 0:
        convected = max(convected, moving_air_w_per_m(diameter_mm, surface_c, ambient_c, air_m_per_s))
    return convected + radiated_w_per_m(diameter_mm, surface_c, ambient_c, emissivity)
