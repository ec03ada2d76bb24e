"""Accounts of a lab: who may read, record and publish; signing in; one-time keys for a phone.

How the web room uses it: `sign_in` gives a `Ticket` whose token goes into a cookie (secure, http-only, same-site) and
whose `csrf` goes into every form; `session_of(token)` gives the account of a request, `may(account, role)` decides.
`upload_key` makes the key of a QR code, `use_upload_key` opens it once. The first account is made on the command line.

Passwords are kept as Argon2id hashes (RFC 9106; parameters are those of argon2-cffi's default, its section 4 "second
recommended option"), tokens as SHA-256 hashes of 256 random bits (RFC 4086 on randomness; the choice is common
practice). Failed sign-ins are counted (`service.attempts`).
"""

from __future__ import annotations

import hashlib
import re
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING, Final
from uuid import uuid4

from unfasten.evidence.errors import CallError, DataError
from unfasten.evidence.place import shown
from unfasten.service.attempts import counted, note_failure, waiting
from unfasten.store.account import ROLES, SIGNED_IN, Account, Event, Role, Session, UploadKey, role_of, stamp

if TYPE_CHECKING:
    from argon2 import PasswordHasher

    from unfasten.store.contract import Accounts

#: fewest and most characters of a password (NIST SP 800-63B, from memory: at least 8 as a second factor, 15 alone, and
#: at least 64 allowed; 12 is our choice between)
SHORTEST: Final = 12
LONGEST: Final = 256
#: how long a session and an upload key are good
SESSION: Final = timedelta(hours=12)
UPLOAD: Final = timedelta(minutes=10)
_NAME: Final = re.compile(r"[a-z0-9][a-z0-9._-]{0,63}")


class SignInRefused(DataError):  # noqa: N818 - names the outcome
    """Signing in was refused; the message does not tell whether the account exists. `wait`: until it may be tried."""

    wait: timedelta | None = None


@dataclass(frozen=True, slots=True)
class Ticket:
    """A session as its owner gets it: the token itself, which is kept nowhere else."""

    account: Account
    token: str
    csrf: str
    expires: datetime


def add_account(
    accounts: Accounts, name: str, role: str, password: str, at: datetime, by: str | None = None
) -> Account:
    """Make an account; raises `CallError` for a name, role or password that cannot be, all at once."""
    wrong = [*_wrong_name(name), *_wrong_password(password, name)]
    if role not in ROLES:
        wrong.append(f"there is no role {shown(role)} (roles are {', '.join(ROLES)})")
    if wrong:
        raise CallError("account.bad-account", name[:80], "; ".join(wrong), "mend this and try again")
    made = Account(name, _hasher().hash(password), role_of(role), stamp(at))
    accounts.add(made)
    note(accounts, at, by, "account-made", f"{name} ({role})")
    return made


def disable_account(accounts: Accounts, name: str, at: datetime, by: str | None = None) -> None:
    """Disable an account and end its sessions; the last publisher stays, or nobody could publish."""
    held = accounts.get(name)
    others = [a for a in accounts.all() if a.role == "publisher" and a.disabled is None and a.name != name]
    if held is not None and held.role == "publisher" and held.disabled is None and not others:
        raise CallError("account.last-publisher", name, "this is the last publisher", "make another publisher first")
    accounts.disable(name, at)
    note(accounts, at, by, "account-disabled", name)


def sign_in(accounts: Accounts, name: str, password: str, address: str, at: datetime) -> Ticket:
    """Open a session; raises `SignInRefused` for a wrong name or password, or after too many of them.

    The work is the same whether or not the account exists.
    """
    wait = waiting(accounts, name, address, at)
    if wait is not None:
        remedy = f"wait {int(wait.total_seconds() // 60)} minutes"
        refused = SignInRefused("account.too-many-attempts", "sign in", "too many failures", remedy)
        refused.wait = wait
        raise refused
    held = accounts.get(name)
    is_right = _verify(held.hash if held else _dummy_hash(), password if len(password) <= LONGEST else "")
    if held is None or held.disabled is not None or not is_right:
        note_failure(accounts, name, address, at)
        about = name[:80] if held else "a name that nobody has"
        note(accounts, at, None, "sign-in-refused", f"{about}, from {counted(address)}")
        raise SignInRefused("account.wrong", "sign in", "name or password is wrong", "type both again")
    if _hasher().check_needs_rehash(held.hash):
        accounts.set_hash(name, _hasher().hash(password))
    ticket = Ticket(held, secrets.token_urlsafe(32), secrets.token_urlsafe(32), at + SESSION)
    accounts.open_session(Session(hash_of(ticket.token), name, stamp(ticket.expires), ticket.csrf))
    note(accounts, at, name, SIGNED_IN, counted(address))
    return ticket


def session_of(accounts: Accounts, token: str, at: datetime) -> tuple[Account, str] | None:
    """Give the account of a token and the secret that its forms must carry; None if it opens nothing."""
    held = accounts.session(hash_of(token), at)
    account = None if held is None else accounts.get(held.account)
    return None if held is None or account is None or account.disabled is not None else (account, held.csrf)


def sign_out(accounts: Accounts, token: str, at: datetime) -> None:
    """End the session of a token."""
    held = session_of(accounts, token, at)
    accounts.close_session(hash_of(token))
    if held is not None:
        note(accounts, at, held[0].name, "signed-out", held[0].name)


def may(account: Account, role: Role) -> bool:
    """Tell whether an account may do what needs a role; each role may do what those before it may."""
    return account.disabled is None and ROLES.index(account.role) >= ROLES.index(role)


def upload_key(accounts: Accounts, record: str, at: datetime, by: str | None) -> str:
    """Make a one-time key by which a phone adds photos to a record in the name of `by`; it is kept as a hash only."""
    key = secrets.token_urlsafe(32)
    accounts.add_key(UploadKey(hash_of(key), record, by, stamp(at + UPLOAD)))
    note(accounts, at, by, "upload-key-made", record)
    return key


def use_upload_key(accounts: Accounts, key: str, at: datetime) -> UploadKey | None:
    """Open an upload key: once; None if it is unknown, used or has run out."""
    opened = accounts.use_key(hash_of(key), at)
    if opened is not None:
        note(accounts, at, opened.by, "upload-key-used", opened.record)
    return opened


def hash_of(token: str) -> str:
    """Give the hash under which a random token is kept."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def note(accounts: Accounts, at: datetime, by: str | None, what: str, about: str) -> None:
    """Add a line to the audit of what belongs to no record."""
    accounts.note_event(Event(str(uuid4()), stamp(at), by, what, about))


def _wrong_name(name: str) -> list[str]:
    good = _NAME.fullmatch(name) is not None
    return [] if good else ["a name is lower-case letters, digits, '.', '_' and '-', at most 64"]


def _wrong_password(password: str, name: str) -> list[str]:
    rules: list[tuple[Callable[[], bool], str]] = [
        (lambda: len(password) < SHORTEST, f"a password has at least {SHORTEST} characters"),
        (lambda: len(password) > LONGEST, f"a password has at most {LONGEST} characters"),
        (lambda: len(set(password)) < 5, "a password has at least 5 different characters"),
        (
            lambda: bool(name) and name.lower() in password.lower() and len(name) > 3,
            "a password does not hold the name",
        ),
    ]
    return [words for is_wrong, words in rules if is_wrong()]


def _verify(hashed: str, password: str) -> bool:
    from argon2.exceptions import Argon2Error, InvalidHashError

    try:
        return _hasher().verify(hashed, password.encode("utf-8", "surrogatepass"))
    except (Argon2Error, InvalidHashError):
        return False


@cache
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher

    return PasswordHasher()


@cache
def _dummy_hash() -> str:
    """A hash that no password fits, so that an unknown name costs what a known one does."""
    return _hasher().hash(secrets.token_urlsafe(32))
