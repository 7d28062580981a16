"""What CONTRIBUTING draws of the house is the layer contract, and the files that it names are there."""

from __future__ import annotations

import re

import pytest

from steelyard.questions import QUESTIONS
from steelyard.web.api.ask import ASKED
from tests.house.layers import FACES, GROUND, KEEPING, RECKONING, Storeys
from tests.house.source import ROOT, SOURCE

TEXT = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
CONTRACT = {"faces": FACES, "reckoning": RECKONING, "keeping": KEEPING, "ground": GROUND}

_STOREY = re.compile(r" {6}(\w+(?:, \w+)*)(?: {2,}.*)?")
_PATH = re.compile(r"`([\w/]+\.py)`")


def drawn(text: str) -> dict[str, Storeys]:
    """The picture under "The house": for each heading its storeys, top first, each with its rooms.

    What stands to the right of two spaces says what the rooms are for.
    """
    found: dict[str, Storeys] = {}
    part = ""
    for line in text.partition("\n## The house\n")[2].partition("\n## ")[0].splitlines():
        storey = _STOREY.fullmatch(line)
        if storey:
            found[part] = (*found[part], tuple(storey[1].split(", ")))
        elif re.fullmatch(r" {4}\w+", line):
            part = line.strip()
            found[part] = ()
    return found


def test_the_picture_of_the_rooms_is_the_layer_contract() -> None:
    assert drawn(TEXT) == CONTRACT


@pytest.mark.parametrize(
    ("there", "instead"),
    [
        ("      requirements  ", "      laws  "),
        ("      statics, solver  ", "      statics  "),
        ("    keeping\n", ""),
        ("      web  ", "      report  "),
    ],
)
def test_another_picture_is_seen(there: str, instead: str) -> None:
    assert there in TEXT
    assert drawn(TEXT.replace(there, instead, 1)) != CONTRACT


def test_every_file_that_is_named_is_there() -> None:
    named = [name for name in _PATH.findall(TEXT) if "/" in name]
    assert len(named) > 5
    assert [name for name in named if not any((root / name).is_file() for root in (ROOT, SOURCE))] == []


def test_the_table_of_the_tests_names_every_folder_that_is_not_a_rooms() -> None:
    table = TEXT.partition("\n## The tests' rooms\n")[2].partition("\n## ")[0]
    named = set(re.findall(r"^\| `tests/(\w+)/` \|", table, re.MULTILINE))
    folders = {
        path.name for path in (ROOT / "tests").iterdir() if path.is_dir() and not path.name.startswith(("_", "."))
    }
    rooms = {path.name for path in SOURCE.iterdir() if path.is_dir() and not path.name.startswith("_")}
    assert named == folders - rooms
    lacking = table.partition("have no folder of their own. ")[2].partition("\n\n")[0]
    assert {name for name in rooms if f"`{name}`" in lacking} == rooms - folders - {"capture"}


def test_a_question_stands_in_the_places_that_are_named() -> None:
    """A question is a command, with its table, or an address, or both; a form on the page Ask needs the address."""
    said = " ".join(TEXT.partition("\n## Adding a question\n")[2].partition("\n## ")[0].split())
    addresses = (ROOT / "tests" / "released" / "addresses.txt").read_text(encoding="utf-8")
    served = set(re.findall(r"(?:GET|POST) .* /api/v1/(?:days/\{id\}/)?(\w+)$", addresses, re.MULTILINE))
    for name, item in QUESTIONS.items():
        tables = SOURCE / "report" / "tables"
        command = (SOURCE / "cli" / "commands" / f"{name}.py").is_file()
        assert command == ((tables / f"{item.module}.py").is_file() or (tables / item.module).is_dir()), name
        assert command or f"`{name}` serves the pages and has no command" in said, name
        assert name in served or (command and f"`{name}` has no address" in said), name
        form = (SOURCE / "web" / "pages" / "ask" / "fragments" / f"{name}.html").is_file()
        assert name in ASKED or not form, name
        assert name in ASKED or f"`{name}`" in said, name
