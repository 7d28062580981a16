"""The layer contract holds, and each way of breaking it is seen."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.house.layers import ROOMS, cycle_faults, import_faults, placement_faults, rooms_below, web_faults
from tests.house.source import SOURCE

ALL_ROOMS = {f"{room}/__init__.py": "" for room in ROOMS}
OFFERS_SOLVE = {"statics/__init__.py": "from steelyard.statics.operator import solve\n__all__ = ['solve']\n"}


def test_every_package_has_one_place_in_the_house() -> None:
    faults = placement_faults(SOURCE)
    assert faults == [], "\n".join(faults)


def test_imports_point_down_and_enter_by_the_front_door() -> None:
    faults = import_faults(SOURCE)
    assert faults == [], "\n".join(faults)


def test_no_file_imports_itself_by_a_detour() -> None:
    faults = cycle_faults(SOURCE)
    assert faults == [], "\n".join(faults)


def test_the_folders_of_the_station_import_what_is_below_them() -> None:
    faults = web_faults(SOURCE)
    assert faults == [], "\n".join(faults)


def test_a_station_that_speaks_http_is_seen(tmp_path: Path) -> None:
    sound = {
        "web/http/problem.py": "from steelyard.web.station.refused import RefusalError\n",
        "web/station/refused.py": "class RefusalError(Exception): ...\n",
    }
    assert web_faults(house(tmp_path / "sound", sound)) == []
    wrong = {**sound, "web/station/station.py": "def f():\n    from steelyard.web.http.problem import Problem\n"}
    (fault,) = web_faults(house(tmp_path / "wrong", wrong))
    assert fault.endswith("web/station may not import web/http")


def test_the_two_columns_do_not_know_each_other() -> None:
    below = rooms_below()
    assert "statics" not in below["dayfile"]
    assert "findings" not in below["dayfile"]
    assert not any(
        "dayfile" in below[room] for room in ("findings", "planning", "requirements", "adjustment", "statics")
    )
    assert {"findings", "dayfile"} <= below["report"] <= below["cli"]
    assert below["units"] == {"names", "listing", "folders", "rules", "distributions", "classes"}


def house(folder: Path, files: dict[str, str]) -> Path:
    """A small package with the given files in place of the real one."""
    source = folder / "steelyard"
    for name, text in ({"__init__.py": ""} | ALL_ROOMS | files).items():
        path = source / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return source


def test_a_sound_house_has_no_faults(tmp_path: Path) -> None:
    files = OFFERS_SOLVE | {
        "statics/operator.py": "from steelyard.units import UNITS\ndef solve(): ...\n",
        "units/__init__.py": "UNITS = {}\n__all__ = ['UNITS']\n",
        "adjustment/solve.py": "def f():\n    from steelyard.statics import solve\n    return solve\n",
        "report/__init__.py": "from steelyard.report.ticket import place\n__all__ = ['place']\n",
        "report/ticket.py": "from importlib.resources import files\nplace = files('steelyard.report')\n",
        "cli/__init__.py": "from steelyard import __version__\ndef main(): ...\n__all__ = ['main']\n",
        "__main__.py": "from steelyard.cli import main\nmain()\n",
    }
    source = house(tmp_path, files)
    assert placement_faults(source) == import_faults(source) == cycle_faults(source) == []


PLANTED = {
    "upwards": ("statics/a.py", "from steelyard.findings import x", "'statics' may not import 'findings'"),
    "across the columns": ("dayfile/a.py", "from steelyard.statics import solve", "'dayfile' may not import 'statics'"),
    "back across the columns": (
        "findings/a.py",
        "from steelyard.dayfile import x",
        "'findings' may not import 'dayfile'",
    ),
    "inside a function": (
        "model/a.py",
        "def f():\n    from steelyard.statics import solve\n    return solve",
        "'model' may not import 'statics'",
    ),
    "for types only": (
        "units/a.py",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from steelyard.model import Axle",
        "'units' may not import 'model'",
    ),
    "relative": ("model/a.py", "from ..statics import solve", "'model' may not import 'statics'"),
    "relative, from a package": (
        "model/__init__.py",
        "from ..statics import solve",
        "'model' may not import 'statics'",
    ),
    "by a text": (
        "units/a.py",
        "from importlib import import_module\nimport_module('steelyard.statics')",
        "'units' may not import 'statics'",
    ),
    "by a text nobody can read": (
        "units/a.py",
        "from importlib import import_module\nimport_module('steel' + 'yard.cli')",
        "import_module with a name that the layer contract cannot read",
    ),
    "by a text that climbs": (
        "units/a.py",
        "from importlib import import_module\nimport_module('..statics', __package__)",
        "import_module with a name that the layer contract cannot read",
    ),
    "into a file": (
        "adjustment/a.py",
        "from steelyard.statics.operator import solve",
        "reaches into 'statics' (steelyard.statics.operator); take it from steelyard.statics",
    ),
    "a file by the front door": (
        "adjustment/a.py",
        "from steelyard.statics import operator",
        "takes 'operator' from 'statics', which does not offer it in __all__",
    ),
    "everything": (
        "adjustment/a.py",
        "from steelyard.statics import *",
        "takes '*' from 'statics', which does not offer it in __all__",
    ),
    "the room as a whole": (
        "adjustment/a.py",
        "import steelyard.statics as statics",
        "write 'from steelyard.room import name', not 'import steelyard.statics'",
    ),
    "the room from the root": (
        "adjustment/a.py",
        "from steelyard import statics",
        "write 'from steelyard.statics import name'",
    ),
    "from the root package": ("__init__.py", "from steelyard.model import Axle", "'steelyard' may not import 'model'"),
    "past the face": ("__main__.py", "from steelyard.findings import x", "may not import 'findings'"),
}


@pytest.mark.parametrize(("name", "text", "message"), PLANTED.values(), ids=PLANTED.keys())
def test_a_forbidden_import_is_seen(tmp_path: Path, name: str, text: str, message: str) -> None:
    source = house(tmp_path, OFFERS_SOLVE | {"statics/operator.py": "def solve(): ...\n", name: f"{text}\n"})
    faults = import_faults(source)
    assert len(faults) == 1
    assert faults[0].endswith(message)


def test_a_room_that_nobody_placed_is_seen(tmp_path: Path) -> None:
    source = house(tmp_path, {"tricks/__init__.py": "", "loose.py": "", "cellar/jam.py": ""})
    (source / "rules" / "__init__.py").unlink()
    assert placement_faults(source) == [
        "the package 'tricks' has no place in the layer contract",
        "the layer contract places 'rules', which does not exist",
        "loose.py stands outside every room",
        "the folder 'cellar' has Python files and no __init__.py",
    ]


def test_a_cycle_is_seen_even_inside_functions(tmp_path: Path) -> None:
    source = house(
        tmp_path,
        {
            "statics/a.py": "from steelyard.statics.b import x\n",
            "statics/b.py": "def f():\n    from steelyard.statics import a\n    return a\n",
        },
    )
    faults = cycle_faults(source)
    assert len(faults) == 1
    assert faults[0].startswith("import cycle: ")
    assert {"steelyard.statics.a", "steelyard.statics.b"} <= set(faults[0].removeprefix("import cycle: ").split(" -> "))


def test_spellings_are_compared_in_one_place() -> None:
    found = [str(path.relative_to(SOURCE)) for path in SOURCE.rglob("*.py") if "difflib" in path.read_text("utf-8")]
    assert found == ["names/__init__.py"]
