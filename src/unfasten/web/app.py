"""The server: a factory that joins the doors; nothing is made when this module is imported."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from threading import Lock

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

from unfasten import __version__
from unfasten.service.workspace import open_workspace
from unfasten.web import judge, lines, live, measuring, naming, pages, photos, records, signin, transfer
from unfasten.web.errors import add_handlers
from unfasten.web.guard import Guard, unexpected
from unfasten.web.room import Hub
from unfasten.web.settings import WebSettings

STATIC = Path(str(files("unfasten.web").joinpath("static")))


def make_app(settings: WebSettings) -> FastAPI:
    """Give the application for a workspace; it opens the workspace when it starts and closes it when it ends."""

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        with open_workspace(settings.folder, datetime.now(UTC)) as workspace:
            app.state.workspace = workspace
            workspace.store.accounts.sweep(datetime.now(UTC))
            app.state.loop = asyncio.get_running_loop()
            app.state.hub = Hub(workspace.store, settings.on)
            try:
                yield
            finally:
                await app.state.hub.stop()

    app = FastAPI(
        title="Unfasten",
        version=__version__,
        lifespan=lifespan,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        redirect_slashes=False,
    )
    app.state.settings = settings
    app.state.sign_in = Lock()
    add_handlers(app)
    app.add_exception_handler(Exception, unexpected)
    for door in (signin, records, lines, live, photos, measuring, naming, judge, transfer, pages):
        app.include_router(door.router)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_middleware(Guard, settings=settings)
    return app
