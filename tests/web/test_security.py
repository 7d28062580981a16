"""Who may do what, from where, and what every answer carries."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from steelyard.store import DeviceRole, open_store
from steelyard.web.http import network
from steelyard.web.http.guard import HEADERS
from steelyard.web.http.pairing import Pairing
from steelyard.web.http.problem import Problem
from steelyard.web.http.sessions import Sessions
from steelyard.web.http.tries import Tries
from steelyard.web.settings import Settings
from steelyard.web.station.station import Station
from tests.web.conftest import BASE, Making
from tests.web.serving import EXAMPLE, TOKEN
from tests.web.shapes import draft, error

DAYS = "/api/v1/days"
TEXT = EXAMPLE.read_text(encoding="utf-8")
OURS = {"origin": BASE}
LAN = "192.168.7.20"
LAN_BASE = network.url(LAN, 8765, https=False).rstrip("/")


# -- this machine ----------------------------------------------------------------------------------------------------


def test_a_script_without_token_may_read_and_not_write(making: Making) -> None:
    client = making()
    assert client.get(DAYS).status_code == 200
    message = error(client.post(DAYS, content=TEXT), 401, "who_are_you")
    assert message == "open the station in a browser on this machine first, or send the token"
    assert "set-cookie" not in client.get(DAYS).headers


@pytest.mark.parametrize("value", ["Bearer wrong", "Bearer", "Basic dHJpYWw=", f"bearer{TOKEN}", "Bearer tri\u00e4l"])
def test_a_wrong_token_is_refused_even_to_read(making: Making, value: str) -> None:
    client = making()
    answer = client.get(DAYS, headers=[(b"authorization", value.encode("latin-1"))])
    assert error(answer, 401, "who_are_you") == "the token is not the one that the station was started with"
    assert answer.headers["www-authenticate"] == 'Bearer realm="steelyard"'


def test_without_a_token_no_script_gets_in(making: Making) -> None:
    client = making(token=None)
    error(client.post(DAYS, content=TEXT, headers={"authorization": "Bearer None"}), 401, "who_are_you")
    error(client.post(DAYS, content=TEXT, headers={"authorization": "Bearer "}), 401, "who_are_you")


def test_a_browser_on_this_machine_gets_a_session(making: Making) -> None:
    client = making(token=None)
    cookie = client.get("/", headers={"accept": "text/html"}).headers["set-cookie"]
    assert cookie.startswith("steelyard-8765=")
    for part in ("HttpOnly", "SameSite=strict", "Path=/"):
        assert part in cookie
    made = client.post(DAYS, content=TEXT, headers=OURS)
    assert made.status_code == 201
    answer = client.post(f"{DAYS}/{made.json()['id']}/drafts", json=draft("k"), headers=OURS)
    assert answer.status_code == 201
    entry = client.get(f"{DAYS}/{made.json()['id']}/history").json()["entries"][0]
    assert entry["device"] == "this device"


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:8766"},
        {"origin": "https://127.0.0.1:8765"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "none"},
        {"origin": "http://evil.example", "sec-fetch-site": "same-origin"},
    ],
)
def test_a_session_counts_only_from_our_own_page(making: Making, headers: dict[str, str]) -> None:
    client = making()
    client.get("/")
    error(client.post(DAYS, content=TEXT, headers=headers), 403, "foreign_page")
    assert client.get(DAYS).json()["days"] == []


def test_a_browser_that_sends_no_origin_may_say_where_it_comes_from(making: Making) -> None:
    client = making()
    client.get("/")
    assert client.post(DAYS, content=TEXT, headers={"sec-fetch-site": "same-origin"}).status_code == 201


def test_a_cookie_that_was_tampered_with_is_none(making: Making) -> None:
    client = making()
    value = client.get("/").cookies["steelyard-8765"]
    for bad in (value[:-1], value + "x", value.replace(".", "", 1), "x", ""):
        client.cookies.clear()
        headers = {"cookie": f"steelyard-8765={bad}", **OURS}
        error(client.post(DAYS, content=TEXT, headers=headers), 401, "who_are_you")


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8765", "127.0.0.1.evil.example", "", "192.168.7.20"])
def test_a_foreign_host_name_is_refused(making: Making, host: str) -> None:
    client = making()
    answer = client.get(DAYS, headers={"host": host})
    message = "this name is not one of the station's; use the address that the station shows"
    assert error(answer, 421, "wrong_host") == message


@pytest.mark.parametrize("host", ["localhost", "LOCALHOST:8765", "127.0.0.1", "[::1]:8765", "localhost.:1"])
def test_every_name_of_this_machine_will_do(making: Making, host: str) -> None:
    assert making().get(DAYS, headers={"host": host}).status_code == 200


@pytest.mark.parametrize("path", ["/", DAYS, "/nothing", "/static/station.css", "/pair"])
def test_every_answer_is_closed_to_others(making: Making, path: str) -> None:
    answer = making().get(path)
    for name, value in HEADERS.items():
        assert answer.headers[name] == value
    policy = answer.headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "http" not in policy
    assert "access-control-allow-origin" not in answer.headers


def test_files_are_kept_by_version_only(making: Making) -> None:
    client = making()
    assert client.get("/static/station.css?v=1").headers["cache-control"] == "public, max-age=31536000, immutable"
    assert client.get("/static/station.css").headers["cache-control"] == "no-cache"
    assert client.get("/").headers["cache-control"] == "no-store"
    assert client.get("/static/../settings.py").status_code == 404
    assert client.get("/static/%2e%2e/settings.py").status_code == 404


# -- the network -----------------------------------------------------------------------------------------------------


def on_lan(making: Making, station: Station | None = None, **settings: object) -> TestClient:
    return making(client="192.168.7.77", base=LAN_BASE, lan=True, addresses=(LAN,), station=station, **settings)


def test_a_stranger_on_the_network_sees_nothing_but_the_door(making: Making) -> None:
    client = on_lan(making)
    answer = client.get("/", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
    assert "set-cookie" not in answer.headers
    assert error(client.get(DAYS), 401, "who_are_you") == "pair this device first"
    error(client.post(DAYS, content=TEXT), 401, "who_are_you")
    assert client.get("/static/station.css").status_code == 200


def test_a_script_on_the_network_needs_the_token_alone(making: Making) -> None:
    client = on_lan(making)
    assert client.post(DAYS, content=TEXT, headers={"authorization": f"Bearer {TOKEN}"}).status_code == 201


def test_a_session_of_this_machine_is_worth_nothing_elsewhere(making: Making) -> None:
    value = making(addresses=(LAN,), lan=True).get("/").cookies["steelyard-8765"]
    client = on_lan(making)
    error(client.get(DAYS, headers={"cookie": f"steelyard-8765={value}"}), 401, "who_are_you")


def test_who_forwards_for_others_is_not_this_machine(making: Making) -> None:
    client = making(addresses=(LAN,))
    for name in ("x-forwarded-for", "forwarded", "x-real-ip"):
        answer = client.get(DAYS, headers={name: "192.168.7.77", "host": LAN})
        error(answer, 401, "who_are_you")


@pytest.fixture(name="station")
def _station(tmp_path: Path) -> Station:
    settings = Settings(store=tmp_path / "station.db", token=TOKEN, lan=True, addresses=(LAN,))
    return Station(open_store(settings.store), settings)


def session(station: Station, role: DeviceRole, name: str) -> tuple[str, str]:
    """The cookie of a device that is let in, and its id."""
    from starlette.responses import Response

    response = Response()
    device = Sessions(station.store, station.settings).let_in(response, name=name, role=role)
    return response.headers["set-cookie"].partition(";")[0], device.id


def test_a_paired_device_keeps_drafts_under_its_name(making: Making, station: Station) -> None:
    cookie, _ = session(station, DeviceRole.WEIGH, "tablet")
    client = on_lan(making, station)
    headers = {"cookie": cookie, "origin": LAN_BASE}
    day_id = client.post(DAYS, content=TEXT, headers=headers).json()["id"]
    assert client.post(f"{DAYS}/{day_id}/drafts", json=draft("k"), headers=headers).status_code == 201
    entries = client.get(f"{DAYS}/{day_id}/history", headers=headers).json()["entries"]
    assert entries[0]["device"] == "tablet"


def test_who_may_look_may_not_weigh(making: Making, station: Station) -> None:
    day_id = station.store.add_day(TEXT)
    cookie, _ = session(station, DeviceRole.LOOK, "visitor")
    client = on_lan(making, station)
    headers = {"cookie": cookie, "origin": LAN_BASE}
    assert client.get(f"{DAYS}/{day_id}/findings", headers=headers).status_code == 200
    for path in ("/drafts", "/corrections", "/states", "/cargo", "/rules/choose"):
        answer = client.post(f"{DAYS}/{day_id}{path}", json=draft("k"), headers=headers)
        assert error(answer, 403, "may_only_look") == "this device may look, not weigh"
    asked = {"from": "solo", "remove": ["baker"]}
    assert client.post(f"{DAYS}/{day_id}/whatif", json=asked, headers=headers).status_code == 200
    kept = client.post(f"{DAYS}/{day_id}/whatif/keep", json={**asked, "key": "k", "name": "n"}, headers=headers)
    error(kept, 403, "may_only_look")
    foreign = client.post(f"{DAYS}/{day_id}/whatif", json=asked, headers={**headers, "origin": "http://evil.example"})
    error(foreign, 403, "foreign_page")
    error(client.post(DAYS, content=TEXT, headers=headers), 403, "may_only_look")
    assert station.store.entries(day_id) == ()


def test_a_device_that_was_shut_out_is_out(making: Making, station: Station) -> None:
    cookie, device_id = session(station, DeviceRole.WEIGH, "tablet")
    client = on_lan(making, station)
    # not looked at before: what is remembered of a device lasts some seconds, and is forgotten when it is shut out here
    assert station.store.revoke_device(device_id)
    error(client.get(DAYS, headers={"cookie": cookie}), 401, "who_are_you")


# -- pairing ---------------------------------------------------------------------------------------------------------


class Clock:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def test_a_code_is_good_once() -> None:
    pairing = Pairing(f"{LAN_BASE}/", clock=Clock())
    offer = pairing.offer()
    assert offer.url == f"{LAN_BASE}/pair?code={offer.code}"
    assert len(offer.code) == 8
    assert pairing.offer() == offer
    assert pairing.redeem(f" {offer.code[:4]} {offer.code[4:]} ") is DeviceRole.WEIGH
    assert pairing.redeem(offer.code) is None
    assert pairing.offer().code != offer.code


def test_each_role_has_its_own_code() -> None:
    pairing = Pairing("", clock=Clock())
    look = pairing.offer(DeviceRole.LOOK).code
    assert look != pairing.offer().code
    assert pairing.redeem(look) is DeviceRole.LOOK


def test_a_code_grows_old() -> None:
    clock = Clock()
    pairing = Pairing("", clock=clock)
    code = pairing.offer().code
    clock.now += 601
    assert pairing.redeem(code) is None
    assert pairing.offer().code != code


def test_guessing_is_slower_with_each_try_and_ends_the_code() -> None:
    clock, told = Clock(), list[tuple[str, str]]()
    pairing = Pairing(f"{LAN_BASE}/", clock=clock)
    pairing.tell = lambda offer, why: told.append((offer.code, why))
    code = pairing.offer().code
    wrong = "0" * 8 if code != "0" * 8 else "1" * 8
    for pause in (1, 2, 4, 8):
        assert pairing.redeem(wrong, "192.168.7.30") is None
        with pytest.raises(Problem, match=f"a wrong code was tried a moment ago; wait {pause} s and try again") as slow:
            pairing.redeem(code, "192.168.7.30")
        assert (slow.value.status, slow.value.headers) == (429, {"retry-after": str(pause)})
        clock.now += pause
    assert told == []
    assert pairing.redeem(wrong, "192.168.7.30") is None
    fresh = pairing.offer().code
    assert fresh != code
    assert told == [(fresh, "5 wrong codes were tried, so the code is another one")]
    assert pairing.redeem(code, "192.168.7.31") is None
    assert pairing.redeem(fresh, "192.168.7.32") is DeviceRole.WEIGH  # who did not guess does not wait


def test_the_code_that_was_used_is_told_to_be_another_one(station: Station) -> None:
    from starlette.responses import Response

    told = list[tuple[str, str]]()
    pairing = Pairing(f"{LAN_BASE}/")
    pairing.tell = lambda offer, why: told.append((offer.code, why))
    code = pairing.offer().code
    sessions = Sessions(station.store, station.settings)
    pairing.let_in(sessions, Response(), code=code, name="tablet", address="192.168.7.30")
    assert told == [(pairing.offer().code, "The code was used by 'tablet'")]
    assert told[0][0] != code


def test_wrong_tries_are_counted_by_address_in_bounded_memory() -> None:
    clock = Clock()
    tries = Tries(free=2, clock=clock)
    for number, pause in enumerate((0, 0, 1, 2, 4, 8, 16, 32, 60, 60), 1):
        tries.wrong("192.168.7.30")
        assert tries.pause("192.168.7.30") == pause, number
        assert tries.pause("192.168.7.31") == 0.0
        clock.now += pause
    tries.right("192.168.7.30")
    assert len(tries) == 0
    for number in range(3):
        tries.wrong(f"2001:db8::{number}")  # one network
        tries.wrong(f"::ffff:192.168.7.{30 + number % 1}")
    assert tries.pause("2001:db8::77") > 0.0
    assert tries.pause("2001:db8:0:1::77") == 0.0
    assert tries.pause("192.168.7.30") > 0.0
    for number in range(5000):
        tries.wrong(f"10.0.{number // 250}.{number % 250}")
    assert len(tries) == 1024
    clock.now += 901
    tries.wrong("10.0.19.249")
    assert tries.pause("10.0.19.249") == 0.0


def test_tokens_cannot_be_tried_for_ever(making: Making) -> None:
    client = making()
    for _ in range(6):
        error(client.get(DAYS, headers={"authorization": "Bearer wrong"}), 401, "who_are_you")
    right = {"authorization": f"Bearer {TOKEN}"}
    answer = client.get(DAYS, headers=right)
    message = "too many wrong tokens came from this address; wait 1 s and try again"
    assert error(answer, 429, "slow_down") == message
    assert answer.headers["retry-after"] == "1"
    assert client.get(DAYS).status_code == 200  # a browser of the same machine goes on


def test_a_name_is_made_fit_to_be_shown(station: Station) -> None:
    from starlette.responses import Response

    sessions, pairing = Sessions(station.store, station.settings), Pairing("")
    for given, kept in (("  Anna's\u202e tablet\n", "Anna's tablet"), ("", "unnamed device"), ("x" * 200, "x" * 60)):
        code = pairing.offer().code
        device = pairing.let_in(sessions, Response(), code=code, name=given)
        assert device.name == kept
