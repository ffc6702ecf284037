"""How warm the demo's wires and cables get, and which section would do."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.show.cable import cable
from halfshaft.studies.cable.heat import Around, current_for
from halfshaft.studies.cable.study import CableHeat
from halfshaft.study import Study
from support import changed

DEMO = Path(__file__).parents[2] / "examples" / "tern"


@cache
def demo() -> Study:
    """The demo, read once."""
    return Study(read_folder(DEMO))


def with_fan_at(current_a: float) -> Conversion:
    """The radiator fan with another current."""
    conversion = demo().conversion
    loads = [
        item.model_copy(update={"steady_a": current_a, "peak_a": current_a}) if item.ref == "FAN.motor" else item
        for item in conversion.loads
    ]
    return changed(conversion, loads=tuple(loads))


def test_nothing_in_the_demo_is_too_hot():
    assert [item for item in demo().design_findings if item.rule.startswith("cable.")] == []
    assert all(heat.pulse_c <= heat.limit_c for heat in demo().cable_heat.values())


def test_currents_of_high_voltage_cables_are_the_packs_or_their_units():
    """30 kW at 20 % charge; hv_units.csv: inverter 95/190 A, charger 20, heater 9.6/12.5, DC-DC 4. Of motor phases and mains nothing is said."""
    currents = {ref: (item.continuous_a, item.peak_a, item.fuse) for ref, item in demo().cable_currents.items() if ref.startswith("C")}
    assert set(currents) == {f"C{number}" for number in range(1, 11)}
    assert currents["C6"][:2] == currents["C7"][:2] == (95, 190)
    assert currents["C8"] == (20, 20, "HVDB.charger fuse")
    assert currents["C10"] == (9.6, 12.5, "HVDB.heater fuse")
    assert currents["C9"] == (4, 4, "HVDB.DC-DC fuse")
    pack = demo().pack
    assert pack is not None
    assert pack.continuous is not None
    assert currents["C1"][0] == pytest.approx(pack.continuous.current_a)
    assert currents["C1"][2] == currents["C6"][2] == "FH1.link"


def test_each_is_judged_where_it_is_warmest():
    """C1 passes front boot, tunnel and motor bay; the duct of the motor bay at 70 °C, with three more, is the worst."""
    place = demo().cable_heat["C1"].place
    assert (place.run, place.zone, place.around.ambient_c, place.covering, place.loaded) == ("U72", "motor bay", 70, "DUCT", 4)


def test_the_thicker_wire_of_the_fan_cures_its_drop():
    """README, expected finding 1: 4 mm² in place of 2.5 would do. W124 is 2.9 m of its 4.0; of the two short ones no section cures it alone or a silly one."""
    choices = demo().cable_choices
    assert choices["W124"].now.fails == ("voltage drop",)
    assert choices["W124"].least is not None
    assert choices["W124"].least.section_mm2 == 4
    assert choices["W205"].least is None


def test_what_a_neighbour_would_do_is_what_it_does():
    """The choice says of 4 mm² what the study says once it is fitted."""
    told = demo().cable_choices["W130"].larger
    wires = [w.model_copy(update={"section_mm2": 6.0}) if w.ref == "W130" else w for w in demo().conversion.wires]
    then = Study(changed(demo().conversion, wires=tuple(wires))).cable_heat["W130"]
    assert told is not None
    assert told.section_mm2 == 6
    assert told.conductor_c == pytest.approx(then.conductor_c)
    assert told.drop_v == pytest.approx(then.drop_v)


def test_a_fan_of_twice_the_current_names_the_wire_the_place_and_the_section():
    """29 A is what the table of thin-wall currents allows in 2.5 mm²: at 28 A only the heat speaks."""
    found = [item for item in Study(with_fan_at(28.0)).design_findings if item.rule == "cable.too-hot"]
    texts = {item.about[0]: item.text for item in found}
    assert {"W205", "W124"} <= set(texts)
    assert "in run U55 (12 V box, 60 °C, 5 loaded together)" in texts["W205"]
    assert "its insulation B stands 100 °C" in texts["W205"]
    assert not [item for item in Study(with_fan_at(40.0)).design_findings if item.rule == "cable.too-hot" and item.about[0] == "W124"]


def test_what_the_balance_may_be_off_by_is_to_be_known_and_more_stops():
    """W205 in its bundle reaches 100 °C at 17 A; the balance is up to 15 % off."""
    levels = {
        fan_a: {item.about[0]: item.level for item in Study(with_fan_at(fan_a)).design_findings if item.rule == "cable.too-hot"}
        for fan_a in (16.0, 18.0, 20.5)
    }
    assert "W205" not in levels[16.0]
    assert levels[18.0]["W205"] == "note"
    assert levels[20.5]["W205"] == "stop"


def test_a_wires_peak_is_the_start_of_its_load():
    """loads.csv: the fan takes 16 A, and 34 A for 0.4 s as it starts."""
    currents = demo().cable_currents
    assert [(currents[ref].continuous_a, currents[ref].peak_a, currents[ref].peak_s) for ref in ("W205", "W124", "W152")] == 3 * [
        (16, 34, 0.4)
    ]


def test_what_is_against_the_present_section_is_said():
    """The charger's cable bears 24 A in its duct, behind a fuse of 25 A."""
    assert demo().cable_choices["C8"].now.fails == ("fuse",)
    options = cable(demo()).split("\n\n")[1]
    assert any(line.split()[:4] == ["C8", "4;", "NO:", "fuse"] for line in options.splitlines())


def limit_alone_a(heat: CableHeat) -> float:
    """What it would carry with nothing beside it."""
    return current_for(heat.body, heat.place.around, heat.limit_c).current_a


def test_what_is_left_in_a_bundle_is_what_the_table_says():
    for heat in demo().cable_heat.values():
        assert heat.capacity_a == pytest.approx(limit_alone_a(heat) * heat.place.factor)


def test_a_car_without_zones_is_not_judged():
    conversion = demo().conversion
    bare = changed(
        conversion,
        points=tuple(item.model_copy(update={"zone": None}) for item in conversion.points),
        runs=tuple(item.model_copy(update={"zone": None}) for item in conversion.runs),
    )
    assert Study(bare).cable_heat == {}


def test_a_slip_in_a_diameter_does_not_stop_anything():
    """A wire said to be thinner than its own copper, and a tube with no wall."""
    conversion = demo().conversion
    thin = tuple(item.model_copy(update={"outside_diameter_mm": 0.1}) for item in conversion.wire_types)
    flat = tuple(item.model_copy(update={"outside_mm": item.bore_mm}) for item in conversion.coverings)
    assert Study(changed(conversion, wire_types=thin, coverings=flat)).cable_heat
    assert current_for(demo().cable_heat["C1"].body, Around(ambient_c=50, tube_bore_mm=14.6, tube_outside_mm=16), 100).current_a > 0
