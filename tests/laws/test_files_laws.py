"""What must always hold of reading and writing: any bytes at all are read or refused, and no conversion is lost on the way."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import annotated_types
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import StringConstraints
from pydantic.fields import FieldInfo

from halfshaft.errors import InputError
from halfshaft.files.cells import read_cell, write_cell, write_number
from halfshaft.files.folder import folder_files, read_folder
from halfshaft.files.layout import HEAD_TABLES, record_of, row_tables
from halfshaft.files.workbook import read_workbook, write_workbook
from halfshaft.model.base import Colour, DeviceConnector, LoadElement, PinOrSplice, Record, Ref, RefersTo, Text
from halfshaft.model.car import Removed
from halfshaft.model.conversion import Conversion, Day
from halfshaft.model.parts import CavityRef, NodeRef
from halfshaft.model.references import bad_references, key_of
from halfshaft.standards import colours

TERN = Path(__file__).parents[2] / "examples" / "tern"


def fixed(examples: int) -> settings:
    """Today's run is yesterday's run; no deadline, as a busy machine is no fault of the code."""
    return settings(
        max_examples=examples, derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
    )


# --- any valid conversion -------------------------------------------------------------------------------------------------

Names = dict[str, list[Any]]  # by table, or by kind of place, what may be referred to
Values = st.SearchStrategy[Any]

# Texts that programs like to take for something else.
TRAPS = (
    "=1+1", "+1", "-1", "@x", "_x000D_", "_x005F_x000D_", "_x0041_", "007", "1e5", "1,5", "TRUE", "yes", "nan", "#N/A", "2026-01-01",
    'a"b', "'", "'''", '"""', "a;b", "a,b", "a\\b", "\\n", "\\u0041", "<&>", "]]>", "&amp;", "[x]", "{ a = 1 }", "# x", "a  b", "\u00a0x",
    "\u200b", "\U0001f50b", "e\u0301", "\ud7ff", "\ufdd0", "\u202ex", "x" * 190,
)  # fmt: skip
LETTERS = "ABCXYZabc012"
TEXTS = st.sampled_from(TRAPS) | st.text(
    st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\u2028\u2029\ufeff\ufffe\uffff"), max_size=12
)
COLOURS = sorted(code for code in colours() if len(code) == 2)


def constraints_of(annotation: Any) -> StringConstraints:
    return next(item for item in get_args(annotation) if isinstance(item, StringConstraints))


BY_PATTERN: dict[str | None, Values] = {
    constraints_of(Text).pattern: TEXTS,
    constraints_of(Ref).pattern: st.from_regex(rf"[{LETTERS}][{LETTERS}_+-]{{0,4}}", fullmatch=True),
    constraints_of(CavityRef).pattern: st.text(LETTERS, min_size=1, max_size=6),
    constraints_of(NodeRef).pattern: st.text(f"{LETTERS}._-", min_size=1, max_size=8).map("~{}".format),
    constraints_of(Colour).pattern: st.sampled_from([*COLOURS, f"{COLOURS[0]}-{COLOURS[1]}", "GNYE"]),
    constraints_of(Day).pattern: st.dates().map(str),
}  # type: ignore[dict-item]


def values(annotation: Any, marks: list[Any], names: Names) -> Values:
    """All values that the model allows in a field; what refers to something is taken from `names`."""
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return values(inner[0], [*marks, *inner[1:]], names)
    marks = [mark for each in marks for mark in (each.metadata if isinstance(each, FieldInfo) else [each])]
    for mark in marks:
        if isinstance(mark, (RefersTo, PinOrSplice, DeviceConnector, LoadElement)):
            known = names.get(mark.table if isinstance(mark, RefersTo) else type(mark).__name__)
            return st.sampled_from(known) if known else st.nothing()
    if origin in (Union, UnionType):
        return st.none() | values(next(item for item in inner if item is not type(None)), marks, names)
    if origin is Literal:
        return st.sampled_from(inner)
    if origin is tuple:
        if inner[-1] is not Ellipsis:
            return st.tuples(*(values(item, [], names) for item in inner))
        least = next((mark.min_length for mark in marks if isinstance(mark, annotated_types.MinLen)), 0)
        items = values(inner[0], [], names)
        if items.is_empty:
            return st.nothing() if least else st.just(())
        return st.lists(items, min_size=least, max_size=least + 2).map(tuple)
    if issubclass(annotation, Record):
        return records(annotation, names)
    if annotation is bool:
        return st.booleans()
    if annotation is str:
        limits = next(mark for mark in marks if isinstance(mark, StringConstraints))
        return BY_PATTERN[limits.pattern].filter(lambda text: len(text.strip()) >= (limits.min_length or 0))  # type: ignore[index]
    return numbers(annotation, marks)


def numbers(kind: type, marks: list[Any]) -> Values:
    """Numbers of all magnitudes that the model allows, and often its limits themselves."""
    bounds: dict[str, Any] = {}
    for mark in marks:
        for limit, name, shut in (("ge", "min_value", ""), ("gt", "min_value", "exclude_min"),
                                  ("le", "max_value", ""), ("lt", "max_value", "exclude_max")):  # fmt: skip
            if hasattr(mark, limit):
                bounds[name] = kind(getattr(mark, limit))
                bounds |= {shut: True} if shut else {}
    return st.integers(**bounds) if kind is int else st.floats(**bounds, allow_nan=False, allow_infinity=False)


def records(record: type[Record], names: Names, **instead: Values) -> Values:
    """The values of a record, by field."""
    return st.fixed_dictionaries(
        {field: instead.get(field) or values(info.annotation, info.metadata, names) for field, info in record.model_fields.items()}
    )


def unique(items: Any, key: Callable[[Any], Any]) -> tuple[Any, ...]:
    return tuple({key(item): item for item in reversed(items)}.values())[::-1]


# Who refers to a table comes after it.
ORDER = sorted(row_tables(), key=lambda table: (
    table in ("wires", "cables", "cable_cores", "case_loads", "loads"), table in ("splices", "boxes", "tails", "ground_points", "hoses", "grommets"),
    table in ("devices", "runs", "keep_outs", "modules"), table in ("parts", "seals", "cable_types", "points"),
))  # fmt: skip


@st.composite
def conversions(draw: st.DrawFn) -> Conversion:
    """Valid conversions with up to two rows in each table."""
    tables: dict[str, tuple[Any, ...]] = {}
    names: Names = {}
    for table in ORDER:
        record = record_of(table)
        instead = {"section_mm2": st.sampled_from(names["wire_types"])} if table == "wires" and names["wire_types"] else {}
        rows = records(record, names, **instead)
        drawn = [] if rows.is_empty else draw(st.lists(rows, max_size=2))
        made = [record.model_validate(row) for row in map(MAKE_SENSE.get(table, lambda row, _: row), drawn, [tables] * len(drawn)) if row]
        tables[table] = unique(made, lambda item, table=table: key_of(table, item))
        names[table] = [key_of(table, item) for item in tables[table]]
        if table in ("devices", "splices"):
            places(tables, names)
    heads = {table: draw(records(record_of(table), names).map(MAKE_SENSE.get(table, dict))) for table in HEAD_TABLES}
    conversion = Conversion(**{table: record_of(table).model_validate(values) for table, values in heads.items()}, **tables)
    assert bad_references(conversion) == []
    return conversion


def places(tables: dict[str, tuple[Any, ...]], names: Names) -> None:
    """What of the devices can be referred to."""
    fitted = [(device.ref, part) for device in tables["devices"] for part in tables["parts"] if part.ref == device.part]
    plugs = [(f"{device}.{plug.ref}", plug) for device, part in fitted for plug in part.connectors]
    names["DeviceConnector"] = [name for name, _ in plugs]
    names["PinOrSplice"] = [f"{name}.{cavity.ref}" for name, plug in plugs for cavity in plug.cavities] + names.get("splices", [])
    names["LoadElement"] = [f"{device}.{element.ref}" for device, part in fitted for element in part.inside]


# The few things that a record by itself cannot be held to; a row of which no sense can be made is None.


def part(row: dict[str, Any], _: Any) -> dict[str, Any]:
    plugs = unique(row["connectors"], lambda plug: plug["ref"])
    plugs = tuple(
        {**plug, "cavities": unique(plug["cavities"], lambda cavity: cavity["ref"])[: plug["rows"] * plug["columns"]]} for plug in plugs
    )
    pins = [f"{plug['ref']}.{cavity['ref']}" for plug in plugs for cavity in plug["cavities"]]
    inside = unique(row["inside"], lambda element: element["ref"].strip())
    return {**row, "connectors": plugs, "inside": tuple({**element, "pin_a": pins[0]} if pins else element for element in inside)}


def run(row: dict[str, Any], _: Any) -> dict[str, Any] | None:
    return row if row["from_point"] != row["to_point"] else None


def grommet(row: dict[str, Any], _: Any) -> dict[str, Any] | None:
    return row if (row["point"] is None) != (row["run"] is None) else None


def splice(row: dict[str, Any], tables: dict[str, Any]) -> dict[str, Any]:
    return {**row, "from_point": next(run.from_point for run in tables["runs"] if run.ref == row["run"])}


def tail(row: dict[str, Any], tables: dict[str, Any]) -> dict[str, Any] | None:
    sort = next(device.part for device in tables["devices"] if device.ref == row["device"])
    plugs = next(part.connectors for part in tables["parts"] if part.ref == sort)
    return {**row, "connector": plugs[0].ref} if plugs else None


def wire(row: dict[str, Any], tables: dict[str, Any]) -> dict[str, Any] | None:
    return row if any(kind.section_mm2 == row["section_mm2"] for kind in tables["wire_types"]) else None


def car(row: dict[str, Any]) -> dict[str, Any]:
    raised = row["raised"] if row["raised"] and row["raised"]["height_mm"] < row["wheelbase_mm"] else None
    return {**row, "raised": raised, "weighed": {**row["weighed"], "front_left_kg": row["weighed"]["front_left_kg"] or 1.0}}


MAKE_SENSE: dict[str, Callable[..., Any]] = {
    "parts": part, "runs": run, "grommets": grommet, "splices": splice, "tails": tail, "wires": wire, "car": car,
}  # fmt: skip


@pytest.fixture(scope="module")
def folder() -> Any:
    with tempfile.TemporaryDirectory() as name:
        yield Path(name)


def in_folder(files: dict[str, bytes], folder: Path) -> Conversion:
    with tempfile.TemporaryDirectory(dir=folder) as name:
        for path, data in files.items():
            (Path(name) / path).parent.mkdir(exist_ok=True)
            (Path(name) / path).write_bytes(data)
        return read_folder(Path(name))


def in_workbook(data: bytes, folder: Path) -> Conversion:
    (folder / "car.xlsx").write_bytes(data)
    return read_workbook(folder / "car.xlsx")


@fixed(60)
@given(conversions())
def test_a_folder_loses_nothing_and_is_written_in_one_way(folder: Path, conversion: Conversion) -> None:
    files = folder_files(conversion)
    again = in_folder(files, folder)
    assert again == conversion
    assert folder_files(again) == files


@fixed(60)
@given(conversions())
def test_a_workbook_loses_nothing_and_is_written_in_one_way(folder: Path, conversion: Conversion) -> None:
    data = write_workbook(conversion)
    again = in_workbook(data, folder)
    assert again == conversion
    assert write_workbook(again) == data


def test_all_tables_are_among_the_conversions_drawn() -> None:
    """Or the two laws above would hold of little."""
    filled: set[str] = set()

    @fixed(60)
    @given(conversions())
    def look(conversion: Conversion) -> None:
        filled.update(table for table in row_tables() if getattr(conversion, table))

    look()
    assert filled == set(row_tables())
