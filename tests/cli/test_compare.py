"""``steelyard compare``: what it says of rigs side by side, and what it says of bad input."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.cli.days import NURSERY, run, write
from tests.simulated.two_rigs import one_rig

ROOT = Path(__file__).parents[2]
BAKERY, SLIP, HIVES = (str(ROOT / "examples" / f"{name}.toml") for name in ("quay-bakery", "quay-bakery-slip", "hives"))

HEAVY = ((602.0, 611.0, 540.0, 533.0), (588.0, 596.0, 594.0, 588.0), (655.0, 640.0))
LIGHT = ((510.0, 515.0, 480.0, 470.0), (497.0, 501.0, 531.0, 521.0), (652.0, 646.0))
FULL = (HEAVY[0], HEAVY[1], (705.0, 690.0))


def asked(*arguments: str) -> dict[str, Any]:
    """The JSON of a comparison that ends well."""
    result = run("compare", *arguments, "--json")
    assert (result.exit_code, result.stderr) == (0, "")
    return json.loads(result.stdout)


def measure(data: dict[str, Any], name: str) -> dict[str, Any]:
    return next(one for one in data["measures"] if one["id"] == name)


def two(folder: Path, first: Any = HEAVY, second: Any = LIGHT, **serials: str) -> tuple[str, str]:
    """Two rigs on two days, on disk."""
    return (
        write(folder, "first.toml", one_rig(1, first, **serials)),
        write(folder, "second.toml", one_rig(2, second, **serials)),
    )


def test_what_shares_nothing_is_what_the_findings_say() -> None:
    """No pad of the two days bears a serial number, so that each value is that of its day alone, to the last digit."""
    data = asked(BAKERY, HIVES, "--units", "lb,in")
    for place, (file, state) in enumerate(((BAKERY, "levelled"), (HIVES, "hitched"))):
        assert data["rigs"][place]["state"] == state
        found = json.loads(run("findings", file, "--units", "lb,in", "--json").stdout)["findings"]
        known = {item["id"]: item for item in found}
        tow, trailer = ("truck", "oven") if file == BAKERY else ("van", "wagon")
        for name, finding in (
            ("gross/towing", f"{state}/{tow}/gross"),
            ("gross/trailer", f"{state}/{trailer}/gross"),
            ("coupling/share", f"{state}/coupling/share"),
            ("cg/trailer/x", f"{state}/{trailer}/cg_x"),
        ):
            value = measure(data, name)["values"][place]
            for key in ("value", "u", "low", "high"):
                assert value[key] == pytest.approx(known[finding][key], rel=1e-8), (name, key)


def test_the_same_day_twice_is_the_same_rig(tmp_path: Path) -> None:
    first, second = two(tmp_path, HEAVY, HEAVY, serial="hauler-1")
    data = asked(first, second)
    for one in data["measures"]:
        for difference in one["differences"]:
            assert difference["value"] == pytest.approx(0.0, abs=1e-6)
            assert not difference["told_apart"]
        assert one["winner"] is None
    best = measure(data, "left/payload")["best"]
    assert best == pytest.approx([0.5, 0.5], abs=0.02)


def test_a_shared_span_cancels_in_a_difference(tmp_path: Path) -> None:
    data = asked(*two(tmp_path))
    gross = measure(data, "gross/trailer")
    assert gross["differences"][0]["u"] < 0.9 * gross["values"][0]["u"]
    (difference,) = measure(data, "gross/towing")["differences"]
    assert (difference["a"], difference["b"]) == (1, 0)
    assert difference["value"] == pytest.approx(sum(map(sum, LIGHT[1:2])) - sum(map(sum, HEAVY[1:2])), abs=3.0)
    assert difference["told_apart"]
    assert measure(data, "left/payload")["winner"] == 1


def test_an_unchanged_trailer_passes_and_a_changed_one_is_refuted(tmp_path: Path) -> None:
    plain = asked(*two(tmp_path))
    (same,) = asked(*two(tmp_path), "--unchanged", "tip=2 kg")["unchanged"]
    assert same["verdict"] == "unchanged"
    assert same["p"] > 0.05
    tied = asked(*two(tmp_path), "--unchanged", "tip")
    for name in ("gross/trailer", "gross/combination"):
        assert measure(tied, name)["values"][0]["u"] < measure(plain, name)["values"][0]["u"]
    assert measure(tied, "gross/trailer")["differences"][0]["value"] == pytest.approx(0.0, abs=1e-3)
    (changed,) = asked(*two(tmp_path, second=FULL), "--unchanged", "tip=2 kg")["unchanged"]
    assert changed["verdict"] == "changed"
    assert changed["p"] < 0.001
    assert changed["difference"] == pytest.approx(100.0, abs=4.0)


def test_contradicting_readings_mark_what_depends_on_them() -> None:
    data = asked(BAKERY, SLIP, "--of", "hitched")
    assert any(one["values"][1]["contested"] for one in data["measures"])
    assert not any(one["values"][0]["contested"] for one in data["measures"])
    assert any("contradict" in caution for caution in data["cautions"])


def test_text_names_what_differs_and_fits_the_screen(tmp_path: Path) -> None:
    text = run("compare", *two(tmp_path), "--unchanged", "tip=2 kg").stdout
    assert "second less first" in text
    assert "Cannot be told apart" in text
    assert "Left of the payload: second" in text
    (line,) = [line for line in text.splitlines() if line.startswith("tip: second less first")]
    assert re.fullmatch(r"tip: second less first +[+−]?[\d.]+ +[−+][\d.]+ to [+][\d.]+ +\d+ % +unchanged", line)
    assert "Unchanged: nothing speaks against it, and it is used." in text
    assert max(map(len, text.splitlines())) <= 80


def test_two_states_of_one_file_are_two_rigs(tmp_path: Path) -> None:
    path = write(tmp_path, text=NURSERY)
    data = asked(path, "--of", "empty,coupled")
    assert [(rig["file"], rig["state"]) for rig in data["rigs"]] == [(path, "empty"), (path, "coupled")]
    (difference,) = measure(data, "gross/towing")["differences"]
    transfer = json.loads(run("findings", path, "--json").stdout)["findings"]
    found = next(item for item in transfer if item["id"] == "empty>coupled/van/gross")
    assert difference["value"] == pytest.approx(found["value"], rel=1e-8)
    assert difference["u"] == pytest.approx(found["u"], rel=1e-8)
    assert difference["low"] == pytest.approx(found["low"], rel=1e-6)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("{first}",), "one rig has nothing to be compared with; name another day, or two states of this one"),
        (("{first}", "{second}", "--of", "hitchd"), "no file has a state 'hitchd'; did you mean 'hitched'?"),
        (("{first}", "{nursery}", "--of", "hitched"), "nursery.toml has no state 'hitched'; it has empty, coupled"),
        (("{first}", "{second}", "--base", "third"), "'third' is not one of the rigs; there are {first}, {second}"),
        (("{first}", "{second}", "--base", "secnd"), "'secnd' is not one of the rigs; did you mean 'second'?"),
        (
            ("{first}", "{second}", "--base", "Hitched"),
            "'Hitched' could be {first}:hitched or {second}:hitched; name one of these with --base",
        ),
        (
            ("{first}", "{empty}"),
            "empty.toml: nothing was read under tow and tip, so state 'hitched' has nothing to compare; leave the file",
        ),
        (("{first}", "{second}", "--unchanged", "tipp"), "none of these rigs has a vehicle 'tipp'"),
        (
            ("{first}", "{second}", "--unchanged", "tow"),
            "'tow' cannot be one vehicle: its serial number is 'hauler-1' in",
        ),
        (("{first}", "{nursery}", "--unchanged", "tip"), "stands in"),
        (("{first}", "{second}", "--unchanged", "=5 lb"), "is not a vehicle and a doubt"),
        (("{first}", "{second}", "--unchanged", "tip=five"), "five"),
        (("{first}", "{first}"), "is given twice; it is compared once"),
        (("missing.toml",), "no file is left to compare"),
        (("{first}", "{second}", "--of", ","), "names no state; write for example hitched"),
        (("{first}", "missing.toml"), "missing.toml: is left out of the comparison"),
    ],
)
def test_bad_input_gets_one_clear_message(tmp_path: Path, arguments: tuple[str, ...], message: str) -> None:
    first, second = two(tmp_path)
    unweighed = one_rig(3, HEAVY).partition("[[drafts]]")[0]
    names = {
        "first": first,
        "second": second,
        "nursery": write(tmp_path),
        "empty": write(tmp_path, "empty.toml", unweighed),
    }
    result = run("compare", *(text.format(**names) for text in arguments))
    assert result.exit_code == 2
    assert message.format(**names) in result.stderr
    assert "Traceback" not in result.stderr


def test_a_faulty_file_is_left_out_and_named(tmp_path: Path) -> None:
    first, second = two(tmp_path)
    bad = write(tmp_path, "bad.toml", one_rig(3, HEAVY).replace("track = 1.8", 'track = "wide"'))
    result = run("compare", first, bad, second, "--json")
    assert result.exit_code == 2
    assert f"{bad}: is left out of the comparison" in result.stderr
    data = json.loads(result.stdout)
    assert [rig["file"] for rig in data["rigs"]] == [first, second]
    faults = json.loads(run("findings", bad, "--json").stdout)
    assert data["left_out"] == [{"file": bad, "errors": faults["errors"]}]
    assert faults["errors"][0]["line"] is not None
    alone = run("compare", first, bad, "--json")
    assert (alone.exit_code, json.loads(alone.stdout)) == (2, {"format": 1, "left_out": data["left_out"]})
    assert "one rig has nothing to be compared with" in alone.stderr
    schema = json.loads(run("schema", "compare").stdout)
    for printed in (result.stdout, alone.stdout):
        jsonschema.validate(json.loads(printed), schema)
    doubled = json.loads(run("compare", first, second, first, "--json").stdout)["left_out"]
    assert [(one["file"], one["errors"][0]["message"]) for one in doubled] == [
        (first, "is given twice; it is compared once")
    ]


@pytest.mark.parametrize("base", ["second", "second.toml", "second:hitched", "SECOND", "{second}"])
def test_the_base_is_named_as_a_reader_calls_it(tmp_path: Path, base: str) -> None:
    first, second = two(tmp_path)
    assert asked(first, second, "--base", base.format(second=second))["base"] == 1


def test_the_base_is_named_by_the_title_of_its_rig_or_by_its_state() -> None:
    titles = [rig["title"] for rig in asked(BAKERY, HIVES)["rigs"]]
    assert [asked(BAKERY, HIVES, "--base", title)["base"] for title in titles] == [0, 1]
    assert asked(BAKERY, "--of", "hitched,levelled", "--base", "levelled")["base"] == 1


def test_a_state_without_readings_is_said_to_be_predicted() -> None:
    cautions = asked(BAKERY, "--of", "levelled,market")["cautions"]
    said = "state 'market' has no readings of its own; its figures are predicted from other states"
    assert [item for item in cautions if "predicted" in item] == [f"{BAKERY}: {said}"]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            'capacity = "4000 kg"',
            'capacity = "5000 kg"',
            (
                "the serial number 'p1-77' stands for two different instruments: a pad of 4,000 kg (p1) in {first}, "
                "a pad of 5,000 kg (p1) in {second}; correct one of the files"
            ),
        ),
        (
            'kind = "pad"',
            'kind = "platform"',
            (
                "the serial number 'p1-77' stands for two different instruments: a pad of 4,000 kg (p1) in {first}, "
                "a platform of 4,000 kg (p1) in {second}; correct one of the files"
            ),
        ),
        (
            'serial = "tipper-9"\naxles = [{ x = 3.4, track = 1.8, rating = 1800 }]',
            'serial = "tipper-9"\naxles = [{ x = 3.4, track = 1.8 }, { x = 4.2, track = 1.8 }]',
            (
                "the serial number 'tipper-9' stands for two different vehicles: a trailer of 1 axle (tip) in {first}, "
                "a trailer of 2 axles (tip) in {second}; correct one of the files"
            ),
        ),
        (
            'serial = "hauler-2"',
            'serial = "tipper-9"',
            None,  # within one file it is a fault of that file
        ),
    ],
)
def test_one_serial_number_is_one_thing(tmp_path: Path, old: str, new: str, message: str | None) -> None:
    first, second = two(tmp_path)
    text = Path(second).read_text(encoding="utf-8")
    assert old in text
    Path(second).write_text(text.replace(old, new, 1), encoding="utf-8")
    result = run("compare", first, second)
    assert result.exit_code == 2
    if message is None:
        assert "vehicles.tip.serial: \"tipper-9\": is the number of vehicle 'tow' too" in result.stderr
    else:
        assert message.format(first=first, second=second) in result.stderr
        assert result.stdout == ""
    assert "Traceback" not in result.stderr


def test_a_trailer_and_a_towing_vehicle_are_not_one(tmp_path: Path) -> None:
    first, _ = two(tmp_path)
    second = write(tmp_path, "third.toml", one_rig(3, HEAVY, serial="tipper-9", tipper="tipper-8"))
    result = run("compare", first, second)
    assert result.exit_code == 2
    assert "'tipper-9' stands for two different vehicles: a trailer of 1 axle (tip) in" in result.stderr
    assert "a towing vehicle of 2 axles (tow) in" in result.stderr


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "{ x = 3.4, track = 1.8",
            "{ x = 3.5, track = 1.8",
            (
                "the serial number 'tipper-9' stands for one vehicle (tip), but its axle 1 x is 3.4 m in {first} and "
                "3.5 m in {second}; correct one of the files, or state their doubt"
            ),
        ),
        (
            'span_uncertainty = "0.4 %"',
            'span_uncertainty = "0.4 %"\nspan = "0.3 %"',
            (
                "the serial number 'p1-77' stands for one instrument (p1), but its span is 0 % in {first} and 0.3 % in "
                "{second}; correct one of the files, or date each verification with verified"
            ),
        ),
    ],
)
def test_two_files_may_not_contradict_one_another_on_one_thing(
    tmp_path: Path, old: str, new: str, message: str
) -> None:
    first, second = two(tmp_path)
    text = Path(second).read_text(encoding="utf-8")
    assert old in text
    Path(second).write_text(text.replace(old, new, 1), encoding="utf-8")
    result = run("compare", first, second)
    assert (result.exit_code, result.stdout) == (2, "")
    assert message.format(first=first, second=second) in result.stderr
    near = text.replace("{ x = 3.4, track = 1.8", "{ x = 3.41, track = 1.8")  # 10 mm are as two tapings differ
    Path(second).write_text(near, encoding="utf-8")
    asked(first, second)


def test_a_load_may_be_higher_on_another_day(tmp_path: Path) -> None:
    """The height of a centre of gravity is no length of the vehicle: it stays a statement of each day."""
    first, second = two(tmp_path)
    for path, height in ((first, 1.2), (second, 1.6)):
        text = Path(path).read_text(encoding="utf-8")
        Path(path).write_text(text.replace('role = "trailer"', f'role = "trailer"\ncg_height = {height}', 1), "utf-8")
    asked(first, second)


def test_one_standard_with_two_doubts_counts_with_the_larger_and_it_is_said(tmp_path: Path) -> None:
    keys = 'standard = "M-12"\nstandard_uncertainty = "{u} %"'
    files = {
        (first, second): [
            write(tmp_path, f"{at}-{first}-{second}.toml", one_rig(at, loads, keys.replace("{u}", u)))
            for at, loads, u in ((1, HEAVY, first), (2, LIGHT, second))
        ]
        for first, second in (("1", "1"), ("0.2", "1"))
    }
    same, mixed = (asked(*some) for some in files.values())
    for name in ("gross/towing", "gross/trailer", "coupling/load"):
        for at in range(2):
            ours, theirs = (measure(data, name)["values"][at] for data in (mixed, same))
            assert ours["u"] == pytest.approx(theirs["u"], rel=1e-3), (name, at)
    first, second = files["0.2", "1"]
    said = (
        f"the standard 'M-12' has a doubt of 0.2 % in {first} and of 1 % in {second}; it is one error, and the larger "
        "doubt counts"
    )
    assert said in mixed["cautions"]
    assert not any("M-12" in caution for caution in same["cautions"])
    silent = write(tmp_path, "silent.toml", one_rig(2, LIGHT, 'standard = "M-12"'))
    said = (
        f"the standard 'M-12' has a doubt of 1 % in {files['1', '1'][0]}; {silent} states none, so that it counts for"
    )
    assert any(caution.startswith(said) for caution in asked(files["1", "1"][0], silent)["cautions"])


def test_a_plate_in_pounds_and_one_in_kilograms_are_one(tmp_path: Path) -> None:
    first, second = two(tmp_path)
    text = Path(second).read_text(encoding="utf-8")
    Path(second).write_text(text.replace('"4000 kg"', '"8800 lb"'), encoding="utf-8")
    asked(first, second)


def test_the_limit_that_binds_first_is_told_apart_only_where_every_rating_is_known(tmp_path: Path) -> None:
    """Nothing was read of the second trailer, so that its axle may leave less than what is known."""
    first, second = two(tmp_path)
    text = Path(second).read_text(encoding="utf-8")
    Path(second).write_text(text[: text.rindex("[[drafts]]")], encoding="utf-8")
    least = measure(asked(first, second), "left/least")
    assert least["values"][0]["binds"] == "tow: ball vertical rating"
    assert least["values"][1]["binds"].endswith(", the least of what is determined,")
    assert least["values"][1]["value"] is not None
    assert (least["differences"], least["winner"]) == ([], None)
    assert set(least["best"]) <= {None}


def test_several_states_of_several_files_keep_to_80_columns() -> None:
    files = [str(ROOT / "examples" / f"stage-{name}.toml") for name in ("van", "wagon", "flatbed")]
    result = run("compare", *files, "--of", "alone,hitched")
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert result.stdout.count("stage-flatbed:hitched\n") >= 1
