"""``steelyard match`` of several files: a pair of two files is what one file that holds both days would say."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.cli.days import run, write
from tests.cli.test_match import LIGHTER, LOADS, asked, two_rigs
from tests.simulated.two_rigs import HEAD, pads, rig, weighed

ROOT = Path(__file__).parents[2]
LATITUDE = '[site]\nlatitude = "{} deg"\n'


def one_of(folder: Path, name: str, changes: Mapping[str, str] | None = None, *, second: bool = False) -> str:
    """One of the two rigs of ``two_rigs`` in a file of its own, with texts of it changed."""
    tow, trailer, mark, loads = ("van", "cart", "b", LIGHTER) if second else ("tow", "tip", "a", LOADS)
    states, drafts = weighed(tow, trailer, mark, loads)
    known = {"serial": "two", "tipper": "tipper-2"} if second else {"serial": "one"}
    text = HEAD.format(number=1) + pads() + rig(tow, trailer, **known) + states + drafts
    for old, new in (changes or {}).items():
        text = text.replace(old, new)
    return write(folder, name, text)


def of_pair(pairs: list[dict[str, Any]], towing: str, trailer: str) -> dict[str, Any]:
    """The one pair of two vehicles."""
    (found,) = [one for one in pairs if (one["towing"], one["trailer"]) == (towing, trailer)]
    return found


def alike(one: dict[str, Any], other: dict[str, Any]) -> None:
    """See that two pairs say the same, to a part in a million."""
    for name in ("verdict", "towing_as", "trailer_as", "why"):
        assert one[name] == other[name]
    assert [item["id"] for item in one["verdicts"]] == [item["id"] for item in other["verdicts"]]
    for mine, theirs in zip(one["verdicts"], other["verdicts"], strict=True):
        assert mine["probability"] == pytest.approx(theirs["probability"], abs=1e-5)
        assert mine["margin"] == pytest.approx(theirs["margin"], rel=1e-5, abs=1e-5)
    for name in ("load", "share", "gross"):
        for key in ("value", "u", "low", "high"):
            assert one[name][key] == pytest.approx(other[name][key], rel=1e-5)


def test_a_pair_of_two_files_is_what_one_file_of_both_says(tmp_path: Path) -> None:
    files = one_of(tmp_path, "first.toml"), one_of(tmp_path, "second.toml", second=True)
    apart, together = asked(*files)["pairs"], asked(two_rigs(tmp_path))["pairs"]
    assert [(one["file"], one["trailer_file"]) for one in apart] == [
        (files[0], files[0]),
        (files[1], files[1]),
        files,
        files[::-1],
    ]
    for towing, trailer in (("tow", "cart"), ("van", "tip")):
        alike(of_pair(apart, towing, trailer), of_pair(together, towing, trailer))


def test_pads_of_one_serial_number_err_alike_in_both_files(tmp_path: Path) -> None:
    """Other serial numbers make other pads, and the doubt of the whole rig smaller than that of one set of pads."""
    whole = {"payload = 700": "payload = 700, gcwr = 4200"}
    first = one_of(tmp_path, "first.toml", whole)
    shared = asked(first, one_of(tmp_path, "second.toml", second=True))["pairs"]
    apart = asked(first, one_of(tmp_path, "other.toml", {"-77": "-78"}, second=True))["pairs"]
    doubts: list[float] = []
    for pairs in (shared, apart):
        (rated,) = [one for one in of_pair(pairs, "tow", "cart")["verdicts"] if one["limit"] == 4200.0]
        doubts.append(rated["u"])
    assert doubts[1] < 0.95 * doubts[0]


def test_vehicles_of_one_name_in_two_files_are_two(tmp_path: Path) -> None:
    """The second file names its vehicles as the first does: names tell nothing, and each keeps its own."""
    first, second = one_of(tmp_path, "first.toml"), one_of(tmp_path, "second.toml", second=True)
    names = {"van": "tow", "cart": "tip", "bhitched": "ahitched", "balone": "aalone"}
    named = one_of(tmp_path, "named.toml", names, second=True)
    plain, alike_named = asked(first, second)["pairs"], asked(first, named)["pairs"]
    wanted = [of_pair(plain, "tow", "cart"), of_pair(plain, "van", "tip")]
    found = [one for one in alike_named if one["file"] != one["trailer_file"]]
    assert [(one["towing"], one["trailer"]) for one in found] == [("tow", "tip"), ("tow", "tip")]
    for one, other in zip(found, wanted, strict=True):
        for name in ("load", "share", "gross"):
            assert one[name]["value"] == pytest.approx(other[name]["value"], rel=1e-9)
        assert [item["margin"] for item in one["verdicts"]] == pytest.approx(
            [item["margin"] for item in other["verdicts"]], rel=1e-6, abs=1e-6
        )


def test_a_vehicle_that_stands_in_several_files_is_matched_where_its_trailer_stands() -> None:
    stage = [str(ROOT / "examples" / f"stage-{name}.toml") for name in ("van", "wagon", "flatbed")]
    pairs = asked(*stage)["pairs"]
    assert len(pairs) == 3
    assert all(one["file"] == one["trailer_file"] for one in pairs)


def test_a_slope_that_one_file_states_alone_keeps_two_files_apart(tmp_path: Path) -> None:
    """A slope counts where a height is known; where none is, it moves nothing and nothing is refused."""
    first = one_of(tmp_path, "first.toml")
    sloping = '[site]\nslope_long = "1 deg"\n'
    for tall, words in (("", ""), ("cg_height = 0.7\n", "stood on different ground (slope_long under [site])")):
        second = one_of(tmp_path, "second.toml", {'role = "towing"\n': f'role = "towing"\n{tall}'}, second=True)
        text = Path(second).read_text()
        Path(second).write_text(text.replace("[site]\n", sloping) if "[site]" in text else sloping + text)
        across = [one for one in asked(first, second)["pairs"] if one["file"] != one["trailer_file"]]
        assert all(words in one["why"] if words else not one["why"] for one in across), across


def test_a_contradiction_of_either_file_is_said_of_the_pair(tmp_path: Path) -> None:
    slip = str(ROOT / "examples" / "quay-bakery-slip.toml")
    result = run("match", slip, one_of(tmp_path, "first.toml"), "--json")
    assert result.exit_code == 0, result.stderr
    data = json.loads(result.stdout)
    across = of_pair(data["pairs"], "truck", "tip")
    assert any(one["contested"] for one in across["verdicts"])
    assert any("what may be wrong" in caution for caution in data["cautions"])
