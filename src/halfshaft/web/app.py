"""The app as a whole: its routes, its guard, and what it says when something goes wrong."""

from __future__ import annotations

from collections.abc import AsyncIterator
from concurrent.futures import Executor
from contextlib import asynccontextmanager

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

from halfshaft import __version__
from halfshaft.errors import HalfshaftError, InputError
from halfshaft.records.database import Database
from halfshaft.records.values import Moved, NotThere
from halfshaft.web import api, arranging, bench, boarding, doors, editing, merging, moving, pages
from halfshaft.web.assets import Assets
from halfshaft.web.jobs import Books
from halfshaft.web.running import Works
from halfshaft.web.security import LOOPBACK, Guard
from halfshaft.web.shelf import Shelf


def create_app(db: Database, pool: Executor, *, hosts: frozenset[str] = LOOPBACK, is_open: bool = True) -> FastAPI:
    """The app over one database; what takes long is worked out by `pool`. Where it is not open, whoever comes signs in."""

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        yield
        app.state.books.close()
        app.state.works.close()

    # The pages of FastAPI that show the API load their scripts from elsewhere, so they are not there.
    app = FastAPI(
        title="Halfshaft", version=__version__, openapi_url="/api/openapi.json", docs_url=None, redoc_url=None, lifespan=life,
        description="One electric conversion of a classic car: what was described, and everything that follows from it.",
    )  # fmt: skip
    app.state.shelf = Shelf(db, pool)
    app.state.books = Books()
    app.state.works = Works()
    assets = app.state.assets = Assets()

    @app.get("/static/{name:path}", include_in_schema=False, response_model=None)
    def static(name: str, request: Request) -> Response:
        return assets.answer(name, request)

    app.include_router(api.router)
    for hands in (editing, merging, moving, arranging, boarding, bench):
        app.include_router(hands.router)
    app.include_router(doors.router)
    app.include_router(bench.pages)
    app.include_router(pages.router)
    app.add_middleware(GZipMiddleware, minimum_size=2000, compresslevel=3)
    if not is_open:
        app.add_middleware(doors.Doors, db=db)
    app.add_middleware(Guard, hosts=hosts, numbers=not is_open)
    app.add_exception_handler(HalfshaftError, _wrong)
    app.add_exception_handler(RequestValidationError, _not_understood)
    app.add_exception_handler(HTTPException, _no_page)
    return app


def _wrong(request: Request, error: Exception) -> Response:
    if isinstance(error, InputError) and request.url.path.startswith("/api"):
        more = [{"file": item.file, "row": item.row, "column": item.column, "message": item.message} for item in error.faults]
        return JSONResponse({"wrong": str(error), "more": more}, status_code=400)
    status = 404 if isinstance(error, NotThere) else 409 if isinstance(error, Moved) else 400
    return _say(request, status, str(error))


def _not_understood(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    words = "; ".join(f"{'.'.join(map(str, item['loc']))}: {item['msg']}" for item in error.errors())
    return _say(request, 422, f"the request was not understood: {words}")


def _no_page(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    return _say(request, error.status_code, "there is no such page" if error.status_code == 404 else str(error.detail))


def _say(request: Request, status: int, words: str) -> Response:
    """A sentence: as JSON for a program, as a page for a person."""
    if request.url.path.startswith("/api"):
        return JSONResponse({"wrong": words}, status_code=status)
    return pages.render("wrong.html", request, status, words=words)
