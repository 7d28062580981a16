"""Small invented weigh days, written to disk for the commands, and a way to run these."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from click.testing import CliRunner, Result

from steelyard.cli import cli
from tests.waiting import PATIENCE

ROOT = Path(__file__).resolve().parents[2]

NURSERY = """\
format = 1
title = "Nursery van with the seedling trailer"
units = { mass = "kg", length = "mm" }

[instruments.a]
kind = "pad"
capacity = "4000 kg"
division = "5 kg"
height = "60 mm"
[instruments.b]
kind = "pad"
capacity = "4000 kg"
division = "5 kg"
height = "60 mm"
[instruments.c]
kind = "pad"
capacity = "4000 kg"
division = "5 kg"
height = "60 mm"
[instruments.d]
kind = "pad"
capacity = "4000 kg"
division = "5 kg"
height = "60 mm"

[vehicles.van]
role = "towing"
name = "Nursery van"
ratings = { gvwr = "3500 kg" }
[[vehicles.van.axles]]
x = "0 mm"
track = "1700 mm"
rating = "1750 kg"
[[vehicles.van.axles]]
x = "3600 mm"
track = "1700 mm"
rating = "1500 kg"
[vehicles.van.couplings.ball]
type = "ball"
x = "4700 mm"
rating = { vertical = "120 kg" }

[vehicles.beds]
role = "trailer"
name = "Seedling trailer"
ratings = { gvwr = "1500 kg" }
[[vehicles.beds.axles]]
x = "3200 mm"
track = "1800 mm"
rating = "1500 kg"

[states.empty]
vehicles = ["van"]
[states.coupled]
vehicles = ["van", "beds"]
couple = { towing = "van", at = "ball", trailer = "beds" }

[[drafts]]
state = "empty"
readings = { "van/1L" = ["a", 720], "van/1R" = ["b", 705], "van/2L" = ["c", 615], "van/2R" = ["d", 620] }
[[drafts]]
state = "coupled"
readings = { "van/1L" = ["a", 700], "van/1R" = ["b", 690], "van/2L" = ["c", 680], "van/2R" = ["d", 690] }
[[drafts]]
state = "coupled"
readings = { "beds/1L" = ["a", 560], "beds/1R" = ["b", 540] }
"""

BAD = NURSERY.replace('track = "1800 mm"', 'track = "1800 mmm"').replace('state = "empty"\n', 'state = "emty"\n')


def write(folder: Path, name: str = "nursery.toml", text: str = NURSERY) -> str:
    """A day on disk; its path as it is typed."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def run(*arguments: str, answers: str | None = None) -> Result:
    """A command run in this process; a plan has an hour where none is asked for, for the machine may be busy."""
    hour = {"plan": {"seconds": 3600.0}}
    return CliRunner().invoke(cli, list(arguments), input=answers, prog_name="steelyard", default_map=hour)


def shell(*arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """A command run as the shell would."""
    surroundings = os.environ | {"PYTHONPATH": str(ROOT / "src"), "PYTHONIOENCODING": "utf-8"} | environment
    command = [sys.executable, "-m", "steelyard", *arguments]
    return subprocess.run(command, capture_output=True, env=surroundings, timeout=PATIENCE, check=False)
