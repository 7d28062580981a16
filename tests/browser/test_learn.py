"""Learn the rig in a browser: recorded from the simulated rig, typed by hand, sent as a file, kept in the yard."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.axe import violations
from tests.browser.conftest import DESK, EXAMPLE, PHONE, Opening
from tests.browser.serving import ROOT, Serving

LOG = ROOT / "examples" / "quay-bakery-sweep.csv"
STEPS = 4
SCREENS = 4.0
"""Of a phone, that a page may take before something is opened."""


@pytest.fixture(scope="module")
def rig(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serving]:
    """A station whose pads are virtual."""
    serving = Serving(tmp_path_factory.mktemp("rig") / "station.db", simulate=EXAMPLE)
    serving.start()
    yield serving
    serving.kill()


def open_learn(page: Page, station: Serving, day: str, query: str = "") -> None:
    page.goto(f"{station.url}/days/{day}/learn{query}")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")


def simulated_day(station: Serving) -> str:
    days = json.loads(station.get("/api/v1/days"))["days"]
    return next(day["id"] for day in days if day["title"].endswith("simulated"))


def rows(page: Page) -> int:
    return int(page.locator("#rows").inner_text().replace(",", ""))


def more_rows(page: Page) -> None:
    """Wait until the pads stood still and some rows came."""
    before = rows(page)
    expect(page.locator("#says")).to_have_text("Recording")
    page.wait_for_function(
        "before => Number(document.getElementById('rows').textContent.replaceAll(',', '')) > before + 4",
        arg=before,
    )


def no_violations(page: Page) -> None:
    assert violations(page) == []


def test_a_sweep_is_recorded_over_a_reload_fitted_and_kept(rig: Serving, desk: Page, opening: Opening) -> None:
    day = simulated_day(rig)
    rig.post("/api/v1/simulation", {"drive": 1})
    open_learn(desk, rig, day)
    no_violations(desk)
    desk.locator("#state").select_option("solo")
    desk.get_by_role("button", name="Begin").click()
    expect(desk.locator("body")).to_have_attribute("data-recording", "yes")
    more_rows(desk)
    for step in range(STEPS):
        desk.locator('[data-put="truck/ball"]').click()
        expect(desk.locator("#says")).to_have_text("Wait")
        if step == 1:
            desk.reload()
            expect(desk.locator("body")).to_have_attribute("data-recording", "yes")
            assert rows(desk) > 4
        more_rows(desk)
    watcher = opening(PHONE)
    open_learn(watcher, rig, day)
    expect(watcher.locator("body")).to_have_attribute("data-recording", "yes")
    no_violations(watcher)
    desk.get_by_role("button", name="Finish and keep the log").click()
    expect(desk).to_have_url(re.compile(r"log=1"))
    expect(desk.locator("#said li").first).to_contain_text("come off Crew-cab bread truck axle 1 for each 100 lb")
    expect(desk.locator("svg.chart .statics")).to_have_count(1)
    no_violations(desk)
    said = desk.locator("#said li").first.inner_text()
    value, low, high, statics = (
        float(text.replace("−", "-"))
        for text in re.search(r"^([\d.]+) .*95 %: (\S+) to (\S+); statics expects (\S+?)\)", said).groups()  # pyright: ignore[reportOptionalMemberAccess]
    )
    assert -high < value < -low
    assert low < statics < high, "the simulated rig is statics' own"
    text = rig.get(f"/api/v1/days/{day}/sweeps/1/log.csv")
    table = list(csv.reader(io.StringIO(text)))
    assert table[1] == ["t", "truck/1L", "truck/1R", "truck/2L", "truck/2R"]
    assert len(table) - 2 >= 5 * (STEPS + 1)
    desk.locator("#at").fill("ball")
    desk.get_by_role("button", name="Fit again").click()
    expect(desk).to_have_url(re.compile(r"[?&]at=ball"))
    expect(desk.locator("body")).to_have_attribute("data-ready", "yes")
    desk.get_by_role("button", name="Keep with the vehicle").click()
    expect(desk.locator("#teach-says")).to_contain_text("truck is in the yard, version 1")
    desk.get_by_role("link", name="To the yard").click()
    expect(desk.locator("main")).to_contain_text(re.compile(r"learned in solo: \d+ figures from log 1, kept 20\d\d-"))


def test_a_pulled_cable_is_no_sample_and_a_rig_that_leaves_ends_it(rig: Serving, phone: Page) -> None:
    day = simulated_day(rig)
    rig.post("/api/v1/simulation", {"drive": 1})
    open_learn(phone, rig, day)
    phone.locator("#state").select_option("solo")
    phone.get_by_role("button", name="Begin").click()
    more_rows(phone)
    rig.post("/api/v1/simulation", {"plugged": False})
    expect(phone.locator("#trouble")).to_contain_text("unplugged")
    phone.wait_for_timeout(1000)  # what was under way is shown
    stood = rows(phone)
    phone.wait_for_timeout(1500)
    assert rows(phone) == stood
    rig.post("/api/v1/simulation", {"plugged": True})
    more_rows(phone)
    rig.post("/api/v1/simulation", {"drive": None})
    expect(phone.locator("#says")).to_have_text("Stopped")
    expect(phone.locator("#why")).to_contain_text("went empty: the rig moved, or a wheel lifted.")
    phone.get_by_role("button", name="Let it go").click()
    phone.get_by_role("button", name=re.compile(r"Let \d+ rows go for good")).click()
    expect(phone.locator("body")).to_have_attribute("data-recording", "no")


def test_rows_are_typed_by_hand_on_a_phone(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_learn(phone, station, day)
    expect(phone.locator("#unheard")).to_contain_text("No indicator is connected to the station. Type each row by hand")
    expect(phone.get_by_role("button", name="Begin", exact=True)).to_have_count(0)
    assert phone.evaluate("document.documentElement.scrollHeight / innerHeight") <= SCREENS
    phone.locator("#state").select_option("solo")
    phone.get_by_role("button", name="Type rows by hand").click()
    inputs = phone.locator("#hand-fields input")
    for row in ((2180, 2100, 1560, 1560), (2100, 2020, 1900, 1900), (2020, 1940, 2240, 2240)):
        type_row(phone, row)
    expect(phone.locator("#rows")).to_have_text("3")
    # a row is undone by its button, stands in the fields again, and the one before it by the keys
    phone.get_by_role("button", name="Undo row 3").click()
    expect(inputs.first).to_have_value("2020")
    phone.get_by_role("button", name="Add the row").click()
    expect(phone.locator("#rows")).to_have_text("3")
    phone.locator("#next-row").click()
    phone.evaluate("document.activeElement.blur()")
    phone.keyboard.press("Control+z")
    expect(phone.locator("#rows")).to_have_text("2")
    phone.get_by_role("button", name="Add the row").click()
    # rows that were let go are brought back whole
    expect(phone.locator("#rows")).to_have_text("3")
    phone.get_by_role("button", name="Let it go").click()
    expect(phone.locator("#let-go-says")).to_contain_text("3 typed rows were let go.")
    phone.get_by_role("button", name="Undo", exact=True).click()
    expect(phone.locator("#rows")).to_have_text("3")
    expect(phone.get_by_role("button", name="Undo row 3")).to_be_visible()
    inputs.first.fill("2001")
    for field in inputs.all()[1:]:
        field.fill("2000")
    phone.get_by_role("button", name="Add the row").click()
    expect(phone.locator("#hand-fault")).to_contain_text("1L of Crew-cab bread truck: ")
    expect(phone.locator("#hand-fault")).to_contain_text("no multiple of its division of 20 lb")
    no_violations(phone)
    said = phone.locator("main").inner_text()
    assert not re.search(r"truck/|trailer/", said), said
    phone.get_by_role("button", name="Finish and keep the log").click()
    expect(phone.locator("#said li").first).to_contain_text("come off Crew-cab bread truck axle 1")
    assert not re.search(r"\btruck/|\d truck axle", phone.locator("main").inner_text())


def type_row(page: Page, row: tuple[int, ...]) -> None:
    """Type one row, and wait until it is taken."""
    inputs = page.locator("#hand-fields input")
    expect(inputs).to_have_count(len(row))
    for field, value in zip(inputs.all(), row, strict=True):
        field.fill(str(value))
    page.get_by_role("button", name="Add the row").click()
    expect(page.locator("#hand-fault")).to_be_empty()
    expect(inputs.first).to_have_value("")
    expect(page.locator("#hand-fields .means")).to_have_text([""] * len(row))


def test_a_log_is_sent_and_a_bad_one_says_line_and_column(station: Serving, opening: Opening, tmp_path: Path) -> None:
    day = station.import_day(EXAMPLE.read_text())
    page = opening(DESK)
    open_learn(page, station, day)
    page.get_by_text("A log that was kept elsewhere", exact=True).click()
    page.locator("#upload-state").select_option("solo")
    bad = tmp_path / "bad.csv"
    bad.write_text("t,truck/1L,truck/2L\n0,2180,1560\n1,2161,1560\n2,2140,1700\n")
    page.locator("#upload-file").set_input_files(bad)
    page.get_by_role("button", name="Fit and keep it").click()
    expect(page.locator("#upload-fault")).to_contain_text(
        "Line 3: 1L of Crew-cab bread truck: 2161: is not a multiple of the division"
    )
    page.locator("#upload-file").set_input_files(LOG)
    page.locator("#upload-at").fill("ball")
    page.get_by_role("button", name="Fit and keep it").click()
    expect(page.locator("#said li").first).to_have_text(
        "23.47 ± 0.79 lb come off Crew-cab bread truck axle 1 for each 100 lb that go onto "
        "Crew-cab bread truck axle 2 "
        "(95 %: −24.26 to −22.69; statics expects −23.42)."
    )
    for look in ("light", "dark"):
        page.locator("#look").select_option(look)
        no_violations(page)


def test_typed_rows_outlive_a_station_that_is_killed(own_station: Serving, phone: Page) -> None:
    day = own_station.import_day(EXAMPLE.read_text())
    open_learn(phone, own_station, day)
    phone.locator("#state").select_option("solo")
    phone.get_by_role("button", name="Type rows by hand").click()
    type_row(phone, (2180, 2100, 1560, 1560))
    type_row(phone, (2100, 2020, 1900, 1900))
    phone.locator("#hand-fields input").first.fill("2020")
    own_station.kill()
    own_station.start()
    expect(phone.locator("#let-go-says")).to_contain_text("2 typed rows on this device that the station does not have")
    open_learn(phone, own_station, day)
    phone.get_by_role("button", name="Undo", exact=True).click()
    expect(phone.locator("#rows")).to_have_text("2")
    expect(phone.locator("#hand-fields input").first).to_have_value("2020")
    type_row(phone, (2020, 1940, 2240, 2240))
    phone.get_by_role("button", name="Finish and keep the log").click()
    expect(phone.locator("#said li").first).to_contain_text("come off Crew-cab bread truck axle 1")
    open_learn(phone, own_station, day)
    expect(phone.locator("#let-go-says")).to_be_hidden()
