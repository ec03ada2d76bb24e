"""How often signing in may fail, counted so that a stranger can neither go on guessing nor keep an account's owner out.

Three counts, each in its window: by name and address together, by address, and, more slowly, by name. From an address
from which the account has signed in before (in `KNOWN`), only the first counts: what others do elsewhere, or with
other names, does not matter there. A limit by name alone would let anybody lock anybody out (RFC 6819, section
5.1.4.2.3, from memory, names that abuse of locked accounts); the numbers are our choice.

An IPv6 address counts by its first 64 bits, which is what one subscriber is given (RFC 4291, section 2.5.4).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address, ip_network
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from unfasten.store.contract import Accounts


class Limit(NamedTuple):
    """Failures allowed within a window of time."""

    most: int
    window: timedelta


PAIR: Final = Limit(10, timedelta(minutes=15))
ADDRESS: Final = Limit(30, timedelta(minutes=15))
NAME: Final = Limit(50, timedelta(hours=1))
#: how long an address from which an account has signed in is known
KNOWN: Final = timedelta(days=90)


def waiting(accounts: Accounts, name: str, address: str, at: datetime) -> timedelta | None:
    """Give how long signing in has to wait, by the window of the count that is full; None if it may be tried."""
    for who, limit in _counts(accounts, name, address, at):
        if accounts.attempts(who, at - limit.window) >= limit.most:
            return limit.window
    return None


def note_failure(accounts: Accounts, name: str, address: str, at: datetime) -> None:
    """Count a failure, for the name, the address and both."""
    for who in (_pair(name, address), _address(address), _name(name)):
        accounts.note_attempt(who, at)


def counted(address: str) -> str:
    """Give what an address counts as: an IPv6 address as its network of 64 bits, any other text as it is."""
    try:
        known = ip_address(address)
    except ValueError:
        return address
    if isinstance(known, IPv6Address):
        return str(known.ipv4_mapped or ip_network((int(known), 64), strict=False))
    return str(known)


def _counts(accounts: Accounts, name: str, address: str, at: datetime) -> Iterator[tuple[str, Limit]]:
    yield _pair(name, address), PAIR
    if not accounts.has_come_from(name, counted(address), at - KNOWN):
        yield _address(address), ADDRESS
        yield _name(name), NAME


def _pair(name: str, address: str) -> str:
    return f"both {counted(address)} {name}"


def _address(address: str) -> str:
    return f"address {counted(address)}"


def _name(name: str) -> str:
    return f"name {name}"
