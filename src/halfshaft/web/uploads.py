"""What somebody sends, read by a process of its own: bounded in size, time and memory, so that a bad file harms nobody else."""

from __future__ import annotations

import io
import pickle
import sys
import zipfile
from multiprocessing import get_context
from multiprocessing.connection import Connection

from fastapi import Request

from halfshaft.errors import Fault, HalfshaftError, InputError
from halfshaft.model.conversion import Conversion
from halfshaft.records import carrying
from halfshaft.records.values import RecordError

MAX_UPLOAD_BYTES = 64_000_000
# A workbook of 2,000 wires is read in a few seconds.
MAX_READ_S = 120.0
MAX_MEMORY_BYTES = 4_000_000_000


async def sent(request: Request) -> bytes:
    """The body of a request, no more of it than may be."""
    data = bytearray()
    async for piece in request.stream():
        data += piece
        if len(data) > MAX_UPLOAD_BYTES:
            raise RecordError(f"this is more than {MAX_UPLOAD_BYTES // 1_000_000} MB, which no conversion is; nothing was kept")
    return bytes(data)


def read_apart(data: bytes) -> Conversion:
    """The conversion in the zip of a folder, or in a workbook. Raises InputError with every fault that was found."""
    context = get_context("spawn")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_read, args=(data, there), daemon=True)
    process.start()
    there.close()
    try:
        if not here.poll(MAX_READ_S):
            raise RecordError(f"this took more than {MAX_READ_S:.0f} s to read, which no conversion does; nothing was kept")
        found = here.recv()
    except EOFError:
        raise RecordError("this could not be read: its reader ended by itself, perhaps for want of memory; nothing was kept") from None
    finally:
        here.close()
        process.kill()
        process.join()
    if isinstance(found, bytes):
        conversion: Conversion = pickle.loads(found)
        return conversion
    if isinstance(found, list):
        raise InputError(found)
    raise RecordError(str(found))


def _read(data: bytes, out: Connection) -> None:
    """In the other process."""
    if sys.platform != "win32":
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MAX_MEMORY_BYTES, MAX_MEMORY_BYTES))
    answer: bytes | list[Fault] | str
    try:
        read = carrying.from_workbook if is_workbook(data) else carrying.from_zip
        answer = pickle.dumps(read(data))
    except InputError as error:
        answer = list(error.faults)
    except HalfshaftError as error:
        answer = str(error)
    out.send(answer)
    out.close()


def is_workbook(data: bytes) -> bool:
    """Both are zips: a workbook says so in its list of contents."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return "[Content_Types].xml" in archive.namelist()
    except zipfile.BadZipFile:
        return False
