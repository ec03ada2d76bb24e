"""Accounts, sessions, keys and the audit, in a database."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any, Final

import sqlalchemy as sa

from unfasten.store.account import (
    ATTEMPTS_KEPT,
    SIGNED_IN,
    Account,
    Event,
    Session,
    UploadKey,
    account_exists,
    stamp,
    unknown_account,
)
from unfasten.store.engine import transaction

ACCOUNT: Final = sa.table("account", *map(sa.column, ("name", "hash", "role", "made", "disabled")))
SESSION: Final = sa.table("session", *map(sa.column, ("token", "account", "expires", "csrf")))
KEY: Final = sa.table("upload_key", *map(sa.column, ("key", "record", "by_whom", "expires", "used")))
ATTEMPT: Final = sa.table("attempt", *map(sa.column, ("who", "at")))
EVENT: Final = sa.table("event", *map(sa.column, ("id", "at", "by_whom", "what", "about")))


class AccountTable:
    """Keeps the contract `Accounts`."""

    def __init__(self, engine: sa.Engine) -> None:
        self._engine = engine

    def add(self, account: Account) -> None:
        """Make an account; `DataError` (`account.exists`) if the name is taken."""
        insert = sa.text(
            "insert into account (name, hash, role, made, disabled)"
            " values (:name, :hash, :role, :made, :disabled) on conflict (name) do nothing"
        )
        if not self._change(insert, asdict(account)):
            raise account_exists(account.name)

    def get(self, name: str) -> Account | None:
        """An account by its name, disabled ones too."""
        row = self._first(sa.select(*ACCOUNT.c).where(ACCOUNT.c.name == name))
        return None if row is None else Account(*row)

    def all(self) -> tuple[Account, ...]:
        """All accounts, by name."""
        with transaction(self._engine, reading=True) as tx:
            found = [Account(*row) for row in tx.execute(sa.select(*ACCOUNT.c))]
        return tuple(sorted(found, key=lambda account: account.name))

    def set_hash(self, name: str, hashed: str) -> None:
        """Give an account another password hash."""
        if not self._change(sa.update(ACCOUNT).where(ACCOUNT.c.name == name).values(hash=hashed)):
            raise unknown_account(name)

    def disable(self, name: str, at: datetime) -> None:
        """Disable an account and end its sessions."""
        with transaction(self._engine) as tx:
            done = tx.execute(sa.update(ACCOUNT).where(ACCOUNT.c.name == name).values(disabled=stamp(at)))
            if not done.rowcount:
                raise unknown_account(name)
            tx.execute(sa.delete(SESSION).where(SESSION.c.account == name))

    def open_session(self, session: Session) -> None:
        """Keep a session."""
        self._change(sa.insert(SESSION), asdict(session))

    def session(self, token: str, at: datetime) -> Session | None:
        """The session of a hashed token, if it has not run out and its account is not disabled."""
        live = sa.select(*SESSION.c).join(ACCOUNT, ACCOUNT.c.name == SESSION.c.account)
        live = live.where(SESSION.c.token == token, SESSION.c.expires > stamp(at), ACCOUNT.c.disabled.is_(None))
        row = self._first(live)
        return None if row is None else Session(*row)

    def close_session(self, token: str) -> None:
        """End a session, if there is one."""
        self._change(sa.delete(SESSION).where(SESSION.c.token == token))

    def add_key(self, key: UploadKey) -> None:
        """Keep a one-time upload key."""
        values = {"key": key.key, "record": key.record, "by_whom": key.by, "expires": key.expires, "used": key.used}
        self._change(sa.insert(KEY), values)

    def use_key(self, key: str, at: datetime) -> UploadKey | None:
        """Use a hashed key: give it once, then never again; None if it is unknown, used or has run out."""
        fresh = (KEY.c.key == key, KEY.c.expires > stamp(at), KEY.c.used.is_(None))
        if not self._change(sa.update(KEY).where(*fresh).values(used=stamp(at))):
            return None
        row = self._first(sa.select(*KEY.c).where(KEY.c.key == key))
        return None if row is None else UploadKey(*row)

    def note_attempt(self, who: str, at: datetime) -> None:
        """Note a failed sign-in by `who` (an account's name or an address)."""
        self._change(sa.insert(ATTEMPT), {"who": who[:200], "at": stamp(at)})

    def attempts(self, who: str, since: datetime) -> int:
        """Count failed sign-ins by `who` after `since`."""
        row = self._first(sa.select(sa.func.count()).where(ATTEMPT.c.who == who[:200], ATTEMPT.c.at > stamp(since)))
        return 0 if row is None else int(row[0])

    def note_event(self, event: Event) -> None:
        """Add to the audit of what belongs to no record: accounts, sign-ins, keys."""
        values = {"id": event.id, "at": event.at, "by_whom": event.by, "what": event.what, "about": event.about}
        self._change(sa.insert(EVENT), values)

    def events(self) -> tuple[Event, ...]:
        """The audit, oldest first."""
        with transaction(self._engine, reading=True) as tx:
            return tuple(Event(*row) for row in tx.execute(sa.select(*EVENT.c).order_by(EVENT.c.at, EVENT.c.id)))

    def has_come_from(self, name: str, address: str, since: datetime) -> bool:
        """Tell whether the audit has that an account signed in from an address after `since`."""
        came = (EVENT.c.by_whom == name, EVENT.c.what == SIGNED_IN, EVENT.c.about == address, EVENT.c.at > stamp(since))
        return self._first(sa.select(EVENT.c.id).where(*came).limit(1)) is not None

    def sweep(self, at: datetime) -> None:
        """Remove sessions, keys and attempts that have run out; attempts do so after a day."""
        with transaction(self._engine) as tx:
            tx.execute(sa.delete(SESSION).where(SESSION.c.expires <= stamp(at)))
            tx.execute(sa.delete(KEY).where(KEY.c.expires <= stamp(at)))
            tx.execute(sa.delete(ATTEMPT).where(ATTEMPT.c.at <= stamp(at - timedelta(seconds=ATTEMPTS_KEPT))))

    def _change(self, statement: Any, values: dict[str, Any] | None = None) -> int:
        with transaction(self._engine) as tx:
            return int(tx.execute(statement, values or {}).rowcount)

    def _first(self, query: sa.Select[Any]) -> tuple[Any, ...] | None:
        with transaction(self._engine, reading=True) as tx:
            row = tx.execute(query).first()
        return None if row is None else tuple(row)
