"""The description and the interface are one: same addresses, same shapes, and nothing sent makes it stumble."""

from __future__ import annotations

import hashlib
import json
import random
import re
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from docs.http import http_page
from docs.script_types import TYPES, script_types
from steelyard.dayfile import parse_day
from steelyard.web import EVENTS, description
from steelyard.web.app import addresses
from steelyard.web.http.openapi import described
from steelyard.web.http.problem import ErrorShape
from steelyard.web.http.routes import SMALL, Address, May, declared
from steelyard.web.http.told import Given, Told
from tests.schemas import validator_of
from tests.web.in_thread import Client, answering
from tests.web.serving import EXAMPLE, ROOT
from tests.web.shapes import draft

TEXT = EXAMPLE.read_text(encoding="utf-8")
DESCRIBED = description()
METHODS = ("get", "post", "put", "delete", "patch")
EXAMPLES = 60
NAMED_ONLY = 25
"""Of an address whose names are all that can be sent; one without any is the same each time, and asked once."""


def operations() -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Address, method and description of every operation."""
    for address, item in DESCRIBED["paths"].items():
        for method in METHODS:
            if method in item:
                yield address, method, item[method]


OPERATIONS = list(operations())
NAMES = [operation["operationId"] for _, _, operation in OPERATIONS]


@cache
def _validator(schema: str) -> Draft202012Validator:
    """Of a schema of the document, written as JSON: that it is one is looked at once, below."""
    return validator_of({**json.loads(schema), "components": DESCRIBED["components"]})


def validate(value: Any, schema: dict[str, Any]) -> None:
    """A value has the shape of a schema of the document."""
    _validator(json.dumps(schema)).validate(value)


def test_every_address_is_described_and_every_description_is_served() -> None:
    served = {
        (address.path, method.lower())
        for address in addresses()
        if address.path.startswith("/api/")
        for method in (address.methods or () if isinstance(address, Address) else ())
        if method != "HEAD"
    }
    assert served == {(address, method) for address, method, _ in OPERATIONS}
    assert len(NAMES) == len(set(NAMES))


def an_address(path: str, told: Told | None) -> Address:
    async def handler(request: Any) -> Any:
        raise NotImplementedError(request)

    return Address("GET", path, handler, may=May.LOOK, body=SMALL, plain=False, told=told)


def test_an_address_of_the_interface_that_does_not_describe_itself_cannot_be_declared() -> None:
    told = Told("looking", "Look.", {200: Given("Seen.", "text/plain")})
    with pytest.raises(TypeError, match="/api/v1/x is not described"):
        declared([an_address("/api/v1/x", None)])
    assert declared([an_address("/x", None), an_address("/api/v1/x", told)])
    with pytest.raises(TypeError, match=r"/api/v1/\{colour\} has a part that is not described"):
        described([an_address("/api/v1/{colour}", told)])


def test_an_address_is_described_by_what_stands_beside_it() -> None:
    told = Told("looking", "Look.", {200: Given("Seen.", ErrorShape)}, takes=("image/png", ErrorShape), refuses=(409,))
    operation = described([an_address("/api/v1/days/{id}/x", told)])["paths"]["/api/v1/days/{id}/x"]["get"]
    assert [item["name"] for item in operation["parameters"]] == ["id"]
    assert set(operation["requestBody"]["content"]) == {"image/png", "application/json"}
    assert set(operation["responses"]) == {"200", "409", "401", "403", "421", "503"}
    assert operation["responses"]["200"]["content"]["application/json"]["schema"]["$ref"].endswith("/Error")


def test_every_schema_is_one_and_every_reference_leads_somewhere() -> None:
    for schema in DESCRIBED["components"]["schemas"].values():
        Draft202012Validator.check_schema(schema)
    known = DESCRIBED["components"]["schemas"]
    for reference in re.findall(r'"\$ref": "([^"]+)"', json.dumps(DESCRIBED)):
        name, _, rest = reference.removeprefix("#/components/schemas/").partition("/")
        assert name in known, reference
        inside = known[name]
        for step in filter(None, rest.split("/")):
            inside = inside[step]


def test_the_page_is_what_the_description_says() -> None:
    page = ROOT / "docs" / "reference" / "http.md"
    made = http_page()
    assert page.read_text(encoding="utf-8") == made, "stale; run: make docs"
    for _, _, operation in OPERATIONS:
        assert operation["summary"] in made
    for event in EVENTS:
        assert f"`{event}`" in made


def test_the_types_of_the_scripts_are_what_the_description_says() -> None:
    written = TYPES.read_text(encoding="utf-8")
    assert written == script_types(), "stale; run: make docs"
    for name in DESCRIBED["components"]["schemas"]:
        assert f" {name} " in written, name


def test_every_event_that_is_sent_is_described() -> None:
    source = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "src/steelyard/web").rglob("*.py"))
    sent = set(re.findall(r'(?:encode\(|\.tell\([\w.]+, )"(\w+)"', source))
    assert sent <= set(EVENTS)
    assert {"hello", "loads", "stance", "findings", "trouble"} <= sent


# -- answers ---------------------------------------------------------------------------------------------------------


def check(answer: Any, operation: dict[str, Any]) -> None:
    """An answer is one of those described, in the shape described, and never the server's own fault."""
    assert answer.status_code < 500, answer.text
    described = operation["responses"].get(str(answer.status_code))
    assert described is not None, f"{operation['operationId']} answered {answer.status_code}: {answer.text[:300]}"
    kind = answer.headers["content-type"].partition(";")[0]
    assert kind in described["content"], (kind, answer.text[:300])
    if kind == "application/json":
        validate(answer.json(), described["content"][kind]["schema"])


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Client]:
    from steelyard.store import open_store
    from steelyard.web import Settings, create_app
    from steelyard.web.station.simulate import Simulation
    from steelyard.web.station.station import Station

    folder = tmp_path_factory.mktemp("fuzz")
    (folder / "box.txt").touch()
    box = f"box=file:{folder / 'box.txt'}"
    configured = Settings(store=folder / "station.db", token="T", instruments=(box,), keys=folder / "keys")
    simulation = Simulation(parse_day(TEXT, "day"))
    station = Station(open_store(configured.store), configured, simulation=simulation)
    app = create_app(configured, station=station)
    with answering(app, "http://127.0.0.1:8765", {"authorization": "Bearer T"}) as made:
        yield made


@pytest.fixture(scope="module")
def day_id(client: Client) -> str:
    return client.request("POST", "/api/v1/days", content=TEXT).json()["id"]


WISH = {"pads": ["p1", "p2", "p3", "p4"], "want": ["hitched/coupling/load <= 20 lb"], "more": False}
SWEEP = (ROOT / "examples" / "quay-bakery-sweep.csv").read_text(encoding="utf-8")
PICTURE = b"\x89PNG\r\n\x1a\n" + bytes(16)
ROWS = {"truck/1L": 2160, "truck/1R": 2120, "truck/2L": 1580, "truck/2R": 1540}
BY_HAND = {"state": "solo", "take": "hand", "pads": dict(zip(ROWS, ("p1", "p2", "p3", "p4"), strict=True))}
TYPED = [{"json": {"row": number, "readings": ROWS}} for number in (1, 2, 3)]
CHECK = (ROOT / "examples" / "pads-2026.toml").read_text(encoding="utf-8")
THING = '[instruments.p9]\nkind = "pad"\ncapacity = "5000 lb"\ndivision = "20 lb"\n'


def short_calls(days: list[str]) -> dict[str, dict[str, Any]]:
    """Questions that need nothing before them, and those that several days are asked together."""
    return {
        "askTrailer": {"json": {"from": "solo", "at": "ball", "trailers": ["oven"]}},
        "askLedger": {"json": {"state": "solo"}},
        "askRules": {"json": {"state": "solo"}},
        "compareDays": {"json": {"days": days, "of": ["solo", "levelled"], "unchanged": {}}},
        "matchDays": {"json": {"days": days, "state": "solo"}},
    }


def photo_calls() -> dict[str, dict[str, Any]]:
    """Photographs of the draft ``k``: the one of the whole, and one of a wheel."""
    picture = {"content": PICTURE, "headers": {"content-type": "image/png"}}
    asked = {"key": "ph", "draft": "k", "place": "truck/1L", "at": "2026-05-14T09:12:00Z"}
    return {
        "putPhoto": {"path": {"key": "k"}, **picture},
        "getPhoto": {"path": {"key": "k"}},
        "addPhotograph": {"params": asked, **picture},
        "listPhotographs": {},
        "getPicture": {"path": {"digest": hashlib.sha256(PICTURE).hexdigest()}},
    }


def seal_calls() -> dict[str, dict[str, Any]]:
    """Sound requests about the seals of a day."""
    return {"addSeal": {"json": {"person": ""}}, "listSeals": {}, "getSeal": {"path": {"number": "1"}}}


def yard_calls() -> dict[str, dict[str, Any]]:
    """Of the yard, and of what is put away and brought back."""
    pad = {"shelf": "instruments", "name": "p9"}
    return {
        "listYard": {"params": {"put_away": "with"}},
        "getKept": {"path": {"shelf": "vehicles", "name": "truck"}, "params": {"version": "1"}},
        "saveKept": {"path": pad, "json": {"text": THING}},
        "putThingAway": {"path": pad},
        "bringThingBack": {"path": pad},
        "addDayOfYard": {"json": {"vehicles": ["truck"], "instruments": ["p9"]}},
        "judgeVerification": {"content": CHECK},
        "keepVerification": {"content": CHECK},
        "putDayAway": {},
        "bringDayBack": {},
    }


def sound_calls(day_id: str) -> dict[str, dict[str, Any]]:
    """For each operation a sound request, in an order that serves all; ``path`` are parts of its address."""
    place = parse_day(TEXT, "day").drafts[0].readings[0].place.text
    numbered = {"path": {"number": "1"}}
    return {
        "describe": {},
        "addDay": {"content": TEXT},
        "listDays": {"params": {"limit": "1", "search": "quay"}},
        "getDay": {},
        "listPlaces": {},
        "getFindings": {"params": {"units": "kg,mm"}},
        "addDraft": {"json": draft("k")},
        **photo_calls(),
        "addCorrection": {"json": {"key": "c", "draft": 1, "place": place, "value": 2100, "reason": "why"}},
        "chooseRules": {"json": {"key": "r", "apply": ["us-interstate"], "use": "private", "licence": []}},
        "addTitle": {"json": {"key": "t", "title": "Big blue"}},
        "addState": {"json": {"key": "s", "name": "s", "same": "solo"}},
        "addCargo": {"json": {"key": "g", "name": "g", "on": "truck", "mass": "10 kg", "x": "1 m", "y": "0 m"}},
        "getHistory": {"params": {"after": "1"}},
        **seal_calls(),
        "askWhatIf": {
            "json": {"from": "solo", "add": [{"on": "truck", "mass": 300, "x": "4 m", "y": 0}], "remove": ["baker"]}
        },
        "keepWhatIf": {
            "json": {"key": "w", "name": "fuller", "from": "levelled", "change": {"water": {"level": "60 %"}}}
        },
        "askInfluence": {
            "json": {"from": "solo", "hitch": [{"at": "ball", "trailer": "oven", "distribution": "none"}]}
        },
        "askLoadMap": {
            "json": {"scenario": {"from": "levelled", "put_on": ["apprentice"]}, "on": "truck", "item": "90 kg"}
        },
        "askRebalance": {
            "json": {"state": "market", "move": ["apprentice"], "couple": {"oven": ["0 lb*in", "20000 lb*in"]}}
        },
        **short_calls([day_id]),
        "askDistribution": {"json": {"state": "levelled", "restore": "50 %"}},
        "planDay": {"json": {**WISH, "keep": True}},
        "getPlan": {},
        "planProgress": {"params": {"key": "k"}},
        "planReached": {},
        "askSweep": {"json": {"state": "solo", "csv": SWEEP, "at": "ball"}},
        "keepSweep": {"params": {"state": "solo"}, "content": SWEEP, "headers": {"content-type": "text/csv"}},
        "listSweeps": {},
        "getSweepLog": numbered,
        "getSweep": {**numbered, "params": {"at": "ball"}},
        "teachVehicle": {**numbered, "json": {}},
        "beginRecording": {"json": BY_HAND},
        "addRecordingRow": {**TYPED[0], "more": TYPED[1:]},
        "getRecording": {},
        "takeRowBack": {"path": {"number": "3"}},
        "letRecordingGo": {},
        **yard_calls(),
        "listChannels": {},
        "believe": {"path": {"name": "p1"}},
        "listIndicators": {},
        "wireIndicator": {"path": {"name": "box"}, "json": {"pads": {"A": "p2"}}},
        "drive": {"json": {"drive": 1, "plugged": True}},
    }


SEEN_ELSEWHERE = {
    "listen": "its stream does not end: test_events",
    "planEnough": "a plan must be in the making: test_plan_api",
    "finishRecording": "a log must have been recorded: test_sweep_api",
}
"""Operations that no single request exercises, and where they are."""


def test_every_operation_answers_a_sound_request_as_described(client: Client, day_id: str) -> None:
    calls = sound_calls(day_id)
    assert sorted([*calls, *SEEN_ELSEWHERE]) == sorted(NAMES)
    for name, call in calls.items():
        address, method, operation = OPERATIONS[NAMES.index(name)]
        address = address.format(id=day_id, **call.pop("path", {}))
        for request in (call, *call.pop("more", ())):
            if "json" in request:
                validate(request["json"], operation["requestBody"]["content"]["application/json"]["schema"])
            answer = client.request(method, address, **request)
            assert answer.status_code in (200, 201), (name, answer.text)
            check(answer, operation)


# -- anything at all -------------------------------------------------------------------------------------------------

LETTERS = st.characters(exclude_categories=["Cs"])
TEXTS = st.one_of(
    st.text(LETTERS, max_size=30),
    st.sampled_from(
        ["", "solo", "truck", "truck/1L", "p1", "1", "k", "\0", "\ud800", "a" * 3000, "../..", "🛻", "2960 lb"]
    ),
)
SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**30), 10**30),
    st.floats(allow_nan=False, allow_infinity=False),
    TEXTS,
)
ANYTHING = st.recursive(
    SCALARS,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(TEXTS, inner, max_size=4)),
    max_leaves=12,
)


def near(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    """Mostly what a schema asks for, now and then something else."""
    if "$ref" in schema:
        return _near_named(schema["$ref"].rpartition("/")[2])
    if "const" in schema:
        return st.one_of(st.just(schema["const"]), ANYTHING)
    if "enum" in schema:
        return st.one_of(st.sampled_from(schema["enum"]), ANYTHING)
    either = schema.get("oneOf", schema.get("anyOf"))
    if either is not None:
        return st.one_of(*(near(item) for item in either))
    kinds = schema.get("type")
    kind = kinds if isinstance(kinds, str) else (kinds or ["string"])[0]
    return st.one_of(KINDS.get(kind, lambda _: ANYTHING)(schema), ANYTHING)


@cache
def _near_named(name: str) -> st.SearchStrategy[Any]:
    return near(DESCRIBED["components"]["schemas"][name])


def _object(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    properties = {name: near(item) for name, item in schema.get("properties", {}).items()}
    required = {name: properties[name] for name in schema.get("required", [])}
    optional = {name: item for name, item in properties.items() if name not in required}
    more = schema.get("additionalProperties")
    if isinstance(more, dict):
        places = st.sampled_from(["truck/1L", "truck/1R", "truck/1", "truck", "oven/coupling", "oven/1L", "x", ""])
        return st.dictionaries(places, near(more), max_size=4)
    return st.fixed_dictionaries(required, optional=optional)


def _array(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    if "prefixItems" in schema:
        return st.tuples(*(near(item) for item in schema["prefixItems"])).map(list)
    return st.lists(near(schema.get("items", {})), max_size=4)


NAMED = ["solo", "hitched", "truck", "oven", "p1", "p2", "p3", "k", "truck/1L", "lb", "2026-05-14T09:12:00Z", "2160 lb"]
KINDS: dict[str, Callable[..., st.SearchStrategy[Any]]] = {
    "object": _object,
    "array": _array,
    "string": lambda _: st.one_of(st.sampled_from(NAMED), TEXTS),
    "integer": lambda _: st.one_of(st.integers(-2, 9), st.integers()),
    "number": lambda _: st.one_of(st.integers(-1, 400).map(lambda count: 20 * count), st.floats()),
    "boolean": lambda _: st.booleans(),
}

FUZZED = settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large],
)


def encoded(value: Any) -> bytes:
    """JSON as a careless sender writes it: NaN and half characters included."""
    return json.dumps(value, ensure_ascii=True).encode()


NAMED_PART = TEXTS.filter(lambda text: text not in ("", ".", ".."))
NUMBER_PART = st.one_of(st.integers(-1, 9).map(str), NAMED_PART)
SHELF_PART = st.sampled_from(["vehicles", "instruments", "shelves"])
"""Parts of an address."""


@pytest.mark.parametrize("name", [name for name in NAMES if name != "listen"])
def test_nothing_that_is_sent_makes_it_stumble(client: Client, day_id: str, name: str) -> None:
    address, method, operation = OPERATIONS[NAMES.index(name)]
    content = operation.get("requestBody", {}).get("content", {})
    schema = content.get("application/json", {}).get("schema")
    bodies = (
        st.one_of(near(schema).map(encoded), ANYTHING.map(encoded), st.binary(max_size=200))
        if schema
        else (st.one_of(st.binary(max_size=300), spoilt()))
    )
    queries = {item["name"]: TEXTS for item in operation.get("parameters", []) if item["in"] == "query"}

    varied = EXAMPLES if content or queries else NAMED_ONLY if "{" in address else 1
    fuzzed = settings(FUZZED, max_examples=varied)
    # made once, for Hypothesis looks each strategy through
    ids, kinds = st.one_of(st.just(day_id), NAMED_PART), st.sampled_from([*content, "text/plain", "image/png", "x", ""])

    @fuzzed
    @given(st.data())
    def run(data: st.DataObject) -> None:
        values = {"id": data.draw(ids)}
        values |= {part: data.draw(NAMED_PART) for part in ("key", "name", "digest")}
        values["number"] = data.draw(NUMBER_PART)
        values["shelf"] = data.draw(SHELF_PART)
        target = re.sub(r"{(\w+)}", lambda match: quoted(values[match[1]]), address)
        query = {key: data.draw(value).encode("utf-8", "replace") for key, value in queries.items()}
        kind = data.draw(kinds)
        body = data.draw(bodies) if content else None
        answer = client.request(method, target, params=query, content=body, headers={"content-type": kind})
        if answer.status_code in (404, 405):
            return  # a name may hold what makes it another address
        check(answer, operation)

    run()
    text = client.get(f"/api/v1/days/{day_id}").text
    parse_day(text, "day")
    assert client.get(f"/api/v1/days/{day_id}/findings").status_code == 200


def quoted(text: str) -> str:
    from urllib.parse import quote

    return quote(text.encode("utf-8", "replace"), safe="")


def spoilt() -> st.SearchStrategy[bytes]:
    """The bundled day with a piece cut out, doubled or overwritten."""

    def spoil(seed: int) -> bytes:
        chance = random.Random(seed)
        text = TEXT.encode()
        start = chance.randrange(len(text))
        end = start + chance.randrange(200)
        new = chance.choice([b"", text[start:end] * 2, b"\0", b"\xff", b'"', b"= 1e999\n", b"[[drafts]]\n"])
        return text[:start] + new + text[end:]

    return st.integers(0, 10**6).map(spoil)
