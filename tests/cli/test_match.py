"""``steelyard match``: every towing vehicle against every trailer, as ``whatif --hitch`` has each pair."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.days import BAD, NURSERY, run, write
from tests.simulated.two_rigs import HEAD, pads, rig, weighed

ROOT = Path(__file__).parents[2]
BAKERY, SLIP = (str(ROOT / "examples" / f"{name}.toml") for name in ("quay-bakery", "quay-bakery-slip"))

BALLAST, ARM = 200.0, 3.4
"""Mass [kg] of a load that stands over the axle of the trailer, and how far behind the coupling that is [m]."""

LOADS = ((602.0, 611.0, 540.0, 533.0), (588.0, 596.0, 594.0, 588.0), (655.0, 640.0))
LIGHTER = ((510.0, 515.0, 480.0, 470.0), (497.0, 501.0, 531.0, 521.0), (352.0, 346.0))


def asked(*arguments: str) -> dict[str, Any]:
    """The JSON of a matching that ends well."""
    result = run("match", *arguments, "--json")
    assert (result.exit_code, result.stderr) == (0, "")
    return json.loads(result.stdout)


def predicted(file: str, *arguments: str) -> dict[str, Any]:
    """The JSON of a what-if whose state has the name that a pair has."""
    result = run("whatif", file, *arguments, "--name", "matched", "--json")
    assert (result.exit_code, result.stderr) == (0, "")
    return json.loads(result.stdout)


def two_rigs(folder: Path, **kinds: str) -> str:
    """Two towing vehicles and two trailers on one day, on disk."""
    parts = [weighed("tow", "tip", "a", LOADS), weighed("van", "cart", "b", LIGHTER)]
    vehicles = rig("tow", "tip", serial="one") + rig("van", "cart", serial="two", tipper="tipper-2").replace(
        'type = "ball"', f'type = "{kinds.get("second", "ball")}"'
    )
    text = HEAD.format(number=1) + pads() + vehicles + "".join(part[0] for part in parts)
    return write(folder, "two.toml", text + "".join(part[1] for part in parts))


def ballasted(folder: Path, axle: float = 1800.0, rated: str = "{ vertical = 220 }") -> str:
    """One rig whose trailer carries a load that can be moved, on disk."""
    states, drafts = weighed("tow", "tip", "", LOADS)
    states = states.replace("couple = {", 'cargo = ["ballast"]\ncouple = {')
    cargo = f'[cargo.ballast]\non = "tip"\nmass = "{BALLAST} kg"\nx = "{ARM} m +/- 0 m"\ny = "0 m +/- 0 m"\n'
    vehicles = rig(serial="one").replace("rating = 1800", f"rating = {axle}").replace("{ vertical = 140 }", rated)
    return write(folder, "ballast.toml", HEAD.format(number=1) + pads() + vehicles + cargo + states + drafts)


def same(pair: dict[str, Any], data: dict[str, Any]) -> None:
    """See that a pair is what a what-if predicts, limit by limit."""
    found = {one["id"]: one for one in data["findings"]}
    for name in ("load", "share"):
        assert pair[name] == found[f"matched/coupling/{name}"]
    verdicts = {one["id"]: one for one in data["verdicts"]}
    assert pair["verdicts"]
    assert {one["id"]: one for one in pair["verdicts"]} == verdicts


def test_a_pair_is_what_whatif_predicts() -> None:
    (pair,) = asked(BAKERY)["pairs"]
    same(pair, predicted(BAKERY, "--from", "levelled", "--unhitch", "oven", "--hitch", "truck/ball:oven"))
    (pair,) = asked(BAKERY, "--state", "solo")["pairs"]
    assert (pair["towing_as"], pair["trailer_as"]) == ("solo", "levelled")
    same(pair, predicted(BAKERY, "--from", "solo", "--hitch", "truck/ball:oven"))


def test_vehicles_that_never_met_are_hitched_too(tmp_path: Path) -> None:
    file = two_rigs(tmp_path)
    pairs = {(one["towing"], one["trailer"]): one for one in asked(file)["pairs"]}
    assert list(pairs) == [("tow", "tip"), ("tow", "cart"), ("van", "tip"), ("van", "cart")]
    same(pairs["van", "tip"], predicted(file, "--from", "bhitched", "--unhitch", "cart", "--hitch", "van/ball:tip"))
    same(pairs["tow", "cart"], predicted(file, "--from", "ahitched", "--unhitch", "tip", "--hitch", "tow/ball:cart"))


def test_the_verdict_of_a_pair_is_its_worst_and_the_limit_that_binds_has_it(tmp_path: Path) -> None:
    for pair in asked(two_rigs(tmp_path))["pairs"]:
        outcomes = [one["verdict"] for one in pair["verdicts"]]
        worst = next(word for word in ("outside", "undecided", "within") if word in outcomes)
        assert pair["verdict"] == worst
        alike = [one for one in pair["verdicts"] if one["verdict"] == worst]
        assert pair["binds"] in alike
        loads = [one["margin"] for one in alike if one["sense"] == "max" and "share" not in one["finding"]]
        parts = [one["margin"] / one["limit"] for one in alike]
        told = pair["binds"]["margin"] if loads else pair["binds"]["margin"] / pair["binds"]["limit"]
        assert told == pytest.approx(min(loads or parts), rel=1e-6)


@pytest.mark.parametrize("rated", ["{ vertical = 220 }", "{ gross = 2000 }"])
@pytest.mark.parametrize("end", ["low", "high"])
def test_at_the_shares_told_the_pair_works_and_just_beyond_it_does_not(tmp_path: Path, end: str, rated: str) -> None:
    """The load is moved for real. One axle: a load of ``m`` moved by ``d`` puts ``-m d / arm`` on the coupling."""
    file = ballasted(tmp_path, rated=rated)
    (pair,) = asked(file)["pairs"]
    outward = -0.15 if end == "low" else 0.15
    for extra, works in ((0.0, True), (outward, False)):
        load = (pair["works"][end] + extra) / 100.0 * pair["gross"]["value"]
        place = ARM - (load - pair["load"]["value"]) * ARM / BALLAST
        move = f"ballast to {place:.6f} m +/- 0 m, 0 m +/- 0 m"
        moves = ("--from", "hitched", "--unhitch", "tip", "--hitch", "tow/ball:tip", "--move", move)
        data = predicted(file, *moves)
        share = next(one["value"] for one in data["findings"] if one["id"] == "matched/coupling/share")
        assert share == pytest.approx(pair["works"][end] + extra, abs=1e-3)
        assert all(one["verdict"] == "within" for one in data["verdicts"]) is works


def test_where_moving_alone_does_not_help_no_share_works(tmp_path: Path) -> None:
    """Some 1,295 kg stand on the axle of a trailer, whose rating here is 900 kg."""
    (pair,) = asked(ballasted(tmp_path, axle=900.0))["pairs"]
    assert pair["verdict"] == "outside"
    assert pair["works"] == {"low": None, "high": None}
    assert "none" in run("match", ballasted(tmp_path, axle=900.0)).stdout


def test_a_trailer_goes_on_a_coupling_of_its_own_type_alone(tmp_path: Path) -> None:
    pairs = {(one["towing"], one["trailer"]): one for one in asked(two_rigs(tmp_path, second="gooseneck"))["pairs"]}
    assert pairs["van", "tip"]["why"] == "van has no ball to hitch it to"
    assert pairs["tow", "cart"]["why"] == "tow has no gooseneck to hitch it to"
    assert (pairs["van", "tip"]["verdict"], pairs["van", "tip"]["verdicts"]) == (None, [])
    assert pairs["van", "cart"]["verdicts"]


def test_what_the_readings_do_not_determine_is_not_judged(tmp_path: Path) -> None:
    file = write(tmp_path, text=NURSERY[: NURSERY.rindex("[[drafts]]")])
    (pair,) = asked(file)["pairs"]
    assert pair["works"] is None
    assert pair["verdict"] != "within"
    assert "not judged, because the readings do not determine them" in " ".join(run("match", file).stdout.split())


def test_a_contradiction_is_said() -> None:
    (pair,) = asked(SLIP)["pairs"]
    assert pair["share"]["contested"]
    text = " ".join(run("match", SLIP).stdout.split())
    assert "the readings contradict one another; what may be wrong: draft 4, truck/2L." in text


def test_the_text_keeps_to_80_columns_and_names_what_binds(tmp_path: Path) -> None:
    result = run("match", BAKERY, two_rigs(tmp_path))
    assert result.exit_code == 0
    assert max(len(line) for line in result.stdout.splitlines() if "two.toml" not in line) <= 80
    text = " ".join(result.stdout.split())
    pair = "oven on truck/ball (truck as in levelled, oven as in levelled)"
    assert f"{pair}: Crew-cab bread truck: ball vertical rating, 196 lb left" in text
    assert "two.toml, trailer of" in text
    assert "A pair of two files was never weighed together: both days are solved as one" in text


def test_bad_input_has_one_clear_message(tmp_path: Path) -> None:
    bad, good = write(tmp_path, "bad.toml", BAD), write(tmp_path)
    result = run("match", bad, good)
    assert result.exit_code == 2
    assert f"{bad}: is left out of the matching\n" in result.stderr
    assert "beds on van/ball" in result.stdout
    data = json.loads(run("match", bad, good, "--json").stdout)
    faults = json.loads(run("findings", bad, "--json").stdout)["errors"]
    assert data["left_out"] == [{"file": bad, "errors": faults}]
    assert {pair["file"] for pair in data["pairs"]} == {good}
    result = run("match", bad, "--json")
    assert (result.exit_code, json.loads(result.stdout)) == (2, {"format": 1, "left_out": data["left_out"]})
    result = run("match", good, good)
    assert (result.exit_code, result.stderr) == (2, f"{good}: is given twice; it is matched once\n")
    result = run("match", good, "--state", "cuopled")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == "match: no file has a state 'cuopled'; did you mean 'coupled'?\n"
    result = run("match", bad)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.endswith("match: no file is left to match vehicles of\n")


def test_a_trailer_brings_the_cargo_of_the_state_that_is_meant(tmp_path: Path) -> None:
    """The trailer was weighed with the ballast and without it: what a pair carries is never left to chance."""
    states, drafts = weighed("tow", "tip", "", LOADS)
    bare, loaded = states[states.index("[states.hitched]") :], "[states.loaded]\n"
    more = bare.replace("[states.hitched]\n", loaded).replace("couple = {", 'cargo = ["ballast"]\ncouple = {')
    cargo = f'[cargo.ballast]\non = "tip"\nmass = "{BALLAST} kg"\nx = "{ARM} m +/- 0 m"\ny = "0 m +/- 0 m"\n'
    last = drafts[drafts.rindex("[[drafts]]") :].replace('"hitched"', '"loaded"')
    last = last.replace("655.0", "755.0").replace("640.0", "740.0")
    text = HEAD.format(number=1) + pads() + rig(serial="one") + cargo + states + more + drafts + last
    file = write(tmp_path, "twice.toml", text)
    grosses: list[float] = []
    for state, change in (("hitched", ("--remove", "ballast")), ("loaded", ("--put-on", "ballast"))):
        (pair,) = asked(file, "--state", state)["pairs"]
        assert (pair["towing_as"], pair["trailer_as"]) == (state, state)
        grosses.append(pair["gross"]["value"])
        same(pair, predicted(file, "--from", "alone", "--hitch", "tow/ball:tip", *change))
    (pair,) = asked(file, "--state", "alone")["pairs"]
    same(pair, predicted(file, "--from", "alone", "--hitch", "tow/ball:tip", "--put-on", "ballast"))
    assert grosses[1] - grosses[0] == pytest.approx(BALLAST, abs=1e-6)
