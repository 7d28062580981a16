"""``steelyard compare -o``: the files it writes, and what it says where it cannot."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.days import run
from tests.cli.test_compare import two
from tests.cli.test_draw import LOGO


def test_both_forms_are_written_and_named(tmp_path: Path) -> None:
    for output, stem in (("seen", "seen"), ("seen.v2", "seen.v2"), ("shown.png", "shown"), ("", "compare")):
        result = run("compare", *two(tmp_path), "-o", str(tmp_path / output), "--shape", "9:16", "--dark")
        assert (result.exit_code, result.stderr) == (0, "")
        assert result.stdout.split() == [str(tmp_path / f"{stem}.svg"), str(tmp_path / f"{stem}.png")]
        png = (tmp_path / f"{stem}.png").read_bytes()
        assert (int.from_bytes(png[16:20]), int.from_bytes(png[20:24])) == (1080, 1920)
        assert 'fill="#11161c"' in (tmp_path / f"{stem}.svg").read_text(encoding="utf-8")


def test_a_picture_to_lay_over_another_carries_a_logo(tmp_path: Path) -> None:
    logo = tmp_path / "mark.svg"
    logo.write_text(LOGO, encoding="utf-8")
    result = run("compare", *two(tmp_path), "-o", str(tmp_path / "x"), "--transparent", "--logo", str(logo))
    assert (result.exit_code, result.stderr) == (0, "")
    text = (tmp_path / "x.svg").read_text(encoding="utf-8")
    assert 'fill="#fbfaf7"' not in text
    assert text.count("<image") == 1


def test_the_rigs_themselves_are_drawn_on_request(tmp_path: Path) -> None:
    result = run("compare", *two(tmp_path), "-o", str(tmp_path), "--rigs", "--shape", "9:16", "--units", "lb,in")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.split() == [str(tmp_path / "rigs.svg"), str(tmp_path / "rigs.png")]
    assert "2 rigs at one scale" in (tmp_path / "rigs.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--shape", "1:1"), "--measure, --rigs and the look of a picture need a picture; name it with -o"),
        (("--rigs",), "--measure, --rigs and the look of a picture need a picture; name it with -o"),
        (("-o", "x", "--rigs", "--measure", "gross/towing"), "--rigs draws the rigs and --measure a chart"),
        (("-o", "x", "--dark", "--transparent"), "dark and transparent are two grounds; give one of them"),
        (("--logo", __file__), "is not a picture that can be used"),
        (("-o", "x", "--json"), "--json prints the answer and -o draws it; give one of them"),
        (("-o", "x", "--measure", "gros/towing"), "'gros/towing' is not a measure that can be drawn"),
        (("-o", "/nowhere/x"), "/nowhere/x.svg: cannot be written"),
    ],
)
def test_each_mistake_has_its_message(tmp_path: Path, arguments: tuple[str, ...], said: str) -> None:
    result = run("compare", *two(tmp_path), *arguments)
    assert result.exit_code == 2
    assert said in result.stderr
    assert not Path("x.svg").exists()


def test_no_day_is_written_over(tmp_path: Path) -> None:
    """The second file too is safe, whatever it is called."""
    first, second = two(tmp_path)
    day = tmp_path / "second.svg"
    Path(second).rename(day)
    before = day.read_bytes()
    result = run("compare", first, str(day), "-o", str(tmp_path / "second"))
    assert result.exit_code == 2
    assert "is the weigh day itself" in result.stderr
    assert day.read_bytes() == before
