"""``steelyard serve`` as a person starts it: what it says, what it refuses, and that it stays up on a bad disk."""

from __future__ import annotations

import contextlib
import json
import resource
import signal
import socket
import sqlite3
import ssl
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Generator, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import httpx2
import pytest

from steelyard.dayfile import parse_day
from steelyard.store import open_store
from steelyard.web.http.network import lan_address, url
from tests.waiting import PATIENCE
from tests.web.serving import ENVIRONMENT, EXAMPLE, ROOT, TOKEN, Served, refused, refused_by_shell
from tests.web.shapes import READINGS, draft, error

DAYS = "/api/v1/days"


@pytest.fixture(scope="module", name="served")
def _served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A station that all share who leave nothing in it."""
    with Served(tmp_path_factory.mktemp("served") / "station.db") as served:
        yield served


def test_a_first_visitor_finds_the_bundled_day(tmp_path: Path) -> None:
    with Served(tmp_path / "new" / "station.db", typed=True) as served, served.client() as client:
        days = client.get(DAYS).json()["days"]
        assert [day["title"] for day in days] == ["Quay bakery, before the market season"]
        assert client.get(f"{DAYS}/{days[0]['id']}").text == EXAMPLE.read_text(encoding="utf-8")
        assert served.said[0] == f"The weigh station is at http://127.0.0.1:{served.port}/\n"
        assert served.said[1] == f"Its store is {tmp_path / 'new' / 'station.db'}\n"
        assert served.end() == 0
        assert served.later == ["The station is closed; what was kept is in the store.\n"]
    with Served(tmp_path / "new" / "station.db") as served, served.client() as client:
        assert len(client.get(DAYS).json()["days"]) == 1


def test_the_bundled_day_is_the_example() -> None:
    bundled = ROOT / "src" / "steelyard" / "web" / "bundled" / "quay-bakery.toml"
    assert bundled.read_bytes() == EXAMPLE.read_bytes()


def test_only_this_machine_is_served_unless_asked(served: Served) -> None:
    listening = Path("/proc/net/tcp").read_text(encoding="ascii")
    port = f":{served.port:04X}"
    local = [line.split()[1] for line in listening.splitlines()[1:] if line.split()[3] == "0A"]
    assert [address for address in local if address.endswith(port)] == [f"0100007F{port}"]


def test_a_simulated_day_waits_without_drafts(tmp_path: Path) -> None:
    for _ in range(2):  # started twice, there is one: nothing was kept in it
        with Served(tmp_path / "station.db", "--simulate", str(EXAMPLE)) as served, served.client() as client:
            days = client.get(DAYS).json()["days"]
            assert [(day["title"], day["drafts"]) for day in days] == [
                ("Quay bakery, before the market season, simulated", 0),
                ("Quay bakery, before the market season", 6),
            ]


# -- what is refused -------------------------------------------------------------------------------------------------


def test_a_port_that_is_taken_is_said(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = refused_by_shell("--store", str(tmp_path / "s.db"), "--port", str(port))
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"port {port}: Address already in use\n")


def test_a_file_that_is_no_store_is_said(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("These are my notes.\n" * 100)
    done = refused("--store", str(path))
    message = f"the store {path}: is not a store of weigh days but a file of another kind\n"
    assert (done.exit_code, done.stdout, done.stderr) == (2, "", message)


def test_a_store_from_a_newer_version_is_said(tmp_path: Path) -> None:
    path = tmp_path / "station.db"
    open_store(path).close()
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute(
            "INSERT INTO store_migrations (number, name, applied, program) VALUES (1000, 'later', '2031-01-01', '9.1')"
        )
    done = refused("--store", str(path))
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert done.stderr.startswith(f"the store {path}: was written by version 9.1, which is newer than this one")


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            ["--instrument", "p1"],
            "'p1' is not an instrument; write its name and its address, as in p1=tcp:",
        ),
        (["--instrument", "p1=tcp:h:1", "--instrument", "p1=tcp:h:2"], "two instruments have the same name; give each"),
        (["--instrument", "p1=fax:1"], "'fax:1' is not an address of an instrument; write "),
        (["--instrument", "p1=modbus-tcp:h:502"], "'modbus-tcp:h:502': say which registers to read"),
        (["--register", "p1=holding:1:int16:lb"], "'p1=holding:1:int16:lb' names no Modbus instrument; there are none"),
        (["--simulate", "nothing.toml"], "nothing.toml: "),
        (["--store", "mysql://localhost/days"], "the address of a store begins with postgresql, or is the path"),
    ],
)
def test_what_makes_no_sense_is_one_line(tmp_path: Path, options: list[str], message: str) -> None:
    done = refused("--store", str(tmp_path / "s.db"), *options)
    assert done.exit_code == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert message in done.stderr


def test_a_simulated_day_without_drafts_is_said(tmp_path: Path) -> None:
    text = EXAMPLE.read_text(encoding="utf-8").partition("[[drafts]]")[0]
    path = tmp_path / "day.toml"
    path.write_text(text, encoding="utf-8")
    done = refused("--store", str(tmp_path / "s.db"), "--simulate", str(path))
    message = f"{path}: has no draft, so there is nothing to drive onto the pads\n"
    assert (done.exit_code, done.stderr) == (2, message)


# -- bad disks -------------------------------------------------------------------------------------------------------


def test_a_full_disk_is_said_and_nothing_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "station.db"
    with Served(path) as served, served.client() as client:
        day_id = client.get(DAYS).json()["days"][0]["id"]
        address = f"{DAYS}/{day_id}/drafts"
        limit = path.stat().st_size + 30_000
        resource.prlimit(served.process.pid, resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY))
        kept: list[str] = []
        for number in range(400):
            answer = client.post(address, json=draft(f"k-{number}", note="x" * 500))
            if answer.status_code != 201:
                break
            kept.append(f"k-{number}")
        assert len(kept) > 5
        message = error(client.post(address, json=draft("more", note="x" * 500)), 507, "full_disk")
        said = "the disk does not take it: it is full, at a limit or failing; nothing was kept of this"
        assert message == f"the store {path}: {said}"
        error(client.post(DAYS, content=EXAMPLE.read_text(encoding="utf-8")), 507, "full_disk")
        for answer in everything_else(client, day_id, kept[0]):
            error(answer, 507, "full_disk")
        assert client.get(f"{DAYS}/{day_id}/findings?wait=120").status_code == 200
        resource.prlimit(served.process.pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        assert client.post(address, json=draft("after")).status_code == 201
        day = parse_day(client.get(f"{DAYS}/{day_id}").text, "day")
        assert [item.key for item in day.drafts[6:]] == [*kept, "after"]


def everything_else(client: httpx2.Client, day_id: str, key: str) -> Iterator[httpx2.Response]:
    """All other ways to keep something, each larger than what is left of the disk."""
    long = "x" * 20_000
    correction = {"key": "c", "draft": key, "place": "truck/1L", "reason": long}
    yield client.post(f"{DAYS}/{day_id}/corrections", json=correction)
    yield client.post(f"{DAYS}/{day_id}/cargo", json={"key": "g", "name": "big", "on": "truck", "title": long})
    picture = b"\xff\xd8\xff\xe0" + b"x" * 60_000
    yield client.put(f"{DAYS}/{day_id}/drafts/{key}/photo", content=picture, headers={"content-type": "image/jpeg"})
    pad = '[instruments.p1]\nkind = "pad"\ncapacity = "9000 kg"\ndivision = "10 kg"\n'
    yield client.post("/api/v1/yard/instruments/p1", json={"text": pad, "learned": {"long": long}})


@pytest.fixture
def public() -> Generator[Path, None, None]:
    """A folder that every user of this machine can look into."""
    with tempfile.TemporaryDirectory(prefix="steelyard-web-") as folder:
        path = Path(folder)
        path.chmod(0o755)
        yield path
        path.chmod(0o755)


AS_NOBODY = """
import os, sys
import steelyard.cli.commands.serve, steelyard.findings, uvicorn.protocols.http.h11_impl, uvicorn.lifespan.on
from steelyard.web import Settings, prepare
from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.web.run import files
text = files("steelyard.web").joinpath("bundled", "quay-bakery.toml").read_text(encoding="utf-8")
weigh(parse_day(text, "day"))  # everything is loaded before the user changes, who may not see the libraries
if os.getuid() == 0:  # for whom no file is read-only
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
ready = prepare(Settings(store=sys.argv[1], port=0, token="trial"))
print(ready.address, flush=True)
ready.serve()
"""


def test_a_read_only_store_is_read(public: Path) -> None:
    path = public / "station.db"
    with open_store(path) as store:
        day_id = store.add_day(EXAMPLE.read_text(encoding="utf-8"))
    path.chmod(0o444)
    public.chmod(0o555)
    with subprocess.Popen(
        [sys.executable, "-c", AS_NOBODY, str(path)], cwd=ROOT, env=ENVIRONMENT, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        url = process.stdout.readline().strip()
        headers = {"authorization": f"Bearer {TOKEN}"}
        try:
            with httpx2.Client(base_url=url, headers=headers, timeout=PATIENCE) as client:
                for _ in range(2):
                    answer = client.post(f"{DAYS}/{day_id}/drafts", json=draft("k"))
                    message = error(answer, 503, "read_only")
                    assert message == f"the store {path}: is read-only; what is in it can be read, nothing can be kept"
                    assert client.get(f"{DAYS}/{day_id}").text == EXAMPLE.read_text(encoding="utf-8")
                    assert client.get(f"{DAYS}/{day_id}/findings?wait=120").status_code == 200
        finally:
            process.send_signal(signal.SIGINT)
        assert process.wait(PATIENCE) == 0


# -- what is no HTTP -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "sent",
    [
        b"POST /api/v1/days HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: abc\r\n\r\n",
        b"POST /api/v1/days HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: -1\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03 a hello of TLS\r\n\r\n",
    ],
)
def test_what_is_no_http_is_answered_in_the_shape_of_every_error(served: Served, sent: bytes) -> None:
    with socket.create_connection(("127.0.0.1", served.port), timeout=PATIENCE) as wire:
        wire.sendall(sent)
        with contextlib.suppress(ConnectionError):
            wire.shutdown(socket.SHUT_WR)
        head, _, body = b"".join(iter(lambda: wire.recv(65536), b"")).partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 400 Bad Request\r\n")
    assert b"content-type: application/json\r\n" in head
    assert b"x-content-type-options: nosniff" in head
    message = "this is not a request that can be read as HTTP/1.1"
    assert json.loads(body) == {"error": {"code": "no_http", "message": message, "faults": []}}
    with served.client() as client:
        assert client.get(DAYS).status_code == 200


def test_a_body_that_breaks_off_its_own_rules_is_dropped(served: Served) -> None:
    head = b"POST /api/v1/days HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n"
    with socket.create_connection(("127.0.0.1", served.port), timeout=PATIENCE) as wire:
        wire.sendall(head + f"Authorization: Bearer {TOKEN}\r\n\r\n".encode() + b"zz\r\nno chunk")
        answer = b"".join(iter(lambda: wire.recv(65536), b""))
    assert answer.startswith(b"HTTP/1.1 400 Bad Request\r\n")
    with served.client() as client:
        assert client.get(DAYS).status_code == 200


# -- two at once -----------------------------------------------------------------------------------------------------


def test_two_phones_keep_drafts_at_once(tmp_path: Path) -> None:
    with Served(tmp_path / "station.db") as served:
        with served.client() as client:
            day_id = client.get(DAYS).json()["days"][0]["id"]

        def keep(phone: str) -> list[int]:
            with served.client() as client:
                # every second one is sent by both: whoever is later is told that it is there
                keys = [f"both-{number}" if number % 2 else f"{phone}-{number}" for number in range(40)]
                return [client.post(f"{DAYS}/{day_id}/drafts", json=draft(key)).status_code for key in keys]

        with ThreadPoolExecutor(2) as pool:
            one, other = pool.map(keep, ["one", "other"])
        assert set(one) | set(other) <= {200, 201}
        assert one.count(201) + other.count(201) == 60
        with served.client() as client:
            day = parse_day(client.get(f"{DAYS}/{day_id}").text, "day")
            entries = client.get(f"{DAYS}/{day_id}/history").json()["entries"]
        keys = [item.key or "" for item in day.drafts[6:]]
        assert len(keys) == len(set(keys)) == 60
        assert [entry["key"] for entry in entries] == keys
        for phone in ("one", "other"):
            own = [int(key.partition("-")[2]) for key in keys if key.startswith(f"{phone}-")]
            assert own == sorted(own)
        assert all(len(item.readings) == len(READINGS) for item in day.drafts[6:])


# -- the network -----------------------------------------------------------------------------------------------------


def test_a_tablet_pairs_with_the_code_on_the_screen(tmp_path: Path) -> None:
    address = lan_address()
    if address is None:  # a machine on no network says so
        with Served(tmp_path / "station.db", "--lan") as served:
            assert "This machine is on no network, so nothing else can reach it.\n" in served.said
        return
    with Served(tmp_path / "station.db", "--lan") as served:
        said = next(line for line in served.said if line.startswith("On the network it is at "))
        base, code = said.split()[6].rstrip(","), said.split("code ")[1].partition(",")[0]
        assert base == url(address, served.port, https=False)
        assert len(code) == 8
        assert any("\N{FULL BLOCK}" in line or "\N{LOWER HALF BLOCK}" in line for line in served.said)
        origin = base.rstrip("/")
        with httpx2.Client(base_url=base, headers={"origin": origin}) as tablet:
            assert tablet.get(DAYS).status_code == 401
            wrong = tablet.post("/pair", data={"code": "0" * 8 if code != "0" * 8 else "1" * 8, "name": "x"})
            assert wrong.status_code in (403, 422)
            time.sleep(1.1)
            paired = tablet.post("/pair", data={"code": code, "name": "yard tablet"})
            assert paired.status_code == 303
            day_id = tablet.get(DAYS).json()["days"][0]["id"]
            assert tablet.post(f"{DAYS}/{day_id}/drafts", json=draft("k")).status_code == 201
            entry = tablet.get(f"{DAYS}/{day_id}/history").json()["entries"][0]
            assert entry["device"] == "yard tablet"
        with httpx2.Client(base_url=base, headers={"origin": origin}) as other:
            assert other.post("/pair", data={"code": code, "name": "late"}).status_code in (403, 422)


# -- TLS -------------------------------------------------------------------------------------------------------------


def test_a_tablet_that_trusts_the_authority_alone_is_served(tmp_path: Path) -> None:
    with Served(tmp_path / "station.db", "--https") as served:
        folder = tmp_path / "station-authority"
        assert stat.S_IMODE((folder / "authority-key.pem").stat().st_mode) == 0o600
        context = ssl.create_default_context(cafile=str(folder / "authority.pem"))
        assert served.scheme == "https"
        with served.client(verify=context) as client:
            assert client.get(DAYS).status_code == 200
        with httpx2.Client(verify=context) as client:
            assert "Secure" in client.get(f"{served.url}/").headers["set-cookie"]
            assert client.get(f"https://localhost:{served.port}{DAYS}").status_code == 200
        assert served.said[1].startswith(f"This machine may as well open it at http://127.0.0.1:{served.port + 1}/, ")
        with httpx2.Client(base_url=f"http://127.0.0.1:{served.port + 1}") as client:
            assert client.get("/").headers["set-cookie"].startswith(f"steelyard-{served.port}=")
            assert client.get(DAYS).status_code == 200
        with served.client(verify=ssl.create_default_context()) as client, pytest.raises(httpx2.ConnectError):
            client.get(DAYS)
        trust = next(line for line in served.said if "certificate at" in line)
        plain = trust.partition("certificate at ")[2].partition(";")[0]
        assert plain == f"http://127.0.0.1:{served.port + 1}/trust"
        with httpx2.Client() as client:
            handed = client.get(plain.removesuffix("trust") + "authority.crt")
            assert handed.status_code == 200
            assert ssl.DER_cert_to_PEM_cert(handed.content) == (folder / "authority.pem").read_text()
    fingerprint = served.said[served.said.index(trust) + 1].strip()
    with Served(tmp_path / "station.db", "--https") as served:
        # the authority stays, so a tablet that trusts it goes on
        assert f"{fingerprint}\n" in served.said
        with served.client(verify=context) as client:
            assert client.get(DAYS).status_code == 200


def test_a_token_that_no_header_can_carry_is_refused(tmp_path: Path) -> None:
    for token in (" ", "tri\u00e4l", "a\nb"):
        done = refused("--store", str(tmp_path / "s.db"), "--token", token)
        assert done.exit_code == 2
        assert "--token is empty or holds what no header can carry; use letters and digits" in done.stderr
