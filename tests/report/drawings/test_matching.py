"""The picture of a matching: a card for each pair, its verdict without colour, the marks, letters that can be read."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.cli.days import run, write
from tests.cli.test_match import BAKERY, SLIP, two_rigs

ROOT = Path(__file__).parents[3]


def drawn(folder: Path, *arguments: str) -> str:
    """The SVG that the command writes."""
    result = run("match", *arguments, "-o", str(folder / "picture"))
    assert (result.exit_code, result.stderr) == (0, "")
    assert (folder / "picture.png").read_bytes().startswith(b"\x89PNG")
    return (folder / "picture.svg").read_text(encoding="utf-8")


def letters(svg: str) -> list[str]:
    """The texts of a picture, a line each, in order."""
    return [node.text or "" for node in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


@pytest.mark.parametrize("shape", ["16:9", "1:1", "9:16", "A4", "Letter"])
def test_each_pair_has_a_card_in_letters_that_can_be_read(tmp_path: Path, shape: str) -> None:
    svg = drawn(tmp_path, two_rigs(tmp_path), "--shape", shape)
    words = " ".join(letters(svg))
    assert sum(words.count(word) for word in ("Within", "Undecided", "Outside")) == 4
    width, height = (float(number) for number in re.findall(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)[0])
    sizes = [float(number) for number in re.findall(r'font-size="([\d.]+)"', svg)]
    assert min(sizes) >= min(width, height) / 36.0 - 1e-3
    assert "law stand above it." in words


def test_the_verdict_is_told_by_the_frame_and_in_words(tmp_path: Path) -> None:
    within = drawn(tmp_path, BAKERY)
    assert "Within" in letters(within)
    assert "stroke-dasharray" not in within
    assert 'fill="url(#over' not in within
    stage = [str(ROOT / "examples" / f"stage-{name}.toml") for name in ("van", "wagon")]
    undecided = drawn(tmp_path, stage[1])
    assert "Undecided" in letters(undecided)
    assert "stroke-dasharray" in undecided
    outside = drawn(tmp_path, stage[0], BAKERY)
    assert "Outside" in letters(outside)
    assert 'fill="url(#over' in outside


def test_a_contested_pair_bears_the_mark_and_shows_the_hull(tmp_path: Path) -> None:
    svg = drawn(tmp_path, SLIP)
    assert any("contested" in line for line in letters(svg))
    coupling = next(line for line in letters(svg) if "Coupling" in line)
    assert "±" not in coupling
    assert " to " in coupling.replace("\N{NO-BREAK SPACE}", " ")


def test_it_says_itself_to_those_who_do_not_see_it(tmp_path: Path) -> None:
    found = re.search(r"<desc[^>]*>(.*?)</desc>", drawn(tmp_path, BAKERY), re.DOTALL)
    assert found is not None
    assert found.group(1).startswith("Oven trailer behind Crew-cab bread truck: within; ")


def test_more_pairs_than_fit_are_refused(tmp_path: Path) -> None:
    files: list[str] = []
    for number in range(5):
        text = Path(BAKERY).read_text(encoding="utf-8")
        files.append(write(tmp_path, f"day{number}.toml", text))
    result = run("match", *files, "-o", str(tmp_path / "picture"))
    assert result.exit_code == 2
    assert result.stderr == "match: 25 pairs do not fit into 16:9 in letters one can read; match fewer files\n"
    assert not (tmp_path / "picture.svg").exists()


def test_looks_without_a_picture_are_refused() -> None:
    assert "name it with -o" in run("match", BAKERY, "--dark").stderr
    assert "give one of them" in run("match", BAKERY, "--json", "-o", "x").stderr
