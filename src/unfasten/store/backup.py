"""Copies of a workspace's database, made before a migration changes it.

SQLite: a file beside the file. PostgreSQL: a schema beside the schema, with the same tables, keys, indexes and rows,
made in the migration's own transaction, so that there is no step without its copy; it needs no program of the server's.
Restoring is putting the copy in the place of what it was made of: docs/ledger.md.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import sqlalchemy as sa

from unfasten.evidence.errors import DataError

#: how the names of such schemas begin
COPY: Final = "unfasten_before_"
_TABLES: Final = sa.text(
    "select c.relname from pg_class c where c.relkind = 'r' and c.relnamespace ="
    " (select relnamespace from pg_class where oid = to_regclass('applied')) order by c.relname"
)
_FOREIGN_KEYS: Final = sa.text(
    "select t.relname, k.conname, pg_get_constraintdef(k.oid)"
    " from pg_constraint k join pg_class t on t.oid = k.conrelid"
    " where k.contype = 'f' and t.relnamespace = (select relnamespace from pg_class where oid = to_regclass('applied'))"
)


def copy_file(engine: sa.Engine, name: str) -> Path | None:
    """Copy an SQLite file beside itself before step `name`; None where the database is no file."""
    database = engine.url.database
    if database in (None, "", ":memory:"):
        return None
    source = Path(str(database))
    copy = source.with_name(f"{source.name}.before-{name}")
    part = copy.with_name(f"{copy.name}.part")
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(part)) as new:
        old.backup(new)
    return part.replace(copy)


def copy_schema(tx: sa.Connection, name: str, at: datetime) -> str:
    """Copy every table of the workspace's PostgreSQL schema into a new one before step `name`; give its name.

    Others wait until the transaction ends. Raises `DataError` if the copy may not be made, or is not what it copies.
    """
    source = str(
        tx.scalar(sa.text("select relnamespace::regnamespace::text from pg_class where oid = 'applied'::regclass"))
    )
    tables = [quoted(table) for table in tx.scalars(_TABLES)]
    tx.exec_driver_sql(f"lock table {', '.join(tables)} in access exclusive mode")
    copy = _new_schema(tx, name, at)
    said = f"unfasten: {source} as it was before step {name}, copied {at.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
    tx.exec_driver_sql(f"comment on schema {copy} is '{said.replace(chr(39), chr(39) * 2)}'".replace("%", "%%"))
    keys = [tuple(map(str, row)) for row in tx.execute(_FOREIGN_KEYS)]
    for table in tables:
        tx.exec_driver_sql(f"create table {copy}.{table} (like {table} including all)")
        tx.exec_driver_sql(f"insert into {copy}.{table} select * from {table}")
        kept, held = (_counted(tx, one) for one in (f"{copy}.{table}", table))
        if kept != held:
            remedy = "start it again; nothing was changed"
            raise DataError("store.no-copy", f"{copy}.{table}", f"{kept[0]} of {held[0]} rows were copied", remedy)
    path = tx.scalar(sa.text("select current_setting('search_path')"))
    set_path = sa.text("select set_config('search_path', :path, true)")
    tx.execute(set_path, {"path": copy})  # so that the keys of the copy point to the copy's tables
    for table, key, definition in keys:
        tx.exec_driver_sql(f"alter table {quoted(table)} add constraint {quoted(key)} {definition}".replace("%", "%%"))
    tx.execute(set_path, {"path": path})
    return copy


def quoted(name: str) -> str:
    """Write a name as SQL takes it."""
    return '"' + name.replace('"', '""') + '"'


def _new_schema(tx: sa.Connection, name: str, at: datetime) -> str:
    stem = f"{COPY}{name}_{at.astimezone(UTC):%Y%m%d_%H%M%S}"
    is_taken = sa.text("select 1 from pg_namespace where nspname = :name")
    number = 1
    while tx.execute(is_taken, {"name": stem if number == 1 else f"{stem}_{number}"}).first():
        number += 1
    copy = quoted(stem if number == 1 else f"{stem}_{number}")
    if not tx.scalar(sa.text("select has_database_privilege(current_database(), 'CREATE')")):
        database, user = tx.execute(sa.text("select current_database(), current_user")).one()
        message = f"{user} may not make a schema, in which the workspace is kept before it is changed (step {name})"
        remedy = f"let the database's owner enter: grant create on database {quoted(database)} to {quoted(user)}"
        raise DataError("store.no-copy", str(database), message, remedy)
    tx.exec_driver_sql(f"create schema {copy}")
    return copy


def _counted(tx: sa.Connection, table: str) -> tuple[int, str]:
    """Number of rows, and a sum over what they hold that does not depend on their order."""
    query = f"select count(*), coalesce(sum(hashtextextended(t::text, 0)::numeric), 0)::text from {table} t"
    count, total = tx.exec_driver_sql(query).one()
    return int(count), str(total)
