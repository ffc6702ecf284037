"""CAN buses for a screen: the line, the ohms, the load."""

from __future__ import annotations

from halfshaft.show.tables import table
from halfshaft.studies.buses.study import BusResult
from halfshaft.study import Study


def bus(study: Study) -> str:
    """Bus by bus."""
    return "\n\n".join(_bus(item) for item in study.buses.values()) or "No bus is listed in buses.csv."


def _bus(bus: BusResult) -> str:
    parts = [f"Bus {bus.ref}, {bus.bit_rate_kbit_per_s:g} kbit/s"]
    if not bus.pieces:
        parts.append("No wire ends at a can_h and a can_l of its units.")
    else:
        ends = [f"{item.unit} {item.ohm:.0f} ohm{'' if item.is_in else ' (not in)'}" for item in bus.terminators]
        parts[0] += f"; {bus.trunk_mm / 1000:.2f} m from end to end; terminators: {', '.join(ends) or 'none known'}"
        stations = [(station.name, f"{station.at_mm / 1000:.2f}", "", "") for station in bus.order]
        stubs = [(stub.at, f"{stub.at_mm / 1000:.2f}", ", ".join(stub.units), f"{stub.length_mm / 1000:.2f}") for stub in bus.stubs]
        parts.append(table(("at", "m from end", "stub to", "stub m"), [*stations, *stubs]))
    if bus.ohms:
        rows = [
            (
                item.plug or "none",
                " and ".join(_ohm(value) for value in item.there),
                "; ".join(f"{_ohm(value)} at {', '.join(plugs)}" for value, plugs in item.elsewhere),
            )
            for item in bus.ohms
        ]
        parts.append(table(("plug pulled", "ohm there", "ohm elsewhere"), rows))
        parts.append(table(("ohm, all in", "what it says"), [(_ohm(item.ohm), item.words) for item in bus.meanings]))
    if bus.load:
        parts.append(
            table(
                ("id", "message", "sent by", "bytes", "every ms", "bits", "% of bus", "latest ms"),
                [
                    (
                        f"0x{item.frame_id:X}", item.name, ", ".join(item.senders), item.length_bytes, "" if item.cycle_ms is None else f"{item.cycle_ms:g}", item.bits,
                        f"{item.load_percent:.2f}", "" if item.response_ms is None else f"{item.response_ms:.2f}",
                    )
                    for item in bus.load.messages
                ],
            )
        )  # fmt: skip
        parts.append(f"Load {bus.load.load_percent:.1f} % with the most that stuffing adds, {bus.load.least_percent:.1f} % without it.")
    return "\n\n".join(parts)


def _ohm(value: float | None) -> str:
    return "open" if value is None else f"{value:.1f}"
