"""Some files read over a known conversion say just what the whole folder says with them in it: the same value, or the same faults."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.errors import Fault, InputError
from halfshaft.files.folder import folder_files, read_folder
from halfshaft.files.over import may_be_read_over, read_over
from halfshaft.files.whole import write_whole
from halfshaft.model.conversion import Conversion

Said = Conversion | tuple[Fault, ...]


def over(base: Conversion, files: dict[str, bytes]) -> Said:
    try:
        return read_over(base, files)
    except InputError as error:
        return error.faults


def whole(base: Conversion, files: dict[str, bytes]) -> Said:
    with tempfile.TemporaryDirectory() as place:
        write_whole({**folder_files(base), **files}, Path(place) / "car")
        try:
            return read_folder(Path(place) / "car")
        except InputError as error:
            return error.faults


def test_every_file_of_the_demo_over_itself(tern: Conversion) -> None:
    files = folder_files(tern)
    for name, data in files.items():
        if may_be_read_over(name):
            assert read_over(tern, {name: data}) == tern
    assert not may_be_read_over("meshes.csv")


@pytest.mark.parametrize(
    "files",
    [
        {"points.csv": b"ref,name,x_mm,y_mm,z_mm,kind\n"},
        {"devices.csv": b"ref\n"},
        {"boxes.toml": b""},
        {"boxes.toml": b"[[boxes"},
        {"conversion.toml": b""},
        {"conversion.toml": b"[job]\nref = 1\n"},
        {"parts/AT-PED.toml": b'ref = "AT-PED"\n'},
        {"parts/AT-PED.toml": b'ref = "AT-PAD"\n'},
        {"parts/NEW.toml": b""},
        {"wires.csv": b"\xff"},
        {"wires.csv": b"", "tails.csv": b""},
        {"messages/CAN1.dbc": b"rubbish"},
        {"modules.toml": b""},
    ],
    ids=str,
)
def test_what_breaks_one_breaks_the_other(tern: Conversion, files: dict[str, bytes]) -> None:
    assert over(tern, files) == whole(tern, files)


@settings(max_examples=25, derandomize=True, deadline=None)
@given(st.data())
def test_any_spoilt_table(tern: Conversion, data: st.DataObject) -> None:
    files = folder_files(tern)
    names = data.draw(st.lists(st.sampled_from(sorted(filter(may_be_read_over, files))), min_size=1, max_size=2, unique=True))
    spoilt = {}
    for name in names:
        start, end = sorted(data.draw(st.tuples(*[st.integers(0, len(files[name]))] * 2)))
        put = data.draw(st.sampled_from([b"", b"x", b",", b"\n", b'"', b"999", b";"]))
        spoilt[name] = files[name][:start] + put + files[name][min(end, start + 12) :]
    assert over(tern, spoilt) == whole(tern, spoilt)
