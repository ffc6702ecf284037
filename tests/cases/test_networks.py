"""Direct-current networks that have no answer, each said with what is at fault; and odd ones that have one."""

from __future__ import annotations

import pytest

from halfshaft.studies.network.records import DcNetwork, Diode, Failure, Load, Resistor, Solution, Source
from halfshaft.studies.network.solver import solve


def wire(ref: str, start: str, end: str, ohm: float = 0.01) -> Resistor:
    return Resistor(ref=ref, start=start, end=end, ohm=ohm)


def battery(ref: str = "BAT", plus: str = "p", minus: str = "0", volt: float = 12.0, ohm: float = 0.01, **more) -> Source:
    return Source(ref=ref, plus=plus, minus=minus, volt=volt, ohm=ohm, **more)


def taker(ref: str, plus: str, minus: str, kind: str, value: float, works_from_v: float = 6.0) -> Load:
    return Load(ref=ref, plus=plus, minus=minus, kind=kind, value=value, works_from_v=works_from_v)


def solved(**parts) -> Solution:
    found = solve(DcNetwork(ground="0", **parts))
    assert isinstance(found, Solution), found
    return found


def failed(**parts) -> Failure:
    found = solve(DcNetwork(ground="0", **parts))
    assert isinstance(found, Failure), found
    return found


def test_nothing_has_the_node_called_ground():
    found = failed(resistors=(wire("W1", "p", "n"),), sources=(battery(minus="n"),))
    assert (found.kind, found.about) == ("no ground", ("0",))


def test_no_source_is_joined_to_ground():
    found = failed(resistors=(wire("W1", "p", "n"), wire("strap", "0", "body")), sources=(battery(minus="n"),))
    assert (found.kind, found.about) == ("no ground", ("0", "BAT"))
    assert "BAT" in found.text


def test_two_sources_that_hold_different_volts_against_each_other():
    found = failed(sources=(battery("A", ohm=0.0), battery("B", plus="q", ohm=0.0, volt=13.0)), resistors=(wire("W1", "p", "q", 0.0),))
    assert (found.kind, found.about) == ("loop of ideal sources", ("A", "B"))


def test_a_source_without_resistance_that_is_shorted():
    found = failed(sources=(battery(ohm=0.0),), resistors=(wire("W1", "p", "0", 0.0),))
    assert (found.kind, found.about) == ("loop of ideal sources", ("BAT",))


def test_a_short_across_a_source_with_resistance_is_an_answer():
    found = solved(sources=(battery(),), resistors=(wire("W1", "p", "0", 0.0),))
    assert found.current_a == pytest.approx({"W1": 1200, "BAT": 1200})


def test_modules_in_series_without_resistance_are_no_loop():
    found = solved(
        sources=(battery("A", plus="m", ohm=0.0), battery("B", plus="p", minus="m", ohm=0.0)), resistors=(wire("R", "p", "0", 2.0),)
    )
    assert found.volt["p"] == pytest.approx(24)
    assert found.current_a["R"] == pytest.approx(12)


def test_the_thin_wire_is_named_on_the_way_of_the_load_that_collapses():
    found = failed(
        sources=(battery(),),
        resistors=(wire("F1", "p", "a", 0.002), wire("thin", "a", "b", 0.5), wire("back", "g", "0", 0.05), wire("other", "p", "c", 0.9)),
        loads=(taker("heater", "b", "g", "constant power", 90), taker("lamp", "c", "0", "resistive", 3), taker("small", "a", "0", "constant power", 5)),
    )  # fmt: skip
    assert (found.kind, found.about) == ("no operating point", ("heater", "thin"))
    assert "thin" in found.text


def test_a_set_current_that_no_volts_can_drive():
    found = failed(sources=(battery(),), resistors=(wire("W1", "p", "a", 1.0),), loads=(taker("motor", "a", "0", "constant current", 20),))
    assert (found.kind, found.about) == ("no operating point", ("motor", "W1"))


def test_two_loads_collapse_together_and_the_larger_is_named():
    found = failed(
        sources=(battery(ohm=0.1),),
        resistors=(wire("W1", "p", "a", 0.1),),
        loads=(taker("X", "a", "0", "constant power", 100), taker("Y", "a", "0", "constant power", 150)),
    )  # fmt: skip
    assert (found.kind, found.about) == ("no operating point", ("Y", "W1"))


def test_a_load_that_has_its_volts_only_once_another_has_turned_a_source_to_its_limit():
    """A against B across the load: 1 V before B is at its limit, then 32 - 1.2 * 15.5 = 13.4 V behind 1.2 and 1/3 ohm; 27 W leave 8.57 V."""
    found = solved(
        sources=(battery("A", plus="0", minus="a", volt=48.0, ohm=0.5), battery("B", plus="0", minus="b", volt=31.0, ohm=0.0, current_max_a=15.5)),
        resistors=(wire("R", "0", "a", 1.0),),
        loads=(
            taker("back to front", "b", "0", "constant current", 5, works_from_v=6.0),
            taker("L", "b", "a", "constant power", 27, works_from_v=6.0),
        ),
    )  # fmt: skip
    assert found.limited == {"B"}
    behind_ohm = 1.2 + 1 / 3
    assert found.between("b", "a") == pytest.approx((13.4 + (13.4**2 - 4 * behind_ohm * 27) ** 0.5) / 2)


def test_what_the_last_digits_of_the_volts_drive_through_a_microohm_is_no_lack_of_an_answer():
    found = solved(
        sources=(battery(volt=437.1, ohm=0.0915),),
        resistors=(wire("bar", "p", "a", 1e-6), wire("other bar", "p", "b", 1.3e-7), wire("fuse", "a", "c", 0.004)),
        loads=(taker("asleep", "c", "0", "constant power", 0.003),),
    )
    assert found.current_a["fuse"] == pytest.approx(0.003 / 437.1, abs=1e-6)


def test_a_converter_at_its_limit_stands_in_the_way():
    found = failed(
        sources=(battery("DC", volt=13.8, ohm=0.005, current_max_a=100.0, one_way=True),),
        resistors=(wire("W1", "p", "a", 0.001),),
        loads=(taker("all", "a", "0", "constant power", 2000),),
    )
    assert (found.kind, found.about) == ("no operating point", ("all", "DC"))


def test_a_thin_wire_is_at_fault_though_a_converter_is_at_its_limit():
    """The battery stands in for the converter; 400 W through 0.2 ohm cannot be had from 13.8 V at any limit (238 W)."""
    found = failed(
        sources=(battery(volt=12.6, ohm=0.01, one_way=True), battery("DC", volt=13.8, ohm=0.001, current_max_a=5.0, one_way=True)),
        resistors=(wire("thin", "p", "a", 0.2),),
        loads=(taker("unit", "a", "0", "constant power", 400), taker("lamps", "p", "0", "resistive", 2)),
    )
    assert (found.kind, found.about) == ("no operating point", ("unit", "thin"))


def test_beyond_the_converters_limit_the_battery_gives_the_rest():
    found = solved(
        sources=(battery(volt=12.6, ohm=0.01, one_way=True), battery("DC", volt=13.8, ohm=0.001, current_max_a=100.0, one_way=True)),
        loads=(taker("all", "p", "0", "constant current", 130),),
    )
    assert found.limited == {"DC"}
    assert (found.current_a["DC"], found.current_a["BAT"]) == pytest.approx((100, 30))
    assert found.volt["p"] == pytest.approx(12.3)


def test_a_source_that_gives_only_takes_nothing_from_a_higher_one():
    found = solved(
        sources=(battery(one_way=True), battery("DC", plus="q", volt=13.8, ohm=0.001)),
        resistors=(wire("W1", "p", "q"),),
        loads=(taker("lamp", "p", "0", "resistive", 2),),
    )
    assert found.current_a["BAT"] == 0
    assert found.current_a["W1"] == pytest.approx(-found.current_a["lamp"])


def test_a_load_that_is_not_fed_is_starved_and_the_rest_works():
    found = solved(
        sources=(battery(),),
        resistors=(wire("W1", "p", "a"), wire("W2", "b", "c")),
        loads=(
            taker("on", "a", "0", "constant power", 20),
            taker("cut", "b", "0", "constant power", 20),
            taker("loose", "a", "x", "constant current", 3),
        ),
    )
    assert found.starved == {"cut", "loose"}
    assert (found.current_a["cut"], found.current_a["loose"], found.current_a["W2"]) == (0, 0, 0)
    assert {"b", "c", "x"}.isdisjoint(found.volt)


def test_a_load_behind_a_diode_the_wrong_way_round_is_starved():
    found = solved(
        sources=(battery(),),
        resistors=(wire("W1", "a", "b"),),
        loads=(taker("L", "b", "0", "constant power", 20),),
        diodes=(Diode(ref="D", anode="a", cathode="p"),),
    )
    assert (found.starved, found.current_a["D"]) == ({"L"}, 0)


def test_a_load_is_starved_by_another_that_is_met():
    """The starter pulls the volts below those from which the radio works: no collapse, and no load is at fault."""
    found = solved(
        sources=(battery(ohm=0.02),),
        loads=(taker("starter", "p", "0", "constant current", 330, 3.0), taker("radio", "p", "0", "constant power", 10, 8.0)),
    )
    assert found.starved == {"radio"}
    assert found.volt["p"] == pytest.approx(5.4, abs=0.05)


def test_links_without_resistance_carry_what_passes_and_share_where_they_are_alike():
    found = solved(
        sources=(battery(ohm=0.0),),
        resistors=(wire("one", "p", "a", 0.0), wire("two", "p", "a", 0.0), wire("W", "a", "b", 1.0), wire("on", "b", "c", 0.0)),
        loads=(taker("lamp", "c", "0", "resistive", 2),),
    )
    assert found.current_a == pytest.approx({"one": 2, "two": 2, "W": 4, "on": 4, "lamp": 4, "BAT": 4})


def test_a_diode_loses_its_forward_volts():
    found = solved(
        sources=(battery(volt=12.0, ohm=0.0),),
        loads=(taker("L", "a", "0", "constant current", 2),),
        diodes=(Diode(ref="D", anode="p", cathode="a", forward_v=0.7, ohm=0.05),),
    )
    assert found.volt["a"] == pytest.approx(12 - 0.7 - 2 * 0.05)


def test_watts_below_zero_are_put_in():
    found = solved(
        sources=(battery(ohm=0.1),), resistors=(wire("W", "p", "a", 0.1),), loads=(taker("motor", "a", "0", "constant power", -100),)
    )
    assert found.current_a["BAT"] < -7
    assert found.volt["a"] * -found.current_a["motor"] == pytest.approx(100)


def test_no_sources_no_volts():
    found = solved(resistors=(wire("W", "a", "0"),), loads=(taker("L", "a", "0", "constant power", 10),))
    assert (found.volt["a"], found.starved) == (0, {"L"})


def test_fifty_diodes_in_a_ladder_settle():
    steps = range(50)
    found = solved(
        sources=(battery(volt=48.0),),
        diodes=tuple(Diode(ref=f"D{k}", anode="p" if k == 0 else f"n{k}", cathode=f"n{k + 1}") for k in steps),
        resistors=tuple(wire(f"R{k}", f"n{k + 1}", "0", 100.0) for k in steps),
    )
    # Each step loses its forward volts, and some on the ten amperes at most that all the resistors take.
    assert 48 - (0.7 + 10 * 0.01) * 50 < found.volt["n50"] < 48 - 0.7 * 50
