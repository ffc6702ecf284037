"""Small words that findings of the chain share."""

from __future__ import annotations

from halfshaft.model.finding import Basis, published

DATA_SHEET = published("the part's data sheet, in parts/*.toml")
UNIT_SHEET = published("the unit's data sheet, in hv_units.csv")
CIRCUIT = published("circuit theory: RC circuit, Ohm's and Kirchhoff's laws")
PULSE = published("the resistor's pulse_j in parts/*.toml; a chip maker's reference design for pre-charge (2024): pulse energy sizes it")
ORDER = Basis("common practice", "the link is filled through a resistor before the main contacts close")
NO_GAP = published("a trade article on choosing fuses for electric cars: no gap between what contactors break and what fuses open")


def seconds(value: float) -> str:
    """`0.22 s`, `38 s`."""
    return f"{value:.2f} s" if value < 10 else f"{value:.0f} s"
