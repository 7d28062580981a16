"""What the tests send, and what they hold answers against."""

from __future__ import annotations

from typing import Any

import httpx2

READINGS = {
    "truck/1L": ["p1", 2160],
    "truck/1R": ["p2", 2120],
    "truck/2L": ["p3", 1580],
    "truck/2R": ["p4", 1540],
}


def draft(key: str, **more: Any) -> dict[str, Any]:
    """A draft of the bundled day's truck alone."""
    return {"key": key, "state": "solo", "readings": READINGS} | more


def error(answer: httpx2.Response, status: int, code: str) -> str:
    """The message of an error, once the answer is seen to be that error in the one shape."""
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/json"
    body = answer.json()
    assert set(body) == {"error"}
    assert set(body["error"]) == {"code", "message", "faults"}
    assert body["error"]["code"] == code, body
    for fault in body["error"]["faults"]:
        assert set(fault) == {"line", "path", "value", "message"}
    return body["error"]["message"]
