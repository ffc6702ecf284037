"""What each load asks of the network in one case: on for its share of the time, on at once, or just starting."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Case
from halfshaft.studies.network.records import Load, LoadKind
from halfshaft.studies.wires.circuit import node_of

Moment = Literal["mean", "all", "start"]
# A motor at its duty takes nearly the same amperes at 11 V as at 14 V: its torque asks for them, its speed follows the volts.
KINDS: dict[str, LoadKind] = {
    "resistive": "resistive",
    "coil": "resistive",
    "motor": "constant current",
    "constant current": "constant current",
    "constant power": "constant power",
}
# A coil that is held with less than this share of what its resistance would take has an economiser, which holds amperes.
ECONOMISER_SHARE = 0.7


class Demands:
    """The loads of one case."""

    def __init__(self, conversion: Conversion, case: Case, on: dict[str, float]) -> None:
        self.conversion = conversion
        self.on = on
        self._rows = {row.load: row for row in conversion.case_loads if row.case == case.ref}

    def steady_a(self, ref: str) -> float:
        """Amperes while it is on."""
        row = self._rows.get(ref)
        return self.conversion.load[ref].steady_a if row is None or row.steady_a is None else row.steady_a

    def peak_a(self, ref: str) -> float:
        """Amperes as it starts; where the case gives it less than usual, as while it sleeps, no more than that unless it says so."""
        row, load = self._rows.get(ref), self.conversion.load[ref]
        if row is not None and row.peak_a is not None:
            return row.peak_a
        return self.steady_a(ref) if self.sleeps(ref) else load.peak_a

    def start_adds_a(self, ref: str) -> float:
        """How much more it takes as it starts."""
        return self.peak_a(ref) - self.steady_a(ref)

    def sleeps(self, ref: str) -> bool:
        """Whether it takes no more than while the car is parked."""
        sleep_a = self.conversion.load[ref].sleep_ma / 1000
        return sleep_a > 0 and self.steady_a(ref) <= sleep_a * (1 + 1e-9)

    @property
    def asked_mean_a(self) -> float:
        """Amperes asked for, each load for its share of the time."""
        return sum(self.steady_a(ref) * duty for ref, duty in self.on.items())

    @property
    def asked_all_a(self) -> float:
        """Amperes asked for if all ran at once."""
        return sum(self.steady_a(ref) for ref in self.on)

    def largest_start(self, refs: Iterable[str]) -> str | None:
        """The load whose start adds most, if any adds something."""
        found = max(refs, key=lambda ref: (self.start_adds_a(ref), ref), default=None)
        return found if found is not None and self.start_adds_a(found) > 0 else None

    def load(self, ref: str, moment: Moment) -> Load:
        """The load as the network knows it."""
        device, element = ref.partition(".")[0], self.conversion.element[ref]
        share = self.on.get(ref, 1.0) if moment == "mean" else 1.0
        amps = self.peak_a(ref) if moment == "start" else self.steady_a(ref)
        kind = self._kind(ref, moment)
        return Load(
            ref=ref,
            plus=node_of(device, element.pin_a),
            minus=node_of(device, element.pin_b),
            kind=kind,
            value=self._value(ref, kind, amps, share),
        )

    def _kind(self, ref: str, moment: Moment) -> LoadKind:
        if self.sleeps(ref):
            return "constant current"
        kind = KINDS.get(self.conversion.load[ref].kind, "constant current")
        if self.conversion.element[ref].kind == "coil" and moment != "start" and self.is_economised(ref):
            return "constant current"
        return kind

    def is_economised(self, ref: str) -> bool:
        """Whether a coil is held with far less than its resistance would take."""
        ohm = self.conversion.element[ref].resistance_ohm
        return bool(ohm) and self.steady_a(ref) * (ohm or 0.0) < ECONOMISER_SHARE * self.conversion.supply.voltage_v

    def _value(self, ref: str, kind: LoadKind, amps: float, share: float) -> float:
        volt = self.conversion.supply.voltage_v
        if kind == "constant current":
            return amps * share
        if kind == "constant power":
            return amps * volt * share
        own_ohm = self.conversion.element[ref].resistance_ohm if self.conversion.element[ref].kind == "coil" else None
        return (own_ohm or volt / amps) / share
