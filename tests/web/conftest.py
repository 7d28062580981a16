"""A station in this process, over a store of its own, and clients of every kind."""

from __future__ import annotations

from collections.abc import Callable, Generator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from steelyard.store import open_store
from steelyard.web import Settings, create_app
from steelyard.web.station.aside import Asides
from tests.waiting import PATIENCE
from tests.web.serving import EXAMPLE, TOKEN

BASE = "http://127.0.0.1:8765"

Making = Callable[..., TestClient]


class _Kept(Asides):
    """Processes that work out findings, for one station after the other: to begin one costs a second."""

    def close(self) -> None:
        """Stay for the next station."""

    def end(self) -> None:
        """End them after all."""
        super().close()


@pytest.fixture(scope="session", name="kept")
def _kept() -> Generator[_Kept, None, None]:
    kept = _Kept()
    yield kept
    kept.end()


@pytest.fixture(autouse=True)
def _share(kept: _Kept, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stations in this process share the processes; how these begin and end, ``test_aside`` sees.

    They wait for findings as long as a busy machine needs; that they say so after a while is seen there too.
    """
    monkeypatch.setattr("steelyard.web.station.reckon.Asides", lambda: kept)
    monkeypatch.setattr("steelyard.web.station.station.PATIENCE", PATIENCE)
    monkeypatch.setattr("steelyard.web.api.days.PATIENCE", PATIENCE)


@pytest.fixture(scope="session", name="bare")
def _bare(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A store with nothing in it, made once; ``tests/store`` looks at how it is made."""
    path = tmp_path_factory.mktemp("bare") / "station.db"
    open_store(path).close()
    return path.read_bytes()


@pytest.fixture
def making(tmp_path: Path, bare: bytes) -> Generator[Making, None, None]:
    """Makes test clients, each for a station over its own or a given store."""
    with ExitStack() as stack:

        def make(
            *, client: str = "127.0.0.1", base: str = BASE, headers: dict[str, str] | None = None, **settings: Any
        ) -> TestClient:
            station = settings.pop("station", None)
            settings = {"store": tmp_path / "station.db", "token": TOKEN, "keys": tmp_path / "keys"} | settings
            if station is None and settings["store"] == tmp_path / "station.db" and not settings["store"].exists():
                settings["store"].touch(0o600)
                settings["store"].write_bytes(bare)
            app = create_app(Settings(**settings), station=station)
            made = TestClient(
                app, base_url=base, client=(client, 50000), headers=headers or {}, raise_server_exceptions=False
            )
            return stack.enter_context(made)

        yield make


@pytest.fixture
def script(making: Making) -> TestClient:
    """A script with the token."""
    return making(headers={"authorization": f"Bearer {TOKEN}"})


@pytest.fixture
def day_id(script: TestClient) -> str:
    """The bundled day, imported."""
    answer = script.post("/api/v1/days", content=EXAMPLE.read_text(encoding="utf-8"))
    assert answer.status_code == 201, answer.text
    return answer.json()["id"]
