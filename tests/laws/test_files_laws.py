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
from hypothesis import assume, given, reject, settings
from hypothesis import strategies as st
from pydantic import StringConstraints, ValidationError
from pydantic.fields import FieldInfo

from halfshaft.errors import InputError
from halfshaft.files.cells import CellError, read_cell, write_cell, write_number
from halfshaft.files.folder import folder_files, read_folder
from halfshaft.files.layout import HEAD_TABLES, own_file_fields, record_of, row_tables
from halfshaft.files.workbook import read_workbook, write_workbook
from halfshaft.model.base import Colour, DeviceConnector, DeviceElement, LoadElement, PinOrSplice, Record, Ref, RefersTo, Text
from halfshaft.model.car import Removed
from halfshaft.model.conversion import Conversion, Day
from halfshaft.model.electrics import HighVoltageSettings
from halfshaft.model.pack import PackSettings
from halfshaft.model.parts import CavityRef, NodeRef
from halfshaft.model.references import KEYS, bad_references
from halfshaft.model.wires import BendWords
from halfshaft.standards import colours
from meshes import block_mesh

TERN = Path(__file__).parents[2] / "examples" / "tern"


def fixed(examples: int) -> settings:
    """Today's run is yesterday's run; no deadline, as a busy machine is no fault of the code."""
    return settings(max_examples=examples, derandomize=True, deadline=None)


def with_tables(conversion: Conversion, **tables: Any) -> Conversion:
    return Conversion(**{name: getattr(conversion, name) for name in type(conversion).model_fields} | tables)


@cache
def small() -> Conversion:
    """Two battery boxes, a display and a ground point of the demo conversion, with a few rows in every table."""
    tern = read_folder(TERN)
    devices = tuple(device for device in tern.devices if device.ref in ("B1", "B2", "DISP", "GP3"))
    parts = tuple(part for part in tern.parts if part.ref in {"AT-MOD8", "AT-PLATE", *(device.part for device in devices)})
    supply = tern.supply.model_copy(update={"battery": None, "converter": None})
    heads = {"supply": supply, "pack": PackSettings(), "high_voltage": HighVoltageSettings()}
    units = tuple(unit.model_copy(update={"ref": ref}) for unit, ref in zip(tern.hv_units, ("B1", "B2"), strict=False))
    enclosures = (tern.enclosures[0].model_copy(update={"ref": "B1"}),)
    items = tuple(
        item.model_copy(update={"enclosure": "B1", "ref": ref}) for item, ref in zip(tern.enclosure_items, ("DISP", "GP3"), strict=False)
    )
    conversion = with_tables(
        tern,
        enclosures=enclosures,
        enclosure_items=items,
        devices=devices,
        parts=parts,
        hv_units=units,
        meshes=(block_mesh("ME1"),),
        **heads,
    )
    while lost := {bad.path[:2] for bad in bad_references(conversion)}:
        conversion = with_tables(conversion, **{
            table: tuple(row for at, row in enumerate(getattr(conversion, table)) if (table, at) not in lost) for table in row_tables()
        })  # fmt: skip
    for _ in range(3):  # what nobody refers to goes, save two of each, and then what only that referred to
        for table in row_tables():
            key = KEYS.get(table, ("ref",))[0]
            others = conversion.model_dump_json(exclude={table})
            rows = enumerate(getattr(conversion, table))
            kept = tuple(row for at, row in rows if at < 2 or f'"{getattr(row, key)}"' in others or table in ("wire_types", "parts"))
            conversion = with_tables(conversion, **{table: kept})
    assert bad_references(conversion) == []
    return conversion


def test_the_small_conversion_has_something_in_every_table() -> None:
    # What these name is in none of the few devices; the demo's rows of them go round in tests/files.
    of_others = ["case_contacts", "case_units", "fuse_points"]
    assert [table for table in row_tables() if not getattr(small(), table)] == of_others


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
    """Read as a conversion, or refused with faults that say where; never anything else."""
    try:
        conversion, faults = read(path), ()
    except InputError as error:
        conversion, faults = None, error.faults
    if conversion is not None:
        assert isinstance(conversion, Conversion)
        assert bad_references(conversion) == []
        return
    assert faults
    for fault in faults:
        assert fault.file
        assert fault.message
        assert fault.row is None or fault.row > 0
        str(fault).encode()


@fixed(150)
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
def workbook() -> bytes:
    return write_workbook(small())


@cache
def entries() -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(workbook())) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@fixed(80)
@given(st.sampled_from(sorted(entries())), EDITS)
def test_workbooks_with_damaged_sheets_are_read_or_refused(room: Path, name: str, edits: list[tuple[str, int, Any]]) -> None:
    with zipfile.ZipFile(room / "sheets.xlsx", "w") as archive:
        for entry, data in entries().items():
            archive.writestr(entry, mutated(data, edits) if entry == name else data)
    is_read_or_refused(read_workbook, room / "sheets.xlsx")


@fixed(100)
@given(EDITS)
def test_damaged_workbooks_are_read_or_refused(room: Path, edits: list[tuple[str, int, Any]]) -> None:
    (room / "damaged.xlsx").write_bytes(mutated(workbook(), edits))
    is_read_or_refused(read_workbook, room / "damaged.xlsx")


@fixed(60)
@given(st.binary(max_size=200))
def test_any_bytes_for_a_workbook_are_refused(room: Path, data: bytes) -> None:
    (room / "any.xlsx").write_bytes(data)
    with pytest.raises(InputError, match=r"is no \.xlsx workbook"):
        read_workbook(room / "any.xlsx")


# --- any valid conversion -------------------------------------------------------------------------------------------------

# Texts that programs like to take for something else.
TRAPS = (
    "=1+1", "+1", "-1", "@x", "_x000D_", "_x005F_x000D_", "_x0041_", "_x0041_x0042_", "<r>x</r>", "<r>a & b</r>", "007", "1e5", "1,5", "TRUE", "yes", "nan", "#N/A", "2026-01-01",
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
    pattern_of(BendWords): st.tuples(st.integers(0, 9000), st.integers(-180, 180), st.integers(1, 900)).map(
        lambda bend: " ".join(map(str, bend))
    ),
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


REFERENCES = (RefersTo, PinOrSplice, DeviceConnector, LoadElement, DeviceElement)
# Records of these are referred to by one plain name, so that name can be changed wherever it stands.
RENAMED = ("zones", "cases", "points", "runs", "looms", "twist_groups", "coverings", "insulation_classes", "terminals", "spaces", "removed")
# Nobody refers to these, so there may be none of them.
LEFT_OUT = (
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

Place = tuple[str | int, ...]  # table, row, field ...
Change = tuple[Place, Any]


def cells(value: Any, record: type[Record], at: Place) -> Iterator[tuple[Place, Any, Any]]:
    """Every cell of a record and of those in it: where it stands, its type with its marks, and what stands there."""
    for name, info in record.model_fields.items():
        if name in own_file_fields(record):  # its values have laws of their own
            continue
        inner = getattr(value, name)
        if isinstance(inner, Record):
            yield from cells(inner, type(inner), (*at, name))
        elif isinstance(inner, tuple) and inner and isinstance(inner[0], Record):
            for index, item in enumerate(inner):
                yield from cells(item, type(item), (*at, name, index))
        elif not (isinstance(inner, tuple) and _holds_records(info.annotation)):
            yield (*at, name), Annotated[info.annotation, *info.metadata, None], inner


def _holds_records(annotation: Any) -> bool:
    return any(isinstance(item, type) and issubclass(item, Record) for item in get_args(annotation))


def all_cells() -> Iterator[tuple[Place, Any, Any]]:
    for table in type(small()).model_fields:
        rows = getattr(small(), table)
        for at, row in enumerate(rows) if isinstance(rows, tuple) else [(None, rows)]:
            yield from cells(row, type(row), (table,) if at is None else (table, at))


def refers_to(annotation: Any) -> Any:
    """The mark of a field that refers to something, or None."""
    plain, marks, _ = opened(annotation, [])
    if get_origin(plain) is tuple:
        marks = opened(get_args(plain)[0], marks)[1]
    return next((mark for mark in marks if isinstance(mark, REFERENCES)), None)


def is_key(place: Place) -> bool:
    return len(place) == 3 and isinstance(place[1], int) and place[2] in KEYS.get(str(place[0]), ("ref",))


@cache
def changes() -> st.SearchStrategy[list[Change]]:
    """Other allowed values in some cells of the small conversion; references only change with what they refer to, or go."""
    by_table: dict[str, list[st.SearchStrategy[Change]]] = {}
    for place, annotation, value in all_cells():
        if refers_to(annotation) is not None:
            what = st.none() if opened(annotation, [])[2] and value is not None else st.nothing()
        elif (is_key(place) and place[0] not in RENAMED) or (place[0], place[-1]) in (("meshes", "unit"), ("messages", "encoding")):
            what = st.nothing()  # a mesh in another unit is another mesh, and mostly none of a car's space; letters tell their encoding
        else:
            what = values(annotation, [])
        if not what.is_empty:
            by_table.setdefault(str(place[0]), []).append(st.tuples(st.just(place), what))
    tables = [st.sampled_from(found).flatmap(lambda change: change) for found in by_table.values()]
    return st.lists(st.one_of(tables), min_size=1, max_size=12)


def put(tree: Any, place: Place, value: Any) -> Any:
    """The tree with another value in one place."""
    if not place:
        return value
    first, *rest = place
    if isinstance(first, int):
        return (*tree[:first], put(tree[first], tuple(rest), value), *tree[first + 1 :])
    return {**tree, first: put(tree[first], tuple(rest), value)}


def got(tree: Any, place: Place) -> Any:
    for step in place:
        tree = tree[step]
    return tree


def renamed(tree: Any, table: str, old: Any, new: Any) -> Any:
    """The tree with one name changed wherever something refers to it."""
    for place, annotation, _ in all_cells():
        mark = refers_to(annotation)
        if isinstance(mark, RefersTo) and mark.table == table:
            now = got(tree, place)
            if now == old:
                tree = put(tree, place, new)
            elif isinstance(now, tuple) and old in now:
                tree = put(tree, place, tuple(new if item == old else item for item in now))
    return tree


def changed(made: list[Change], left_out: set[str]) -> Conversion:
    """The small conversion with these changes, where that is a valid one."""
    tree = small().model_dump()
    for place, value in made:
        if is_key(place):
            tree = renamed(tree, str(place[0]), got(tree, place), value)
        tree = put(tree, place, value)
    tree |= dict.fromkeys(left_out, ())
    try:
        conversion = Conversion(**{
            table: record_of(table).model_validate(rows) if table in HEAD_TABLES else tuple(map(record_of(table).model_validate, rows))
            for table, rows in tree.items()
        })  # fmt: skip
    except ValidationError:
        reject()
    assume(not bad_references(conversion))
    return conversion


@fixed(60)
@given(changes(), st.sets(st.sampled_from(LEFT_OUT), max_size=3))
def test_a_folder_loses_nothing_and_is_written_in_one_way(made: list[Change], left_out: set[str]) -> None:
    conversion = changed(made, left_out)
    files = folder_files(conversion)
    with tempfile.TemporaryDirectory() as name:
        again = read_folder(written(files, Path(name)))
    assert again == conversion
    assert folder_files(again) == files


@fixed(30)
@given(changes(), st.sets(st.sampled_from(LEFT_OUT), max_size=3))
def test_a_workbook_loses_nothing_and_is_written_in_one_way(room: Path, made: list[Change], left_out: set[str]) -> None:
    conversion = changed(made, left_out)
    data = write_workbook(conversion)
    (room / "car.xlsx").write_bytes(data)
    again = read_workbook(room / "car.xlsx")
    assert again == conversion
    assert write_workbook(again) == data


@pytest.mark.parametrize("text", TRAPS)
def test_a_text_that_looks_like_something_else_is_kept(room: Path, text: str) -> None:
    row = small().removed[0].model_copy(update={"name": text.strip(), "note": text.strip()})
    conversion = with_tables(small(), removed=(row,), straps=())
    (room / "car.xlsx").write_bytes(write_workbook(conversion))
    assert read_workbook(room / "car.xlsx") == conversion
    with tempfile.TemporaryDirectory() as name:
        assert read_folder(written(folder_files(conversion), Path(name))) == conversion


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
        value, says = read_cell(text, MASS), ""
    except CellError as error:
        value, says = None, str(error)
    if value is None:
        assert repr(text) in says
    else:
        assert isinstance(value, float)
        assert read_cell(write_number(value), MASS) == value
