"""In and out: the same value back, and nothing that is sent can fill the memory or reach the disk."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from halfshaft.errors import InputError
from halfshaft.files.folder import folder_files
from halfshaft.model.conversion import Conversion
from halfshaft.records import carrying


def zipped(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


def test_there_and_back(tern: Conversion) -> None:
    assert carrying.from_zip(carrying.to_zip(tern)) == tern
    assert carrying.to_zip(tern) == carrying.to_zip(tern)
    assert carrying.from_workbook(carrying.to_workbook(tern)) == tern


def test_a_zip_as_people_make_them(small: Conversion) -> None:
    files = folder_files(small)
    assert carrying.from_zip(zipped(files)) == small
    assert carrying.from_zip(zipped({f"my car/{name}": data for name, data in files.items()})) == small
    strangers = {"__MACOSX/my car/._wires.csv": b"x", "my car/photo.jpg": b"x", "my car/.DS_Store": b"x", "my car/photos/a.csv": b"x"}
    assert carrying.from_zip(zipped({**{f"my car/{name}": data for name, data in files.items()}, **strangers})) == small


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("../wires.csv", "leads out of"),
        ("/etc/wires.csv", "leads out of"),
        ("..\\wires.csv", "leads out of"),
        ("C:\\wires.csv", "leads out of"),
        ("parts/../../x.toml", "leads out of"),
        ("wires (1).csv", "no file of a conversion is called so"),
        ("other/conversion.toml", None),
    ],
)
def test_names_that_lead_elsewhere(small: Conversion, name: str, words: str | None) -> None:
    sent = zipped({**folder_files(small), name: b"x"})
    if words is None:
        assert carrying.from_zip(sent) == small  # a conversion inside a conversion is somebody's copy
        return
    with pytest.raises(InputError, match=words):
        carrying.from_zip(sent)


def test_bombs_and_rubbish(small: Conversion, monkeypatch: pytest.MonkeyPatch) -> None:
    files = folder_files(small)
    link = zipfile.ZipInfo("wires.csv")
    link.external_attr = 0o120777 << 16
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("conversion.toml", files["conversion.toml"])
        archive.writestr(link, "/etc/passwd")
    for sent, words in (
        (zipped({**files, "removed.csv": b"0" * 17_000_000}), "unpacks to more than 16 MB"),
        (out.getvalue(), "is a link"),
        (zipped({"readme.txt": b"x"}), "holds no conversion"),
        (zipped({"a/conversion.toml": b"", "b/conversion.toml": b""}), "more than one conversion"),
        (zipped({f"{number}.txt": b"" for number in range(5001)}), "more than 5000 files"),
        (b"PK\x03\x04 rubbish", "no zip that can be read"),
        (zipped(files)[:-30], "no zip that can be read"),
    ):
        with pytest.raises(InputError, match=words):
            carrying.from_zip(sent)
    monkeypatch.setattr(carrying, "MAX_UNPACKED_BYTES", 1000)
    with pytest.raises(InputError, match="unpacks to more"):
        carrying.from_zip(zipped(files))
    monkeypatch.setattr(carrying, "MAX_ZIP_BYTES", 1000)
    with pytest.raises(InputError, match="no zip of a conversion is over"):
        carrying.from_zip(zipped(files))
    with pytest.raises(InputError, match="workbook"):
        carrying.from_workbook(b"rubbish")


def test_nothing_is_left_on_the_disk(small: Conversion, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    carrying.from_zip(zipped(folder_files(small)))
    with pytest.raises(InputError):
        carrying.from_files({"conversion.toml": b"\xff"})
    assert list(tmp_path.iterdir()) == []
