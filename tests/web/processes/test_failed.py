"""Where the program fails on a day: told in words with the place, with what to report, and never as a bare number."""

from __future__ import annotations

import asyncio
import pickle
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NoReturn

import pytest
from starlette.testclient import TestClient

from steelyard.findings import weigh
from steelyard.model import WeighDay
from steelyard.store import open_store
from steelyard.web import Settings, create_app
from steelyard.web.http.problem import problem_of
from steelyard.web.station import apart, aside, memory
from steelyard.web.station.aside import Aside, Asides
from steelyard.web.station.reckon import Reckoner
from steelyard.web.station.refused import Refusal, RefusalError
from steelyard.web.station.station import Station
from tests.web.conftest import BASE, Making
from tests.web.house import ask
from tests.web.serving import EXAMPLE, TOKEN
from tests.web.shapes import error

TEXT = EXAMPLE.read_text(encoding="utf-8")
DAYS = "/api/v1/days"
REPORT = "Nothing that was kept is lost. Please report these words, and the day as a file where it is about a day"


def failing(making: Making, folder: Path, weigh_day: Any) -> tuple[TestClient, str]:
    settings = Settings(store=folder / "f.db", token=TOKEN)
    station = Station(open_store(settings.store), settings, reckoner=Reckoner(weigh_day))
    client = making(station=station, headers={"authorization": f"Bearer {TOKEN}"})
    return client, client.post(DAYS, content=TEXT).json()["id"]


def test_a_day_that_the_arithmetic_fails_on_is_told_with_the_place(making: Making, tmp_path: Path) -> None:
    def breaks(day: WeighDay) -> NoReturn:
        weigh(object())  # pyright: ignore[reportArgumentType] - fails inside of the program
        raise AssertionError(day)

    client, day_id = failing(making, tmp_path, breaks)
    message = error(client.get(f"{DAYS}/{day_id}/findings?wait=120"), 422, "not_worked_out")
    assert message.startswith("the findings of this day could not be worked out: this is a fault of the program (")
    assert re.search(r", in adjustment/[a-z_/]+\.py, line \d+\)", message)
    assert message.endswith(REPORT)
    headers = {"host": "127.0.0.1:8765", "authorization": f"Bearer {TOKEN}"}
    # nothing is raised beyond the answer: that would end the connection under the next request
    assert asyncio.run(ask(client.app, "GET", f"{DAYS}/{day_id}/findings", headers, here=True))[0] == 422
    page = client.get(f"/days/{day_id}", headers={"accept": "text/html"})
    assert page.status_code == 422
    assert "Please report these words" in page.text
    assert client.get(f"{DAYS}/{day_id}").status_code == 200  # the day itself is there as ever


def test_a_question_that_the_program_fails_on_is_told_too(
    making: Making, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, day_id = failing(making, tmp_path, weigh)

    def breaks(*_: object, **__: object) -> NoReturn:
        raise ZeroDivisionError

    monkeypatch.setattr("steelyard.questions.entry.Entry.asked", breaks)
    for path in ("whatif", "ledger", "distribute"):
        message = error(client.post(f"{DAYS}/{day_id}/{path}", json={}), 422, "not_worked_out")
        assert "ZeroDivisionError" in message
        assert message.endswith(REPORT)


def test_what_fails_outside_of_any_question_says_how_to_report_it(
    making: Making, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(*_: object) -> NoReturn:
        raise ZeroDivisionError

    client = making(headers={"authorization": f"Bearer {TOKEN}"})
    monkeypatch.setattr("steelyard.store.Store.list_days", breaks)
    message = error(client.get(DAYS), 500, "internal")
    assert message.startswith(
        "this is a fault of the program, not yours (ZeroDivisionError, in web/station/station.py, line "
    )
    assert message.endswith(REPORT)


def test_another_process_tells_the_place_as_well(making: Making, tmp_path: Path) -> None:
    """The process that works out the findings sends its error over a pipe, without a traceback."""
    code = (
        "import steelyard.findings as f, sys, runpy\n"
        "real = f.weigh\n"
        "def weigh(day):\n"
        "    real(object())\n"
        "f.weigh = weigh\n"
        f"runpy.run_path({apart.__file__!r})['main']({aside.__file__!r})\n"
    )
    asides = Asides(lambda: Aside((sys.executable, "-c", code)))
    try:
        client, day_id = failing(making, tmp_path, asides.weigh)
        message = error(client.get(f"{DAYS}/{day_id}/findings?wait=120"), 422, "not_worked_out")
        assert re.search(r", in adjustment/[a-z_/]+\.py, line \d+\)", message)
    finally:
        asides.close()


# -- memory ----------------------------------------------------------------------------------------------------------


def test_a_process_gets_no_more_than_its_bound() -> None:
    code = (
        "import sys\nsys.stdin.read(1)\n"
        "try: bytearray(300 << 20)\nexcept MemoryError: print('refused')\nelse: print('given')\n"
    )
    for most, said in ((200 << 20, "refused"), (600 << 20, "given")):
        pipe = subprocess.PIPE
        with subprocess.Popen([sys.executable, "-c", code], stdin=pipe, stdout=pipe, text=True) as process:
            memory.bound(process.pid, most)
            assert process.communicate("x")[0].strip() == said


def test_a_day_that_needs_too_much_memory_is_refused_in_words(
    making: Making, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = (
        "import steelyard.findings as f, runpy\n"
        "def weigh(day):\n"
        "    return bytearray(1 << 30)\n"
        "f.weigh = weigh\n"
        f"runpy.run_path({apart.__file__!r})['main']({aside.__file__!r})\n"
    )
    monkeypatch.setattr(memory, "_LEAST", 800 << 20)
    monkeypatch.setattr(memory, "_MOST", 800 << 20)
    asides = Asides(lambda: Aside((sys.executable, "-c", code)))
    try:
        client, day_id = failing(making, tmp_path, asides.weigh)
        message = error(client.get(f"{DAYS}/{day_id}/findings?wait=120"), 422, "not_worked_out")
        assert "that needs more memory than the 0.8 GB that the station gives it. Every draft is kept." in message
    finally:
        asides.close()


def test_the_bound_is_a_quarter_of_the_machine_within_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    for pages, said in ((1 << 18, 1 << 30), (2 << 20, 2 << 30), (1 << 24, 3 << 30)):
        sizes = {"SC_PHYS_PAGES": pages, "SC_PAGE_SIZE": 4096}
        monkeypatch.setattr("os.sysconf", sizes.__getitem__)
        assert memory.most_bytes() == said


# -- numbers ---------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module", name="shared")
def _shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, str]]:
    """A station with the bundled day, for all who keep nothing in it, and the day's id."""
    app = create_app(Settings(store=tmp_path_factory.mktemp("shared") / "station.db", token=TOKEN))
    headers = {"authorization": f"Bearer {TOKEN}"}
    with TestClient(app, base_url=BASE, client=("127.0.0.1", 50000), headers=headers) as client:
        yield client, client.post(DAYS, content=TEXT).json()["id"]


@pytest.mark.parametrize("number", ["9" * 400, "-" + "9" * 400, "1e400", "9" * 900])
@pytest.mark.parametrize("path", ["plan", "whatif", "influence", "loadmap", "trailer", "rebalance", "distribute",
                                  "ledger", "drafts", "corrections", "states", "cargo", "recording"])  # fmt: skip
def test_an_absurd_number_anywhere_is_refused_in_words(shared: tuple[TestClient, str], path: str, number: str) -> None:
    script, day_id = shared
    keys = (
        "seconds",
        "mass",
        "x",
        "value",
        "draft",
        "pull",
        "item",
        "grid",
        "couple",
        "couple_change",
        "from",
        "state",
    )
    for key in keys:
        for value in (number, f"[{number}, {number}]", f'{{"truck": {number}}}'):
            known = "".join(f', "{name}": "solo"' for name in ("from", "state") if name != key)
            answer = script.post(f"{DAYS}/{day_id}/{path}", content=f'{{"key": "k", "{key}": {value}{known}}}')
            assert answer.status_code in (400, 404, 409, 422), answer.text
            assert "this is a fault of the program" not in answer.text
            assert len(answer.text) < 3000


def test_a_time_of_four_hundred_digits_is_no_time(script: TestClient, day_id: str) -> None:
    answer = script.post(f"{DAYS}/{day_id}/plan", content=f'{{"pads": ["p1"], "want": [], "seconds": {"9" * 400}}}')
    assert "99999...: is not a number from 0.1 to 3600" in error(answer, 422, "faults")


def test_every_refusal_of_the_station_has_a_status_and_goes_over_to_another_process() -> None:
    for refusal in Refusal:
        error = pickle.loads(pickle.dumps(RefusalError(refusal, "not now", 5)))
        problem = problem_of(error)
        assert 400 <= problem.status < 600
        assert (problem.code, problem.message, problem.headers) == (refusal.value, "not now", {"retry-after": "5"})
    assert problem_of(RefusalError(Refusal.PAD_TAKEN, "taken")).headers is None
