"""How a line's value and limits are put, on paper and on a screen."""

from __future__ import annotations

from collections.abc import Callable

from halfshaft.model.reading import Reading

Figure = Callable[[float], str]
MEGA = 1e6


def expected_words(item: Reading, figure: Figure) -> str:
    """`+12.7 V`, `open`, `yes`: with the sign that is looked for, and the unit."""
    if item.quantity == "seen":
        return "yes"
    if item.expected is None:
        return "open"
    sign = "+" if item.quantity == "voltage" and item.expected > 0 else ""
    return f"{sign}{figure(item.expected)} {item.unit}"


def passes_words(item: Reading, figure: Figure) -> str:
    """`0 to 20`, `over 1.3 MΩ`, `yes`."""
    if item.quantity == "seen":
        return "yes"
    if item.quantity == "open" and item.low >= MEGA:
        return f"over {figure(item.low / MEGA)} M{item.unit}"
    if item.high is None:
        return f"over {figure(item.low)} {item.unit}"
    return figure(item.low) if item.low == item.high else f"{figure(item.low)} to {figure(item.high)}"
