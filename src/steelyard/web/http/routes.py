"""Addresses: one line says the method, the path, who may use it, how much it takes, and its description.

An address of the interface for programs has a ``Told`` beside its handler; the description and its reference page are
made of these.

The guard reads the permission from the route that matches the request. A route that was declared in another way
cannot be served: ``declared`` refuses it when the station starts, and ``Address`` answers only what the guard let in.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from enum import Enum

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Match, Mount, NoMatchFound, Route
from starlette.types import ASGIApp, Receive, Scope, Send

from steelyard.web.http.told import Told
from steelyard.web.settings import API

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
"""Methods that change nothing."""

SMALL, PHOTO, DAY = 300_000, 5_300_000, 8_100_000
"""Bytes that the body of a request may have, each a little more than what the model takes."""


class May(Enum):
    """The rights to an address, in rising order: each includes those before it."""

    ANYONE = 0  # a device that is not paired yet
    LOOK = 1  # a device that is paired to look: it may read, and ask questions that change nothing
    WEIGH = 2  # a device that is paired to weigh, or a script with the token
    OWN = 3  # a browser or a script on the machine that runs the station


Handler = Callable[[Request], Awaitable[Response]]


class Address(Route):
    """One method at one path, with its permission.

    Attributes
    ----------
    may: who may use it. body: bytes that it takes. plain: whether a station that speaks TLS shows it without.
    told: its description for programs; None for what only people use.
    """

    def __init__(
        self, method: str, path: str, handler: Handler, *, may: May, body: int, plain: bool, told: Told | None
    ) -> None:
        super().__init__(path, handler, methods=[method])
        self.may, self.body, self.plain, self.told = may, body, plain, told

    async def handle(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request that the guard let in to this very address.

        Raises
        ------
        RuntimeError: the guard let it in elsewhere, or never saw it.
        """
        asked = scope["method"] in (self.methods or ())
        if asked and scope.get("state", {}).get("address") is not self:
            raise RuntimeError(f"nobody let this request in to {self.path}")
        await super().handle(scope, receive, send)


class Folder(Mount):
    """Files below one path, for reading. The attributes are those of ``Address``."""

    def __init__(self, path: str, app: ASGIApp, *, may: May, plain: bool) -> None:
        super().__init__(path, app)
        self.may, self.body, self.plain = may, SMALL, plain


def route(
    method: str,
    path: str,
    handler: Handler,
    *,
    may: May,
    body: int = SMALL,
    plain: bool = False,
    told: Told | None = None,
) -> BaseRoute:
    """Declare an address. ``body`` is the largest request in bytes; for the others see ``Address``."""
    return Address(method, path, handler, may=may, body=body, plain=plain, told=told)


def declared(routes: Sequence[BaseRoute]) -> list[Address | Folder]:
    """The routes, each with its permission.

    Raises
    ------
    TypeError: one was not declared by ``route`` or ``Folder``, so nobody knows who may use it; or it belongs to the
        interface for programs and has no description.
    """
    found: list[Address | Folder] = []
    for item in routes:
        if not isinstance(item, (Address, Folder)):
            raise TypeError(f"{item!r} does not say who may use it; declare it by route(..., may=...)")
        if isinstance(item, Address) and item.told is None and item.path.startswith(API):
            raise TypeError(f"{item.path} is not described; declare it by route(..., told=...)")
        found.append(item)
    return found


def paths_by_name(routes: Sequence[BaseRoute]) -> Callable[..., str]:
    """Makes the path of an address from the name of its handler and the parts that stand in the path.

    A page has dozens of links, and the router would ask every route for each of them. Raises ``NoMatchFound`` as the
    router does.
    """
    named: dict[str, list[Route]] = {}
    for item in routes:
        if isinstance(item, Route):
            named.setdefault(item.name, []).append(item)

    def path(name: str, /, **parts: object) -> str:
        fitting = (item for item in named.get(name, ()) if item.param_convertors.keys() == parts.keys())
        found = next(fitting, None)
        if found is None:
            raise NoMatchFound(name, parts)
        return found.url_path_for(name, **parts)

    return path


def matching(routes: Sequence[Address | Folder], scope: Scope) -> Address | Folder | None:
    """The route that will answer a request, chosen as the router chooses; None where nothing answers it."""
    return next((item for item in routes if item.matches(scope)[0] is Match.FULL), None)
