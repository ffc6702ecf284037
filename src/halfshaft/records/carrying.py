"""A conversion brought in from what somebody sends, and carried out again. Sizes are bounded; nothing that is sent names a place on the disk."""

from __future__ import annotations

import io
import re
import tempfile
import zipfile
from pathlib import Path

from halfshaft.errors import Fault, InputError
from halfshaft.files.folder import MAX_FILE_BYTES, MAX_FILES, folder_files, read_folder
from halfshaft.files.layout import HEAD_FILE, MESHES_FOLDER, MESSAGES_FOLDER, PARTS_FOLDER
from halfshaft.files.mesh_formats import MAX_MESH_BYTES
from halfshaft.files.workbook import MAX_WORKBOOK_BYTES, read_workbook, write_workbook
from halfshaft.model.conversion import Conversion

MAX_ZIP_BYTES = 64_000_000
MAX_UNPACKED_BYTES = 256_000_000
_FOLDERS = (PARTS_FOLDER, MESSAGES_FOLDER, MESHES_FOLDER)
# A folder's own files, or one step down in those. Anything else in a zip is left where it is.
_OURS = re.compile(rf"(?:(?:{'|'.join(_FOLDERS)})/)?[A-Za-z0-9][A-Za-z0-9_+.-]{{0,99}}")
_ENTRY = b"PK\x01\x02"
_SAME_DAY = (1980, 1, 1, 0, 0, 0)


def from_folder(folder: Path) -> Conversion:
    """The conversion in a folder of this machine. Raises InputError."""
    return read_folder(folder)


def from_files(files: dict[str, bytes]) -> Conversion:
    """The conversion in the files of a folder, by name. Raises InputError."""
    for name in files:
        if not _OURS.fullmatch(name):
            raise _refused(name, "is no name of a file of a conversion")
    with tempfile.TemporaryDirectory(prefix="halfshaft-") as place:
        folder = Path(place) / "conversion"
        for below in ("", *_FOLDERS):
            (folder / below).mkdir(exist_ok=True)
        for name, data in files.items():
            (folder / name).write_bytes(data)
        return read_folder(folder)


def is_part_file(name: str) -> bool:
    """Whether this is the name of a part's file in a folder."""
    return name.startswith(f"{PARTS_FOLDER}/") and name.endswith(".toml") and _OURS.fullmatch(name) is not None


def from_zip(data: bytes) -> Conversion:
    """The conversion in a zip of a folder, whether the folder itself or its files are at its top. Raises InputError."""
    if len(data) > MAX_ZIP_BYTES:
        raise _refused("zip", f"is {len(data) / 1e6:.0f} MB; no zip of a conversion is over {MAX_ZIP_BYTES / 1e6:.0f} MB")
    # Each entry of the list at the end begins so; a list of a million would fill the memory before one of them could be looked at.
    if data.count(_ENTRY) > MAX_FILES:
        raise _refused("zip", f"holds more than {MAX_FILES} files; is this the right one?")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return from_files(_unpacked(archive))
    except InputError:
        raise
    except Exception:  # a damaged archive fails in a dozen ways, and each unpacker has errors of its own
        raise _refused("zip", "is no zip that can be read") from None


def _unpacked(archive: zipfile.ZipFile) -> dict[str, bytes]:
    entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    for entry in entries:
        _make_sure(entry)
    top = _top(entries)
    files: dict[str, bytes] = {}
    left = MAX_UNPACKED_BYTES
    for entry in entries:
        name = entry.filename.removeprefix(top)
        if not entry.filename.startswith(top) or not _is_ours(name):
            continue
        if name in files:
            raise _refused(name, "stands in the zip twice")
        # What an entry says of its size is not believed: no more is unpacked than may be.
        most = MAX_MESH_BYTES if name.startswith(f"{MESHES_FOLDER}/") else MAX_FILE_BYTES
        with archive.open(entry) as stream:
            files[name] = stream.read(min(most, left) + 1)
        if len(files[name]) > most:
            raise _refused(name, f"unpacks to more than {most / 1e6:.0f} MB")
        left -= len(files[name])
        if left < 0:
            raise _refused("zip", f"unpacks to more than {MAX_UNPACKED_BYTES / 1e6:.0f} MB")
    return files


def _is_ours(name: str) -> bool:
    """Whether to unpack a file. A table under a name that none has is somebody's work: it is refused, not passed over."""
    if _OURS.fullmatch(name):
        return True
    folder, _, file = name.rpartition("/")
    if folder in ("", PARTS_FOLDER) and file.endswith((".csv", ".toml")) and not file.startswith("."):
        raise _refused(name[:80], "no file of a conversion is called so")
    return False


def _make_sure(entry: zipfile.ZipInfo) -> None:
    """A zip that tries to write elsewhere is refused whole, though nothing of it would be written there."""
    name = entry.filename.replace("\\", "/")
    shown = name.encode(errors="replace").decode()[:80]
    if name.startswith("/") or re.match(r"[A-Za-z]:", name) or ".." in name.split("/"):
        raise _refused(shown, "leads out of the zip; it is not opened")
    if entry.flag_bits & 1:
        raise _refused(shown, "is locked by a password; zip it without")
    if entry.external_attr >> 28 == 0xA:
        raise _refused(shown, "is a link; put the file itself into the zip")


def _top(entries: list[zipfile.ZipInfo]) -> str:
    """What stands before each name: nothing, or the folder in which the conversion's head file is. Raises InputError."""
    tops = sorted({entry.filename.removesuffix(HEAD_FILE) for entry in entries if Path(entry.filename).name == HEAD_FILE}, key=len)
    if not tops:
        raise _refused("zip", f"holds no conversion: there is no {HEAD_FILE} in it")
    if len(tops) > 1 and tops[0]:
        raise _refused("zip", "holds more than one conversion; send one at a time")
    return tops[0]


def from_workbook(data: bytes) -> Conversion:
    """The conversion in a workbook. Raises InputError."""
    if len(data) > MAX_WORKBOOK_BYTES:
        raise _refused("workbook", f"is {len(data) / 1e6:.0f} MB; none of a conversion is over {MAX_WORKBOOK_BYTES / 1e6:.0f} MB")
    with tempfile.TemporaryDirectory(prefix="halfshaft-") as place:
        path = Path(place) / "workbook.xlsx"
        path.write_bytes(data)
        return read_workbook(path)


def to_zip(conversion: Conversion) -> bytes:
    """Its folder as a zip, under a folder named after the job's ref; the same bytes for the same conversion."""
    return zip_of(folder_files(conversion), conversion.job.ref)


def zip_of(files: dict[str, bytes], folder: str) -> bytes:
    """Files as a zip of one folder; the same bytes for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in sorted(files):
            entry = zipfile.ZipInfo(f"{folder}/{name}", date_time=_SAME_DAY)
            entry.external_attr = 0o644 << 16
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, files[name])
    return out.getvalue()


def to_workbook(conversion: Conversion) -> bytes:
    """Its workbook; the same bytes for the same conversion."""
    return write_workbook(conversion)


def _refused(what: str, message: str) -> InputError:
    return InputError([Fault(file=what, message=message)])
