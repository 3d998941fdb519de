"""The app: routes, guards and answers to errors, put together."""

from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from importlib import import_module

from fastapi import APIRouter, Depends, FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import Route

from ramet.services.once import forget_old_tokens
from ramet.web import assets
from ramet.web.access import Access, owner_only
from ramet.web.config import WebConfig
from ramet.web.desk import Office
from ramet.web.guards import Guards
from ramet.web.planners import Planners
from ramet.web.troubles import answer_troubles

OWNER_PAGES = (
    "today",
    "first_run",
    "importing",
    "recording",
    "stock",
    "piece_photos",
    "tanks",
    "shipment_editor",  # before "shipments", whose addresses would take "new" for a name
    "shipments",
    "boxes",
    "journey",
    "receiving",
    "packing",
    "swapping",
    "sending",
    "results",
    "calendar",
    "settings",
    "backup",
)
"""Modules in `pages` that only the owner reaches; each has `routes`."""
OPEN_PAGES = ("door", "opening")
"""Modules in `pages` that anybody reaches; each sees to itself who may see what."""


def create_app(config: WebConfig) -> FastAPI:
    """Return the app over one ledger."""
    office = Office(config)
    planners = Planners(office)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        planners.start()
        yield
        planners.close()
        office.books.close()

    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, lifespan=lifespan)
    app.state.office, app.state.planners = office, planners
    app.state.access = Access(config, office.files)
    forget_old_tokens(office.files)
    app.include_router(assets.routes)
    open_routes, owner_routes = _routers(OPEN_PAGES), _routers(OWNER_PAGES)
    for routes in open_routes:
        app.include_router(routes)
    for routes in owner_routes:
        app.include_router(routes, dependencies=[Depends(owner_only)])
    app.state.addresses = _addresses(owner_routes)
    answer_troubles(app)
    app.add_middleware(GZipMiddleware, minimum_size=600, compresslevel=6)
    app.add_middleware(Guards, config=config)
    return app


def _routers(names: Sequence[str]) -> list[APIRouter]:
    return [import_module(f"ramet.web.pages.{name}").routes for name in names]


def _addresses(routers: Sequence[APIRouter]) -> frozenset[str]:
    """Return the addresses of pages without a name in them: what the list of pages may lead to."""
    return frozenset(route.path for router in routers for route in router.routes if isinstance(route, Route))
