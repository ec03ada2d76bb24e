"""Migrations: numbered SQL steps, forward only; a step and the note that it was applied share one transaction.

What a database held is copied before each step (`store.backup`); a database that is new holds nothing to copy.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from importlib.resources import files
from typing import Final

import sqlalchemy as sa

from unfasten.evidence.errors import DataError
from unfasten.store.backup import copy_file, copy_schema

NOTES: Final = "create table if not exists applied (name varchar(80) primary key, at text not null)"


def shipped_steps() -> dict[str, str]:
    """Steps that this release knows, by name, in order: name -> SQL."""
    found = [step for step in files("unfasten.store").joinpath("steps").iterdir() if step.name.endswith(".sql")]
    return {step.name.removesuffix(".sql"): step.read_text("utf-8") for step in sorted(found, key=lambda s: s.name)}


def applied(engine: sa.Engine) -> tuple[str, ...]:
    """Names of the steps that the database has been through; reads only. `DataError` if another program made it."""
    tables = sa.inspect(engine).get_table_names()
    if "applied" not in tables:
        if tables and engine.dialect.name == "sqlite":
            remedy = "name another file or folder for the workspace"
            raise DataError("store.foreign", str(engine.url.database), "another program made this database", remedy)
        return ()
    with engine.connect() as connection:
        return tuple(connection.execute(sa.text("select name from applied order by name")).scalars())


def migrate(engine: sa.Engine, at: datetime, steps: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """Apply the steps that are missing and give their names; what was there is copied before each.

    Raises `DataError` (`store.newer`) if the database has been through a step that this release does not know.
    """
    steps = shipped_steps() if steps is None else steps
    done = applied(engine)
    unknown = [name for name in done if name not in steps]
    if unknown:
        remedy = "install the release that wrote it, or a newer one"
        raise DataError("store.newer", str(engine.url.database), f"a newer release made step {unknown[0]}", remedy)
    missing = tuple(name for name in steps if name not in done)
    for name in missing:
        if done and engine.dialect.name == "sqlite":
            copy_file(engine, name)
        _apply(engine, name, steps[name], at, copied=bool(done))
    return missing


def _apply(engine: sa.Engine, name: str, sql: str, at: datetime, *, copied: bool) -> None:
    """Apply one step, unless another process was quicker; on PostgreSQL it is `copied` in the same transaction."""
    is_server = engine.dialect.name == "postgresql"
    with engine.begin() as tx:
        if is_server:
            tx.execute(sa.text("select pg_advisory_xact_lock(hashtext('unfasten.migrate'))"))
        tx.execute(sa.text(NOTES))
        if tx.execute(sa.text("select 1 from applied where name = :name"), {"name": name}).first():
            return
        if copied and is_server:
            copy_schema(tx, name, at)
        for statement in filter(str.strip, sql.split(";\n")):
            tx.exec_driver_sql(statement)
        tx.execute(sa.text("insert into applied (name, at) values (:name, :at)"), {"name": name, "at": at.isoformat()})
