"""Photos' data and accounts in memory."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from threading import Lock

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
from unfasten.store.photo import PhotoFile, check_sha256, unknown_photo


class MemoryPhotos:
    """Keeps the contract `Photos`."""

    def __init__(self) -> None:
        self._held: dict[str, PhotoFile] = {}

    def add(self, photo: PhotoFile) -> PhotoFile:
        """Note a file; give what is held of it."""
        return self._held.setdefault(check_sha256(photo.sha256), photo)

    def get(self, sha256: str) -> PhotoFile:
        """What is held of a file."""
        if sha256 not in self._held:
            raise unknown_photo(sha256)
        return self._held[sha256]

    def all(self) -> tuple[PhotoFile, ...]:
        """All files, by SHA-256."""
        return tuple(self._held[sha256] for sha256 in sorted(self._held))


class MemoryAccounts:
    """Keeps the contract `Accounts`."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._accounts: dict[str, Account] = {}
        self._sessions: dict[str, Session] = {}
        self._keys: dict[str, UploadKey] = {}
        self._attempts: list[tuple[str, str]] = []
        self._events: list[Event] = []

    def add(self, account: Account) -> None:
        """Make an account; `DataError` (`account.exists`) if the name is taken."""
        with self._lock:
            if account.name in self._accounts:
                raise account_exists(account.name)
            self._accounts[account.name] = account

    def get(self, name: str) -> Account | None:
        """An account by its name, disabled ones too."""
        return self._accounts.get(name)

    def all(self) -> tuple[Account, ...]:
        """All accounts, by name."""
        return tuple(self._accounts[name] for name in sorted(self._accounts))

    def set_hash(self, name: str, hashed: str) -> None:
        """Give an account another password hash."""
        with self._lock:
            self._accounts[name] = replace(self._known(name), hash=hashed)

    def disable(self, name: str, at: datetime) -> None:
        """Disable an account and end its sessions."""
        with self._lock:
            self._accounts[name] = replace(self._known(name), disabled=stamp(at))
            self._sessions = {token: one for token, one in self._sessions.items() if one.account != name}

    def open_session(self, session: Session) -> None:
        """Keep a session."""
        with self._lock:
            self._known(session.account)
            self._sessions[session.token] = session

    def session(self, token: str, at: datetime) -> Session | None:
        """The session of a hashed token, if it has not run out and its account is not disabled."""
        held = self._sessions.get(token)
        if held is None or held.expires <= stamp(at) or self._accounts[held.account].disabled is not None:
            return None
        return held

    def close_session(self, token: str) -> None:
        """End a session, if there is one."""
        with self._lock:
            self._sessions.pop(token, None)

    def add_key(self, key: UploadKey) -> None:
        """Keep a one-time upload key."""
        with self._lock:
            self._keys[key.key] = key

    def use_key(self, key: str, at: datetime) -> UploadKey | None:
        """Use a hashed key: give it once, then never again; None if it is unknown, used or has run out."""
        with self._lock:
            held = self._keys.get(key)
            if held is None or held.used is not None or held.expires <= stamp(at):
                return None
            self._keys[key] = replace(held, used=stamp(at))
            return self._keys[key]

    def note_attempt(self, who: str, at: datetime) -> None:
        """Note a failed sign-in by `who` (an account's name or an address)."""
        with self._lock:
            self._attempts.append((who[:200], stamp(at)))

    def attempts(self, who: str, since: datetime) -> int:
        """Count failed sign-ins by `who` after `since`."""
        return sum(name == who[:200] and at > stamp(since) for name, at in self._attempts)

    def note_event(self, event: Event) -> None:
        """Add to the audit of what belongs to no record: accounts, sign-ins, keys."""
        with self._lock:
            self._events.append(event)

    def events(self) -> tuple[Event, ...]:
        """The audit, oldest first."""
        return tuple(sorted(self._events, key=lambda event: (event.at, event.id)))

    def has_come_from(self, name: str, address: str, since: datetime) -> bool:
        """Tell whether the audit has that an account signed in from an address after `since`."""
        wanted = (name, SIGNED_IN, address)
        return any((e.by, e.what, e.about) == wanted and e.at > stamp(since) for e in self._events)

    def sweep(self, at: datetime) -> None:
        """Remove sessions, keys and attempts that have run out; attempts do so after a day."""
        with self._lock:
            self._sessions = {token: one for token, one in self._sessions.items() if one.expires > stamp(at)}
            self._keys = {key: one for key, one in self._keys.items() if one.expires > stamp(at)}
            limit = stamp(at - timedelta(seconds=ATTEMPTS_KEPT))
            self._attempts = [attempt for attempt in self._attempts if attempt[1] > limit]

    def _known(self, name: str) -> Account:
        if name not in self._accounts:
            raise unknown_account(name)
        return self._accounts[name]
