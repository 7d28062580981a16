"""Every address as every role by every method, from the running app; the table they are held to lies in a file.

``tests/released/addresses.txt`` says who may use what. What a role may do with it is written out here once.
"""

from __future__ import annotations

import asyncio
import json
import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse, Response
from starlette.routing import NoMatchFound, Route, Router
from starlette.types import Receive, Scope, Send

from steelyard.web import Settings, create_app
from steelyard.web.app import addresses
from steelyard.web.http import routes as declaring
from steelyard.web.http.routes import DAY, PHOTO, SMALL, Address, Folder, May, declared, paths_by_name
from tests.web.house import HERE_ORIGIN, LAN_ORIGIN, House, Role, ask, open_house
from tests.web.serving import EXAMPLE, ROOT, TOKEN

TABLE = ROOT / "tests" / "released" / "addresses.txt"
METHODS = ("GET", "HEAD", "OPTIONS", "POST", "PUT", "PATCH", "DELETE", "TRACE", "PROPFIND")
SAFE = ("GET", "HEAD", "OPTIONS")
BODIES = {SMALL: "small", PHOTO: "photo", DAY: "day"}

READ = frozenset({"anyone", "look"})
WRITE = READ | {"weigh"}
OWN = WRITE | {"own"}
NONE: frozenset[str] = frozenset()


ROLES = (
    Role("a program on this machine that shows nothing", True, READ, NONE),
    Role("a page on this machine before its session", True, READ, frozenset({"anyone"}), origin=HERE_ORIGIN),
    Role("a browser on this machine", True, OWN, OWN, session="here", origin=HERE_ORIGIN),
    Role("a foreign page in that browser", True, OWN, NONE, session="here", origin="http://evil.example"),
    Role("a script on this machine", True, OWN, OWN, token=TOKEN),
    Role("a script on this machine with a wrong token", True, NONE, NONE, token="wrong"),
    Role("a reader on this machine", True, READ, READ, session="look", origin=HERE_ORIGIN),
    Role("a weigher's cookie on this machine", True, OWN, OWN, session="weigh", origin=HERE_ORIGIN),
    Role("a stranger on the network", False, frozenset({"anyone"}), frozenset({"anyone"}), origin=LAN_ORIGIN),
    Role("a reader", False, READ, READ, session="look", origin=LAN_ORIGIN),
    Role("a foreign page in a reader's browser", False, READ, NONE, session="look", origin="http://evil.example"),
    Role("a weigher", False, WRITE, WRITE, session="weigh", origin=LAN_ORIGIN),
    Role("a foreign page in a weigher's browser", False, WRITE, NONE, session="weigh", origin="null"),
    Role("this machine's cookie elsewhere", False, frozenset({"anyone"}), frozenset({"anyone"}), session="here",
         origin=LAN_ORIGIN),
    Role("a script on the network", False, WRITE, WRITE, token=TOKEN),
    Role("a script on the network with a wrong token", False, NONE, NONE, token=""),
)  # fmt: skip


def table() -> Iterator[tuple[str, str, str, str, str]]:
    """The lines of the file: who, method, body, plain, address."""
    for line in TABLE.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            who, method, body, plain, address = line.split()
            yield who, method, body, plain, address


def test_the_addresses_are_those_of_the_table() -> None:
    served = {
        (item.may.name.lower(), method, BODIES[item.body], "plain" if item.plain else "-", item.path)
        for item in addresses()
        for method in (["any"] if isinstance(item, Folder) else sorted((item.methods or set()) - {"HEAD"}))
    }
    assert served == set(table())


def test_an_address_that_does_not_say_who_may_use_it_cannot_be_declared(tmp_path: Path) -> None:
    async def handler(request: object) -> Response:
        del request
        return PlainTextResponse("open")

    with pytest.raises(TypeError, match="may"):
        declaring.route("GET", "/x", handler)  # pyright: ignore[reportCallIssue]
    with pytest.raises(TypeError, match="does not say who may use it"):
        declared([Route("/x", handler, methods=["GET"])])
    settings = Settings(store=tmp_path / "station.db")
    monkey = pytest.MonkeyPatch()
    with monkey.context() as patched:
        patched.setattr("steelyard.web.api.yard.routes", [Route("/x", handler)])
        patched.setattr("steelyard.web.api.days.routes", [Route("/x", handler)])
        with pytest.raises(TypeError, match="does not say who may use it"):
            create_app(settings)


def test_an_address_answers_nothing_that_the_guard_did_not_let_in_there() -> None:
    async def handler(request: object) -> Response:
        del request
        return PlainTextResponse("open")

    one, other = (Address("GET", "/x", handler, may=May.OWN, body=SMALL, plain=False, told=None) for _ in range(2))
    for let_in in (None, other):
        with pytest.raises(RuntimeError, match="nobody let this request in to /x"):
            asyncio.run(ask(Starlette(routes=[one]), "GET", "/x", {}, here=True, state={"address": let_in}))
    assert asyncio.run(ask(Starlette(routes=[one]), "GET", "/x", {}, here=True, state={"address": one}))[0] == 200


# -- every address, every method, every role -------------------------------------------------------------------------


@pytest.fixture(name="house")
def _house(tmp_path: Path) -> Iterator[House]:
    with open_house(tmp_path) as house:
        yield house


def refused(status: int, headers: dict[str, str], body: bytes) -> bool:
    """Whether an answer is the guard's."""
    if status == 303 and headers.get("location") == "/pair":
        return True
    codes = {"who_are_you", "foreign_page", "may_only_look", "not_here", "slow_down"}
    return status in (401, 403, 429) and json.loads(body)["error"]["code"] in codes


@pytest.mark.parametrize("role", ROLES, ids=lambda role: role.name)
def test_each_role_reaches_what_it_may_and_nothing_else(
    house: House, role: Role, monkeypatch: pytest.MonkeyPatch
) -> None:
    reached: list[str] = []

    async def handle(self: Route, scope: Scope, receive: Receive, send: Send) -> None:
        asked = scope["method"] in (self.methods or ())
        assert scope["state"]["address"] is (self if asked else None)
        reached.extend([self.path] if asked else [])
        await PlainTextResponse("", 200 if asked else 405)(scope, receive, send)

    monkeypatch.setattr(Route, "handle", handle)  # what ``Address.handle`` goes on to
    listed = {(method, address): who for who, method, _, _, address in table()}
    paths = [*sorted({address for _, address in listed} - {"/static"}), "/nothing", "/api/v1/nothing/plan"]

    async def sweep() -> list[str]:
        wrong: list[str] = []
        for path in paths:
            target = re.sub(r"{\w+}", "plan", path)
            for method in METHODS:
                may = role.safe if method in SAFE else role.unsafe
                who = listed.get(("GET" if method == "HEAD" else method, path))
                reached.clear()
                answer = await ask(house.app, method, target, house.headers(role), here=role.here)
                if who is None:
                    who = "look" if method in SAFE else "weigh"
                    right = answer[0] in (404, 405) if who in may else refused(*answer)
                elif who in may:
                    right = len(reached) == 1 and answer[0] == 200
                else:
                    right = not reached and refused(*answer)
                if not right:
                    wrong.append(f"{method} {path}: {who}, answered {answer[0]}, reached {reached}")
        return wrong

    assert asyncio.run(sweep()) == []


def rows(store: Path) -> list[str]:
    """Everything that the store holds, as text."""
    with sqlite3.connect(store) as connection:
        return list(connection.iterdump())


WORDS = ("trailer", "plan", "ledger", "sweep", "whatif", "enough", "days")


def sound(path: str, day_id: str, word: str) -> bytes:
    """A body that this address would take from a weigher, as far as one fits on a line."""
    vehicle = f'[vehicles.{word}]\nrole = "trailer"\naxles = [{{ x = 100, track = 60 }}]\n'
    readings = {"truck/1L": ["p1", 2160], "truck/1R": ["p2", 2120], "truck/2L": ["p3", 1580], "truck/2R": ["p4", 1540]}
    by_end: dict[str, Any] = {
        "/days": EXAMPLE.read_text(encoding="utf-8") if path == "/api/v1/days" else {"vehicles": ["oven"]},
        "/yard/{shelf}/{name}": {"text": vehicle},
        "/drafts": {"key": "k", "state": "solo", "readings": readings},
        "/states": {"key": "s", "name": "s", "same": "solo"},
        "/cargo": {"key": "g", "name": "g", "on": "truck", "mass": "10 kg", "x": "1 m", "y": "0 m"},
        "/whatif": {"from": "solo", "remove": ["baker"]},
        "/whatif/keep": {"key": "w", "name": "fuller", "from": "levelled", "change": {"water": {"level": "60 %"}}},
        "/plan": {"keep": True, "key": "p", "pads": ["p1", "p2"], "want": ["solo/truck/axle/1"], "seconds": 0.1},
        "/yard": f"day={day_id}",
        "/titles": {"key": "t", "title": "Big blue"},
        "/title": "title=Big+blue",
        "/pair/revoke": "device=1",
    }
    found = next((body for end, body in by_end.items() if path.endswith(end)), {"key": "k"})
    return (found if isinstance(found, str) else json.dumps(found)).encode()


def test_no_reader_changes_the_store_by_any_address_and_any_word(house: House) -> None:
    """Whatever a day, a vehicle or a draft is called: what a reader sends leaves every row as it was."""
    before = rows(house.store)
    reader = next(role for role in ROLES if role.name == "a reader")
    asked: list[tuple[int, str]] = []

    async def sweep() -> None:
        for _, method, _, _, path in table():
            if method in ("GET", "any") or path == "/pair":
                continue
            for word in WORDS if "{name}" in path or "{key}" in path else WORDS[:1]:
                values = {
                    "id": house.day_id,
                    "day": house.day_id,
                    "shelf": "vehicles",
                    "name": word,
                    "key": word,
                    "state": "solo",
                    "number": "1",
                }
                target = re.sub(r"{(\w+)}", lambda found, values=values: values[found[1]], path)
                form = {} if path.startswith("/api/") else {"content-type": "application/x-www-form-urlencoded"}
                body = sound(path, house.day_id, word)
                headers = house.headers(reader) | form
                status, _, _ = await ask(house.app, method, target, headers, here=False, body=body)
                asked.append((status, path))

    asyncio.run(sweep())
    assert len(asked) > 40
    assert (200, "/api/v1/days/{id}/whatif") in asked  # a question is answered
    assert (403, "/api/v1/days/{id}/plan") in asked  # and kept by nobody who may only look
    assert rows(house.store) == before


def test_what_a_reader_sent_would_have_been_taken_from_a_weigher(house: House) -> None:
    """The bodies above are sound: the same requests by a weigher do change the store."""
    weigher = next(role for role in ROLES if role.name == "a weigher")
    paths = ("/api/v1/yard/vehicles/trailer", *(f"/api/v1/days/{house.day_id}{end}" for end in ("/drafts", "/states")))

    async def sweep() -> list[int]:
        return [
            (await ask(house.app, "POST", path, house.headers(weigher), here=False, body=body))[0]
            for path in paths
            for body in [sound(path.replace("vehicles/trailer", "{shelf}/{name}"), house.day_id, "trailer")]
        ]

    assert asyncio.run(sweep()) == [201, 201, 201]


def test_a_path_is_the_one_that_the_router_would_make() -> None:
    routes = addresses()
    path, router = paths_by_name(routes), Router(routes)
    named = [item for item in routes if isinstance(item, Address)]
    assert len(named) > 50
    for item in named:
        parts = dict.fromkeys(item.param_convertors, "a part")
        assert path(item.name, **parts) == router.url_path_for(item.name, **parts)
        with pytest.raises(NoMatchFound):
            path(item.name, **parts, another="a part")
    with pytest.raises(NoMatchFound):
        path("no such page")
