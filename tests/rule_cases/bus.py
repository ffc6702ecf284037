"""Cases of the buses. The demo's one bus: 6.55 m at 500 kbit/s, DISP and DCDC at its ends, 8.6 % load (its README)."""

from __future__ import annotations

from halfshaft.files.message_files import file_values
from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import BusNode, MessageFile
from rule_cases.changes import Case, Change, inside, more, row, without
from support import changed


def said(*swaps: tuple[str, str]) -> Change:
    """The message file with some of its words others."""

    def change(conversion: Conversion) -> Conversion:
        (file,) = conversion.messages
        text = file.text
        for old, new in swaps:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        return changed(conversion, messages=(MessageFile(bus=file.bus, **file_values(text.encode())),))

    return change


def every(frame_id: int, was_ms: int, now_ms: int) -> tuple[str, str]:
    return f'"GenMsgCycleTime" BO_ {frame_id} {was_ms};', f'"GenMsgCycleTime" BO_ {frame_id} {now_ms};'


def stub_m(tail_mm: float) -> float:
    """From S4 and S5 to the service plug: runs and tail, 1.13 % longer for the twist, 25 mm at the plug and 8 at the splice."""
    return ((290.5 + tail_mm) * 1.0113 + 33) / 1000


BUS_CASES = [
    Case(rule="bus.bit-rate", do=(row("buses", "CAN1", bit_rate_kbit_per_s=2000.0),), level="fix", about=("CAN1",), value=2000, limit=1000,
         unit="kbit/s", basis="published"),
    Case(rule="bus.not-joined", do=(more("bus_nodes", BusNode(bus="CAN1", device="BAT")),), level="stop", about=("CAN1", "BAT"), value=1,
         limit=0, unit="units", basis="common practice"),
    Case(rule="bus.unit-not-listed", do=(without("bus_nodes", ("CAN1", "SVC")),), level="note", about=("CAN1", "SVC"),
         basis="common practice"),
    Case(rule="bus.lines-differ", do=(inside("AT-DIAL", "CAN L through"),), level="stop", about=("CAN1",), basis="published"),
    # A second pair beside the first, from the heater to the splices.
    Case(rule="bus.ring", do=(lambda conversion: more("wires", *(
        conversion.wire[ref].model_copy(update={"ref": new, "twist_group": "TC2"}) for ref, new in (("W142", "W942"), ("W143", "W943"))
    ))(conversion),), level="fix", about=("CAN1", "W942", "W943"), basis="published", also=("wires.pin-used-twice", "looms.twist-of-one")),
    Case(rule="bus.terminators", do=(inside("AT-DISP", "terminator"),), level="fix", about=("CAN1",), value=1, limit=2, unit="terminators",
         basis="published"),
    Case(rule="bus.terminators", do=(inside("AT-BMM", "terminator jumper", rest_state="closed"),), level="fix", about=("CAN1",), value=3,
         limit=2, unit="terminators", basis="published", also=("bus.terminator-place",)),
    Case(rule="bus.terminators", do=(inside("AT-DISP", "terminator"), inside("AT-DCDC11", "terminator")), level="note", about=("CAN1",),
         value=0, limit=2, unit="terminators", basis="published"),
    # The display's own is gone, the monitor's is in: from there 3.6 m lead on to the display.
    Case(rule="bus.terminator-place", do=(inside("AT-DISP", "terminator"), inside("AT-BMM", "terminator jumper", rest_state="closed")),
         level="fix", about=("CAN1", "BMM"), value=0.545 + 0.565 + 0.23 + 2.07 + 0.195, limit=0, unit="m", near=0.08, basis="published",
         also=("bus.stub-length",)),
    Case(rule="bus.terminator-value", do=(inside("AT-DISP", "terminator", resistance_ohm=60.0),), level="fix", about=("CAN1", "DISP"),
         value=60, limit=100, unit="Ω", basis="from memory"),
    # With but one terminator known the bus is taken to end at the plug furthest from it: 5.44 m to S4, then the long tail.
    Case(rule="bus.trunk-length", do=(inside("AT-DISP", "terminator"), row("tails", ("SVC", "A"), tail_mm=40_000.0),
         row("buses", "CAN1", bit_rate_kbit_per_s=1000.0)), level="fix", about=("CAN1", "SVC", "DCDC"), value=5.44 + stub_m(40_000), limit=40, unit="m",
         near=0.05, basis="published", also=("bus.terminators", "bus.stub-length", "looms.long-tail", "looms.longer-than-stock", "wires.voltage-drop", "protection.opens-late")),
    Case(rule="bus.stub-length", do=(row("tails", ("SVC", "A"), tail_mm=900.0),), level="note", about=("CAN1", "W146", "W147"),
         value=stub_m(900), limit=1.0, unit="m", near=0.01, basis="published", also=("looms.long-tail",)),
    Case(rule="bus.stub-length", do=(row("tails", ("SVC", "A"), tail_mm=6_000.0),), level="fix", about=("CAN1", "W146", "W147"),
         value=stub_m(6_000), limit=5.0, unit="m", near=0.01, basis="published", also=("looms.long-tail",)),
    Case(rule="bus.stubs-together", do=(row("tails", ("SVC", "A"), tail_mm=6_000.0), row("buses", "CAN1", bit_rate_kbit_per_s=1000.0)),
         level="fix", about=("CAN1",), value=stub_m(6_000), limit=5.0, unit="m", near=0.01, basis="published", also=("bus.stub-length", "looms.long-tail")),
    Case(rule="bus.not-twisted", do=(row("wires", "W148", twist_group=None), row("wires", "W149", twist_group=None),
         without("twist_groups", "TC5")), level="fix", about=("CAN1", "W148", "W149"), value=2, limit=0, unit="wires", basis="published"),
    # Two messages of 135 bits each millisecond in place of each ten, at 500 bits a millisecond.
    Case(rule="bus.load", do=(said(every(192, 10, 1), every(208, 10, 1)),), level="note", about=("CAN1",), value=8.562 + 2 * (27 - 2.7),
         limit=40, unit="%", near=0.01, basis="common practice"),
    Case(rule="bus.load", do=(row("buses", "CAN1", bit_rate_kbit_per_s=40.0),), level="stop", about=("CAN1",), value=8.562 * 500 / 40,
         limit=100, unit="%", near=0.1, basis="published", also=("bus.message-late",)),
    Case(rule="bus.id-clash", do=(said(("BO_ 208 INV_Motion", "BO_ 192 INV_Motion")),), level="stop",
         about=("CAN1", "192", "INV_Motion", "VCU_Drive"), value=2, limit=1, unit="senders", basis="published"),
    Case(rule="bus.id-clash", do=(said(("BO_ 729 VCU_Heat", "BO_ 497 VCU_Heat")),), level="fix",
         about=("CAN1", "497", "VCU_Charge", "VCU_Heat"), value=2, limit=1, unit="messages", basis="published"),
    Case(rule="bus.id-clash", do=(row("bus_nodes", ("CAN1", "DD"), sends_as="DISP"),), level="stop", about=("CAN1", "DISP", "DD"), value=2,
         limit=1, unit="senders", basis="published", also=("bus.sender-not-on-bus",)),
    Case(rule="bus.sender-not-on-bus", do=(row("bus_nodes", ("CAN1", "DD"), sends_as=""),), level="fix", about=("CAN1", "DD"),
         value=1, limit=0, unit="names", basis="common practice"),
    Case(rule="bus.unit-without-messages", do=(row("bus_nodes", ("CAN1", "SVC"), sends_as="TOOL"),), level="note", about=("CAN1", "SVC"),
         basis="common practice"),
    Case(rule="bus.message-too-long", do=(said(("VCU_Drive: 8", "VCU_Drive: 12")),), level="stop", about=("CAN1", "VCU_Drive"), value=12,
         limit=8, unit="bytes", basis="published"),
    Case(rule="bus.no-cycle-time", do=(said(every(744, 500, 0)),), level="note", about=("CAN1", "DD_State"), value=1, limit=0,
         unit="messages", basis="common practice"),
    # All others once, but for DD_State, which has the next turn and has just begun: 1,850 bits of 500 a millisecond.
    Case(rule="bus.message-late", do=(said(every(729, 200, 3)),), level="fix", about=("CAN1", "VCU_Heat"), value=3.70, limit=3, unit="ms",
         near=0.01, basis="published"),
]  # fmt: skip
