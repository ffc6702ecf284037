"""A folder is written whole or not at all, and never over another."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from halfshaft.errors import OutputError
from halfshaft.files.folder import folder_files, read_folder, write_folder
from halfshaft.files.whole import put_files, write_file, write_whole
from halfshaft.model.conversion import Conversion


def everything_in(folder: Path) -> dict[str, bytes | None]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None for path in sorted(folder.rglob("*"))}


def test_a_folder_with_something_in_it_is_left_as_it_is(tern: Conversion, tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "wires.csv").write_text("my own work")
    before = everything_in(tmp_path)
    with pytest.raises(OutputError, match="mine is there already"):
        write_folder(tern, folder)
    assert everything_in(tmp_path) == before


def test_a_file_is_left_as_it_is(tern: Conversion, tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("my own work")
    with pytest.raises(OutputError, match="mine is there already"):
        write_folder(tern, tmp_path / "mine")
    assert everything_in(tmp_path) == {"mine": b"my own work"}


def test_an_empty_folder_is_filled(tern: Conversion, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    write_folder(tern, tmp_path / "mine")
    assert read_folder(tmp_path / "mine") == tern


def test_folders_on_the_way_are_made(pedal: Conversion, tmp_path: Path) -> None:
    write_folder(pedal, tmp_path / "cars" / "2026" / "tern")
    assert [path.name for path in tmp_path.iterdir()] == ["cars"]
    assert read_folder(tmp_path / "cars" / "2026" / "tern") == pedal


def test_a_folder_can_be_entered_and_read_by_others(pedal: Conversion, tmp_path: Path) -> None:
    """It is first made under a name of its own, which only its maker may enter."""
    write_folder(pedal, tmp_path / "tern")
    assert (tmp_path / "tern").stat().st_mode & 0o777 == 0o755


@pytest.mark.parametrize("written", [0, 1, 40, 60])
def test_a_full_disk_leaves_nothing(tern: Conversion, tmp_path: Path, written: int, monkeypatch: pytest.MonkeyPatch) -> None:
    assert written < len(folder_files(tern))
    left = [written]
    write_bytes = Path.write_bytes

    def until_full(path: Path, data: bytes) -> int:
        if not left[0]:
            raise OSError(errno.ENOSPC, "No space left on device")
        left[0] -= 1
        return write_bytes(path, data)

    (tmp_path / "notes.txt").write_text("my own work")
    before = everything_in(tmp_path)
    monkeypatch.setattr(Path, "write_bytes", until_full)
    with pytest.raises(OutputError, match="tern could not be written: No space left on device"):
        write_folder(tern, tmp_path / "tern")
    assert left == [0]
    assert everything_in(tmp_path) == before


@pytest.mark.parametrize("error", [OSError(errno.EXDEV, "Invalid cross-device link"), KeyboardInterrupt()], ids=["disk", "Ctrl-C"])
def test_a_stop_before_the_last_step_leaves_nothing(
    pedal: Conversion, tmp_path: Path, error: BaseException, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object) -> None:
        raise error

    monkeypatch.setattr(Path, "rename", stop)
    with pytest.raises((OutputError, KeyboardInterrupt)):
        write_folder(pedal, tmp_path / "tern")
    assert everything_in(tmp_path) == {}


def test_a_name_that_no_disk_takes(pedal: Conversion, tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="could not be written: File name too long"):
        write_folder(pedal, tmp_path / ("x" * 5000))
    assert everything_in(tmp_path) == {}


# --- a folder that may be replaced, such as the last build book ----------------------------------------------------------

OLD = {"book.toml": b"old", "pages/1.pdf": b"old page"}
NEW = {"book.toml": b"new", "pages/2.pdf": b"new page"}


@pytest.fixture
def book(tmp_path: Path) -> Path:
    write_whole(OLD, tmp_path / "book")
    return tmp_path / "book"


def files_in(folder: Path) -> dict[str, bytes]:
    return {name: data for name, data in everything_in(folder).items() if data is not None}


def test_one_of_ours_is_replaced_whole(book: Path) -> None:
    write_whole(NEW, book, replaces="book.toml")
    assert files_in(book.parent) == {f"book/{name}": data for name, data in NEW.items()}


def test_one_that_is_not_ours_is_not_replaced(book: Path) -> None:
    with pytest.raises(OutputError, match=r"it holds no index\.toml, so it is not ours to replace"):
        write_whole(NEW, book, replaces="index.toml")
    assert files_in(book) == OLD


@pytest.mark.parametrize("error", [OSError(errno.EIO, "Input/output error"), KeyboardInterrupt()], ids=["disk", "Ctrl-C"])
def test_a_stop_in_the_middle_of_the_swap_puts_the_old_one_back(book: Path, error: BaseException, monkeypatch: pytest.MonkeyPatch) -> None:
    rename = Path.rename

    def stop(path: Path, target: Path) -> Path:
        if path.name == "new":
            raise error
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", stop)
    with pytest.raises((OutputError, KeyboardInterrupt)):
        write_whole(NEW, book, replaces="book.toml")
    assert files_in(book.parent) == {f"book/{name}": data for name, data in OLD.items()}


def test_an_old_one_that_cannot_be_put_back_is_not_cleared_away(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rename = Path.rename

    def once(path: Path, target: Path) -> Path:
        if path != book:
            raise OSError(errno.EIO, "Input/output error")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", once)
    with pytest.raises(OutputError, match="Input/output error; what stood there is now ") as caught:
        write_whole(NEW, book, replaces="book.toml")
    assert files_in(Path(str(caught.value).split("what stood there is now ")[1])) == OLD


def test_a_single_file_is_not_written_over_another(tmp_path: Path) -> None:
    (tmp_path / "tern.xlsx").write_bytes(b"my own work")
    with pytest.raises(OutputError, match=r"tern\.xlsx is there already"):
        write_file(b"new", tmp_path / "tern.xlsx")
    assert everything_in(tmp_path) == {"tern.xlsx": b"my own work"}


def test_a_single_file_on_a_full_disk_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(path: Path, data: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OutputError, match="No space left on device; nothing has changed"):
        write_file(b"new", tmp_path / "tern.xlsx")
    assert everything_in(tmp_path) == {}


def test_files_are_put_over_others_and_taken_out_in_folders_too(tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    write_whole({"a.csv": b"old", "parts/P1.toml": b"old", "parts/P2.toml": b"stays", "note.txt": b"mine"}, folder)
    put_files({"a.csv": b"new", "parts/P3.toml": b"new"}, folder, remove=["parts/P1.toml", "never-there.csv"])
    assert everything_in(folder) == {
        "a.csv": b"new", "note.txt": b"mine", "parts": None, "parts/P2.toml": b"stays", "parts/P3.toml": b"new",
    }  # fmt: skip
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]


def test_a_refusal_half_way_puts_everything_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "mine"
    write_whole({"a.csv": b"old", "b.csv": b"old", "parts/P1.toml": b"old"}, folder)
    before = everything_in(tmp_path)
    rename = Path.rename

    def full(self: Path, target: Path) -> Path:
        if self.name == "P1.toml" and "last" in Path(target).parts:
            raise OSError(errno.ENOSPC, "No space left on device")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", full)
    with pytest.raises(OutputError, match="nothing has changed"):
        put_files({"a.csv": b"new", "c.csv": b"new"}, folder, remove=["b.csv", "parts/P1.toml"])
    assert everything_in(tmp_path) == before
