"""The 12 V side in every case that the shop looks at."""

from __future__ import annotations

from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.low_voltage.cases import SolvedCase, result_of
from halfshaft.studies.low_voltage.contacts import Web
from halfshaft.studies.low_voltage.network import battery_of
from halfshaft.studies.low_voltage.records import LowVoltage
from halfshaft.studies.low_voltage.relays import contact_uses, pull_ins
from halfshaft.studies.low_voltage.returns import ground_sums, returns_of, strays_of
from halfshaft.studies.wires.circuit import supply_of
from halfshaft.studies.wires.study import WiresResult


def study_low_voltage(conversion: Conversion, routing: Routing, wires: WiresResult) -> LowVoltage | None:
    """The whole study; None where no battery is named, or its minus is joined to no ground point, so that no current flows.

    A case that names no load has nothing to tell and is left out.
    """
    supply, battery = supply_of(conversion), battery_of(conversion)
    if supply is None or battery is None or (conversion.ground_points and not wires.minus_is_grounded):
        return None
    web = Web(conversion, supply, wires.resistance_ohm)
    has_loads = {row.case for row in conversion.case_loads}
    solved = [SolvedCase(conversion, routing, wires, web, case) for case in conversion.cases if case.ref in has_loads]
    return LowVoltage(
        cases=tuple(result_of(one) for one in solved),
        contacts=contact_uses(conversion, web, solved),
        pull_ins=pull_ins(conversion, web, solved),
        grounds=ground_sums(conversion, wires.wires_at, solved),
        returns=returns_of(conversion, web),
        strays=strays_of(conversion, solved),
        capacity_ah=conversion.element[battery].capacity_ah,
    )
