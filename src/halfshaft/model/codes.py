"""Codes under which wire and hose are bought: the parts list prints them, and the stock is listed by them."""

from __future__ import annotations


def wire_code(section_mm2: float, colour: str, insulation_class: str = "") -> str:
    """`0.5 PK`, or with its insulation class `0.5 PK B`."""
    return f"{section_mm2:g} {colour} {insulation_class}".rstrip()


def hose_code(bore_mm: float, outside_mm: float | None = None) -> str:
    """`hose 19`, or with its outside diameter `hose 19x26`."""
    return f"hose {bore_mm:g}" + ("" if outside_mm is None else f"x{outside_mm:g}")
