"""Files put in place whole or not at all: written aside first, then swapped in."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Collection, Mapping
from pathlib import Path

from halfshaft.errors import OutputError


def write_whole(files: Mapping[str, bytes], folder: Path, *, replaces: str | None = None) -> None:
    """Write files as one folder.

    A folder that stands there and is not empty is refused; with `replaces` it is replaced where it holds a file of
    that name, and stays until the new one is whole.

    Raises OutputError where something else stands there or the disk refuses; then nothing has changed.
    """
    aside: Path | None = None
    try:
        if folder.exists() and not _may_go(folder, replaces):
            what = "is there already; choose a new name, or move it away"
            raise OutputError(
                f"{folder} {what}" if replaces is None else f"{folder} {what}: it holds no {replaces}, so it is not ours to replace"
            )
        folder.parent.mkdir(parents=True, exist_ok=True)
        aside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
        fresh, last = aside / "new", aside / "last"
        fresh.mkdir(mode=0o755)
        for name, data in files.items():
            path = fresh / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        _swap(fresh, folder, last)
    except OSError as error:
        outcome = "nothing has changed" if not _is_stranded(folder, aside) else f"what stood there is now {aside}/last"
        raise OutputError(f"{folder} could not be written: {error.strerror or error}; {outcome}") from None
    finally:
        if aside is not None and not _is_stranded(folder, aside):
            shutil.rmtree(aside, ignore_errors=True)


def make_sure(folder: Path, *, replaces: str | None = None) -> None:
    """Ask before the work is done whether a folder may be written.

    Raises OutputError where something stands there that is not ours to replace.
    """
    if folder.exists() and not _may_go(folder, replaces):
        why = f": it holds no {replaces}, so it is not ours to replace" if replaces else ""
        raise OutputError(f"{folder} is there already; choose a new name, or move it away{why}")


def write_file(data: bytes, path: Path) -> None:
    """Write one file that is not there yet.

    Raises OutputError where something stands there or the disk refuses; then nothing has changed.
    """
    aside: Path | None = None
    try:
        if path.exists():
            raise OutputError(f"{path} is there already; choose a new name, or move it away")
        aside = Path(tempfile.mkdtemp(prefix=f".{path.name}.", dir=path.parent))
        (aside / "new").write_bytes(data)
        (aside / "new").rename(path)
    except OSError as error:
        raise OutputError(f"{path} could not be written: {error.strerror or error}; nothing has changed") from None
    finally:
        if aside is not None:
            shutil.rmtree(aside, ignore_errors=True)


def put_files(files: Mapping[str, bytes], folder: Path, *, remove: Collection[str] = ()) -> None:
    """Write some files into a folder that is there, over those of the same name, and take others out; the rest stay as they are.

    Names are paths in the folder. Raises OutputError where the disk refuses; then nothing has changed.
    """
    aside: Path | None = None
    try:
        aside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
        for name, data in files.items():
            _beside(aside / "new" / name).write_bytes(data)
        _put_each([*files, *remove], aside, folder)
    except OSError as error:
        raise OutputError(f"{folder} could not be written: {error.strerror or error}; nothing has changed") from None
    finally:
        if aside is not None:
            shutil.rmtree(aside, ignore_errors=True)


def _put_each(names: list[str], aside: Path, folder: Path) -> None:
    done: list[str] = []
    try:
        for name in names:
            if (folder / name).exists():
                (folder / name).rename(_beside(aside / "last" / name))
            done.append(name)
            if (aside / "new" / name).exists():
                (aside / "new" / name).rename(_beside(folder / name))
    except BaseException:  # whoever is interrupted here wants the old files back no less than after a refusal
        for name in done:
            (folder / name).unlink(missing_ok=True)
            if (aside / "last" / name).exists():
                (aside / "last" / name).rename(folder / name)
        raise


def _beside(path: Path) -> Path:
    """The same path, once its folder is there."""
    path.parent.mkdir(parents=True, exist_ok=True)
    return path


def _may_go(folder: Path, replaces: str | None) -> bool:
    if not folder.is_dir():
        return False
    return not any(folder.iterdir()) or (replaces is not None and (folder / replaces).is_file())


def _is_stranded(folder: Path, aside: Path | None) -> bool:
    """Whether the folder that was to be replaced stands aside and could not be moved back: then it must not be cleared away."""
    return aside is not None and (aside / "last").exists() and not folder.exists()


def _swap(fresh: Path, folder: Path, last: Path) -> None:
    if folder.exists():
        folder.rename(last)
    try:
        fresh.rename(folder)
    except BaseException:  # whoever is interrupted here wants the old folder back no less than after a refusal
        if last.exists():
            last.rename(folder)
        raise
