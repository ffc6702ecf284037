"""A conversion put into files by what they hold. Of one that is much like another that is kept, only what differs is written out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import Connection

from halfshaft.files.folder import folder_files
from halfshaft.files.layout import tables_of
from halfshaft.model.conversion import Conversion
from halfshaft.records import blobs
from halfshaft.records.reads import changed_tables


@dataclass(frozen=True, kw_only=True, slots=True)
class Packed:
    """A conversion ready to be kept: the hash of its list of files, the list, and the files that may be new."""

    conversion: Conversion
    tree: str
    hashes: Mapping[str, str]
    fresh: tuple[bytes, ...]


def pack(conversion: Conversion) -> Packed:
    """All files of a conversion."""
    return _packed(conversion, {}, folder_files(conversion))


def pack_like(conversion: Conversion, like: Conversion, hashes: Mapping[str, str]) -> Packed:
    """The files of a conversion, given one that is kept and the hashes of its files."""
    tables = set(changed_tables(like, conversion))
    same = {name: digest for name, digest in hashes.items() if tables.isdisjoint(tables_of(name))}
    return _packed(conversion, same, folder_files(conversion, tables) if tables else {})


def _packed(conversion: Conversion, same: Mapping[str, str], files: Mapping[str, bytes]) -> Packed:
    hashes = {**same, **{name: blobs.hash_of(data) for name, data in files.items()}}
    tree = blobs.tree_bytes(hashes)
    return Packed(conversion=conversion, tree=blobs.hash_of(tree), hashes=hashes, fresh=(*files.values(), tree))


def keep(connection: Connection, packed: Packed) -> None:
    """Keep what is not kept yet."""
    blobs.put(connection, packed.fresh)
