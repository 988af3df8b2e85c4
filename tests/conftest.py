"""Stores to test on: `database_url` and `database`, on SQLite and on PostgreSQL; `empty_url` without tables.

PostgreSQL is tested on the server of COLDJAR_TEST_POSTGRES, each test in a new database of its own.
"""

from __future__ import annotations

import asyncio
import os
import shutil
import subprocess
import sys
from collections.abc import AsyncIterator, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import asyncpg
import pytest

from storage.database import Database, open_database

ROOT = Path(__file__).resolve().parent.parent
POSTGRES = os.environ.get("COLDJAR_TEST_POSTGRES", "postgresql://root@127.0.0.1:5432/test")
ENGINES = ["sqlite", "postgres"]


def migrate(url: str) -> None:
    subprocess.run([sys.executable, "-m", "storage.migrate", url], cwd=ROOT, check=True)


def ask_server(*statements: str) -> None:
    """Run statements on the server, on a loop of their own beside the test's."""

    async def ask() -> None:
        connection = await asyncpg.connect(POSTGRES, timeout=5)
        try:
            for statement in statements:
                await connection.execute(statement)
        finally:
            await connection.close()

    with ThreadPoolExecutor(1) as pool:
        pool.submit(asyncio.run, ask()).result()


def address_of(name: str) -> str:
    return urlunsplit(urlsplit(POSTGRES)._replace(path=f"/{name}"))


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("template") / "coldjar.db"
    migrate(f"sqlite:///{path}")
    return path


@pytest.fixture(scope="session")
def new_names() -> Iterator[str]:
    return (f"coldjar_{os.getpid()}_{number}" for number in count())


@pytest.fixture(scope="session")
def postgres_server() -> None:
    try:
        ask_server("SELECT 1")
    except (OSError, asyncpg.PostgresError) as error:
        where = urlsplit(POSTGRES)
        pytest.skip(f"no PostgreSQL at {where.hostname}:{where.port} (COLDJAR_TEST_POSTGRES): {error!r}")


@pytest.fixture(scope="session")
def migrated_template(postgres_server: None, new_names: Iterator[str]) -> Iterator[str]:
    name = next(new_names)
    ask_server(f"CREATE DATABASE {name}")
    try:
        migrate(address_of(name))
        yield name
    finally:
        ask_server(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(params=ENGINES)
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Address of a migrated store of this test's own, closed."""
    if request.param == "sqlite":
        shutil.copy(request.getfixturevalue("migrated_file"), tmp_path / "coldjar.db")
        yield f"sqlite:///{tmp_path / 'coldjar.db'}"
    else:
        yield from _on_postgres(request, f"TEMPLATE {request.getfixturevalue('migrated_template')}")


@pytest.fixture(params=ENGINES)
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Address of a store that has no tables; on SQLite there is no file yet."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'coldjar.db'}"
    else:
        request.getfixturevalue("postgres_server")
        yield from _on_postgres(request, "")


@pytest.fixture
def postgres_pair(request: pytest.FixtureRequest) -> Iterator[tuple[str, str]]:
    """Addresses of two databases without tables."""
    request.getfixturevalue("postgres_server")
    with contextmanager(_on_postgres)(request, "") as one, contextmanager(_on_postgres)(request, "") as other:
        yield one, other


def _on_postgres(request: pytest.FixtureRequest, how: str) -> Iterator[str]:
    name = next(request.getfixturevalue("new_names"))
    ask_server(f"CREATE DATABASE {name} {how}")
    try:
        yield address_of(name)
    finally:
        ask_server(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
async def database(database_url: str) -> AsyncIterator[Database]:
    """A migrated store of this test's own, open."""
    opened = await open_database(database_url)
    yield opened
    await opened.close()
