"""Pre-charge: the resistor and the settings, the polarity of boxes and pack, the first try."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.studies.commissioning.limits import (
    CAPACITOR,
    CAPACITOR_SHARE,
    CATALOGUE,
    CIRCUIT,
    PACK_BAND,
    RESISTOR,
    RESISTOR_SHARE,
    SETTINGS,
)
from halfshaft.studies.commissioning.records import Line, Part, Sense, volts_line
from halfshaft.studies.high_voltage.discharge import SAFE_V
from halfshaft.studies.high_voltage.precharge import Precharge
from halfshaft.studies.hv_safety.limits import basis_of
from halfshaft.studies.pack.strings import String, pins_of
from halfshaft.studies.pack.study import Pack

HV_METER = "voltmeter and leads for these volts, CAT III 1000 V, tried before and after; red lead on the first"
RECORDER = "the controller's own log, or a recorder with a probe for these volts"
OPEN_STATE = "service disconnect in; contactors open"


def resistor_part(precharge: Precharge) -> Part:
    """The resistor, dead; and what the controller is set to."""
    ohm = precharge.resistor_ohm
    lines = (
        Line(
            between=(f"{precharge.resistor}, one end", "its other end"),
            state="service disconnect out, proven dead",
            quantity="resistance",
            unit="Ω",
            expected=ohm,
            low=(1 - RESISTOR_SHARE) * ohm,
            high=(1 + RESISTOR_SHARE) * ohm,
            senses=(Sense(ref=precharge.resistor, kind="resistor"),),
            suspect=f"{precharge.resistor}: burnt, or another one",
        ),
    )
    return Part(
        key="pre-charge resistor",
        title="Resistor, dead",
        instrument="multimeter, ohms",
        basis=(CATALOGUE, RESISTOR),
        wrong="{} is burnt, cracked, or another one.",
        lines=lines,
    )


def settings_part(conversion: Conversion, precharge: Precharge) -> Part:
    """What the controller is set to: read before the first try, as nobody can see it in the car."""
    settings = conversion.high_voltage
    rows = (
        ("main contactor closes at", settings.precharge_close_at_percent, "%"),
        ("gives up after", precharge.time_out_s, "s"),
        ("tries in a row", float(precharge.tries), "tries"),
        ("rest after them", settings.precharge_rest_min, "min"),
    )
    lines = tuple(
        Line(
            between=("setting of the controller", words),
            state="key on, service disconnect out",
            quantity="amount",
            unit=unit,
            expected=value,
            low=value,
            high=value,
            senses=(Sense(ref=words, kind="setting"),),
            suspect="the controller's settings",
        )
        for words, value, unit in rows
    )
    return Part(
        key="pre-charge settings",
        title="What the controller is set to",
        instrument="the controller's own program",
        basis=(SETTINGS,),
        wrong="The controller's setting “{}” is not the one that pre-charge was worked out for.",
        lines=lines,
        note="A pre-charge that is tried again without its rest burns the resistor.",
    )


def precharge_part(precharge: Precharge, pack: Pack) -> Part:
    """One try, from an empty link."""
    seconds = precharge.with_standing_s if precharge.with_standing_s is not None else precharge.closes_after_s
    more = 1 + CAPACITOR_SHARE + RESISTOR_SHARE
    left = 1 - precharge.close_share
    state = "service disconnect in, link empty, first try"
    lines = (
        Line(
            between=("pre-charge contact closes", f"link at {100 * precharge.close_share:g} % of the pack"),
            state=state,
            quantity="amount",
            unit="s",
            expected=seconds,
            low=seconds / more,
            high=min(seconds * more, max(precharge.time_out_s, seconds)),
            senses=(Sense(ref=precharge.resistor, kind="resistor"),),
            suspect="too slow: something draws; too fast: a unit is not joined",
        ),
        volts_line(
            (f"{precharge.resistor}, pack's side", "link's side, at the first moment"),
            state,
            pack.nominal_v,
            low=pack.empty_v,
            high=pack.full_v,
            suspect="the link was not empty, or the resistor is bridged",
        ),
        volts_line(
            (f"{precharge.resistor}, pack's side", "link's side, as the main contactor closes"),
            state,
            left * pack.nominal_v,
            low=-1.0,
            high=max(left * pack.full_v, left * pack.nominal_v),
            suspect="main contactor closes too early: it welds",
        ),
    )
    return Part(
        key="pre-charge",
        title="First pre-charge",
        instrument=RECORDER,
        basis=(CIRCUIT, CAPACITOR, PACK_BAND),
        wrong="{}: too many ohms, or something draws from the link while it fills.",
        lines=lines,
        note=f"At the nominal pack {pack.nominal_v / precharge.resistor_ohm:.2f} A at first. A try that fails: stop, and rest before the next.",
    )


def box_part(conversion: Conversion, pack: Pack) -> Part | None:
    """Each box by itself before its plugs are put on, with its sign."""
    lines = tuple(line for string in pack.strings for line in _boxes(conversion, string))
    if not lines:
        return None
    return Part(
        key="boxes",
        title="Volts of each box, its plugs off",
        instrument=HV_METER,
        basis=(PACK_BAND,),
        wrong="{}: a module turned round, a bar missing, or its fuse blown; a minus sign: its plugs are exchanged.",
        lines=lines,
        note="Write the sign that the meter shows. A box is live at all times.",
    )


def _boxes(conversion: Conversion, string: String) -> Iterator[Line]:
    for box in dict.fromkeys(string.boxes):
        runs = [run for run in string.runs if run[0].box == box]
        ends = [_pin(conversion, box, role) for role in ("hv_plus", "hv_minus")]
        if len(runs) > 1 or None in ends:
            continue
        volts = [math.fsum(item.volts(cell) for item in runs[0]) for cell in ("cell_nominal_v", "cell_empty_v", "cell_full_v")]
        yield volts_line(
            (str(ends[0]), str(ends[1])),
            f"service disconnect out; plugs of {box} off once more",
            volts[0],
            low=volts[1],
            high=volts[2],
            suspect=f"{box}: modules, bars, fuse",
            senses=(Sense(ref=box, kind="box"),),
        )


def _pin(conversion: Conversion, device: str, role: str) -> str | None:
    pins = [pin for pin, cavity in conversion.cavity.items() if pin.startswith(f"{device}.") and cavity.role == role]
    return pins[0] if len(pins) == 1 else None


def pack_part(conversion: Conversion, pack: Pack) -> Part | None:
    """The pack at its ends with its sign; the link behind open contactors, which shows a welded one."""
    plus_at, minus_at = conversion.pack.plus_at, conversion.pack.minus_at
    if plus_at is None or minus_at is None:
        return None
    ends = (pins_of(conversion, plus_at)[0], pins_of(conversion, minus_at)[0])
    main = [ref for ref in (conversion.high_voltage.main_plus, conversion.high_voltage.main_minus) if ref]
    lines = [
        volts_line(
            ends,
            OPEN_STATE,
            pack.nominal_v,
            low=pack.empty_v,
            high=pack.full_v,
            suspect="service disconnect, main fuses, plugs of the boxes",
            senses=tuple(
                Sense(ref=ref, kind="link", per=0.0)
                for ref in (*pack.links, *dict.fromkeys(box for string in pack.strings for box in string.boxes))
            ),
        )
    ]
    if main:
        lines.append(
            volts_line(
                ("link plus", "link minus"),
                f"{OPEN_STATE}, link discharged",
                0.0,
                low=-SAFE_V,
                high=SAFE_V,
                suspect=f"a welded contact, {' or '.join(main)}; or no discharge",
            )
        )
    return Part(
        key="pack",
        title="Pack, contactors open",
        instrument=HV_METER,
        basis=(PACK_BAND, basis_of("class_a_dc")),
        wrong="{}: open, or exchanged.",
        lines=tuple(lines),
    )
