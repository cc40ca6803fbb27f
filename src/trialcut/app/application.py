"""The web application: pages for people, the same work as JSON for programs, and the one error shape."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from platformdirs import user_cache_path
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

from trialcut import __version__
from trialcut.app import api, api_studies
from trialcut.app.desk import Desk
from trialcut.app.entry import Entry
from trialcut.app.faults import error_body, fault_of, status_of
from trialcut.app.gate import Gate
from trialcut.app.guard import Guard
from trialcut.app.packing import AS_THEY_ARE, LEAST, PAGE_LEVEL, PackedFiles
from trialcut.app.people import ROUTERS
from trialcut.app.people.throttle import Throttle
from trialcut.app.roles import admitted
from trialcut.app.sections import (
    expect,
    fits,
    invest,
    jobs,
    look,
    papers,
    part,
    plan,
    saving,
    shop,
    studies,
    style,
    trials,
)
from trialcut.app.shop_shelf import ShopShelf
from trialcut.app.store import DrawingStore
from trialcut.app.views import render
from trialcut.app.workroom import Workroom
from trialcut.errors import TrialcutError
from trialcut.records import Book
from trialcut.records.jobs import STALE

SECTIONS = (style, studies, saving, part, expect, look, trials, fits, plan, papers, jobs, shop, invest)
STATIC = Path(__file__).parent / "static"

_DESCRIPTION = (
    "Costed cut plans with honest odds, for programs on this machine. "
    "All values are SI. Every error is {code, message, facts}."
)


def create_app(
    *,
    shelf: ShopShelf,
    book: Book,
    folder: Path | None = None,
    entry: Entry | None = None,
    stale: float = STALE,
) -> FastAPI:
    """
    The application over one shop and its book.

    Parameters
    ----------
    shelf : ShopShelf
        What the cell has.
    book : Book
        Open; whoever opened it closes it, after the application has ended.
    folder : Path, optional
        Where drawings of the book lie at hand; the user's own cache folder if None.
    entry : Entry, optional
        Who may come in; the person at this machine alone if None.
    stale : float
        How long the worker of another server may be silent before its job is taken. [s]

    Returns
    -------
    FastAPI
        Ready to be served.
    """
    store = DrawingStore(folder or user_cache_path("trialcut", appauthor=False) / "drawings")
    room = Workroom(Desk(shelf, book, store), stale=stale)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        room.open()
        yield
        room.close()

    app = FastAPI(
        title="Trialcut",
        version=__version__,
        description=_DESCRIPTION,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=lifespan,
        dependencies=[Depends(admitted)],
    )
    entry = entry or Entry()
    app.state.room, app.state.entry, app.state.throttle = room, entry, Throttle()
    app.add_middleware(
        GZipMiddleware, minimum_size=LEAST, compresslevel=PAGE_LEVEL, exclude_content_types=AS_THEY_ARE
    )
    app.add_middleware(Gate, book=book, entry=entry)
    app.add_middleware(Guard, names=entry.answered)
    app.include_router(api.router)
    app.include_router(api_studies.router)
    for section in SECTIONS:
        app.include_router(section.router)
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", PackedFiles(directory=STATIC), name="static")
    app.add_exception_handler(TrialcutError, _told)
    app.add_exception_handler(HTTPException, _not_there)
    app.add_exception_handler(RequestValidationError, _not_valid)
    return app


def _told(request: Request, error: Exception) -> Response:
    assert isinstance(error, TrialcutError)
    if request.url.path.startswith("/api/"):
        return JSONResponse(error_body(error), status_code=status_of(error))
    return render(request, "fault.html", {"fault": fault_of(error)}, status=status_of(error))


def _not_there(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    known = {404: "there is nothing at this address", 405: "this address does not take such a request"}
    message = known.get(error.status_code, str(error.detail))
    told = _told_as(request, error.status_code, f"http-{error.status_code}", message, {})
    told.headers.update(error.headers or {})
    return told


def _not_valid(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    problems = [
        f"{'.'.join(str(piece) for piece in each['loc'][1:]) or 'body'}: {each['msg']}"
        for each in error.errors()
    ]
    return _told_as(request, 400, "request", problems[0], {"problems": problems})


def _told_as(request: Request, status: int, code: str, message: str, facts: dict[str, list[str]]) -> Response:
    if request.url.path.startswith("/api/"):
        return JSONResponse({"code": code, "message": message, "facts": facts}, status_code=status)
    fault = {"field": "", "message": message, "code": code}
    return render(request, "fault.html", {"fault": fault}, status=status)
