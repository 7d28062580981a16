"""``steelyard findings --brief``: the verdict of a day in at most eight lines, and of several days a line each."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.cli.days import BAD, NURSERY, run, write

ROOT = Path(__file__).parents[2]
BAKERY, SLIP, HIVES = (str(ROOT / "examples" / f"{name}.toml") for name in ("quay-bakery", "quay-bakery-slip", "hives"))

HEAVY = NURSERY.replace('gvwr = "3500 kg"', 'gvwr = "2500 kg"').replace('vertical = "120 kg"', 'vertical = "60 kg"')
"""The van weighs 2,660 kg alone and rests on four pads: some 160 kg too much, worked out from its readings."""

UNREAD = NURSERY[: NURSERY.index("[[drafts]]")]
VAN_ALONE = NURSERY[: NURSERY.rindex("[[drafts]]")]
"""Nothing was read under the trailer."""

LONG = NURSERY.replace('name = "Nursery van"', f'name = "{"Van of the nursery behind the harbour " * 4}"').replace(
    "van", "van_of_the_nursery_behind_the_harbour"
)


def brief(*arguments: str) -> list[str]:
    """The lines of a day that ends well."""
    result = run("findings", "--brief", *arguments)
    assert (result.exit_code, result.stderr) == (0, "")
    lines = result.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    return lines


@pytest.mark.parametrize("text", [NURSERY, HEAVY, UNREAD, VAN_ALONE, LONG])
def test_a_day_has_eight_lines_of_80_columns_at_most(tmp_path: Path, text: str) -> None:
    assert len(brief(write(tmp_path, text=text))) <= 8


def test_the_worst_limit_stands_first_with_its_figure_room_and_probability(tmp_path: Path) -> None:
    """With the trailer the van's wheels read 2,760 kg, on pads of 5 kg: some 260 kg more than its GVWR here."""
    path = write(tmp_path, text=HEAVY)
    lines = brief(path)
    assert lines[0] == "Nursery van with the seedling trailer"
    data = json.loads(run("findings", path, "--json").stdout)
    counts = [sum(one["verdict"] == word for one in data["verdicts"]) for word in ("outside", "within")]
    assert f"{counts[0]} outside" in lines[1]
    assert f"{counts[1]} within" in lines[1]
    outside = [line for line in lines if line.startswith("Outside: ")]
    assert outside == lines[2 : 2 + len(outside)]
    (gvwr,) = [line for line in outside if "van GVWR" in line]
    match = re.fullmatch(r"Outside: coupled: van GVWR: (\S+) kg, (\S+) kg over, met with < 0.1 %", gvwr)
    assert match is not None
    assert [float(text.replace(",", "")) for text in match.groups()] == pytest.approx([2760.0, 260.0], abs=5.0)


def test_two_bounds_of_one_share_are_told_apart_in_80_columns() -> None:
    shares = [line for line in brief(str(ROOT / "examples" / "hives.toml")) if ": wagon share on" in line]
    assert [re.findall("[≥≤] [0-9]+ %", line) for line in shares] == [["≤ 15 %"], ["≥ 10 %"]]


def test_the_coupling_is_what_the_findings_say() -> None:
    found = {one["id"]: one for one in json.loads(run("findings", BAKERY, "--json").stdout)["findings"]}
    load, share = (found[f"levelled/coupling/{kind}"]["value"] for kind in ("load", "share"))
    (line,) = [line for line in brief(BAKERY) if line.startswith("levelled: coupling: ")]
    assert f"{load:.0f} ± " in line
    assert f"{share:.2f} ± " in line
    assert line.endswith(" % of oven")


def test_a_day_that_contradicts_itself_says_so_and_where_to_look() -> None:
    lines = brief(SLIP)
    assert any(line.startswith("Readings contradict: look at draft 4") for line in lines)
    assert any(line.startswith("Undecided: market: oven GVWR: ") and " lb ?, met with " in line for line in lines)
    assert "The readings agree." in brief(BAKERY)
    assert not any("contradict" in line for line in brief(BAKERY))


def test_a_day_without_readings_judges_nothing(tmp_path: Path) -> None:
    lines = brief(write(tmp_path, text=UNREAD))
    assert "There are no readings yet." in lines
    assert "coupled: coupling: not determined" in lines
    assert lines[-1].startswith("Not judged: ")
    assert not any(line.startswith(("Within", "Outside", "Undecided")) for line in lines)


def test_what_is_not_determined_is_not_judged(tmp_path: Path) -> None:
    lines = brief(write(tmp_path, text=VAN_ALONE))
    assert lines[-1].startswith("Not judged: beds GVWR")
    assert " not judged" in lines[1]


def test_one_state_alone_has_no_word_of_the_others(tmp_path: Path) -> None:
    lines = brief(write(tmp_path), "--state", "empty")
    assert not any(line.startswith("coupled") for line in lines)


def test_several_files_have_a_line_each_and_a_bad_one_is_named(tmp_path: Path) -> None:
    lines = brief(BAKERY, SLIP, HIVES)
    assert len(lines) == 3
    assert [line.split()[0] for line in lines] == ["quay-bakery.toml", "quay-bakery-slip.toml", "hives.toml"]
    assert ["contradicting" in line for line in lines] == [False, True, False]
    assert "1 undecided: market: oven GVWR, 14 lb left" in lines[0]
    bad, good = write(tmp_path, "bad.toml", BAD), write(tmp_path)
    result = run("findings", "--brief", bad, good)
    assert result.exit_code == 2
    assert "bad.toml:49: " in result.stderr
    assert len(result.stdout.splitlines()) == 1


def test_two_forms_at_once_are_refused() -> None:
    result = run("findings", BAKERY, "--brief", "--csv")
    assert result.exit_code == 2
    assert "--csv and --brief exclude each other; choose one" in result.stderr


def test_what_the_papers_decide_is_told_too() -> None:
    """The licence is no limit on a load, and is what the owner asks first."""
    lines = brief(str(ROOT / "examples" / "puppet-van.toml"))
    assert "Outside by the papers: hitched: Category of licence: BE." in lines
    assert len(lines) <= 8
    assert not any(line.startswith("Outside by the papers") for line in brief(BAKERY))


def test_what_the_papers_do_not_keep_is_counted_in_the_line_of_a_file_and_said_of_what_if() -> None:
    puppets = str(ROOT / "examples" / "puppet-van.toml")
    lines = run("findings", "--brief", puppets, str(ROOT / "examples" / "quay-bakery.toml")).stdout.splitlines()
    assert ["outside by papers" in line for line in lines] == [True, False]
    assert max(map(len, lines)) <= 80
    said = run("whatif", puppets, "--from", "hitched", "--remove", "puppets").stdout
    assert "rules by the papers" in said
    assert "what_if: driver of the combination: Category of licence" in " ".join(said.split())
    assert "hitched: driver" not in said
