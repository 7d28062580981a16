"""A file with planned drafts is one that the program reads, before and after it is filled in, whatever the day."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from steelyard.cli import cli
from steelyard.dayfile import DayFileError, parse_day
from tests.planning.days import HERBS, TANDEM, herbs

_TANK = """\
[cargo.tank]
on = "van"
volume = "60 L"
density = "1 kg/L"
level = "80 %"
x = "2000 mm"
y = "0 mm"
rate = "-2 L/h"
[cargo.crate]
on = "cart"
mass = "120 kg"
x = "3300 mm"
y = "0 mm"
"""
_READ = """\
[[drafts]]
state = "solo"
AT
readings = { "van/1L" = ["p1", 700], "van/1R" = ["p2", 700], "van/2L" = ["p3", 500], "van/2R" = ["p4", 500] }
"""


def drawn(seed: int) -> str:
    """A day with or without cargo that drains, drafts, times with an offset, height, a slope and inline drafts."""
    rng = np.random.default_rng(seed)
    text = herbs(4, text=[HERBS, TANDEM][int(rng.integers(2))], height=["0 mm", "40 mm"][int(rng.integers(2))])
    if rng.random() < 0.7:
        text = text.replace('vehicles = ["van"]\n', 'vehicles = ["van"]\ncargo = ["tank"]\n')
        text = text.replace('vehicles = ["van", "cart"]\n', 'vehicles = ["van", "cart"]\ncargo = ["tank", "crate"]\n')
        text += _TANK
    if rng.random() < 0.5:
        text = text.replace("[site]\n", '[site]\nslope_long = "0.4 deg"\nlatitude = "51 deg"\n')
    if rng.random() < 0.7:
        when = ["at = 2026-05-14T09:12:00", "at = 2026-05-14T09:12:00Z"][int(rng.integers(2))]
        text += _READ.replace("AT", when)
    return text


@pytest.mark.parametrize("seed", range(10))
def test_a_file_with_planned_drafts_only_waits_and_is_sound_once_it_is_filled_in(seed: int, tmp_path: Path) -> None:
    day, planned = tmp_path / "day.toml", tmp_path / "planned.toml"
    text = drawn(seed)
    day.write_text(text, encoding="utf-8")
    arguments = ["plan", str(day), "--pads", "p1,p2,p3,p4", "--want", "hitched/coupling/load <= 25 kg", "--no-more"]
    # an hour, which no load uses up: the search ends by what it has looked at
    arguments += ["--seconds", "3600", "--planks" if seed % 3 else "--blocks=4", "--toml", str(planned)]
    result = CliRunner().invoke(cli, arguments)
    assert result.exit_code == 0, result.output
    written = planned.read_text(encoding="utf-8")
    assert written.count('", ]') >= 4
    with pytest.raises(DayFileError) as raised:
        parse_day(written, "planned.toml")
    assert {fault.message.partition(";")[0] for fault in raised.value.faults} == {"is still to be read"}
    filled = re.sub(r'\["(p\d)", \]', r'["\1", 500]', written)
    if "rate =" in text:
        with pytest.raises(DayFileError, match="needs the time of every draft"):
            parse_day(filled, "planned.toml")
        first = text.find("\nat = ")
        when = "2026-05-14T10:00:00" + ("Z" if first < 0 or "00Z" in text[first : first + 30] else "")
        count = len(
            re.findall(r"(?m)^# Say under it when it was read, as in at = .* tank changes by itself\.$", written)
        )
        assert count == written.count("# Planned draft ") - written.count('state = "parked"')
        head, mark, tail = filled.partition("# Planned draft 1")
        filled = head + mark + re.sub(r"(?m)^\[\[drafts\]\]$", f"[[drafts]]\nat = {when}", tail)
    assert len(parse_day(filled, "planned.toml").drafts) == len(re.findall(r"(?m)^\[\[drafts\]\]$", written))
