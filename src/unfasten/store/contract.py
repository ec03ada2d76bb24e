"""What every store keeps to; one suite of tests runs over all of them.

How the web room uses it: `open_workspace` gives a store. A page's queue goes into one `append` call; each `Kept` that
comes back acknowledges one draft (on disk, flushed), and its `clash` is what the author has to be told. Other pages
follow with `entries(record, after=seq)`. `state` gives the tree with the origin of every object and log entry.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Protocol
from uuid import UUID

from unfasten.record.ledger import State
from unfasten.store.account import Account, Event, Session, UploadKey
from unfasten.store.entry import Draft, Entry, Head, Kept
from unfasten.store.photo import PhotoFile


class Photos(Protocol):
    """What is known of the files of photos; the files themselves are kept by `store.blobs`.

    A file is known by its SHA-256 (lower-case hexadecimal). Adding it again changes nothing and gives what is held.
    """

    def add(self, photo: PhotoFile) -> PhotoFile:
        """Note a file; give what is held of it."""

    def get(self, sha256: str) -> PhotoFile:
        """What is held of a file; `DataError` (`store.unknown-photo`) if nothing is."""

    def all(self) -> tuple[PhotoFile, ...]:
        """All files, by SHA-256."""


class Accounts(Protocol):
    """Who may do what. Secrets come and are kept as hashes only; times are aware datetimes.

    What does not exist is None, or a `DataError` (`account.unknown`) where something shall be done to it.
    """

    def add(self, account: Account) -> None:
        """Make an account; `DataError` (`account.exists`) if the name is taken."""

    def get(self, name: str) -> Account | None:
        """An account by its name, disabled ones too."""

    def all(self) -> tuple[Account, ...]:
        """All accounts, by name."""

    def set_hash(self, name: str, hashed: str) -> None:
        """Give an account another password hash."""

    def disable(self, name: str, at: datetime) -> None:
        """Disable an account and end its sessions."""

    def open_session(self, session: Session) -> None:
        """Keep a session."""

    def session(self, token: str, at: datetime) -> Session | None:
        """The session of a hashed token, if it has not run out and its account is not disabled."""

    def close_session(self, token: str) -> None:
        """End a session, if there is one."""

    def add_key(self, key: UploadKey) -> None:
        """Keep a one-time upload key."""

    def use_key(self, key: str, at: datetime) -> UploadKey | None:
        """Use a hashed key: give it once, then never again; None if it is unknown, used or has run out."""

    def note_attempt(self, who: str, at: datetime) -> None:
        """Note a failed sign-in by `who` (an account's name or an address)."""

    def attempts(self, who: str, since: datetime) -> int:
        """Count failed sign-ins by `who` after `since`."""

    def note_event(self, event: Event) -> None:
        """Add to the audit of what belongs to no record: accounts, sign-ins, keys."""

    def events(self) -> tuple[Event, ...]:
        """The audit, oldest first."""

    def has_come_from(self, name: str, address: str, since: datetime) -> bool:
        """Tell whether the audit has that an account signed in from an address after `since`."""

    def sweep(self, at: datetime) -> None:
        """Remove sessions, keys and attempts that have run out; attempts do so after a day."""


class Store(Protocol):
    """The ledger of records.

    Rules:
    - Entries are only added, never changed or removed; what was returned does not change under later writes.
    - The sender chooses an entry's id. The same entry sent again is the entry already held, and nothing is added;
      another entry under an id already used is a `DataError` (`store.entry-clash`).
    - `seq` counts 1, 2, 3 … within a record, in the order the entries were accepted, also when several write at once.
    - One call is one transaction: it is kept whole or not at all.
    - The present record is the fold of its entries (`record.ledger`), with keys in the order they were put.
    - What does not exist is a `DataError`: `store.unknown-record`, `store.unknown-entry`.
    - A full disk, a read-only one and a database that is away are `DataError`s too, and nothing is kept then.
    - A store may be used by several threads.
    """

    @property
    def photos(self) -> Photos:
        """What is known of photo files."""

    @property
    def accounts(self) -> Accounts:
        """Accounts, sessions and keys."""

    def put_record(self, tree: Mapping[str, Any], *, entry: UUID, at: datetime, by: str | None = None) -> Entry:
        """Make `tree` the record's present state, beginning a new record if need be.

        If it is the present state already, add nothing. Give the entry of the whole record that the state rests on.
        """

    def append(self, *drafts: Draft, tell: bool = True, after: int | None = None) -> tuple[Kept, ...]:
        """Add entries to the ledger of one record, all or none; a `put-record` may begin one.

        Without `tell`, clashes are not looked for: for a ledger that comes as a whole. With `after`, the last entry
        must have that number (0: there must be none), or it is a `DataError` (`store.gone-on`).
        """

    def records(self) -> tuple[Head, ...]:
        """Heads of all records, by id."""

    def record(self, record: str) -> dict[str, Any]:
        """Present tree of a record."""

    def state(self, record: str, upto_seq: int | None = None) -> State:
        """Tree of a record with its origins: the present one, or as it stood after entry `upto_seq`."""

    def entries(self, record: str, after: int = 0) -> tuple[Entry, ...]:
        """Ledger of a record, oldest first, from the entry that follows number `after`."""

    def close(self) -> None:
        """Let go of files and connections."""
