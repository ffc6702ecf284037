"""Files by what they hold. What two revisions have in common is kept once; what is there is never written again."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Collection, Iterable, Mapping

from sqlalchemy import Connection, insert, select

from halfshaft.records.tables import blobs
from halfshaft.records.values import RecordError

# Databases bound how many values one question may hold.
_AT_ONCE = 500


def hash_of(data: bytes) -> str:
    """What a file is known by: the SHA-256 of what it holds."""
    return hashlib.sha256(data).hexdigest()


def tree_bytes(hashes: Mapping[str, str]) -> bytes:
    """The list of a folder's files with the hash of each, in the order of their names: itself kept like a file."""
    return "".join(f"{hashes[name]} {name}\n" for name in sorted(hashes)).encode()


def tree_of(data: bytes) -> dict[str, str]:
    """The hash of each file, by its name, from such a list."""
    rows = (line.partition(" ") for line in data.decode().splitlines())
    return {name: digest for digest, _, name in rows}


def put(connection: Connection, data: Iterable[bytes]) -> None:
    """Keep files; those that are there already stay as they are."""
    by_hash = {hash_of(item): item for item in data}
    here = _here(connection, by_hash)
    new = [{"hash": key, "data": zlib.compress(item)} for key, item in by_hash.items() if key not in here]
    if new:
        connection.execute(insert(blobs), new)


def _here(connection: Connection, hashes: Collection[str]) -> set[str]:
    return {key for some in _in_pieces(hashes) for key in connection.execute(select(blobs.c.hash).where(blobs.c.hash.in_(some))).scalars()}


def get(connection: Connection, hashes: Collection[str]) -> dict[str, bytes]:
    """Files by their hash. Raises RecordError where one is not there, or is not what it was."""
    found = {
        row.hash: zlib.decompress(row.data)
        for some in _in_pieces(hashes)
        for row in connection.execute(select(blobs).where(blobs.c.hash.in_(some)))
    }
    for key in hashes:
        if hash_of(found.get(key, b"")) != key:
            raise RecordError(f"the database is damaged: file {key[:12]} is {'not what it was' if key in found else 'missing'}")
    return found


def _in_pieces(hashes: Collection[str]) -> Iterable[list[str]]:
    every = list(dict.fromkeys(hashes))
    return (every[start : start + _AT_ONCE] for start in range(0, len(every), _AT_ONCE))
