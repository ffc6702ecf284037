"""Published tables, one CSV a table, and their one loader. Each row carries its basis and its source."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True, slots=True)
class Constant:
    """One published figure."""

    value: float
    unit: str
    basis: str
    source: str


@dataclass(frozen=True, slots=True)
class Clearance:
    """Least gap between a loom and something beside it, 12 V and high voltage; None: not beside it at all."""

    gap_mm: float | None
    gap_hv_mm: float | None
    basis: str
    source: str


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """Rows of `NAME.csv` as printed, by column."""
    text = resources.files(__name__).joinpath(f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@cache
def constants() -> dict[str, Constant]:
    """Single figures by name."""
    return {row["name"]: Constant(float(row["value"]), row["unit"], row["basis"], row["source"]) for row in table("constants")}


@cache
def hv_limits() -> dict[str, Constant]:
    """Limits of high-voltage safety that are single figures, by name; the table has more, in words."""
    named = (row for row in table("hv_limits") if row["name"] and row["value"].replace(".", "", 1).isdigit())
    return {row["name"]: Constant(float(row["value"]), row["unit"], row["basis"], row["source"]) for row in named}


@cache
def hv_limit_sources() -> dict[str, tuple[str, str]]:
    """Basis and source of every named limit of high-voltage safety, also of those that are words."""
    return {row["name"]: (row["basis"], row["source"]) for row in table("hv_limits") if row["name"]}


@cache
def colours() -> dict[str, str]:
    """Colour words by their IEC 60757 letters."""
    return {row["code"]: row["colour"] for row in table("wire_colours")}


@cache
def thin_wall_currents() -> dict[float, float]:
    """Amperes of thin-wall wire by section in mm2."""
    return {float(row["section_mm2"]): float(row["current_a"]) for row in table("thin_wall_currents")}


@cache
def fuse_wire_pairs() -> dict[float, float]:
    """Least section in mm2 behind a fuse, by its rating in amperes."""
    return {float(row["rating_a"]): float(row["section_mm2"]) for row in table("fuse_wire_pairs")}


@cache
def crimp_pulls() -> tuple[tuple[float, float], ...]:
    """Least pull in newton that a crimp withstands, by conductor section in mm2, thin ones first."""
    return tuple((float(row["section_mm2"]), float(row["force_min_n"])) for row in table("crimp_pull"))


@cache
def bolt_proof_loads() -> dict[tuple[str, str], Constant]:
    """Proof load in newton of a steel bolt with coarse thread, by thread and property class."""
    return {
        (row["thread"], row["property_class"]): Constant(float(row["proof_load_n"]), "N", row["basis"], row["source"])
        for row in table("bolt_proof_loads")
    }


@cache
def fuse_colours() -> dict[tuple[str, float], str]:
    """Body colours of blade fuses in words, by family and rating: a colour alone does not tell the rating."""
    return {(row["family"], float(row["rating_a"])): row["colour"] for row in table("fuse_colours")}


@cache
def resistances() -> dict[tuple[float, str], tuple[float, str, str]]:
    """Greatest resistance in mohm/m at 20 C with basis and source, by section in mm2 and wall."""
    return {
        (float(row["section_mm2"]), row["wall"]): (
            float(row["resistance_20c_max_mohm_per_m"]),
            row["basis"],
            row["source"],
        )
        for row in table("conductors_iso6722")
    }


@cache
def clearances() -> dict[str, Clearance]:
    """Least gaps by what lies beside the loom."""
    return {
        row["kind"]: Clearance(_maybe(row["gap_mm"]), _maybe(row["gap_hv_mm"]), row["basis"], row["source"]) for row in table("clearances")
    }


def _maybe(printed: str) -> float | None:
    return float(printed) if printed else None


@cache
def bends() -> dict[str, Constant]:
    """Least radius of a bend in outside diameters, by what is bent."""
    return {row["what"]: Constant(float(row["least_radius_od"]), "x OD", row["basis"], row["source"]) for row in table("bends")}


@cache
def bus_limits() -> dict[float, dict[str, Constant]]:
    """Greatest lengths of a CAN bus in metres by bit rate in kbit/s: `trunk`, one `stub`, all `stubs together`."""
    found: dict[float, dict[str, Constant]] = {}
    for row in table("bus_limits"):
        at = found.setdefault(float(row["bit_rate_kbit_per_s"]), {})
        at[row["what"]] = Constant(float(row["limit_m"]), "m", row["basis"], row["source"])
    return found
