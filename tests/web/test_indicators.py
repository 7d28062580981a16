"""Connected instruments: one teaching for many boxes, channels put on pads, choices that survive a restart."""

from __future__ import annotations

import asyncio
import html
import re
from collections.abc import Callable, Generator, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Event, Thread
from typing import Any

import httpx2
import pytest
from starlette.testclient import TestClient

from steelyard.capture import Example, LinePattern, Shown, pattern_to_json, teach
from steelyard.dayfile import DayFileError
from steelyard.store import Shelf, open_store
from steelyard.web.settings import Settings
from steelyard.web.station.ports import SourceError, connect
from steelyard.web.station.station import Station
from steelyard.web.station.wiring import Routes, Wiring, WiringError, given_wirings, together, wiring_of
from tests.waiting import until
from tests.web.conftest import Making
from tests.web.serving import EXAMPLE, TOKEN, refused
from tests.web.shapes import error

TOKENED = {"authorization": f"Bearer {TOKEN}"}
INDICATORS = "/api/v1/indicators"


def taught(name: str, *lines: tuple[str, tuple[Shown, ...]]) -> LinePattern:
    """A pattern as a person teaches it."""
    return teach([Example(line, shown) for line, shown in lines], name=name).proposals[0].pattern


ONE = taught(
    "greybox",
    ("S +  980.0 kg", (Shown(980.0, steady=True),)),
    ("M +  120.0 kg", (Shown(120.0, steady=False),)),
    ("S -   10.0 kg", (Shown(-10.0, steady=True),)),
)
"""Of a box with one display."""

TWO = taught(
    "twobox",
    ("A 0980 kg", (Shown(980.0, channel="A"),)),
    ("B 0120 kg", (Shown(120.0, channel="B"),)),
    ("A 0110 kg", (Shown(110.0, channel="A"),)),
)
"""Of a box with two pads, which its lines name."""


class Box:
    """A box that prints its lines into a file, over and over."""

    def __init__(self, path: Path, *lines: str) -> None:
        self.path = path
        self.lines = lines
        path.touch()

    def print(self) -> None:
        """Once."""
        with self.path.open("a", encoding="ascii") as file:
            file.writelines(f"{line}\n" for line in self.lines)

    @property
    def address(self) -> str:
        """As it is given to the station."""
        return f"file:{self.path}"


@contextmanager
def printing(*boxes: Box) -> Iterator[None]:
    """The boxes print for as long as the block runs."""
    stop = Event()

    def go() -> None:
        while not stop.wait(0.05):
            for box in boxes:
                box.print()

    thread = Thread(target=go)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join()


@pytest.fixture(name="four")
def _four(tmp_path: Path) -> Generator[tuple[str, ...], None, None]:
    """Four equal boxes, as instruments of a station."""
    boxes = {f"p{number}": Box(tmp_path / f"p{number}.txt", f"S + {number}00.0 kg") for number in range(1, 5)}
    with printing(*boxes.values()):
        yield tuple(f"{name}={box.address}" for name, box in boxes.items())


def seen(client: TestClient, ready: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
    """The indicators by name, once they are as they should be."""
    cards: dict[str, Any] = {}

    def look() -> bool:
        cards.update({card["name"]: card for card in client.get(INDICATORS).json()["indicators"]})
        return ready(cards)

    until(look, "what is awaited of the indicators")
    return cards


def pads(card: dict[str, Any]) -> dict[str, Any]:
    """By channel the pad and the value of an instrument."""
    return {item["channel"]: (item["pad"], item["value"]) for item in card["channels"]}


def text_of(answer: httpx2.Response) -> str:
    """A page as it reads, in one line."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())


# -- which pad ---------------------------------------------------------------------------------------------------------


def test_a_channel_is_the_pad_of_its_name_where_that_is_clear() -> None:
    routes = Routes({"p1": ["p1"], "box": ["p2", "p3"]})
    assert [routes.pad("p1", "p1"), routes.pad("box", "p2"), routes.pad("box", "p3")] == ["p1", "p2", "p3"]
    assert routes.pad("box", "p1") == "box.p1"  # never taught, and somebody else's
    assert routes.pad("box", "x") == "box.x"
    assert Routes({"box": ["A"]}).pad("box", "x") == "x"


def test_equal_channels_of_two_boxes_are_no_pad_until_they_are_chosen() -> None:
    both = {"box1": ["A", "B"], "box2": ["A", "B"]}
    assert Routes(both).pad("box1", "A") == "box1.A"
    assert Routes(both).pad("box2", "A") == "box2.A"
    routes = Routes(both, {"box1": Wiring(None, {"A": "p1"}), "box2": Wiring(None, {"B": "A"})})
    assert routes.pad("box1", "A") == "p1"
    assert routes.pad("box2", "B") == "A"
    assert routes.pad("box2", "A") == "box2.A"  # the pad A is another channel's now
    assert routes.pad("box1", "B") == "B"  # nobody else means it any more


def test_a_pad_that_was_chosen_twice_is_nobodys() -> None:
    wirings = {"box1": Wiring(None, {"A": "p1"}), "box2": Wiring(None, {"A": "p1"}), "gone": Wiring(None, {"A": "p2"})}
    routes = Routes({"box1": ["A"], "box2": ["A"], "p1": ["p1"]}, wirings)
    assert routes.doubled == {"p1"}
    assert [routes.pad("box1", "A"), routes.pad("box2", "A"), routes.pad("p1", "p1")] == ["box1.A", "box2.A", "p1.p1"]


WORD = "is not a name; a name has 1 to 40 letters, digits, - and _"


@pytest.mark.parametrize(
    ("data", "faults"),
    [
        ({"patern": "red"}, ["patern: is an unknown key; did you mean 'pattern'?"]),
        ({"pattern": 5, "colour": 1}, ["colour: is an unknown key; the keys are pattern, pads", f"pattern: 5: {WORD}"]),
        ({"pattern": "a b"}, [f"pattern: a b: {WORD}"]),
        ({"pads": ["p1"]}, ['pads: ["p1"]: is not a table of keys and values']),
        (
            {"pads": {"": "p1"}},
            ['pads: "": is not the name of a channel, which has 1 to 40 printable letters'],
        ),
        ({"pads": {"A": "p 1", "B": None}}, [f"pads.A: p 1: {WORD}", f"pads.B: null: {WORD}"]),
        ({"pads": {"A": "p1", "B": "p1"}}, ["pads: p1: is chosen for two channels; a pad has one"]),
    ],
)
def test_a_choice_that_cannot_be_is_said(data: dict[str, Any], faults: list[str]) -> None:
    with pytest.raises(DayFileError) as refusal:
        wiring_of(data)
    assert [str(fault) for fault in refusal.value.faults] == faults


@pytest.mark.parametrize(
    ("patterns", "places", "message"),
    [
        (["greybox"], [], "'greybox' names no instrument and pattern; write p1|box=PATTERN, each once"),
        (["p9=greybox"], [], "'p9=greybox' names no instrument and pattern; write p1|box=PATTERN, each once"),
        (["p1=a", "p1=b"], [], "'p1=b' names no instrument and pattern; write p1|box=PATTERN, each once"),
        ([], ["A=p1"], "'A=p1' names no channel and pad; write p1|box/CHANNEL=PAD, each once"),
        ([], ["box/A=p1", "box/A=p2"], "'box/A=p2' names no channel and pad; write p1|box/CHANNEL=PAD, each once"),
        ([], ["box/A=p 2"], f"box: pads.A: p 2: {WORD}"),
        ([], ["box/A=p2", "p1/p1=p2"], "p2 is chosen for two channels; a pad has one"),
    ],
)
def test_what_is_said_at_the_start_must_make_sense(patterns: list[str], places: list[str], message: str) -> None:
    with pytest.raises(WiringError) as refusal:
        given_wirings(["p1", "box"], patterns, places)
    assert str(refusal.value) == message


def test_what_is_said_at_the_start_goes_before_what_was_kept() -> None:
    given = given_wirings(["box"], ["box=new"], ["A=p1"])
    kept = {"box": Wiring("old", {"A": "p9", "B": "p1", "C": "p3"}), "other": Wiring("own")}
    assert together(kept, given) == {"box": Wiring("new", {"A": "p1", "C": "p3"}), "other": Wiring("own")}


# -- many boxes, one teaching ------------------------------------------------------------------------------------------


def test_four_equal_boxes_are_taught_once(making: Making, four: tuple[str, ...]) -> None:
    client = making(headers=TOKENED, instruments=four)
    cards = seen(client, lambda found: all(card["lines"] for card in found.values()))
    assert [cards[name]["pattern"] for name in ("p1", "p2", "p3", "p4")] == [None] * 4
    assert cards["p3"]["lines"][-1] == "S + 300.0 kg"
    page = text_of(client.get("/indicators"))
    assert page.count("No pattern reads its lines yet, so none of them is a reading.") == 4
    assert "S + 200.0 kg" in page

    names = ["p1", "p2", "p3", "p4"]
    form = {"pattern": pattern_to_json(ONE), "name": "greybox", "reader": names}
    answer = client.post("/indicators/keep", data=form, headers=TOKENED, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/indicators?kept=greybox&taught=yes#connected")
    cards = seen(client, lambda found: all(pads(card)[name][1] is not None for name, card in found.items()))
    assert {name: pads(card) for name, card in cards.items()} == {
        f"p{number}": {f"p{number}": (f"p{number}", number * 100.0)} for number in range(1, 5)
    }
    page = text_of(client.get("/indicators?kept=greybox"))
    assert "Kept greybox." in page
    assert "No pattern reads its lines yet" not in page
    assert "reads p1, p2, p3, p4" in page


def test_a_choice_survives_a_restart(making: Making, four: tuple[str, ...], tmp_path: Path) -> None:
    with open_store(tmp_path / "station.db") as store:
        store.save(Shelf.TEACHING, "greybox", pattern_to_json(ONE))
    first = making(headers=TOKENED, instruments=four[:2])
    assert first.put(f"{INDICATORS}/p1", json={"pattern": "greybox", "pads": {"p1": "p4"}}).json() == {
        "pattern": "greybox",
        "pads": {"p1": "p4"},
    }
    again = making(headers=TOKENED, instruments=four[:2])
    cards = seen(again, lambda found: pads(found["p1"])["p1"][1] is not None)
    assert pads(cards["p1"]) == {"p1": ("p4", 100.0)}
    assert again.get("/api/v1/channels").json()["channels"]["p4"]["source"] == "p1"
    assert cards["p1"]["pattern"] == "greybox"
    assert cards["p2"]["pattern"] is None


def test_a_pattern_named_like_the_instrument_goes_on_working(
    making: Making, four: tuple[str, ...], tmp_path: Path
) -> None:
    with open_store(tmp_path / "station.db") as store:
        store.save(Shelf.TEACHING, "p2", pattern_to_json(ONE))
    client = making(headers=TOKENED, instruments=four)
    cards = seen(client, lambda found: pads(found["p2"])["p2"][1] is not None)
    assert pads(cards["p2"]) == {"p2": ("p2", 200.0)}
    assert cards["p1"]["pattern"] is None


# -- a box with several pads -------------------------------------------------------------------------------------------


def test_the_channels_of_a_box_are_put_on_pads(making: Making, tmp_path: Path) -> None:
    with open_store(tmp_path / "station.db") as store:
        store.save(Shelf.TEACHING, "twobox", pattern_to_json(TWO))
        store.add_day(EXAMPLE.read_text(encoding="utf-8"))
    boxes = [Box(tmp_path / f"{name}.txt", "A 0400 kg", "B 0600 kg") for name in ("left", "right")]
    instruments = tuple(f"{box.path.stem}={box.address}" for box in boxes)
    client = making(headers=TOKENED, instruments=instruments, patterns=("left=twobox",))
    assert client.put(f"{INDICATORS}/right", json={"pattern": "twobox"}).status_code == 200
    with printing(*boxes):
        cards = seen(client, lambda found: pads(found["right"])["B"][1] is not None)
        assert pads(cards["right"]) == {"A": ("right.A", 400.0), "B": ("right.B", 600.0)}
        page = client.get("/indicators")
        assert "No pad is called right.A in the days at hand: it is shown on none." in text_of(page)
        assert "as it was started" in text_of(page)

        form = {"instrument": "right", "pattern": "twobox", "channel": ["A", "B"], "pad": ["p1", "-"]}
        assert client.post("/indicators/choose", data=form, follow_redirects=False).status_code == 303
        cards = seen(client, lambda found: pads(found["right"])["A"][1] is not None)
        assert pads(cards["right"])["A"] == ("p1", 400.0)
        assert [item["placed"] for item in cards["right"]["channels"]] == [True, False]

        taken = client.put(f"{INDICATORS}/left", json={"pads": {"B": "p1"}})
        assert error(taken, 409, "pad_taken") == "p1 is A of right already; take it from there first"
        given = client.put(f"{INDICATORS}/left", json={"pattern": "greybox"})
        assert error(given, 409, "given_at_start") == (
            "left was started with the pattern twobox; to choose here, start it without that"
        )
        unknown = client.put(f"{INDICATORS}/right", json={"pattern": "greybox"})
        assert error(unknown, 422, "no_such_pattern") == "no pattern 'greybox' was taught; teach it first"
        nobody = client.put(f"{INDICATORS}/nobody", json={})
        assert (
            error(nobody, 404, "no_such_indicator") == "no instrument 'nobody' is connected; connected are left, right"
        )
        bad = client.put(f"{INDICATORS}/right", json={"pads": {"A": "p1", "B": "p1"}, "pad": 1})
        assert error(bad, 422, "faults") == "pad: is an unknown key; did you mean 'pads'?"
        form = {"instrument": "left", "channel": ["A"], "pad": ["p1"]}
        answer = client.post("/indicators/choose", data=form)
        assert answer.status_code == 409
        assert "P1 is A of right already; take it from there first." in text_of(answer)


def test_channels_of_a_box_are_taught_on_the_page(making: Making, tmp_path: Path) -> None:
    box = Box(tmp_path / "box.txt", "A 0400 kg", "B 0600 kg", "A 0390 kg")
    client = making(headers=TOKENED, instruments=(f"box={box.address}",))
    with printing(box):
        seen(client, lambda found: len(found["box"]["lines"]) == 3)
    answer = client.get("/indicators?lines=box")
    pasted = re.search(r'<textarea id="lines"[^>]*>([^<]*)</textarea>', answer.text)
    assert pasted is not None
    assert set(pasted[1].splitlines()) == {"A 0400 kg", "B 0600 kg", "A 0390 kg"}
    said = {"A 0400 kg": "A 400 kg", "B 0600 kg": "B 600 kg", "A 0390 kg": "A 390 kg"}
    form = {"lines": pasted[1], "shown": "\n".join(said[line] for line in pasted[1].splitlines()), "name": "box"}
    page = client.post("/indicators", data=form)
    assert "A: 400" in text_of(page)
    assert "B: 600" in text_of(page)
    pattern = re.search(r'name="pattern" value="([^"]*)"', page.text)
    assert pattern is not None
    form = {"pattern": html.unescape(pattern[1]), "name": "box"}
    assert client.post("/indicators/keep", data=form, follow_redirects=False).status_code == 303
    with printing(box):
        cards = seen(client, lambda found: len(found["box"]["channels"]) == 2)
    assert {item["channel"] for item in cards["box"]["channels"]} == {"A", "B"}


def test_a_row_that_says_nothing_sound_is_answered_in_words(making: Making) -> None:
    client = making(headers=TOKENED)
    form = {"lines": "A 1\nA 2", "shown": "A 1 kg\nmany", "name": "box"}
    assert "'many' has no number; write for example" in text_of(client.post("/indicators", data=form))


def test_a_pattern_without_a_sound_name_is_not_kept(making: Making) -> None:
    client = making(headers=TOKENED)
    answer = client.post("/indicators/keep", data={"pattern": pattern_to_json(ONE), "name": "a b"})
    assert error(answer, 422, "no_name") == "a pattern has a name of 1 to 40 letters, digits, - and _"
    answer = client.post("/indicators/keep", data={"pattern": "{}", "name": "box"})
    assert error(answer, 422, "no_pattern") == "the pattern is not of format 1"


# -- at the start ------------------------------------------------------------------------------------------------------


def test_a_pattern_that_was_never_taught_is_refused_at_the_start(tmp_path: Path) -> None:
    settings = Settings(store=tmp_path / "station.db", instruments=("p1=tcp:127.0.0.1:1",), patterns=("p1=greybox",))
    with open_store(settings.store) as store:
        with pytest.raises(SourceError, match=r"^no pattern 'greybox' was taught to this store; there are: none yet$"):
            connect(settings, store)
        store.save(Shelf.TEACHING, "greybox", pattern_to_json(ONE))
        assert connect(settings, store).given == {"p1": Wiring("greybox")}


def test_the_command_says_what_is_wrong(tmp_path: Path) -> None:
    store = str(tmp_path / "station.db")
    done = refused("--store", store, "--instrument", "p1=tcp:127.0.0.1:1", "--pattern", "p1=greybox")
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.strip().endswith("no pattern 'greybox' was taught to this store; there are: none yet")
    done = refused("--store", store, "--instrument", "p1=tcp:127.0.0.1:1", "--pad", "p2/A=p1")
    assert done.exit_code == 2
    assert done.stderr.strip().endswith("'p2/A=p1' names no channel and pad; write p1/CHANNEL=PAD, each once")


def test_two_choices_at_once_leave_one_reader_a_port(tmp_path: Path, four: tuple[str, ...]) -> None:
    async def run() -> int:
        settings = Settings(store=tmp_path / "station.db", instruments=four)
        station = Station(open_store(settings.store), settings)
        before = len(asyncio.all_tasks())
        station.start()
        await asyncio.gather(*(station.wire(f"p{number}", Wiring(), "test") for number in (1, 2, 3, 4) * 3))
        running = len(asyncio.all_tasks()) - before
        await station.close()
        return running

    assert asyncio.run(run()) == len(four) + 1  # and one that shows
