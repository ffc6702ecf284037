"""What can be wrong with the pack as a source: strings, volts, amperes, and where it opens for service."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, Finding, published
from halfshaft.studies.pack.box_order import LARGER_SIDE_PERCENT, BoxOrder
from halfshaft.studies.pack.module_order import ModuleOrder
from halfshaft.studies.pack.strings import String
from halfshaft.studies.pack.study import Pack, Split, split_at
from halfshaft.studies.pack.windows import SAG
from halfshaft.studies.pack.working import LOW_PERCENT, carriers

UNIT_SHEET = published("the unit's data sheet, in hv_units.csv")
MODULE_SHEET = published("the module's data sheet, in modules.toml")
LEAST_WORTH = 1.05
# Below this a source is voltage class A, which the bare hand may touch.
CLASS_B_V = 60.0
PARALLEL_CAUTION = "Strings of unequal volts drive current through each other the moment they are joined: fire. " + HV_CAUTION
DISCONNECT_CAUTION = "With the disconnect out every piece is still live. " + HV_CAUTION


def pack_findings(
    conversion: Conversion, pack: Pack | None, boxes: tuple[BoxOrder, ...], modules: tuple[ModuleOrder, ...]
) -> Iterator[Finding]:
    """All rules of this study."""
    if pack is None:
        return
    yield from outside_window(pack)
    yield from beyond_power(conversion, pack)
    yield from over_current(conversion, pack)
    yield from strings_wrong(conversion, pack)
    yield from enters_again(pack)
    yield from disconnect(conversion, pack)
    yield from longer_than_needed(boxes, modules)


def outside_window(pack: Pack) -> Iterator[Finding]:
    """The pack is at volts at which a unit does not work, or that damage it."""
    for window in pack.windows:
        for item in window.states:
            if item.margin_v >= 0:
                continue
            where = (
                "at peak power with 20 % charge"
                if item.state == SAG
                else f"when {item.state}"
                if item.state != "nominal"
                else "at its nominal volts"
            )
            if item.limit == "is damaged above":
                yield Finding(
                    rule="pack.over-withstand",
                    level="stop",
                    about=(window.unit.ref, item.state),
                    text=f"The pack has {item.volts:.1f} V {where}; {window.unit.ref} is damaged above {item.limit_v:.0f} V.",
                    value=item.volts,
                    limit=item.limit_v,
                    unit="V",
                    basis=UNIT_SHEET,
                    caution=HV_CAUTION,
                )
            else:
                yield Finding(
                    rule="pack.outside-window",
                    level="note" if item.state == SAG else "fix",
                    about=(window.unit.ref, item.state),
                    text=f"The pack has {item.volts:.1f} V {where}; {window.unit.ref} {item.limit} {item.limit_v:.0f} V.",
                    value=item.volts,
                    limit=item.limit_v,
                    unit="V",
                    basis=UNIT_SHEET,
                    caution=HV_CAUTION,
                )


def beyond_power(conversion: Conversion, pack: Pack) -> Iterator[Finding]:
    """More power is asked for than the pack can give to anything at all."""
    low, settings = pack.hardest, conversion.pack
    for what, power_kw in (("continuous", settings.power_continuous_kw), ("peak", settings.power_peak_kw)):
        if power_kw is not None and power_kw > low.max_kw:
            yield Finding(
                rule="pack.power-beyond",
                level="stop",
                about=(what,),
                text=f"The {what} power of {power_kw:g} kW is more than the pack can give at {LOW_PERCENT} % charge: with {low.open_v:.0f} V and {low.resistance_mohm:.1f} milliohms the most is {low.max_kw:.1f} kW.",
                value=power_kw,
                limit=low.max_kw,
                unit="kW",
                basis=published("circuit theory: E² / 4R, at matched load"),
                caution=HV_CAUTION,
            )


def over_current(conversion: Conversion, pack: Pack) -> Iterator[Finding]:
    """At the power that is asked for modules, or a unit that all of it passes, carry more than they may."""
    for what, draw in (("continuous", pack.continuous), ("peak", pack.peak)):
        if draw is None:
            continue
        for kind in dict.fromkeys(item.kind for string in pack.strings for item in string.modules):
            limit_a = kind.discharge_continuous_a if what == "continuous" else kind.discharge_peak_a
            if draw.string_a > limit_a:
                yield Finding(
                    rule="pack.module-current",
                    level="stop",
                    about=(kind.part, what),
                    text=f"{draw.power_kw:g} kW at {LOW_PERCENT} % charge take {draw.string_a:.0f} A from each string; module {kind.part} gives {limit_a:g} A {_for(what)}.",
                    value=draw.string_a,
                    limit=limit_a,
                    unit="A",
                    basis=MODULE_SHEET,
                    caution=HV_CAUTION,
                )
        for unit in carriers(conversion.pack, conversion.hv_units):
            limit_a = unit.current_continuous_a if what == "continuous" else unit.current_peak_a
            if draw.current_a > limit_a:
                yield Finding(
                    rule="pack.unit-current",
                    level="fix",
                    about=(unit.ref, what),
                    text=f"{draw.power_kw:g} kW at {LOW_PERCENT} % charge take {draw.current_a:.0f} A through {unit.ref}, which carries {limit_a:g} A {_for(what)}.",
                    value=draw.current_a,
                    limit=limit_a,
                    unit="A",
                    basis=UNIT_SHEET,
                    caution=HV_CAUTION,
                )


def _for(what: str) -> str:
    return "for good" if what == "continuous" else "for a short time"


def strings_wrong(conversion: Conversion, pack: Pack) -> Iterator[Finding]:
    """There are other strings than said, or strings that do not have the same volts."""
    said, found = conversion.pack.strings, len(pack.strings)
    if said != found:
        yield Finding(
            rule="pack.strings-count",
            level="fix",
            about=("pack",),
            text=f"The pack is said to have {said} string{'s' * (said != 1)}, but its modules are in {found}: correct `strings` or the modules' strings.",
            value=float(found),
            limit=float(said),
            unit="strings",
            basis=Basis("common practice", "one description, one pack"),
            caution=HV_CAUTION,
        )
    full_v = [string.volts("cell_full_v") for string in pack.strings]
    if max(full_v) - min(full_v) > 0.01:
        words = "; ".join(
            f"string {string.number}: {len(string.modules)} modules, {volts:.1f} V"
            for string, volts in zip(pack.strings, full_v, strict=True)
        )
        yield Finding(
            rule="pack.strings-unequal",
            level="stop",
            about=tuple(f"string {string.number}" for string in pack.strings),
            text=f"Strings side by side must have the same volts. Full, they have: {words}.",
            value=max(full_v) - min(full_v),
            limit=0.0,
            unit="V",
            basis=published("Kirchhoff's voltage law: what is joined side by side has one voltage"),
            caution=PARALLEL_CAUTION,
        )


def enters_again(pack: Pack) -> Iterator[Finding]:
    """A string leaves a box and comes back to it: more cables, more live plugs."""
    for string in pack.strings:
        crossings, least = len(string.boxes) - 1, len(set(string.boxes)) - 1
        if crossings > least:
            again = sorted({box for box in string.boxes if string.boxes.count(box) > 1})
            yield Finding(
                rule="pack.string-reenters",
                level="fix",
                about=(f"string {string.number}", *again),
                text=f"String {string.number} passes from box to box {crossings} times, through {', '.join(string.boxes)}; {least} would do. Number the modules of each box one after another.",
                value=float(crossings),
                limit=float(least),
                unit="crossings",
                basis=Basis("common practice", "a string enters and leaves each box once"),
                caution=HV_CAUTION,
            )


def disconnect(conversion: Conversion, pack: Pack) -> Iterator[Finding]:
    """No service disconnect, one that does not open a string, or one that leaves most of the volts on one side."""
    device = conversion.pack.service_disconnect
    if pack.full_v <= CLASS_B_V:
        return
    if device is None:
        yield Finding(
            rule="pack.no-disconnect",
            level="fix",
            about=("pack",),
            text=f"A pack of {pack.full_v:.0f} V has no service disconnect: fit one in the middle of each string, and name it under `[pack]`.",
            value=pack.full_v,
            limit=CLASS_B_V,
            unit="V",
            basis=published("UN R100: above 60 V d.c. is high voltage; opening the string for service is common practice"),
            caution=DISCONNECT_CAUTION,
        )
        return
    opened = {split.string for split in pack.splits}
    for string in pack.strings:
        whole_v = string.volts("cell_full_v")
        if whole_v > CLASS_B_V and string.number not in opened and all(join.links is not None for join in string.joins[1:-1]):
            yield Finding(
                rule="pack.disconnect-outside",
                level="fix",
                about=(device, f"string {string.number}"),
                text=f"Pulling {device} does not part string {string.number} between two of its modules: all its {whole_v:.0f} V stay in one piece.",
                basis=Basis("common practice", "a disconnect between modules, not at an end of the string"),
                caution=DISCONNECT_CAUTION,
            )
    for split in pack.splits:
        if split.larger_percent > LARGER_SIDE_PERCENT:
            yield _uneven(device, next(string for string in pack.strings if string.number == split.string), split)


def _uneven(device: str, string: String, split: Split) -> Finding:
    better = min((split_at(string, index) for index in range(1, len(string.modules))), key=lambda item: item.larger_percent)
    box_of = {item.ref: item.box for item in string.modules}
    box = box_of[better.after]
    where = f"inside {box}" if box == box_of[better.before] else f"between {box} and {box_of[better.before]}"
    at_boxes = [split_at(string, index) for index, (one, other) in enumerate(pairwise(string.modules), start=1) if one.box != other.box]
    is_best_between = min((item.larger_percent for item in at_boxes), default=0.0) >= split.larger_percent - 1e-9
    none_better = " No place between two boxes does better." if is_best_between and at_boxes else ""
    return Finding(
        rule="pack.disconnect-uneven",
        level="note",
        about=(device, f"string {string.number}"),
        text=f"{device} parts string {string.number} into {split.ahead_v:.1f} V and {split.behind_v:.1f} V; between {better.after} and {better.before}, {where}, it would be {better.ahead_v:.1f} V and {better.behind_v:.1f} V.{none_better}",
        value=split.larger_percent,
        limit=LARGER_SIDE_PERCENT,
        unit="%",
        basis=Basis("common practice", "no more than 60 % of the volts on one side"),
        caution=DISCONNECT_CAUTION,
    )


def longer_than_needed(boxes: tuple[BoxOrder, ...], modules: tuple[ModuleOrder, ...]) -> Iterator[Finding]:
    """Another order of boxes, or of modules in a box, takes clearly less cable or bar."""
    for order in boxes:
        if order.now_mm > LEAST_WORTH * order.best_mm:
            yield Finding(
                rule="pack.box-order",
                level="note",
                about=(f"string {order.string}",),
                text=f"From plus to minus through {', '.join(order.now)} takes {order.now_mm / 1000:.2f} m of cable; through {', '.join(order.best)} it would be {order.best_mm / 1000:.2f} m.",
                value=order.now_mm / 1000,
                limit=order.best_mm / 1000,
                unit="m",
                basis=Basis("common practice", "more than 5 % longer than the shortest order, which is found exactly"),
                caution=HV_CAUTION,
            )
    for run in modules:
        if run.now_mm > LEAST_WORTH * run.best_mm:
            words = ", ".join(f"{item.ref}{' turned round' if item.is_turned else ''}" for item in run.best)
            yield Finding(
                rule="pack.module-order",
                level="note",
                about=(run.box, f"string {run.string}"),
                text=f"Joined as {', '.join(run.now)} the studs in {run.box} are {run.now_mm:.0f} mm apart in all; as {words} they would be {run.best_mm:.0f} mm.",
                value=run.now_mm,
                limit=run.best_mm,
                unit="mm",
                basis=Basis("common practice", "more than 5 % longer than the shortest order, which is found exactly"),
                caution=HV_CAUTION,
            )
