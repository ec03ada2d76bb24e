"""Photos from a phone: a key that opens once, and a ticket for an hour that is good for one record."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from tests.support.web import HTML, KEY, RECORD, Lab, new_record, parsed, photo, running, settings
from tests.support.web_table import key_of, ticket_of

from unfasten.service import accounts as service
from unfasten.service.accounts import disable_account
from unfasten.service.attempts import PAIR
from unfasten.web import phone


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[Lab]:
    """A lab of the test's own."""
    with running(settings(tmp_path)) as made:
        yield made


def begin(lab: Lab, key: str, **how: Any) -> Any:
    """Press the button on the phone's page."""
    return lab.ask("POST", "/phone", data={"key": key}, **how)


def sent(lab: Lab, ticket: str) -> Any:
    """Send a photo with a ticket; its answer's status and code."""
    answer = lab.ask("POST", "/api/phone", data={"ticket": ticket}, files=photo())
    return answer.status_code, answer.json().get("code")


REFUSED = (403, "web.phone-ticket")


def forged(**changes: object) -> str:
    """A ticket made with another server's key, or with this one's where the body is honest about the change."""
    body = {"record": RECORD, "by": "cora", "until": (datetime.now(UTC) + timedelta(hours=1)).timestamp(), **changes}
    text = base64.urlsafe_b64encode(json.dumps(body).encode()).decode()
    return f"{text}.{phone._sign(bytes(32), text)}"


def test_opening_the_address_uses_nothing_up(fresh: Lab) -> None:
    key = key_of(fresh)
    for _ in range(3):
        page = fresh.ask("GET", f"/phone?key={key}", headers=HTML)
        assert page.status_code == 200
    fields = {given.get("name"): given.get("value") for tag, given in parsed(page.text).found if tag == "input"}
    assert fields == {"key": key}
    assert begin(fresh, key).status_code == 200


def test_a_key_opens_once(fresh: Lab) -> None:
    key = key_of(fresh)
    assert begin(fresh, key).status_code == 200
    again = begin(fresh, key)
    assert (again.status_code, again.json()["code"]) == (403, "web.phone-key")
    assert [what for _, what, _ in fresh.audit()][-3:] == ["upload-key-made", "upload-key-used", "upload-key-refused"]


def test_a_key_that_two_use_at_the_same_time_opens_for_one(fresh: Lab) -> None:
    key = key_of(fresh)
    with ThreadPoolExecutor(8) as pool:
        statuses = sorted(one.status_code for one in pool.map(lambda _: begin(fresh, key), range(8)))
    assert statuses == [200] + [403] * 7


def test_a_key_runs_out(fresh: Lab, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(service, "UPLOAD", timedelta(seconds=-1))
    assert begin(fresh, key_of(fresh)).status_code == 403


def test_guesses_are_counted_and_then_wait(fresh: Lab) -> None:
    for number in range(PAIR.most):
        assert begin(fresh, f"guess-{number}", address="10.8.0.1").status_code == 403
    answer = begin(fresh, key_of(fresh), address="10.8.0.1")
    assert (answer.status_code, answer.json()["code"]) == (429, "web.phone-attempts")
    assert begin(fresh, key_of(fresh), address="10.8.0.2").status_code == 200


def test_keys_are_not_kept(fresh: Lab) -> None:
    key, ticket = key_of(fresh), ticket_of(fresh)
    folder = fresh.app.state.settings.folder
    kept = b"".join(path.read_bytes() for path in folder.rglob("*") if path.is_file())
    assert key.encode() not in kept
    assert ticket.encode() not in kept
    for cookie, _ in fresh.people.values():
        assert cookie.encode() not in kept


def test_a_ticket_puts_photos_into_its_own_record_only(fresh: Lab) -> None:
    fresh.ask("POST", "/api/records", "cora", json=new_record("other"))
    ticket = ticket_of(fresh)
    answer = fresh.ask("POST", "/api/phone", data={"ticket": ticket, "record": "other"}, files=photo())
    assert answer.status_code == 201
    assert fresh.ask("GET", "/api/records/other/photos", "rea").json()["photos"] == {}
    kept = fresh.ask("GET", f"/api/records/{RECORD}/photos", "rea").json()["photos"]
    assert [one["by"] for one in kept.values()] == ["cora"]


def test_a_ticket_opens_nothing_else(fresh: Lab) -> None:
    ticket = ticket_of(fresh)
    for headers in (
        {"cookie": f"unfasten={ticket}"},
        {"x-unfasten-token": ticket},
        {"authorization": f"Bearer {ticket}"},
    ):
        assert fresh.ask("GET", "/api/records", headers=headers).status_code == 401
        assert fresh.ask("POST", f"/api/records/{RECORD}/photos", files=photo(), headers=headers).status_code == 401


@pytest.mark.parametrize(
    "ticket", ["", ".", "a.b", "....", forged(), forged(record="other"), forged(until=9e99), "é.ü"]
)
def test_a_ticket_that_was_made_elsewhere_is_refused(lab: Lab, ticket: str) -> None:
    expected = (422, "web.unread") if not ticket else REFUSED
    assert sent(lab, ticket) in (expected, REFUSED)


def test_a_ticket_whose_words_were_changed_is_refused(lab: Lab) -> None:
    text, _, sign = ticket_of(lab).rpartition(".")
    body = json.loads(base64.urlsafe_b64decode(text))
    for change in ({"record": "other"}, {"until": body["until"] + 1}, {"by": "pia"}):
        changed = base64.urlsafe_b64encode(json.dumps({**body, **change}).encode()).decode()
        assert sent(lab, f"{changed}.{sign}") == REFUSED
    assert sent(lab, f"{text}.{sign[:-1]}") == REFUSED
    assert sent(lab, f"{text}.{sign.upper()}") == REFUSED
    assert sent(lab, f"{text}.{sign}")[0] == 201


def test_a_ticket_runs_out(lab: Lab, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(phone, "TICKET_MINUTES", -1)
    assert sent(lab, ticket_of(lab)) == REFUSED


def test_keys_and_tickets_lapse_with_the_account_that_gave_them(fresh: Lab) -> None:
    key, ticket = key_of(fresh), ticket_of(fresh)
    assert sent(fresh, ticket)[0] == 201
    disable_account(fresh.accounts, "cora", datetime.now(UTC))
    assert sent(fresh, ticket) == REFUSED
    assert begin(fresh, key).status_code == 403


def test_a_page_token_made_with_the_same_secret_is_no_ticket(lab: Lab) -> None:
    token = hmac.new(KEY, b"loopback", hashlib.sha256).hexdigest()
    assert sent(lab, f"loopback.{token}") == REFUSED


def test_a_server_of_this_machine_only_gives_no_keys(tmp_path: Path) -> None:
    with running(settings(tmp_path, lab=False, base=None)) as lab:
        headers = {"x-unfasten-token": lab.token_of("/")}
        answer = lab.ask("POST", f"/api/records/{RECORD}/phone", headers=headers)
        assert (answer.status_code, answer.json()["code"]) == (409, "web.no-phone")


def test_the_code_is_drawn_with_nothing_in_it_but_the_drawing(lab: Lab) -> None:
    answer = lab.ask("POST", f"/api/records/{RECORD}/phone", "cora").json()
    assert answer["address"].startswith("http://bench.example/phone?key=")
    assert {tag for tag, _ in parsed(answer["svg"]).found} == {"svg", "path"}
