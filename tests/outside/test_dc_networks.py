"""Direct-current networks against somebody else's answers: ngspice's, closed forms, the shared benchmarks."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from networks import SPICE, generated, spice_volts

from halfshaft.studies.network.records import DcNetwork, Failure, Load, LoadKind, Resistor, Solution, Source
from halfshaft.studies.network.solver import solve

BENCHMARKS = Path(__file__).parents[2].parent / "shared" / "benchmarks"
KINDS: dict[str, LoadKind] = {"R": "resistive", "I": "constant current", "P": "constant power"}


def shared(name: str) -> Any:
    path = BENCHMARKS / name
    if not path.is_file():
        pytest.skip(f"the shared benchmarks are not beside this repository: no {name}")
    return json.loads(path.read_text(encoding="utf-8"))


def solved(network: DcNetwork) -> Solution:
    found = solve(network)
    assert isinstance(found, Solution), found
    return found


NAMES = ("hv_star_cpl", "hv_near_collapse", "two_packs_parallel", "lv_mesh_1_12", "lv_mesh_2_20", "lv_mesh_3_40")


@pytest.mark.parametrize("name", NAMES)
def test_networks_of_the_shared_benchmarks(name):
    """shared/benchmarks/dc_networks.json: ngspice 39.3, equal to an independent Newton solution within 3e-11 V."""
    case = next(case for case in shared("dc_networks.json") if case["name"] == name)
    found = solved(
        DcNetwork(
            ground="0",
            resistors=tuple(Resistor(ref=f"branch {row['id']}", start=row["a"], end=row["b"], ohm=row["r_ohm"]) for row in case["branches"]),
            sources=tuple(Source(ref=row["id"], plus=row["pos"], minus=row["neg"], volt=row["emf_V"], ohm=row["r_ohm"]) for row in case["sources"]),
            loads=tuple(
                Load(ref=f"load {row['id']}", plus=row["pos"], minus=row["neg"], kind=KINDS[row["kind"]], value=row["value"], works_from_v=row["vmin"])
                for row in case["loads"]
            ),
        )
    )  # fmt: skip
    for node, volt in case["answer"]["node_V"].items():
        assert found.volt[node] == pytest.approx(volt, abs=1e-8), node
    for source, ampere in case["answer"]["source_A"].items():
        assert found.current_a[source] == pytest.approx(ampere, abs=1e-8), source
    assert not found.starved


def power_through(ohm: float, *, volt: float, watt: float, works_from_v: float) -> DcNetwork:
    return DcNetwork(
        ground="0",
        resistors=(Resistor(ref="cable", start="plus", end="unit", ohm=ohm),),
        sources=(Source(ref="pack", plus="plus", minus="0", volt=volt, ohm=0.0),),
        loads=(Load(ref="unit", plus="unit", minus="0", kind="constant power", value=watt, works_from_v=works_from_v),),
    )


@pytest.mark.parametrize("works_from_v", [0.0, 10.0, 50.0])
@pytest.mark.parametrize("number", range(4))
def test_limit_of_constant_power_of_the_shared_benchmarks(number, works_from_v):
    """shared/benchmarks/dc_faults.json, constant_power_limit: closed form, none above E^2/4R."""
    case = shared("dc_faults.json")["constant_power_limit"][number]
    found = solve(power_through(case["R_ohm"], volt=case["E_V"], watt=case["P_W"], works_from_v=works_from_v))
    if case["has_operating_point"]:
        assert isinstance(found, Solution)
        assert found.volt["unit"] == pytest.approx(case["V_load"], abs=1e-6)
    else:
        assert isinstance(found, Failure)
        assert (found.kind, found.about) == ("no operating point", ("unit", "cable"))


@pytest.mark.parametrize("share", [0.5, 0.9, 0.99, 0.9999, 0.999999])
def test_the_higher_of_two_answers_up_to_the_limit(share):
    """V = (E + sqrt(E^2 - 4 R P)) / 2, the higher root of V^2 - E V + R P = 0."""
    volt, ohm = 355.2, 0.1235
    watt = share * volt**2 / 4 / ohm
    found = solved(power_through(ohm, volt=volt, watt=watt, works_from_v=50.0))
    assert found.volt["unit"] == pytest.approx((volt + math.sqrt(volt**2 - 4 * ohm * watt)) / 2, rel=1e-7)


@pytest.mark.parametrize("share", [1.000001, 1.001, 1.5, 20])
def test_none_above_the_limit(share):
    volt, ohm = 355.2, 0.1235
    found = solve(power_through(ohm, volt=volt, watt=share * volt**2 / 4 / ohm, works_from_v=50.0))
    assert isinstance(found, Failure)
    assert found.kind == "no operating point"


@pytest.mark.skipif(SPICE is None, reason="ngspice is not installed: sudo apt-get install ngspice")
@pytest.mark.parametrize(("wires", "seed"), [(5, 1), (20, 0), (20, 1), (60, 0), (60, 1), (200, 0), (200, 1), (2000, 0)])
def test_generated_networks_as_ngspice_has_them(wires, seed):
    """The same volts within 1 mV; in fact within a microvolt."""
    network = generated(wires, seed)
    found, theirs = solved(network), spice_volts(network, SPICE or "")
    assert len(theirs) >= wires
    for node, volt in theirs.items():
        assert found.volt[node] == pytest.approx(volt, abs=1e-6), node
