"""Signing in, where the app answers to others: who is there, what they may do, and that a form came from their own page."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qs, quote

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse

from halfshaft.records import people
from halfshaft.records.database import Database
from halfshaft.records.values import RecordError, Role, Session, TooManyAttempts
from halfshaft.web.security import SAFE
from halfshaft.web.shelf import HERE, now

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

COOKIE = "halfshaft"
# Tells the drafts of one browser from those of another, where nobody signs in.
BROWSER = "browser"
SIGN_IN, SIGN_OUT = "/sign-in", "/sign-out"
# What a form must show: this header with the word that stands in the page.
WORD = "x-csrf"
# The form of the first page is read whole; it is never longer than this.
MAX_FORM_BYTES = 4_000
OPEN = ("/static/", SIGN_IN)
LOOKING = ("/book", "/try", "/arrange")
BENCH_STEP = re.compile(r"/api/conversions/[^/]+/bench/[^/]+/[^/]+/steps")

router = APIRouter(include_in_schema=False)


class Doors:
    """Lets in who is signed in; sends everybody else to the page where that is done."""

    def __init__(self, app: ASGIApp, db: Database) -> None:
        self.app = app
        self.db = db

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http" or scope["path"].startswith(OPEN):
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        session = await run_in_threadpool(self._session, request.cookies.get(COOKIE, ""))
        refusal = _away(request) if session is None else _refusal(request, session)
        if refusal is not None:
            await refusal(scope, receive, send)
            return
        scope.setdefault("state", {})["session"] = session
        await self.app(scope, receive, send)

    def _session(self, token: str) -> Session | None:
        return people.session(self.db, token, at=now()) if token else None


def _away(request: Request) -> Response:
    """To the page of signing in, and from there back."""
    if request.url.path.startswith("/api"):
        return JSONResponse(
            {"wrong": "You are not signed in, or no longer. Open the app again and sign in; nothing was changed."}, status_code=401
        )
    target = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return RedirectResponse(f"{SIGN_IN}?to={quote(target)}", status_code=303)


def _refusal(request: Request, session: Session) -> Response | None:
    """Why a request that changes something is not taken; None where it is."""
    if request.method in SAFE:
        return None
    if not people.is_csrf(session, request.headers.get(WORD, "")):
        return JSONResponse({"wrong": "This did not come from a page of yours; load the page again. Nothing was changed."}, status_code=403)
    needed = needed_for(request.url.path)
    if not people.may(session.account.role, needed):
        words = f"Your account may {session.account.role}, and this needs one that may {needed}. Nothing was changed."
        return JSONResponse({"wrong": words}, status_code=403)
    return None


def needed_for(path: str) -> Role:
    """What one must be allowed to send something to an address: to make a book, to try what keeps nothing, or to sign out, is only to look; what is said at the bench is to build."""
    if path == SIGN_OUT or path.endswith(LOOKING):
        return "look"
    return "build" if BENCH_STEP.fullmatch(path) else "design"


def session_of(request: Request) -> Session | None:
    """Who is signed in; None where nobody need be."""
    found: Session | None = getattr(request.state, "session", None)
    return found


def by_of(request: Request) -> str:
    """The name to write beside what is done."""
    session = session_of(request)
    return session.account.name if session else HERE


def editor_of(request: Request) -> str:
    """Whose drafts to show: of whoever is signed in; on a computer without accounts, those of this browser. Blank where there are none."""
    session = session_of(request)
    if session:
        return session.account.name
    browser = request.cookies.get(BROWSER, "")
    return f"{HERE}, browser {browser}" if re.fullmatch(r"[0-9a-f]{16}", browser) else ""


@router.get(SIGN_IN, response_model=None)
def ask(request: Request) -> Response:
    """The page where one signs in."""
    return _page(request, 200, to=_inside(request.query_params.get("to", "/")))


@router.post(SIGN_IN, response_model=None)
async def sign_in(request: Request) -> Response:
    """Take name and password."""
    form = await _form(request)
    to = _inside(form.get("to", "/"))
    address = request.client.host if request.client else ""
    db: Database = request.app.state.shelf.db
    try:
        session = await run_in_threadpool(
            people.sign_in, db, form.get("name", ""), form.get("password", ""), address=address, at=now()
        )  # fmt: skip
    except RecordError as error:
        status = 429 if isinstance(error, TooManyAttempts) else 403
        return await run_in_threadpool(_page, request, status, to=to, wrong=str(error))
    answer = RedirectResponse(to, status_code=303)
    answer.set_cookie(COOKIE, session.token, httponly=True, samesite="strict", secure=request.url.scheme == "https", path="/")
    return answer


@router.post(SIGN_OUT, response_model=None)
def sign_out(request: Request) -> Response:
    """End the session."""
    people.sign_out(request.app.state.shelf.db, request.cookies.get(COOKIE, ""))
    answer = JSONResponse({"to": SIGN_IN})
    answer.delete_cookie(COOKIE, path="/")
    return answer


async def _form(request: Request) -> dict[str, str]:
    data = bytearray()
    async for piece in request.stream():
        data += piece
        if len(data) > MAX_FORM_BYTES:
            raise RecordError("this is more than a name and a password")
    return {name: values[-1] for name, values in parse_qs(data.decode("utf-8", "replace")).items()}


def _inside(target: str) -> str:
    """Where to go on: an address of this app and no other."""
    return target if target.startswith("/") and not target.startswith(("//", "/\\")) else "/"


def _page(request: Request, status: int, *, to: str, wrong: str = "") -> Response:
    from halfshaft.web.pages import render

    values: dict[str, Any] = {"to": to, "wrong": wrong}
    return render("sign_in.html", request, status, **values)
