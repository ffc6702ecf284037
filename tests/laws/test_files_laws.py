"""What must always hold of reading and writing: any bytes at all are read or refused, and no conversion is lost on the way."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import annotated_types
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pydantic import StringConstraints, ValidationError
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
from halfshaft.model.references import KEYS, bad_references
from halfshaft.standards import colours

TERN = Path(__file__).parents[2] / "examples" / "tern"


def fixed(examples: int) -> settings:
    """Today's run is yesterday's run; no deadline, as a busy machine is no fault of the code."""
    return settings(max_examples=examples, derandomize=True, deadline=None)


@cache
def small() -> Conversion:
    """Two battery boxes, a display and a ground point of the demo conversion, with a few rows in every table."""
    tern = read_folder(TERN)
    devices = tuple(device for device in tern.devices if device.ref in ("B1", "B2", "DISP", "GP3"))
    parts = tuple(part for part in tern.parts if part.ref in {"AT-MOD8", "AT-PLATE", *(device.part for device in devices)})
    conversion = tern.model_copy(update={"devices": devices, "parts": parts, "supply": tern.supply.model_copy(update={"battery": None})})
    while lost := {bad.path[:2] for bad in bad_references(conversion)}:
        conversion = conversion.model_copy(update={
            table: tuple(row for index, row in enumerate(getattr(conversion, table)) if (table, index) not in lost) for table in row_tables()
        })  # fmt: skip
    for _ in range(3):  # what nobody refers to goes, save two of each, and then what only that referred to
        for table in row_tables():
            key = KEYS.get(table, ("ref",))[0]
            others = conversion.model_dump_json(exclude={table})
            rows = enumerate(getattr(conversion, table))
            kept = tuple(row for at, row in rows if at < 2 or f'"{getattr(row, key)}"' in others or table in ("wire_types", "parts"))
            conversion = conversion.model_copy(update={table: kept})
    assert bad_references(conversion) == []
    return conversion


def test_the_small_conversion_has_something_in_every_table() -> None:
    assert [table for table in row_tables() if not getattr(small(), table)] == []


# --- any bytes ------------------------------------------------------------------------------------------------------------

# What may be put into a file, beside any bytes: what parsers and spreadsheets have a meaning for.
PIECES = (
    b",", b";", b"\t", b'"', b"'", b"\n", b"\r\n", b"\0", b"\xef\xbb\xbf", b"\xff", b"[", b"]", b"[[x]]\n", b"{", b"}", b"=", b"#", b'"""',
    b"a.b.c = 1\n", b"= 1\n", b"-", b".", b"~", b"1e999", b"nan", b"-inf", b"true", b"0x" + b"f" * 5000, b"9" * 400, b"1979-05-27", b"07:32:00",
    b"x" + b".x" * 700 + b" = 1\n", b"[" * 600, b"<f>1</f>", b' t="e"', b' t="s"', b"<!--", b"]]>", b"&a;", b'r="XFD1048576"', b"<row/>",
)  # fmt: skip

PLACES = st.integers(0, 9_999)  # in ten thousandths of the file
EDITS = st.lists(
    st.one_of(
        st.tuples(st.just("flip"), PLACES, st.integers(0, 7)),
        st.tuples(st.just("delete"), PLACES, st.integers(1, 60)),
        st.tuples(st.just("insert"), PLACES, st.sampled_from(PIECES) | st.binary(min_size=1, max_size=6)),
        st.tuples(st.just("line again"), PLACES, st.integers(1, 3)),
        st.tuples(st.just("line gone"), PLACES, st.integers(1, 3)),
        st.tuples(st.just("move"), PLACES, PLACES),
    ),
    min_size=1,
    max_size=4,
)


def mutated(data: bytes, edits: list[tuple[str, int, Any]]) -> bytes:
    for kind, place, what in edits:
        at = place * len(data) // 10_000
        line = data[:at].count(b"\n")
        lines = data.split(b"\n")
        if kind == "flip" and data:
            data = data[:at] + bytes([data[at] ^ 1 << what]) + data[at + 1 :]
        elif kind == "delete":
            data = data[:at] + data[at + what :]
        elif kind == "insert":
            data = data[:at] + what + data[at:]
        elif kind == "line again":
            data = b"\n".join([*lines[:line], *lines[line : line + what], *lines[line:]])
        elif kind == "line gone":
            data = b"\n".join([*lines[:line], *lines[line + what :]])
        elif kind == "move":
            other = what * len(data) // 10_000
            data = data[:at] + data[other : other + 40] + data[at:]
    return data


@pytest.fixture(scope="module")
def room() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as name:
        yield Path(name)


@pytest.fixture(scope="module")
def folder(room: Path) -> Path:
    """The small conversion as a folder, whose files are changed and put back."""
    return written(folder_files(small()), room / "small")


def written(files: dict[str, bytes], folder: Path) -> Path:
    for name, data in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


def is_read_or_refused(read: Any, path: Path) -> None:
    """Read as a conversion that can be written and read again, or refused with faults that say where; never anything else."""
    try:
        conversion = read(path)
    except InputError as error:
        assert error.faults
        for fault in error.faults:
            assert fault.file
            assert fault.message
            assert fault.row is None or fault.row > 0
        str(error).encode()
        return
    assert isinstance(conversion, Conversion)
    assert bad_references(conversion) == []


@fixed(200)
@given(st.sampled_from(sorted(folder_files(small()))), EDITS)
def test_damaged_files_are_read_or_refused(folder: Path, name: str, edits: list[tuple[str, int, Any]]) -> None:
    before = (folder / name).read_bytes()
    try:
        (folder / name).write_bytes(mutated(before, edits))
        is_read_or_refused(read_folder, folder)
    finally:
        (folder / name).write_bytes(before)


@fixed(60)
@given(
    st.sampled_from(["wires.csv", "conversion.toml", "boxes.toml", "parts/AT-GP.toml"]), st.binary(max_size=60) | st.sampled_from(PIECES)
)
def test_any_bytes_for_a_file_are_read_or_refused(folder: Path, name: str, data: bytes) -> None:
    before = (folder / name).read_bytes()
    try:
        (folder / name).write_bytes(data)
        is_read_or_refused(read_folder, folder)
    finally:
        (folder / name).write_bytes(before)


@cache
def entries() -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(write_workbook(small()))) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@fixed(100)
@given(st.sampled_from(sorted(entries())), EDITS)
def test_workbooks_with_damaged_sheets_are_read_or_refused(room: Path, name: str, edits: list[tuple[str, int, Any]]) -> None:
    with zipfile.ZipFile(room / "sheets.xlsx", "w") as archive:
        for entry, data in entries().items():
            archive.writestr(entry, mutated(data, edits) if entry == name else data)
    is_read_or_refused(read_workbook, room / "sheets.xlsx")


@fixed(100)
@given(EDITS)
def test_damaged_workbooks_are_read_or_refused(room: Path, edits: list[tuple[str, int, Any]]) -> None:
    (room / "damaged.xlsx").write_bytes(mutated(write_workbook(small()), edits))
    is_read_or_refused(read_workbook, room / "damaged.xlsx")


@fixed(60)
@given(st.binary(max_size=200))
def test_any_bytes_for_a_workbook_are_refused(room: Path, data: bytes) -> None:
    (room / "any.xlsx").write_bytes(data)
    with pytest.raises(InputError, match="is no .xlsx workbook"):
        read_workbook(room / "any.xlsx")


# --- any valid conversion -------------------------------------------------------------------------------------------------

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


def pattern_of(annotation: Any) -> str:
    return str(next(item for item in get_args(annotation) if isinstance(item, StringConstraints)).pattern)


BY_PATTERN = {
    pattern_of(Text): TEXTS,
    pattern_of(Ref): st.text(LETTERS, min_size=1, max_size=4).map(lambda text: text + "_+-"[: len(text) - 1]),
    pattern_of(CavityRef): st.text(LETTERS, min_size=1, max_size=6),
    pattern_of(NodeRef): st.text(f"{LETTERS}._-", min_size=1, max_size=8).map("~{}".format),
    pattern_of(Colour): st.sampled_from([*COLOURS, f"{COLOURS[0]}-{COLOURS[1]}", "GNYE"]),
    pattern_of(Day): st.dates().map(str),
}


def values(annotation: Any, marks: list[Any]) -> st.SearchStrategy[Any]:
    """All values that the model allows in a field that fits one cell."""
    annotation, marks, optional = opened(annotation, marks)
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin is Literal:
        found: st.SearchStrategy[Any] = st.sampled_from(inner)
    elif origin is tuple and inner[-1] is Ellipsis:
        least = next((mark.min_length for mark in marks if isinstance(mark, annotated_types.MinLen)), 0)
        found = st.lists(values(inner[0], []), min_size=least, max_size=least + 2).map(tuple)
    elif origin is tuple:
        found = st.tuples(*(values(item, []) for item in inner))
    elif annotation is bool:
        found = st.booleans()
    elif annotation is str:
        limits = next(mark for mark in marks if isinstance(mark, StringConstraints))
        found = BY_PATTERN[str(limits.pattern)].filter(lambda text: len(text.strip()) >= (limits.min_length or 0))
    else:
        found = numbers(annotation, marks)
    return st.none() | found if optional else found


def opened(annotation: Any, marks: list[Any]) -> tuple[Any, list[Any], bool]:
    """A type without what is wrapped round it: the plain type, all its marks, and whether it may be None."""
    inner = get_args(annotation)
    if get_origin(annotation) is Annotated:
        return opened(inner[0], [*marks, *inner[1:]])
    if get_origin(annotation) in (Union, UnionType):
        return (*opened(next(item for item in inner if item is not type(None)), marks)[:2], True)
    return annotation, [mark for each in marks for mark in (each.metadata if isinstance(each, FieldInfo) else [each])], False


def numbers(kind: type, marks: list[Any]) -> st.SearchStrategy[Any]:
    """Numbers of all magnitudes that the model allows, and often its limits themselves."""
    bounds: dict[str, Any] = {}
    for mark in marks:
        for limit, name in (("ge", "min_value"), ("gt", "min_value"), ("le", "max_value"), ("lt", "max_value")):
            if hasattr(mark, limit):
                bounds[name] = kind(getattr(mark, limit))
                bounds |= {f"exclude_{name[:3]}": True} if limit in ("gt", "lt") else {}
    return st.integers(**bounds) if kind is int else st.floats(**bounds, allow_nan=False, allow_infinity=False)


REFERENCES = (RefersTo, PinOrSplice, DeviceConnector, LoadElement)
# Records of these are referred to by one plain name, so that name can be changed wherever it stands.
RENAMED = ("zones", "cases", "points", "runs", "looms", "twist_groups", "coverings", "insulation_classes", "terminals", "spaces", "removed")
# Nobody refers to these, so there may be none of them.
LEFT_OUT = (
    "removed",
    "made_parts",
    "load_states",
    "keep_outs",
    "seals",
    "old_wires",
    "case_loads",
    "hoses",
    "tails",
    "grommets",
    "cable_cores",
)

Slot = tuple[str | int, ...]


@cache
def slots() -> dict[str, list[tuple[Slot, st.SearchStrategy[Any], str]]]:
    """By table, every cell of the small conversion: where it stands, what may stand there, and the table it refers to."""

    def down(value: Any, record: type[Record], at: Slot) -> Iterator[tuple[Slot, st.SearchStrategy[Any], str]]:
        for name, info in record.model_fields.items():
            inner = getattr(value, name)
            if isinstance(inner, Record):
                yield from down(inner, type(inner), (*at, name))
            elif isinstance(inner, tuple) and inner and isinstance(inner[0], Record):
                for index, item in enumerate(inner):
                    yield from down(item, type(item), (*at, name, index))
            elif not isinstance(inner, tuple) or inner:
                annotation, marks, optional = opened(info.annotation, list(info.metadata))
                if get_origin(annotation) is tuple:
                    marks += opened(get_args(annotation)[0], [])[1]
                refers = next((mark for mark in marks if isinstance(mark, REFERENCES)), None)
                kept = (st.just(inner) | st.none()) if optional else st.just(inner)
                yield (*at, name), kept if refers else values(info.annotation, list(info.metadata)), getattr(refers, "table", "")

    return {
        table: [slot for at, item in enumerate(rows) for slot in down(item, type(item), (table, at))]
        if isinstance(rows := getattr(small(), table), tuple)
        else list(down(rows, type(rows), (table,)))
        for table in type(small()).model_fields
    }


def put(tree: Any, at: Slot, value: Any) -> Any:
    """The tree with another value in one place."""
    if not at:
        return value
    first, *rest = at
    if isinstance(first, int):
        return (*tree[:first], put(tree[first], tuple(rest), value), *tree[first + 1 :])
    return {**tree, first: put(tree[first], tuple(rest), value)}


def got(tree: Any, at: Slot) -> Any:
    for step in at:
        tree = tree[step]
    return tree


@st.composite
def conversions(draw: st.DrawFn) -> Conversion:
    """The small conversion with any allowed values in some of its cells, some of its marks renamed and some tables left out."""
    tree = small().model_dump()
    for table in draw(st.lists(st.sampled_from(sorted(slots())), min_size=1, max_size=10)):
        where, what, _ = draw(st.sampled_from(slots()[table]))
        value = draw(what)
        if where[2:] == (KEYS.get(table, ("ref",))[0],) and isinstance(where[1], int):
            assume(table in RENAMED)
            for slot, _, refers in (slot for others in slots().values() for slot in others):
                if refers == table:
                    old, now = got(tree, where), got(tree, slot)
                    tree = put(
                        tree,
                        slot,
                        tuple(value if item == old else item for item in now) if isinstance(now, tuple) else now if now != old else value,
                    )
        tree = put(tree, where, value)
    for table in draw(st.sets(st.sampled_from(LEFT_OUT), max_size=3)):
        tree[table] = ()
    try:
        conversion = Conversion(**{
            table: record_of(table).model_validate(rows) if table in HEAD_TABLES else tuple(map(record_of(table).model_validate, rows))
            for table, rows in tree.items()
        })  # fmt: skip
    except ValidationError:
        conversion = None
    assume(conversion is not None)
    assume(not bad_references(conversion))
    return conversion


@fixed(80)
@given(conversions())
def test_a_folder_loses_nothing_and_is_written_in_one_way(conversion: Conversion) -> None:
    files = folder_files(conversion)
    with tempfile.TemporaryDirectory() as name:
        again = read_folder(written(files, Path(name)))
    assert again == conversion
    assert folder_files(again) == files


@fixed(50)
@given(conversions())
def test_a_workbook_loses_nothing_and_is_written_in_one_way(room: Path, conversion: Conversion) -> None:
    data = write_workbook(conversion)
    (room / "car.xlsx").write_bytes(data)
    again = read_workbook(room / "car.xlsx")
    assert again == conversion
    assert write_workbook(again) == data


# --- one cell -------------------------------------------------------------------------------------------------------------

MASS = Removed.model_fields["mass_kg"]
FLOATS = st.floats(allow_nan=False, allow_infinity=False)


@fixed(300)
@given(FLOATS)
def test_a_number_written_is_the_same_number_read(value: float) -> None:
    text = write_number(value)
    assert read_cell(text, MASS) == value
    assert read_cell(text.replace(".", ","), MASS, decimal_comma=True) == value
    assert "e" not in text.lower()
    assert write_cell(read_cell(text, MASS)) == text


@fixed(100)
@given(st.integers(-(10**18), 10**18))
def test_a_whole_number_is_written_without_decimals(value: int) -> None:
    assert write_number(value) == str(value)
    assert write_number(float(value)) == str(int(float(value)))


@fixed(200)
@given(st.text(max_size=20))
def test_any_text_for_a_number_is_a_number_or_is_refused_with_it(text: str) -> None:
    """No number comes of it that is not one, and no error but the one that says so."""
    try:
        value = read_cell(text, MASS)
    except ValueError as error:
        assert repr(text) in str(error)
    else:
        assert isinstance(value, float)
        assert read_cell(write_number(value), MASS) == value
