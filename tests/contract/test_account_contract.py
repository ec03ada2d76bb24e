"""Accounts, sessions, keys and photo data under every store."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from unfasten.evidence.errors import DataError
from unfasten.store.account import SIGNED_IN, Account, Event, Session, UploadKey, stamp
from unfasten.store.contract import Store
from unfasten.store.photo import PhotoFile

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
LATER = NOW + timedelta(hours=1)
ADA = Account("ada", "hash", "recorder", stamp(NOW))
PRODUCT = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}
PHOTO = PhotoFile("ab" * 32, "image/jpeg", 8000, 6000, 6, "2026-04-01T10:02:03", 9_000_000, "IMG 1.jpg")


def test_accounts_are_made_once_and_listed_by_name(store: Store) -> None:
    store.accounts.add(ADA)
    store.accounts.add(replace(ADA, name="Bo", role="reader"))
    with pytest.raises(DataError) as caught:
        store.accounts.add(replace(ADA, hash="other"))
    assert caught.value.code == "account.exists"
    assert [account.name for account in store.accounts.all()] == ["Bo", "ada"]
    assert store.accounts.get("ada") == ADA
    assert store.accounts.get("eve") is None


def test_a_disabled_account_has_no_session(store: Store) -> None:
    accounts = store.accounts
    accounts.add(ADA)
    accounts.open_session(Session("t1", "ada", stamp(LATER), "secret"))
    assert accounts.session("t1", NOW) == Session("t1", "ada", stamp(LATER), "secret")
    accounts.disable("ada", NOW)
    assert accounts.session("t1", NOW) is None
    accounts.open_session(Session("t2", "ada", stamp(LATER), "secret"))
    assert accounts.session("t2", NOW) is None
    disabled = accounts.get("ada")
    assert disabled is not None
    assert disabled.disabled == stamp(NOW)


def test_a_session_runs_out_and_can_be_closed(store: Store) -> None:
    accounts = store.accounts
    accounts.add(ADA)
    accounts.open_session(Session("t1", "ada", stamp(LATER), "s"))
    assert accounts.session("t1", LATER) is None
    assert accounts.session("t9", NOW) is None
    accounts.close_session("t1")
    accounts.close_session("t1")
    assert accounts.session("t1", NOW) is None


def test_an_unknown_account_cannot_be_changed(store: Store) -> None:
    for change in (lambda: store.accounts.disable("eve", NOW), lambda: store.accounts.set_hash("eve", "h")):
        with pytest.raises(DataError) as caught:
            change()
        assert caught.value.code == "account.unknown"


def test_a_hash_can_be_renewed(store: Store) -> None:
    store.accounts.add(ADA)
    store.accounts.set_hash("ada", "stronger")
    assert store.accounts.get("ada") == replace(ADA, hash="stronger")


def test_an_upload_key_opens_once(store: Store) -> None:
    store.put_record({"product": PRODUCT}, entry=uuid4(), at=NOW)
    key = UploadKey("k1", "lamp", "ada", stamp(LATER))
    store.accounts.add_key(key)
    store.accounts.add_key(replace(key, key="k2"))
    with ThreadPoolExecutor(8) as pool:
        given = list(pool.map(lambda _: store.accounts.use_key("k1", NOW), range(16)))
    assert [one for one in given if one is not None] == [replace(key, used=stamp(NOW))]
    assert store.accounts.use_key("k2", LATER) is None, "it has run out"
    assert store.accounts.use_key("k3", NOW) is None


def test_failed_sign_ins_are_counted(store: Store) -> None:
    for minutes in (0, 5, 10):
        store.accounts.note_attempt("ada", NOW + timedelta(minutes=minutes))
    store.accounts.note_attempt("bo", NOW)
    assert store.accounts.attempts("ada", NOW) == 2
    assert store.accounts.attempts("ada", NOW - timedelta(seconds=1)) == 3
    assert store.accounts.attempts("x" * 500, NOW) == 0
    store.accounts.note_attempt("x" * 500, LATER)
    assert store.accounts.attempts("x" * 500, NOW) == 1


def test_what_has_run_out_is_swept(store: Store) -> None:
    accounts = store.accounts
    accounts.add(ADA)
    accounts.open_session(Session("old", "ada", stamp(NOW), "s"))
    accounts.open_session(Session("new", "ada", stamp(LATER), "s"))
    accounts.note_attempt("ada", NOW - timedelta(days=2))
    accounts.note_attempt("ada", NOW)
    accounts.sweep(NOW)
    early = NOW - timedelta(days=9)
    assert accounts.session("old", early) is None
    assert accounts.session("new", early) is not None
    assert accounts.attempts("ada", early) == 1


def test_events_are_kept_in_order_of_time(store: Store) -> None:
    second = Event(str(uuid4()), stamp(LATER), "ada", "signed-in", "ada")
    first = Event(str(uuid4()), stamp(NOW), None, "account-made", "ada")
    store.accounts.note_event(second)
    store.accounts.note_event(first)
    assert store.accounts.events() == (first, second)


def test_where_an_account_has_come_from(store: Store) -> None:
    for name, what, about in (
        ("ada", SIGNED_IN, "10.0.0.7"),
        ("ada", "signed-out", "10.0.0.8"),
        (None, SIGNED_IN, "x"),
    ):
        store.accounts.note_event(Event(str(uuid4()), stamp(NOW), name, what, about))
    early = NOW - timedelta(seconds=1)
    assert store.accounts.has_come_from("ada", "10.0.0.7", early)
    assert not store.accounts.has_come_from("ada", "10.0.0.7", NOW), "that was not after"
    for name, address in (("ada", "10.0.0.8"), ("bo", "10.0.0.7"), ("ada", "10.0.0.%"), ("ada", "10.0.0.")):
        assert not store.accounts.has_come_from(name, address, early)


def test_a_time_without_offset_is_refused() -> None:
    with pytest.raises(ValueError, match="offset"):
        stamp(datetime(2026, 4, 1))


def test_photo_data_is_kept_once(store: Store) -> None:
    assert store.photos.add(PHOTO) == PHOTO
    assert store.photos.add(replace(PHOTO, name="copy.jpg")) == PHOTO
    other = replace(PHOTO, sha256="01" * 32, taken=None, name=None)
    store.photos.add(other)
    assert store.photos.all() == (other, PHOTO)
    assert store.photos.get(PHOTO.sha256) == PHOTO


def test_unknown_and_ill_named_photos_are_errors(store: Store) -> None:
    with pytest.raises(DataError) as caught:
        store.photos.get("00" * 32)
    assert caught.value.code == "store.unknown-photo"
    with pytest.raises(DataError) as caught:
        store.photos.add(replace(PHOTO, sha256="../etc"))
    assert caught.value.code == "store.bad-name"
