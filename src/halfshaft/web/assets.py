"""The files that pages load: a table made once from the package, so that no path of a request ever reaches the disk."""

from __future__ import annotations

import gzip
import hashlib
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from fastapi import Request, Response

ROOT = Path(__file__).parent / "static"
TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".woff2": "font/woff2",
    ".md": "text/plain; charset=utf-8",
    ".svg": "image/svg+xml",
    "": "text/plain; charset=utf-8",
}
PACKED = (".css", ".js")


@dataclass
class Asset:
    """One file, read when it is first asked for."""

    path: Path

    @cached_property
    def data(self) -> bytes:
        """Its bytes."""
        return self.path.read_bytes()

    @cached_property
    def packed(self) -> bytes | None:
        """The same, made smaller for the way."""
        return gzip.compress(self.data, 6, mtime=0) if self.path.suffix in PACKED else None

    @cached_property
    def tag(self) -> str:
        """Its entity tag."""
        return f'"{hashlib.sha256(self.data).hexdigest()[:16]}"'


class Assets:
    """All of them, by their name in an address."""

    def __init__(self) -> None:
        paths = sorted(path for path in ROOT.rglob("*") if path.is_file() and not path.name.startswith("."))
        self._by_name = {path.relative_to(ROOT).as_posix(): Asset(path) for path in paths}

    def answer(self, name: str, request: Request) -> Response:
        """The file, or that it has not changed, or that there is none."""
        asset = self._by_name.get(name)
        if asset is None:
            return Response("there is no such file", status_code=404, media_type="text/plain")
        headers = {"cache-control": "no-cache", "etag": asset.tag, "vary": "accept-encoding"}
        if request.headers.get("if-none-match") == asset.tag:
            return Response(status_code=304, headers=headers)
        kind = TYPES.get(asset.path.suffix, "application/octet-stream")
        if asset.packed is not None and "gzip" in request.headers.get("accept-encoding", ""):
            return Response(asset.packed, media_type=kind, headers={**headers, "content-encoding": "gzip"})
        return Response(asset.data, media_type=kind, headers=headers)
