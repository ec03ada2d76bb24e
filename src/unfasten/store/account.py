"""Accounts and what belongs to them, as the store keeps them: frozen values, secrets as hashes only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final, Literal, get_args

from unfasten.evidence.errors import CallError, DataError

Role = Literal["reader", "recorder", "publisher"]
#: roles, each of which may do what the one before it may
ROLES: Final[tuple[Role, ...]] = get_args(Role)
#: how the audit says that an account signed in; it is about the address from which it did
SIGNED_IN: Final = "signed-in"
#: how long a failed sign-in is remembered [s]
ATTEMPTS_KEPT: Final = 86_400


@dataclass(frozen=True, slots=True)
class Account:
    """A person's account; `hash` is the Argon2 hash of the password, `disabled` when it was disabled."""

    name: str
    hash: str
    role: Role
    made: str
    disabled: str | None = None


@dataclass(frozen=True, slots=True)
class Session:
    """A session: hash of its token, account, when it runs out, and the secret against forged requests."""

    token: str
    account: str
    expires: str
    csrf: str


@dataclass(frozen=True, slots=True)
class UploadKey:
    """A one-time key by which a phone adds photos to `record` in the name of `by`; `key` is its hash."""

    key: str
    record: str
    by: str | None
    expires: str
    used: str | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """A line of the audit: who did what, to what. `id` is a UUID."""

    id: str
    at: str
    by: str | None
    what: str
    about: str


def stamp(at: datetime) -> str:
    """Write a time so that texts sort as times do: UTC with microseconds."""
    if at.tzinfo is None:
        raise ValueError("a time needs its offset from UTC")
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def role_of(text: str) -> Role:
    """Give the role of that name, or raise `CallError`."""
    for role in ROLES:
        if role == text:
            return role
    raise CallError("account.bad-role", text, "there is no such role", f"name one of {', '.join(ROLES)}")


def unknown_account(name: str) -> DataError:
    """Make the error for an account that is not there."""
    return DataError("account.unknown", name, "there is no such account", "list the accounts")


def account_exists(name: str) -> DataError:
    """Make the error for a name that is taken."""
    return DataError("account.exists", name, "there is an account of this name", "choose another name")
