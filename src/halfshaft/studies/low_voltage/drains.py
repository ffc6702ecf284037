"""What draws, or is fed, though it should be off."""

from __future__ import annotations

from dataclasses import replace

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Load
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.low_voltage.demands import Demands
from halfshaft.studies.low_voltage.records import Leak
from halfshaft.studies.network.records import DcNetwork, Failure, Resistor, Solution
from halfshaft.studies.network.solver import solve
from halfshaft.studies.wires.circuit import Circuit, node_of

# A dead rail that something lifts by more than this feeds what hangs on it; less is the end of a long resistor.
FED_BACK_V = 1.0
# Resistors with less than this are not worth a line: a tenth of what the smallest sleeping unit takes.
THROUGH_A = 1e-4


def leaks_of(
    conversion: Conversion, demands: Demands, circuit: Circuit, network: DcNetwork, answer: Solution | Failure
) -> tuple[Leak, ...]:
    """What leaks in one case."""
    if isinstance(answer, Failure):
        return ()
    return (
        *_unlisted(conversion, demands, circuit, answer),
        *_fed_back(conversion, circuit, network, answer),
        *_through(conversion, network, answer),
    )


def _unlisted(conversion: Conversion, demands: Demands, circuit: Circuit, answer: Solution) -> list[Leak]:
    """Units that the case does not name, but that are live and take their sleep current."""
    found = []
    for load in conversion.loads:
        device, element = load.ref.partition(".")[0], conversion.element[load.ref]
        plus, minus = node_of(device, element.pin_a), node_of(device, element.pin_b)
        if load.sleep_ma > 0 and load.ref not in demands.on and plus in circuit.from_plus and minus in circuit.from_ground:
            volt = answer.volt.get(plus, 0.0) - answer.volt.get(minus, 0.0)
            found.append(Leak(kind="unlisted", ref=load.ref, pin=plus, current_a=load.sleep_ma / 1000, volt=volt))
    return found


def _fed_back(conversion: Conversion, circuit: Circuit, network: DcNetwork, answer: Solution) -> list[Leak]:
    """Rails whose own feed is open, and that something else lifts even with a load on them."""
    rails = joined_groups((branch.start, branch.end) for branch in circuit.branches)
    lifted: dict[str, list[Load]] = {}
    for load in conversion.loads:
        device, element = load.ref.partition(".")[0], conversion.element[load.ref]
        plus, minus = node_of(device, element.pin_a), node_of(device, element.pin_b)
        is_dead = plus not in circuit.from_plus and minus in circuit.from_ground and load.steady_a > 0
        if is_dead and answer.volt.get(plus, 0.0) > FED_BACK_V:
            lifted.setdefault(rails.get(plus, plus), []).append(load)
    return [leak for loads in lifted.values() if (leak := _with_load(conversion, network, loads)) is not None]


def _with_load(conversion: Conversion, network: DcNetwork, loads: list[Load]) -> Leak | None:
    """What a lifted rail gives its smallest load, taken as a resistor; the others on it would pull it lower still. Nothing else is on."""
    least = min(loads, key=lambda load: (load.steady_a, load.ref))
    pin = node_of(least.ref.partition(".")[0], conversion.element[least.ref].pin_a)
    ohm = conversion.supply.voltage_v / least.steady_a
    probe = Resistor(ref=f"{least.ref} as a resistor", start=pin, end=network.ground, ohm=ohm)
    answer = solve(replace(network, resistors=(*network.resistors, probe)))
    if isinstance(answer, Failure) or answer.volt[pin] < FED_BACK_V:
        return None
    return Leak(kind="fed back", ref=least.ref, pin=pin, current_a=answer.volt[pin] / ohm, volt=answer.volt[pin])


def _through(conversion: Conversion, network: DcNetwork, answer: Solution) -> list[Leak]:
    """Resistors and coils inside units that carry a current with nothing listed behind them."""
    found = []
    for item in network.resistors:
        current_a = abs(answer.current_a[item.ref])
        if item.ref in conversion.element and conversion.element[item.ref].kind in ("resistor", "coil") and current_a > THROUGH_A:
            volt = abs(answer.volt[item.start] - answer.volt[item.end])
            found.append(Leak(kind="through", ref=item.ref, pin=item.start, current_a=current_a, volt=volt))
    return found
