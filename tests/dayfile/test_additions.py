"""One thing more: read against a day alone, written as one block, it is what reading the whole grown text gives."""

from __future__ import annotations

import datetime
import json
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from steelyard.dayfile import (
    AddedBlock,
    DayFileError,
    Part,
    can_grow,
    extended,
    grown,
    parse_day,
    read_block,
    read_cargo,
    read_choice,
    read_correction,
    read_day,
    read_draft,
    read_instrument,
    read_state,
    read_vehicle,
    with_choice,
    with_draft,
    write_cargo,
    write_choice,
    write_correction,
    write_day,
    write_draft,
    write_instrument,
    write_state,
    write_vehicle,
)
from steelyard.model import ChosenRules, WeighDay
from steelyard.units import UnitSystem
from tests.dayfile.days import weigh_days

EXAMPLE = Path(__file__).parents[2] / "examples" / "quay-bakery.toml"


@pytest.fixture(scope="module", name="day")
def _day() -> WeighDay:
    return read_day(EXAMPLE)


def blocks_of(day: WeighDay) -> list[str]:
    """Everything that can be added, each as one block; what is referred to comes before what refers to it."""
    later = [write_state(day, state) for state in day.states.values()]
    # a couple taken from another state needs that state to be there
    later.sort(key=lambda block: "as =" in block)
    return [
        *(write_instrument(instrument, day.units) for instrument in day.instruments.values()),
        *(write_vehicle(vehicle, day.units) for vehicle in day.vehicles.values()),
        *(write_cargo(day, cargo) for cargo in day.cargo.values()),
        *later,
        *(write_draft(day, draft) for draft in day.drafts),
        *(write_correction(day, correction) for correction in day.corrections),
    ]


@given(weigh_days())
@settings(max_examples=30, deadline=None)
def test_a_day_built_block_by_block_is_the_day(day: WeighDay) -> None:
    bare = WeighDay(day.title, day.units, day.site, day.record)
    blocks = blocks_of(day)
    built = bare
    for block in blocks:
        built = extended(built, block)
    text = grown(write_day(bare), blocks)
    assert parse_day(text, "grown") == built
    assert built == day


def test_a_draft_from_json_is_the_draft_of_the_file(day: WeighDay) -> None:
    body = json.loads(
        '{"key": "a-1", "state": "solo", "at": "2026-04-09T10:00:00.250Z", "label": null, "placement": "p", '
        '"note": "wind \\u2028 \\"left\\"", "unsupported": "ground", '
        '"readings": {"truck/1L": ["p1", 2180], "truck/1R": ["p2", "2100 lb"]}}'
    )
    draft = read_draft(day, body)
    assert (draft.number, draft.key, draft.state, draft.label) == (7, "a-1", "solo", "")
    assert (draft.note, draft.placement, draft.on_ground) == ('wind \u2028 "left"', "p", True)
    assert draft.at == datetime.datetime(2026, 4, 9, 10, 0, 0, 250_000, datetime.UTC)
    assert [(item.place.text, item.instrument) for item in draft.readings] == [("truck/1L", "p1"), ("truck/1R", "p2")]
    assert parse_day(grown(EXAMPLE.read_text(encoding="utf-8"), [write_draft(day, draft)]), "out") == with_draft(
        day, draft
    )


def test_a_correction_names_its_draft_by_the_key(day: WeighDay) -> None:
    keyed = extended(day, '[[drafts]]\nkey = "k"\nstate = "solo"\nreadings = { "truck/1L" = ["p1", 2180] }\n')
    one = read_correction(keyed, {"draft": 7, "place": "truck/1L", "reason": "wheel half off"})
    assert (
        write_correction(keyed, one) == '[[corrections]]\ndraft = "k"\nplace = "truck/1L"\nreason = "wheel half off"\n'
    )
    other = read_correction(keyed, {"draft": 1, "place": "truck/1L", "value": 2200, "reason": "misread"})
    assert write_correction(keyed, other).startswith("[[corrections]]\ndraft = 1\n")


def test_the_last_choice_of_rules_counts_and_nothing_of_an_earlier_one_is_kept_in_it(day: WeighDay) -> None:
    first = read_choice(day, {"apply": ["us-interstate"], "use": "commerce", "licence": "A", "from_memory": True})
    last = read_choice(day, {"apply": [], "where": "DE", "use": None})
    blocks = [write_choice(first), write_choice(last)]
    assert blocks[1] == '[[rule_choices]]\napply = []\nwhere = "DE"\n'
    built = extended(extended(day, blocks[0]), blocks[1])
    assert built == with_choice(with_choice(day, first), last)
    assert built.rules == ChosenRules(where="DE")
    assert [[one.id for one in item.sets] for item in built.earlier_rules] == [[], ["us-interstate"]]
    assert built.rule_choices == (first, last)
    assert parse_day(grown(EXAMPLE.read_text(encoding="utf-8"), blocks), "out") == built
    assert parse_day(write_day(built), "again") == built


@pytest.mark.parametrize(
    ("block", "fault"),
    [
        ("[[rule_choices]]\n", "rule_choices[1].apply: is missing; a choice of rules needs it"),
        ('[[rule_choices]]\napply = ["x"]\n', 'rule_choices[1].apply[1]: "x": is not a rule set'),
        ('[rule_choices]\napply = ["x"]\n', "rule_choices: "),
    ],
)
def test_a_faulty_choice_in_a_file_is_named_with_its_place(block: str, fault: str) -> None:
    with pytest.raises(DayFileError) as caught:
        parse_day(grown(EXAMPLE.read_text(encoding="utf-8"), [block]), "out")
    assert fault in str(caught.value)


SAME: dict[str, tuple[dict[str, Any], str]] = {
    "nothing else": (
        {"same": "hitched"},
        (
            'vehicles = ["truck", "oven"]\ncouple = { towing = "truck", at = "ball", trailer = "oven" }\n'
            'cargo = ["baker", "water"]\n'
        ),
    ),
    "with and without": (
        {"same": "hitched", "with": ["apprentice"], "without": ["baker"]},
        (
            'vehicles = ["truck", "oven"]\ncouple = { towing = "truck", at = "ball", trailer = "oven" }\n'
            'cargo = ["water", "apprentice"]\n'
        ),
    ),
    "a change of what is changed": (
        {"same": "market", "change": {"water": {"level": "75 %"}, "baker": {"x": "60 in"}}},
        (
            'vehicles = ["truck", "oven"]\ncouple = { towing = "truck", at = "ball", trailer = "oven", '
            'weight_distribution = { as = "levelled" } }\ncargo = ["baker", "apprentice", "water"]\n'
            'change.water.level = "75 %"\nchange.baker.x = "60 in"\n'
        ),
    ),
    "the water gone, its change too": (
        {"same": "market", "without": ["water"]},
        (
            'vehicles = ["truck", "oven"]\ncouple = { towing = "truck", at = "ball", trailer = "oven", '
            'weight_distribution = { as = "levelled" } }\ncargo = ["baker", "apprentice"]\n'
        ),
    ),
    "the trailer left behind": (
        {"same": "market", "vehicles": ["truck"]},
        'vehicles = ["truck"]\ncargo = ["baker", "apprentice"]\n',
    ),
    "another coupling": (
        {
            "same": "hitched",
            "couple": {"towing": "truck", "at": "ball", "trailer": "oven", "weight_distribution": True},
        },
        (
            'vehicles = ["truck", "oven"]\ncouple = { towing = "truck", at = "ball", trailer = "oven", '
            'weight_distribution = true }\ncargo = ["baker", "water"]\n'
        ),
    ),
    "all of it said": ({"vehicles": ["oven"], "cargo": ["water"]}, 'vehicles = ["oven"]\ncargo = ["water"]\n'),
}


@pytest.mark.parametrize(("data", "text"), SAME.values(), ids=SAME.keys())
def test_a_state_like_another(day: WeighDay, data: dict[str, Any], text: str) -> None:
    state = read_state(day, "next", data)
    assert write_state(day, state) == f"[states.next]\n{text}"
    assert extended(day, write_state(day, state)).states["next"] == state


Ask = Callable[[WeighDay], object]
FAULTS: dict[str, tuple[Ask, list[str]]] = {
    "a draft with every slip": (
        lambda day: read_draft(
            day,
            {
                "state": "soolo",
                "at": "2026-04-09",
                "label": "\ud800",
                "colour": 1,
                "readings": {"truck/1L": ["p1", 2961], "truck/9": ["p9", -1], "truck/2L": None},
            },
        ),
        [
            'at: "2026-04-09": is not a date with a time; write for example "2026-05-14T09:12:00Z"',
            'label: "\\uD800": holds half a character, which no UTF-8 file can',
            (
                "colour: 1: is an unknown key; a draft does not have it; its keys: state, readings, key, at, label, "
                "note, placement, unsupported, heading, raised, suspension, blocks"
            ),
            "state: \"soolo\": there is no state of that name; did you mean 'solo'?",
            (
                "readings.\"truck/1L\"[2]: 2961: is not a multiple of the division of 'p1', 20 lb; it can show 2960 "
                "or 2980 lb"
            ),
            "readings.\"truck/9\": [\"p9\", -1]: 'truck' has no wheel '9'; its wheels are 1L, 1R, 2L, 2R",
            'readings."truck/9"[1]: "p9": there is no instrument of that name; the day has p1, p2, p3, p4',
            'readings."truck/9"[2]: -1: is negative; it must be zero or more',
            'readings."truck/2L": null: is not a reading; write the instrument and what it showed, as in ["p1", 2960]',
        ],
    ),
    "an impossible moment": (
        lambda day: read_draft(
            day, {"state": "solo", "at": "2026-02-30T09:00:00Z", "readings": {"truck/1L": ["p1", 2180]}}
        ),
        ['at: "2026-02-30T09:00:00Z": is not a date with a time; write for example "2026-05-14T09:12:00Z"'],
    ),
    "a key that is taken": (
        lambda day: read_draft(
            extended(day, '[[drafts]]\nkey = "k"\nstate = "solo"\nreadings = { "truck/1L" = ["p1", 2180] }\n'),
            {"key": "k", "state": "solo", "readings": {"truck/1L": ["p1", 2180]}},
        ),
        ['key: "k": is also the key of draft 7; each draft has a key of its own, or none'],
    ),
    "a pad that moved": (
        lambda day: read_draft(
            extended(day, '[[drafts]]\nstate = "solo"\nplacement = "a"\nreadings = { "truck/1L" = ["p1", 2180] }\n'),
            {"placement": "a", "state": "solo", "readings": {"truck/1L": ["p2", 2180]}},
        ),
        [
            (
                "readings.\"truck/1L\": \"p2\": draft 7 of placement 'a' has 'p1' here; drafts of one placement are "
                "taken without moving the rig or the pads"
            )
        ],
    ),
    "a correction of nothing": (
        lambda day: read_correction(day, {"draft": 99, "place": "truck/1L"}),
        [
            'reason: is missing; a correction needs it, for example reason = "pad was not zeroed"',
            "draft: 99: there is no draft of that number; the day has 6, counted from 1",
        ],
    ),
    "a state that is there": (
        lambda day: read_state(day, "solo", {"same": "hitchd"}),
        [
            'name: "solo": is taken; the day has that name already, choose another',
            "same: \"hitchd\": there is no state of that name; did you mean 'hitched'?",
        ],
    ),
    "a state like no other": (
        lambda day: read_state(day, "n", {"same": 3}),
        ["same: 3: is not a name of a state; write it in quotes"],
    ),
    "cargo that is not there": (
        lambda day: read_state(day, "n", {"same": "solo", "with": ["flour", "water"], "without": ["apprentice"]}),
        [
            'without: "apprentice": is not aboard in that state; it has baker',
            'with: "flour": there is no cargo of that name; the day has baker, apprentice, water',
        ],
    ),
    "cargo on a vehicle that is not there": (
        lambda day: read_state(day, "n", {"same": "solo", "with": ["water"]}),
        ["cargo[2]: \"water\": is on 'oven', which is not in this state; it has truck"],
    ),
    "both ways to say it": (
        lambda day: read_state(day, "n", {"same": "solo", "with": "water", "cargo": []}),
        [
            "cargo: cannot stand beside with and without; list all cargo, or say what differs",
            'with: "water": is not a list of names; write them in brackets, as in ["driver"]',
        ],
    ),
    "a change that is none": (
        lambda day: read_state(day, "n", {"same": "solo", "change": 3}),
        ['change: 3: is not a table; write for example change.water.level = "100 %"'],
    ),
    "a bad name": (
        lambda day: read_cargo(day, "a b", {"on": "trukc"}),
        [
            '"a b": is not a name; names are letters, digits, _ and -',
            "on: \"trukc\": there is no vehicle of that name; did you mean 'truck'?",
        ],
    ),
    "a vehicle of nothing": (
        lambda _: read_vehicle("v", {}, UnitSystem()),
        [
            'role: is missing; a vehicle needs it, for example role = "towing"',
            'axles: is missing; a vehicle needs it, for example axles = [{ x = "0 in", track = "68 in" }]',
        ],
    ),
    "an instrument with a bad date": (
        lambda _: read_instrument(
            "p", {"kind": "pad", "capacity": 1000, "division": 10, "verified": "2026-13-01"}, UnitSystem("kg", "mm")
        ),
        ['verified: "2026-13-01": is not a date; write for example "2026-05-14"'],
    ),
}


@pytest.mark.parametrize(("ask", "faults"), FAULTS.values(), ids=FAULTS.keys())
def test_every_fault_is_named_within_the_thing_itself(day: WeighDay, ask: Ask, faults: list[str]) -> None:
    with pytest.raises(DayFileError) as error:
        ask(day)
    assert [str(fault) for fault in error.value.faults] == faults


def test_wild_values_are_faults_and_nothing_worse(day: WeighDay) -> None:
    deep: Any = 1
    for _ in range(800):
        deep = [deep]
    for wild in (deep, {"a": deep}, 10**400, -1e999, float("nan"), True, [], {}, "x" * 100_000, [None]):
        for data in (
            {"state": "solo", "readings": wild},
            {"state": wild, "readings": {"truck/1L": ["p1", 2180]}},
            {"state": "solo", "readings": {"truck/1L": ["p1", wild]}},
            {"state": "solo", "readings": {"truck/1L": wild}, "at": wild, "label": wild, "key": wild},
        ):
            with pytest.raises(DayFileError):
                read_draft(day, data)
        with pytest.raises(DayFileError):
            read_state(day, "n", {"same": "market", "change": {"water": wild}, "without": wild, "vehicles": wild})


def test_equipment_on_its_own_says_its_units(day: WeighDay) -> None:
    metric = replace(day, units=UnitSystem("kg", "mm"))
    bare = WeighDay(units=UnitSystem("kg", "mm"))
    for vehicle in day.vehicles.values():
        bare = extended(bare, write_vehicle(vehicle, day.units))
    for instrument in day.instruments.values():
        bare = extended(bare, write_instrument(instrument, day.units))
    assert (bare.vehicles, bare.instruments) == (metric.vehicles, metric.instruments)
    with pytest.raises(DayFileError) as error:
        extended(bare, write_vehicle(day.vehicles["oven"], day.units))
    assert str(error.value) == 'addition: name: "oven": is taken; the day has that name already, choose another'


def test_a_full_day_takes_no_more(day: WeighDay) -> None:
    full = replace(day, drafts=(day.drafts[0],) * 10_000)
    with pytest.raises(DayFileError) as error:
        read_draft(full, {"state": "solo", "readings": {"truck/1L": ["p1", 2180]}})
    assert [str(fault) for fault in error.value.faults] == ["is one too many; a weigh day has at most 10000 drafts"]


def test_a_draft_more_costs_little_on_a_day_of_thousands(day: WeighDay) -> None:
    drafts = tuple(replace(day.drafts[0], number=number, key=f"k{number}") for number in range(1, 3001))
    long = replace(day, drafts=drafts)
    data = {"key": "next", "state": "solo", "readings": {"truck/1L": ["p1", 2180], "truck/1R": ["p2", 2180]}}
    text = write_day(long)
    begin = time.process_time()
    parse_day(text, "long")
    whole = time.process_time() - begin
    begin = time.process_time()
    for _ in range(20):
        with_draft(long, read_draft(long, data))
    one = (time.process_time() - begin) / 20
    assert one < whole / 50


# -- growth ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "block"),
    [
        ('[[drafts]]\nkey = "k"\n', AddedBlock(Part.DRAFT, "k")),
        ("[[drafts]]\n[drafts.readings]\n", AddedBlock(Part.DRAFT, None)),
        ("[[drafts]]\nkey = 3\n", AddedBlock(Part.DRAFT, None)),
        ("[[corrections]]\n", AddedBlock(Part.CORRECTION, None)),
        ("[[rule_choices]]\napply = []\n", AddedBlock(Part.CHOICE, None)),
        ("[[photographs]]\nkey = 3\n", AddedBlock(Part.PHOTOGRAPH, None)),
        ('[[titles]]\ntitle = "x"\n', AddedBlock(Part.TITLE, None)),
        ("[states.solo]\n", AddedBlock(Part.STATE, "solo")),
        ("[vehicles.a]\n[[vehicles.a.axles]]\n[vehicles.a.couplings.ball]\n", AddedBlock(Part.VEHICLE, "a")),
    ],
)
def test_a_block_is_known_by_its_shape(text: str, block: AddedBlock) -> None:
    assert read_block(text) == block


@pytest.mark.parametrize(
    "text",
    [
        "",
        "# nothing\n",
        "format = 1\n",
        "[site]\n",
        "[[drafts]]\n[[drafts]]\n",
        "[states]\n",
        "states = 3\n",
        "[states.a]\n[states.b]\n",
        "[states.a]\n[[drafts]]\n",
        "drafts = [3]\n",
        "[drafts.a]\n",
        "[[states.a]",
        'drafts = [{ key = "k" }]\n',
        "states.a.vehicles = []\n",
        "states = { a = {} }\n",
        "[states]\na = {}\n",
        "[states]\n[states.a]\n",
    ],
)
def test_what_is_not_one_block_is_refused(text: str) -> None:
    with pytest.raises(DayFileError):
        read_block(text)


@pytest.mark.parametrize(
    ("text", "open_"),
    [
        ("format = 1\n", True),
        ("format = 1", True),
        ("[[drafts]]\n[drafts.readings]\n", True),
        ("[states]\nsolo = { vehicles = [] }\n", True),
        ("states.x.vehicles = []\n", True),
        ("x = 1 # drafts", True),
        ("drafts = []\n", False),
        ("states = {}\n", False),
        ("corrections = [{ draft = 1 }]\n", False),
        ("vehicles = { a = {} }\n", False),
        ("photographs = []\n", False),
    ],
)
def test_whether_a_text_can_grow(text: str, open_: bool) -> None:
    assert can_grow(text) is open_


def test_growing_by_nothing_changes_nothing() -> None:
    assert grown("a = 1", []) == "a = 1"
    assert grown("a = 1", ["[b]"]) == "a = 1\n\n[b]\n"
    assert grown("a = 1\n", ["[b]\n", "[c]\n"]) == "a = 1\n\n[b]\n\n[c]\n"
