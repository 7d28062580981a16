"""Stores for the tests: each test of the ``store`` fixture runs on SQLite and on a real PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable, Generator
from pathlib import Path

import pytest

from steelyard.store import Store, open_store
from tests.store.postgres import Cluster, cluster


@pytest.fixture(scope="session", name="postgres")
def _postgres() -> Generator[Cluster, None, None]:
    with cluster() as running:
        yield running


@pytest.fixture(params=["sqlite", "postgresql"], name="where")
def _where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a store that does not exist yet."""
    if request.param == "sqlite":
        return str(tmp_path / "days.sqlite")
    running: Cluster = request.getfixturevalue("postgres")
    return running.empty_database()


@pytest.fixture(name="opened")
def _opened(where: str) -> Generator[Callable[[], Store], None, None]:
    """Opens the same store as often as asked, and closes all in the end."""
    stores: list[Store] = []

    def another() -> Store:
        stores.append(open_store(where))
        return stores[-1]

    yield another
    for store in stores:
        store.close()


@pytest.fixture(name="store")
def _store(opened: Callable[[], Store]) -> Store:
    return opened()
