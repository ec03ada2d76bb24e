"""Migrations: numbered SQL steps, forward only; a step and the note that it was applied share one transaction."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from datetime import datetime
from importlib.resources import files
from pathlib import Path
from typing import Final

import sqlalchemy as sa

from unfasten.evidence.errors import DataError

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
    """Apply the steps that are missing and give their names; an existing SQLite file is copied before each.

    Raises `DataError` (`store.newer`) if the database has been through a step that this release does not know.
    """
    steps = shipped_steps() if steps is None else steps
    done = applied(engine)
    unknown = [name for name in done if name not in steps]
    if unknown:
        remedy = "install the release that wrote it, or a newer one"
        raise DataError("store.newer", str(engine.url.database), f"a newer release made step {unknown[0]}", remedy)
    missing = tuple(name for name in steps if name not in done)
    for place, name in enumerate(missing):
        if done or place:
            back_up(engine, name)
        _apply(engine, name, steps[name], at)
    return missing


def _apply(engine: sa.Engine, name: str, sql: str, at: datetime) -> None:
    """Apply one step, unless another process was quicker."""
    with engine.begin() as tx:
        if engine.dialect.name == "postgresql":
            tx.execute(sa.text("select pg_advisory_xact_lock(hashtext('unfasten.migrate'))"))
        tx.execute(sa.text(NOTES))
        if tx.execute(sa.text("select 1 from applied where name = :name"), {"name": name}).first():
            return
        for statement in filter(str.strip, sql.split(";\n")):
            tx.exec_driver_sql(statement)
        tx.execute(sa.text("insert into applied (name, at) values (:name, :at)"), {"name": name, "at": at.isoformat()})


def back_up(engine: sa.Engine, name: str) -> Path | None:
    """Copy an SQLite file beside itself before step `name`; None where the database is no file."""
    database = engine.url.database
    if engine.dialect.name != "sqlite" or database in (None, "", ":memory:"):
        return None
    source = Path(str(database))
    copy = source.with_name(f"{source.name}.before-{name}")
    part = copy.with_name(f"{copy.name}.part")
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(part)) as new:
        old.backup(new)
    return part.replace(copy)
