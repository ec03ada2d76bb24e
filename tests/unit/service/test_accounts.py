"""Accounts of a lab: what can be made, who is let in, and who is not."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from argon2 import PasswordHasher

from unfasten.evidence.errors import CallError, DataError
from unfasten.service import accounts as service
from unfasten.service.accounts import (
    SESSION,
    UPLOAD,
    SignInRefused,
    add_account,
    disable_account,
    may,
    session_of,
    sign_in,
    sign_out,
    upload_key,
    use_upload_key,
)
from unfasten.store.account import Account, stamp
from unfasten.store.memory import MemoryStore

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
WORD = "stiff clips at the hinge"
CHEAP = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
PRODUCT = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}


@pytest.fixture
def store(monkeypatch: pytest.MonkeyPatch) -> Iterator[MemoryStore]:
    """A store with the recorder ada; hashing costs little here."""
    service._dummy_hash.cache_clear()
    monkeypatch.setattr(service, "_hasher", lambda: CHEAP)
    held = MemoryStore()
    add_account(held.accounts, "ada", "recorder", WORD, NOW)
    yield held
    service._dummy_hash.cache_clear()


def refused(store: MemoryStore, name: str, word: str, at: datetime = NOW, address: str = "10.0.0.7") -> str:
    """Code with which signing in is refused."""
    with pytest.raises(SignInRefused) as caught:
        sign_in(store.accounts, name, word, address, at)
    return caught.value.code


def test_the_right_password_opens_a_session(store: MemoryStore) -> None:
    ticket = sign_in(store.accounts, "ada", WORD, "10.0.0.7", NOW)
    opened = session_of(store.accounts, ticket.token, NOW)
    assert opened is not None
    assert (opened[0].name, opened[0].role, opened[1]) == ("ada", "recorder", ticket.csrf)
    assert session_of(store.accounts, ticket.token, NOW + SESSION) is None
    assert session_of(store.accounts, ticket.token[:-1], NOW) is None
    assert session_of(store.accounts, "\ud800", NOW) is None


def test_neither_passwords_nor_tokens_are_kept(store: MemoryStore) -> None:
    ticket = sign_in(store.accounts, "ada", WORD, "10.0.0.7", NOW)
    key = upload_key(store.accounts, "lamp", NOW, "ada")
    kept = repr(vars(store.accounts)) + repr(store.accounts.events())
    assert WORD not in kept
    assert ticket.token not in kept
    assert key not in kept
    held = store.accounts.get("ada")
    assert held is not None
    assert held.hash.startswith("$argon2id$")


def test_wrong_names_and_wrong_passwords_look_the_same(store: MemoryStore) -> None:
    messages = []
    for name, word in (("ada", "wrong"), ("eve", WORD), ("ada", WORD + "x" * 300), ("ada", ""), ("", WORD)):
        with pytest.raises(SignInRefused) as caught:
            sign_in(store.accounts, name, word, "10.0.0.7", NOW)
        messages.append((caught.value.code, str(caught.value)))
    assert len(set(messages)) == 1
    assert messages[0][0] == "account.wrong"


def test_a_disabled_account_is_out_at_once(store: MemoryStore) -> None:
    ticket = sign_in(store.accounts, "ada", WORD, "10.0.0.7", NOW)
    disable_account(store.accounts, "ada", NOW)
    assert session_of(store.accounts, ticket.token, NOW) is None
    assert refused(store, "ada", WORD) == "account.wrong"


def test_signing_out_ends_the_session_only(store: MemoryStore) -> None:
    one, two = (sign_in(store.accounts, "ada", WORD, "10.0.0.7", NOW) for _ in range(2))
    sign_out(store.accounts, one.token, NOW)
    assert session_of(store.accounts, one.token, NOW) is None
    assert session_of(store.accounts, two.token, NOW) is not None


def test_a_hash_made_with_older_parameters_is_renewed(store: MemoryStore, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(service, "_hasher", lambda: PasswordHasher(time_cost=2, memory_cost=64, parallelism=1))
    sign_in(store.accounts, "ada", WORD, "10.0.0.7", NOW)
    held = store.accounts.get("ada")
    assert held is not None
    assert "t=2" in held.hash
    assert sign_in(store.accounts, "ada", WORD, "10.0.0.7", NOW).account.name == "ada"


@pytest.mark.parametrize(
    ("name", "role", "word", "says"),
    [
        ("Ada", "recorder", WORD, "lower-case"),
        ("../ada", "recorder", WORD, "lower-case"),
        ("", "recorder", WORD, "lower-case"),
        ("bo", "boss", WORD, "no role"),
        ("bo", "recorder", "short", "at least 12"),
        ("bo", "recorder", "abababababababab", "different"),
        ("beatrix", "recorder", "i am Beatrix herself", "hold the name"),
        ("bo", "recorder", "x1y2z" * 60, "at most"),
    ],
)
def test_what_cannot_be_an_account_is_told(store: MemoryStore, name: str, role: str, word: str, says: str) -> None:
    with pytest.raises(CallError) as caught:
        add_account(store.accounts, name, role, word, NOW)
    assert caught.value.code == "account.bad-account"
    assert says in str(caught.value)
    assert word not in str(caught.value)
    assert [account.name for account in store.accounts.all()] == ["ada"]


def test_a_name_is_given_once(store: MemoryStore) -> None:
    with pytest.raises(DataError) as caught:
        add_account(store.accounts, "ada", "reader", WORD, NOW)
    assert caught.value.code == "account.exists"


def test_the_last_publisher_stays(store: MemoryStore) -> None:
    add_account(store.accounts, "bo", "publisher", WORD, NOW)
    with pytest.raises(CallError) as caught:
        disable_account(store.accounts, "bo", NOW)
    assert caught.value.code == "account.last-publisher"
    add_account(store.accounts, "cy", "publisher", WORD, NOW)
    disable_account(store.accounts, "bo", NOW)
    with pytest.raises(CallError):
        disable_account(store.accounts, "cy", NOW)


@pytest.mark.parametrize(
    ("role", "allowed"),
    [("reader", {"reader"}), ("recorder", {"reader", "recorder"}), ("publisher", {"reader", "recorder", "publisher"})],
)
def test_each_role_may_do_what_those_before_it_may(role: str, allowed: set[str]) -> None:
    account = Account("bo", "", role, stamp(NOW))  # type: ignore[arg-type]
    asked = {need for need in ("reader", "recorder", "publisher") if may(account, need)}  # type: ignore[arg-type]
    assert asked == allowed
    gone = Account("bo", "", role, stamp(NOW), stamp(NOW))  # type: ignore[arg-type]
    assert not may(gone, "reader")


def test_an_upload_key_opens_once_and_for_a_while(store: MemoryStore) -> None:
    store.put_record({"product": PRODUCT}, entry=uuid4(), at=NOW)
    key, late = (upload_key(store.accounts, "lamp", NOW, "ada") for _ in range(2))
    opened = use_upload_key(store.accounts, key, NOW)
    assert opened is not None
    assert (opened.record, opened.by) == ("lamp", "ada")
    assert use_upload_key(store.accounts, key, NOW) is None
    assert use_upload_key(store.accounts, late, NOW + UPLOAD) is None
    assert use_upload_key(store.accounts, "guess", NOW) is None


def test_what_happened_is_in_the_audit(store: MemoryStore) -> None:
    refused(store, "ada", "wrong")
    ticket = sign_in(store.accounts, "ada", WORD, "10.0.0.7", NOW + timedelta(seconds=1))
    sign_out(store.accounts, ticket.token, NOW + timedelta(seconds=2))
    told = [(event.what, event.by, event.about) for event in store.accounts.events()]
    assert sorted(told[:2], key=str) == [
        ("account-made", None, "ada (recorder)"),
        ("sign-in-refused", None, "ada, from 10.0.0.7"),
    ]
    assert told[2:] == [("signed-in", "ada", "10.0.0.7"), ("signed-out", "ada", "ada")]
