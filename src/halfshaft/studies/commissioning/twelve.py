"""The 12 V side: battery and drain of the parked car, then volts at every load with the key on, and what each output must do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Case
from halfshaft.studies.commissioning.limits import BATTERY, BATTERY_HIGH_V, BATTERY_LOW_V, CIRCUIT, DROP, SLEEP, SLEEP_SHARE, TABLE
from halfshaft.studies.commissioning.records import Line, Part, Sense, volts_line
from halfshaft.studies.fault_finder.stops import LiveCircuit
from halfshaft.studies.low_voltage.cases import SolvedCase, pins_of
from halfshaft.studies.low_voltage.records import CaseResult, LowVoltage
from halfshaft.studies.network.records import Solution

VOLTMETER = "voltmeter, red lead on the first"
NO_HV = "service disconnect out"
# Outputs that can be looked at with the pack cut off.
LOOKED_AT = ("lamp", "pump", "fan", "lock", "line")
MILLI = 1e-3


@dataclass(frozen=True, kw_only=True, slots=True)
class TwelveVolts:
    """What the lines of the 12 V side are made from: the cases that stand for the parked car and for the key, and the key's network."""

    parked: CaseResult | None
    key_on: Case | None
    solved: SolvedCase | None
    live: LiveCircuit
    battery_pins: tuple[str, str]
    battery: str
    minus_way: tuple[str, ...]


def parked_case(low: LowVoltage) -> CaseResult | None:
    """The first case in which everything that can sleep does."""
    return next((result for result in low.cases if result.stands and result.mean is not None), None)


def key_on_case(conversion: Conversion, low: LowVoltage) -> Case | None:
    """The first case with the contactors open that is not the parked car: the battery alone feeds."""
    return next(
        (
            case
            for case in conversion.cases
            if case.contactors == "open" and case.converter not in ("", "on") and not low.by_case[case.ref].stands
        ),
        None,
    )


def parked_part(conversion: Conversion, twelve: TwelveVolts) -> Part | None:
    """Battery and drain; then the drain fuse by fuse, which is measured only where the whole is not right."""
    result = twelve.parked
    if result is None or result.mean is None:
        return None
    state = f"{NO_HV}, 12 V battery on, case “{result.case}”, all units plugged in and asleep"
    shares = {item.ref: abs(item.mean_a) / MILLI for item in result.carried if item.kind == "fuse"}
    behind = _behind(conversion, twelve, result)
    lines = [
        _battery_line(twelve, state, result.mean.battery_v),
        _drain(
            ("minus post", "lead of the battery's minus, the meter in between"),
            state,
            result.mean.battery_a / MILLI,
            tuple(dict.fromkeys(sense for senses in behind.values() for sense in senses)),
            "fuse by fuse, the lines below",
        ),
    ]
    lines += [
        _drain(
            (f"{fuse} pulled", "the meter in its place"),
            state,
            found_ma,
            behind.get(fuse, ()),
            _look(fuse, behind.get(fuse, ())),
            optional=True,
        )
        for fuse, found_ma in shares.items()
    ]
    return Part(
        key="parked",
        title="12 V, the car parked",
        instrument="voltmeter; for the drain an ammeter that stays in circuit, 1 mA or better",
        basis=(CIRCUIT, BATTERY, SLEEP),
        wrong="{} draws too much: it does not sleep, or something hangs on its feed that nobody has described.",
        lines=tuple(lines),
        note="Wait until everything sleeps, the longest that a maker gives, before the drain is read. A drain that is too small: a unit is not fed.",
    )


MOST_NAMES = 5


def _look(fuse: str, behind: tuple[Sense, ...]) -> str:
    if len(behind) > MOST_NAMES:
        return "the fuses behind it, one by one"
    return ", ".join(sense.ref for sense in behind) or f"what {fuse} feeds"


def _battery_line(twelve: TwelveVolts, state: str, volts: float) -> Line:
    return volts_line(
        twelve.battery_pins,
        state,
        min(max(volts, BATTERY_LOW_V), BATTERY_HIGH_V),
        low=BATTERY_LOW_V,
        high=BATTERY_HIGH_V,
        suspect="charge it, then look for what emptied it",
        senses=(Sense(ref=twelve.battery, kind="battery"),),
    )


def _drain(
    between: tuple[str, str], state: str, expected_ma: float, senses: tuple[Sense, ...], suspect: str, *, optional: bool = False
) -> Line:
    return Line(
        between=between,
        state=state,
        quantity="amount",
        unit="mA",
        expected=expected_ma,
        low=SLEEP_SHARE * expected_ma,
        high=(1 + SLEEP_SHARE) * expected_ma,
        senses=senses,
        suspect=suspect,
        is_optional=optional,
    )


def _behind(conversion: Conversion, twelve: TwelveVolts, result: CaseResult) -> dict[str, tuple[Sense, ...]]:
    """By fuse that carries something in the parked car, the loads behind it that can draw: all that stop when it is out."""
    fuses = [item.ref for item in result.carried if item.kind == "fuse"]
    fed = {fuse: twelve.live.all_fed - twelve.live.fed(frozenset({fuse}), sources=twelve.live.battery_only) for fuse in fuses}
    return {fuse: tuple(Sense(ref=load, kind="load") for load in sorted(loads) if load in conversion.load) for fuse, loads in fed.items()}


def volts_part(conversion: Conversion, twelve: TwelveVolts) -> tuple[Part, tuple[str, ...]] | None:
    """Volts at the battery and at every load: those of the case at once, each other one as it is switched on. Also what has no line."""
    if twelve.key_on is None or twelve.solved is None or not isinstance(twelve.solved.all, Solution):
        return None
    solved, name = twelve.solved, twelve.key_on.ref
    state = f"{NO_HV}, case “{name}”"
    lines = [_battery_line(twelve, state, solved.battery_v)]
    needs = Needs(conversion, twelve.live)
    inside, unfed = [], []
    for ref, load in conversion.load.items():
        one = solved if ref in solved.switched.on else solved.with_also(ref)
        is_always_on = 1000 * load.steady_a <= load.sleep_ma
        words = state if ref in solved.switched.on or is_always_on else f"{state}; {ref} switched on"
        if not all(pin in conversion.cavity for pin in pins_of(conversion, ref)):
            inside.append(ref)
            continue
        line = _load_line(conversion, twelve, needs, one, ref, words)
        if line is None:
            unfed.append(ref)
        else:
            lines.append(line)
    part = Part(
        key="volts",
        title="12 V at every load, the battery alone",
        instrument=VOLTMETER,
        basis=(CIRCUIT, DROP, BATTERY),
        wrong="{}: open, blown, not closed, or a bad contact.",
        lines=tuple(lines),
        note="Read at the load's own plug, from behind, plus to minus, all else of the case on. With the service disconnect out contactors may be switched: the pack is cut off.",
    )
    reasons = (
        (unfed, f"nothing feeds it in the case {name}, or it has no way back"),
        (inside, "a pin is inside the unit; what it switches has a line"),
    )
    return part, tuple(f"{', '.join(refs)}: {words}" for refs, words in reasons if refs)


def _load_line(conversion: Conversion, twelve: TwelveVolts, needs: Needs, one: SolvedCase, ref: str, state: str) -> Line | None:
    volts = one.volts(one.all, ref)
    if volts is None or not isinstance(one.all, Solution):
        return None
    allowance_v = conversion.supply.voltage_v * conversion.shop.voltage_drop_max_percent / 100
    amperes = one.all.current_a
    ways = {**needs.all_of(one, ref), **dict.fromkeys(twelve.minus_way, True)}
    senses = [Sense(ref=item, kind=_kind(conversion, item), per=abs(amperes.get(item, 0.0)) if ways[item] else 0.0) for item in ways]
    senses.sort(key=lambda sense: (ORDER.index(sense.kind), sense.ref))
    plus, minus = pins_of(conversion, ref)
    return volts_line(
        (f"{plus} ({conversion.load[ref].name})", minus),
        state,
        volts,
        low=min(volts - allowance_v - (max(one.battery_v, BATTERY_LOW_V) - BATTERY_LOW_V), volts),
        high=max(BATTERY_HIGH_V, volts),
        suspect=", ".join(sense.ref for sense in senses if _is_first(sense, twelve.battery)) or ref,
        senses=(*senses, Sense(ref=twelve.battery, kind="battery")),
    )


def _is_first(sense: Sense, battery: str) -> bool:
    """What is looked at first when one load has no volts: not what all loads share at the battery."""
    return sense.kind in ("fuse", "contact", "ground point") and sense.per > 0 and sense.ref.partition(".")[0] != battery.partition(".")[0]


ORDER = ("fuse", "contact", "ground point", "strap", "wire", "link", "unit")


def _kind(conversion: Conversion, ref: str) -> str:
    if ref in conversion.element:
        kind = conversion.element[ref].kind
        return kind if kind in ORDER else "unit"
    if ref in conversion.wire:
        return "wire"
    return "strap" if ref in {strap.ref for strap in conversion.straps} else "ground point"


class Needs:
    """Without what each load is not fed by the battery; what another way goes round, in whatever state its contacts are, is left out."""

    def __init__(self, conversion: Conversion, live: LiveCircuit) -> None:
        self._live = live
        self._studs = {point.ref for point in conversion.ground_points}
        self._branch = {branch.ref: branch for branch in live.circuit.branches}
        self._fed: dict[str, frozenset[str]] = {}

    def _fed_without(self, ref: str) -> frozenset[str]:
        if ref not in self._fed:
            self._fed[ref] = self._live.fed(frozenset({ref}), sources=self._live.battery_only)
        return self._fed[ref]

    def of(self, way: frozenset[str], load: str) -> list[str]:
        """Branches of its way, and the ground points that they end at."""
        needed = [self._branch[ref] for ref in sorted(way) if ref in self._branch and load not in self._fed_without(ref)]
        devices = {node.partition(".")[0] for branch in needed for node in (branch.start, branch.end)}
        return [*(branch.ref for branch in needed), *sorted(devices & self._studs)]

    def all_of(self, one: SolvedCase, load: str) -> dict[str, bool]:
        """Everything on a load's way, True; and all without which the contacts on it are not held closed, False."""
        found = dict.fromkeys(self.of(one.ways.get(load, frozenset()), load), True)
        mover = self._live.mover
        waiting = [mover[item] for item in found if item in mover]
        seen = {load}
        while waiting:
            by = waiting.pop(0)
            if by in seen:
                continue
            seen.add(by)
            for item in self.of(one.ways.get(by, frozenset()), by):
                found.setdefault(item, False)
                if item in mover:
                    waiting.append(mover[item])
        return found


def outputs_part(conversion: Conversion, twelve: TwelveVolts) -> Part | None:
    """What lamps, pumps, fans, locks and guarded lines must do with the key off and on, the contactors open."""
    name = twelve.key_on.ref if twelve.key_on else "key on"
    lines = tuple(_outputs(conversion, name))
    if not lines:
        return None
    return Part(
        key="outputs",
        title="What each output does",
        instrument="eye and ear",
        basis=(TABLE,),
        wrong="{} does not do what the table says.",
        lines=lines,
        note="Found: yes or no.",
    )


def _outputs(conversion: Conversion, name: str) -> Iterator[Line]:
    for output in conversion.output_states:
        if output.kind not in LOOKED_AT:
            continue
        for state, words in ((f"{NO_HV}; key off", output.off), (f"{NO_HV}; case “{name}”", output.waking)):
            if words and words != "-":
                yield Line(
                    between=(output.ref, words),
                    state=state,
                    quantity="seen",
                    unit="yes or no",
                    expected=1.0,
                    low=1.0,
                    high=1.0,
                    senses=(Sense(ref=output.ref, kind="output"),),
                    suspect=output.driven_by,
                )
