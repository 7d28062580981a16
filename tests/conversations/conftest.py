"""Time in the conversations: nothing that happens in them depends on how busy the machine is."""

from __future__ import annotations

import pytest

from tests.waiting import PATIENCE


@pytest.fixture(autouse=True)
def _never_quiet(monkeypatch: pytest.MonkeyPatch) -> None:
    """A stall of the machine is no quiet while after which half a line would pass for a whole one."""
    monkeypatch.setattr("steelyard.capture.line_port._QUIET", PATIENCE)
