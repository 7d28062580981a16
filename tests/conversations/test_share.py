"""Listening leaves the machine free: fifty readings a second from eight channels take less than a tenth of a core."""

from __future__ import annotations

from benchmarks.station_capture import MOST, share_of_a_core
from tests.conversations.dialogue import run


def test_eight_channels_take_less_than_a_tenth_of_a_core() -> None:
    assert 0.0 < run(share_of_a_core(1.5)) < MOST
