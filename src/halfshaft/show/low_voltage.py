"""The 12 V side in every case, for a screen."""

from __future__ import annotations

from halfshaft.show.tables import table
from halfshaft.studies.low_voltage.records import LowVoltage
from halfshaft.study import Study

SUPPLY_KEY = (
    "asked: as the tables add up, on the average / all at once. mean, all: as solved, converter + battery. with a start: posts V\n"
    "as the named load starts on top of all. Every current, loss and moment: --json."
)
ELSEWHERE = "What stops when a fuse opens, and where to look when something does not work: halfshaft show FOLDER fault_finder"


def low_voltage(study: Study) -> str:
    """Supply by case, volts by load, relays and switches, coils, ground points and ways back."""
    result = study.low_voltage
    if result is None:
        return "no 12 V battery with a source inside is named under [supply], or nothing joins its minus to a ground point"
    if not result.cases:
        return "no case is described: case_loads.csv says what is on in which case of cases.csv"
    parts = (
        _supply(result, "none" if study.conversion.supply.converter is None else "off"),
        SUPPLY_KEY,
        _volts(result),
        _losses(result),
        _contacts(result),
        _coils(result),
        _grounds(result),
        _returns(result),
        ELSEWHERE,
    )
    return "\n\n".join(part for part in parts if part)


def _supply(result: LowVoltage, off: str) -> str:
    rows = [
        (
            case.case,
            f"{case.asked_mean_a:.3g} / {case.asked_all_a:.3g}",
            off if case.limit_a is None else f"{case.limit_a:g}",
            *(_pair(shares.converter_a, shares.battery_a) if shares else "no answer" for shares in (case.mean, case.all)),
            None if case.all is None else f"{case.all.battery_v:.2f}",
            None if case.start is None else f"{case.start.battery_v:.2f} {case.starting}",
            case.lasts,
        )
        for case in result.cases
    ]
    return table(("case", "asked A", "limit A", "mean A", "all A", "posts V", "with a start", "battery lasts"), rows)


def _pair(converter_a: float, battery_a: float) -> str:
    return f"{converter_a:.3g} + {battery_a:.3g}"


def _volts(result: LowVoltage) -> str:
    refs = list(dict.fromkeys(load.load for case in result.cases for load in case.loads))
    rows = []
    for ref in refs:
        volts = [load.all_v for case in result.cases if (load := case.by_load.get(ref)) is not None]
        least = [volt for volt in volts if volt is not None]
        cells = [None if (load := case.by_load.get(ref)) is None else _volt(load.all_v) for case in result.cases]
        rows.append((ref, f"{min(least):.2f}" if least else "not fed", *cells))
    return table(("V at, all on at once", "least", *(case.case for case in result.cases)), rows)


def _volt(volt: float | None) -> str:
    return "not fed" if volt is None else f"{volt:.2f}"


# Beyond these, what is lost is hardly worth a thicker wire.
LOSSES = 12


def _losses(result: LowVoltage) -> str:
    rows = [
        (item.ref, item.kind, f"{abs(item.all_a):.2f}", f"{abs(item.drop_v):.3f}", f"{item.loss_w:.2f}", case)
        for case, item in result.most_lost[:LOSSES]
    ]
    return table(("most volts are lost in", "", "A", "V", "W", "in the case"), rows) if rows else ""


def _contacts(result: LowVoltage) -> str:
    rows = [
        (use.ref, use.moved_by, None if use.rating_a is None else f"{use.rating_a:g}", f"{use.current_a:.2f}", use.case, f"{use.start_a:.2f}", use.starting)
        for use in result.contacts
    ]  # fmt: skip
    return table(("contact", "moved by", "A", "carries", "in the case", "at a start", "of"), rows) if rows else ""


def _coils(result: LowVoltage) -> str:
    rows = [
        (
            coil.coil, *(None if value is None else f"{value:.2f}" for value in (coil.current_a, coil.volt)), coil.case,
            None if coil.operate_min_v is None else f"{coil.operate_min_v:g}", coil.suppressed_by, " ".join(coil.contacts),
        )
        for coil in result.pull_ins
    ]  # fmt: skip
    return table(("coil", "A", "V as it pulls in", "in the case", "needs V", "suppressed by", "moves"), rows) if rows else ""


def _grounds(result: LowVoltage) -> str:
    rows = [
        (
            ground.ref, f"{ground.rings} of {ground.rings_max}", f"{ground.current_a:.1f}", ground.case,
            ", ".join(f"{wire} {current:.1f}" for wire, current in ground.wires.items()),
        )
        for ground in result.grounds
    ]  # fmt: skip
    return table(("ground point", "rings", "A", "in the case", "wires"), rows) if rows else ""


def _returns(result: LowVoltage) -> str:
    rows = [
        (item.load, " ".join(item.way) if item.way is not None else f"none{'; lost with ' + ', '.join(item.lost_with) if item.lost_with else ''}")
        for item in result.returns
    ]  # fmt: skip
    return table(("load", "comes back by"), rows)
