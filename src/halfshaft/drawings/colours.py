"""What a wire's letters look like in colour. The letters decide; the colour is a second voice."""

from __future__ import annotations

# Our own choice of tones for the letters of IEC 60757; see docs/how-it-computes.md.
TONES = {
    "BK": "#1A1A1A",
    "BN": "#7A4A21",
    "RD": "#C8202B",
    "OG": "#F67828",
    "YE": "#F2C500",
    "GN": "#1E8A3C",
    "BU": "#1F5FBF",
    "VT": "#7B3FA0",
    "GY": "#8A8F95",
    "WH": "#FFFFFF",
    "PK": "#F0A0BE",
    "GD": "#B08A2E",
    "TQ": "#1FA7A5",
    "SR": "#C4C8CC",
}


def tones(letters: str) -> tuple[str, str | None]:
    """Base tone and tracer tone of a colour such as `BU-WH`; GNYE is green with a yellow tracer."""
    if letters == "GNYE":
        return TONES["GN"], TONES["YE"]
    base, _, tracer = letters.partition("-")
    return TONES[base], TONES[tracer] if tracer else None
