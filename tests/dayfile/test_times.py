"""Times with an offset and times without one may stand in one file; each is read as it was written."""

from __future__ import annotations

import datetime
from pathlib import Path

from steelyard.dayfile import parse_day, write_day

SOUND = (Path(__file__).parent.parent / "broken" / "sound.toml").read_text(encoding="utf-8")


def test_times_with_and_without_an_offset_in_one_file() -> None:
    text = SOUND.replace('key = "one"', 'key = "one"\nat = 2026-05-14T09:30:00', 1)
    local, offset = (draft.at for draft in parse_day(text, "day.toml").drafts[:2])
    assert local == datetime.datetime.fromisoformat("2026-05-14T09:30:00")
    assert offset == datetime.datetime(2026, 5, 14, 9, 12, tzinfo=datetime.UTC)
    written = write_day(parse_day(text, "day.toml"))
    assert "at = 2026-05-14T09:30:00\n" in written
    assert "at = 2026-05-14T09:12:00Z\n" in written
