"""Connections to a database: how they are opened, what a transaction is, and what its errors mean."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final, NamedTuple

import sqlalchemy as sa

from unfasten.evidence.errors import CallError, DataError

#: how long a writer waits for another [s]
BUSY_S: Final = 30
#: connections of one process to a server; a lab has one process, and a server allows about a hundred
POOL: Final = 8


class Meaning(NamedTuple):
    """What an error of a database means here, and what to do."""

    code: str
    message: str
    remedy: str


_FULL: Final = Meaning("store.disk-full", "the disk is full; nothing of this was kept", "make room, then send it again")
_READ_ONLY: Final = Meaning(
    "store.read-only", "it cannot be written; nothing of this was kept", "give the program the right to write there"
)
_BUSY: Final = Meaning("store.busy", "others are writing; nothing of this was kept", "send it again")
_AWAY: Final = Meaning(
    "store.away", "the database does not answer; nothing of this is known to be kept", "send it again"
)
#: names of SQLite's results, and states of PostgreSQL (its manual, Appendix A "Error Codes") -> what they mean here
_MEANINGS: Final = (
    (("SQLITE_FULL", "SQLITE_IOERR_WRITE", "SQLITE_IOERR_SHMSIZE", "53100"), _FULL),
    (("SQLITE_READONLY", "SQLITE_PERM", "25006"), _READ_ONLY),
    (("SQLITE_BUSY", "SQLITE_LOCKED", "55P03", "40001", "40P01", "53300", "23505"), _BUSY),
    (("57P", "08"), _AWAY),
)


def make_engine(url: str | sa.URL) -> sa.Engine:
    """Make the engine of a database; `postgresql://…` is spoken to by psycopg 3. Raises `CallError` for another one."""
    try:
        parsed = sa.make_url(url)
    except sa.exc.ArgumentError as error:
        raise _bad_url("(the text given)", "this is no URL of a database") from error
    if parsed.drivername in ("postgresql", "postgres"):
        parsed = parsed.set(drivername="postgresql+psycopg")
    where = parsed.render_as_string(hide_password=True)
    if parsed.drivername not in ("sqlite", "postgresql+psycopg"):
        raise _bad_url(where, "the workspace knows SQLite and PostgreSQL only")
    if parsed.drivername == "sqlite":
        engine = sa.create_engine(parsed, connect_args={"timeout": BUSY_S})
        sa.event.listen(engine, "connect", careful)
        sa.event.listen(engine, "begin", begin)
        return engine
    try:
        engine = sa.create_engine(parsed, pool_size=POOL, max_overflow=0, pool_pre_ping=True, pool_timeout=BUSY_S)
    except ModuleNotFoundError as error:
        message = "PostgreSQL needs the library psycopg, which is not installed"
        raise CallError("store.no-driver", where, message, "install unfasten[postgres]") from error
    sa.event.listen(engine, "connect", flushing)
    return engine


def flushing(connection: Any, _record: object) -> None:
    """Have PostgreSQL flush each commit before it answers, where it was set not to."""
    connection.execute(
        "select set_config('synchronous_commit', 'on', false) where current_setting('synchronous_commit') = 'off'"
    )
    connection.commit()


def careful(connection: Any, _record: object) -> None:
    """Set a new SQLite connection to lose nothing: write-ahead log, flushed at every commit."""
    connection.isolation_level = None
    for pragma in ("journal_mode=wal", "synchronous=full", "foreign_keys=on"):
        connection.execute(f"pragma {pragma}").close()


def begin(connection: sa.Connection) -> None:
    """Begin a transaction on SQLite; one that will write takes its turn at once."""
    reading = connection.get_execution_options().get("reading", False)
    connection.exec_driver_sql("begin" if reading else "begin immediate")


@contextmanager
def transaction(engine: sa.Engine, *, reading: bool = False) -> Iterator[sa.Connection]:
    """Hold a transaction; it is committed at the end, rolled back on any error."""
    with explained(engine.url), engine.connect() as connection:
        connection = connection.execution_options(reading=reading)
        with connection.begin():
            yield connection


@contextmanager
def explained(url: sa.URL) -> Iterator[None]:
    """Turn the database's own error into one that says what to do."""
    where = url.render_as_string(hide_password=True)
    try:
        yield
    except sa.exc.TimeoutError as error:
        raise DataError(_BUSY.code, where, _BUSY.message, _BUSY.remedy) from error
    except sa.exc.DBAPIError as error:
        state = str(getattr(error.orig, "sqlite_errorname", None) or getattr(error.orig, "sqlstate", None) or "")
        for states, told in _MEANINGS:
            if state.startswith(states):
                raise DataError(told.code, where, told.message, told.remedy) from error
        why = str(error.orig).strip()
        if url.get_backend_name() == "postgresql" and not state and isinstance(error, sa.exc.OperationalError):
            raise DataError(_AWAY.code, where, f"{_AWAY.message} ({why})", _AWAY.remedy) from error
        remedy = "check that it is an unfasten workspace, that it may be written, and that the disk has room"
        raise DataError("store.unusable", where, why, remedy) from error


def _bad_url(where: str, message: str) -> CallError:
    return CallError("store.bad-url", where, message, "write postgresql://USER@HOST/NAME")
