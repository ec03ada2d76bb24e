"""Failed sign-ins: guessing comes to an end, and nobody can be kept out by a stranger."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from argon2 import PasswordHasher

from unfasten.service import accounts as service
from unfasten.service.accounts import SignInRefused, add_account, sign_in
from unfasten.service.attempts import ADDRESS, KNOWN, NAME, PAIR, counted
from unfasten.store.contract import Accounts
from unfasten.store.memory import MemoryStore

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
WORD = "stiff clips at the hinge"
CHEAP = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
HOME = "10.0.0.7"


@pytest.fixture
def accounts(monkeypatch: pytest.MonkeyPatch) -> Iterator[Accounts]:
    """Accounts with ada, who has signed in from her bench, and bo, who never has; hashing costs little here."""
    service._dummy_hash.cache_clear()
    monkeypatch.setattr(service, "_hasher", lambda: CHEAP)
    held = MemoryStore().accounts
    for name in ("ada", "bo"):
        add_account(held, name, "recorder", WORD, NOW - timedelta(days=1))
    sign_in(held, "ada", WORD, HOME, NOW - timedelta(days=1))
    yield held
    service._dummy_hash.cache_clear()


def tried(accounts: Accounts, name: str, word: str, address: str, at: datetime = NOW) -> str:
    """What becomes of signing in: `in`, or the code of the refusal."""
    try:
        sign_in(accounts, name, word, address, at)
    except SignInRefused as refused:
        if (refused.wait is None) == (refused.code == "account.too-many-attempts"):
            return f"{refused.code} with the wait {refused.wait}"
        return refused.code.removeprefix("account.")
    return "in"


def fail(accounts: Accounts, times: int, name: str = "ada", address: str = "10.9.{}.{}") -> set[str]:
    """Fail so many times, each time from another address."""
    return {tried(accounts, name, "wrong", address.format(*divmod(n, 250))) for n in range(times)}


def test_at_one_address_guessing_at_a_name_ends_even_at_its_owners(accounts: Accounts) -> None:
    for address in (HOME, "10.1.1.1"):
        assert fail(accounts, PAIR.most, address=address) == {"wrong"}
        assert tried(accounts, "ada", WORD, address) == "too-many-attempts"
        assert tried(accounts, "ada", WORD, address, NOW + PAIR.window) == "in"


def test_an_address_that_tries_many_names_waits(accounts: Accounts) -> None:
    names = {tried(accounts, f"eve{n}", "wrong", "10.1.1.1") for n in range(ADDRESS.most)}
    assert names == {"wrong"}
    assert tried(accounts, "bo", WORD, "10.1.1.1") == "too-many-attempts"
    assert tried(accounts, "bo", WORD, "10.1.1.2") == "in"


def test_who_has_many_addresses_has_no_more_tries_for_a_name_than_its_limit(accounts: Accounts) -> None:
    assert fail(accounts, NAME.most) == {"wrong"}
    assert fail(accounts, 20, address="10.8.{}.{}") == {"too-many-attempts"}
    assert tried(accounts, "ada", WORD, "10.8.0.1", NOW + NAME.window) == "in"


def test_a_stranger_cannot_keep_the_owner_out_of_an_address_that_is_known(accounts: Accounts) -> None:
    fail(accounts, NAME.most + 20)
    for n in range(ADDRESS.most):
        tried(accounts, f"eve{n}", "wrong", HOME)
    assert tried(accounts, "ada", WORD, HOME) == "in"
    assert tried(accounts, "ada", WORD, "10.0.0.8") == "too-many-attempts", "the price: a new address waits"


def test_that_one_account_is_known_at_an_address_is_nothing_to_another(accounts: Accounts) -> None:
    fail(accounts, NAME.most, "bo")
    assert tried(accounts, "bo", WORD, HOME) == "too-many-attempts"


def test_an_address_is_known_for_a_while_only(accounts: Accounts) -> None:
    late = NOW - timedelta(days=1) + KNOWN
    for n in range(NAME.most):
        tried(accounts, "ada", "wrong", f"10.9.0.{n}", late)
    assert tried(accounts, "ada", WORD, HOME, late - timedelta(seconds=1)) == "in"
    fresh = late + KNOWN
    for n in range(NAME.most):
        tried(accounts, "ada", "wrong", f"10.9.0.{n}", fresh)
    assert tried(accounts, "ada", WORD, HOME, fresh) == "too-many-attempts"


def test_names_that_nobody_has_are_limited_alike(accounts: Accounts) -> None:
    assert fail(accounts, NAME.most, "nobody") == {"wrong"}
    assert tried(accounts, "nobody", WORD, "10.7.0.1") == "too-many-attempts"


@pytest.mark.parametrize(
    ("address", "as_what"),
    [
        ("10.0.0.7", "10.0.0.7"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("2001:db8:1:2::9", "2001:db8:1:2::/64"),
        ("2001:db8:1:3::9", "2001:db8:1:3::/64"),
        ("::ffff:10.0.0.7", "10.0.0.7"),
        ("unknown", "unknown"),
    ],
)
def test_what_an_address_counts_as(address: str, as_what: str) -> None:
    assert counted(address) == as_what
