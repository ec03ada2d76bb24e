"""Signing in and out of a lab: cookies, sessions, limits, and what the audit says of them."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any

import pytest
from tests.support.web import HTML, PASSWORD, RECORD, Lab, lines, running, settings

from unfasten.service import accounts as service
from unfasten.service.accounts import SESSION, disable_account
from unfasten.service.attempts import ADDRESS, NAME, PAIR
from unfasten.web import signin


@pytest.fixture
def fresh(tmp_path: Path, ledger_in: str) -> Iterator[Lab]:
    """A lab of the test's own."""
    with running(settings(tmp_path)) as made:
        yield made


def cookie_of(answer: Any) -> tuple[str, Any]:
    """Name and morsel of the one cookie that an answer sets."""
    ((name, morsel),) = SimpleCookie(answer.headers["set-cookie"]).items()
    return name, morsel


def test_the_cookie_is_kept_from_scripts_and_from_other_sites(lab: Lab) -> None:
    answer = lab.sign_in("rea")
    name, cookie = cookie_of(answer)
    assert answer.headers.get_list("set-cookie") == [answer.headers["set-cookie"]]
    assert name == "unfasten"
    assert cookie["httponly"] is True
    assert cookie["samesite"] == "strict"
    assert cookie["path"] == "/"
    assert cookie["domain"] == ""
    ends = datetime.strptime(cookie["expires"], "%a, %d %b %Y %H:%M:%S GMT").replace(tzinfo=UTC)
    assert timedelta(0) < ends - datetime.now(UTC) <= SESSION + timedelta(seconds=1)
    assert len(cookie.value) >= 43


def test_over_tls_the_cookie_is_secure_and_bound_to_the_host(tmp_path: Path) -> None:
    with running(settings(tmp_path, secure=True), people=False) as lab:
        lab.add("rea", "reader")
        answer = lab.sign_in("rea")
        name, cookie = cookie_of(answer)
        assert name == "__Host-unfasten"
        assert cookie["secure"] is True
        assert cookie["path"] == "/"
        assert cookie["domain"] == ""
        assert answer.headers["strict-transport-security"] == "max-age=31536000"
        value = cookie.value
        assert lab.ask("GET", "/api/records", headers={"cookie": f"{name}={value}"}).status_code == 200
        assert lab.ask("GET", "/api/records", headers={"cookie": f"unfasten={value}"}).status_code == 401


def test_a_session_that_somebody_planted_is_not_taken_over(lab: Lab) -> None:
    planted = {"cookie": "unfasten=planted-by-somebody"}
    answer = lab.sign_in("rea", headers=planted)
    assert cookie_of(answer)[1].value != "planted-by-somebody"
    assert lab.ask("GET", "/api/records", headers=planted).status_code == 401


def test_signing_in_again_ends_the_session_before(lab: Lab) -> None:
    first = cookie_of(lab.sign_in("rea"))[1].value
    old = {"cookie": f"unfasten={first}"}
    assert lab.ask("GET", "/api/records", headers=old).status_code == 200
    lab.sign_in("cora", headers=old)
    assert lab.ask("GET", "/api/records", headers=old).status_code == 401


def test_each_session_has_a_secret_of_its_own(lab: Lab) -> None:
    before = lab.people["cora"]
    lab.enter("cora")
    assert before[0] != lab.people["cora"][0]
    assert before[1] != lab.people["cora"][1]
    assert len({secret for pair in lab.people.values() for secret in pair}) == 2 * len(lab.people)


def test_signing_out_ends_the_session_at_once(fresh: Lab) -> None:
    answer = fresh.ask("POST", "/api/sign-out", "rea")
    assert answer.status_code == 204
    gone = cookie_of(answer)[1]
    assert (gone.value, gone["max-age"]) == ("", "0")
    assert fresh.ask("GET", "/api/records", "rea").status_code == 401
    assert fresh.audit()[-1] == ("rea", "signed-out", "rea")


def test_a_disabled_account_is_out_at_once_and_stays_out(fresh: Lab) -> None:
    assert fresh.ask("GET", "/api/records", "cora").status_code == 200
    disable_account(fresh.accounts, "cora", datetime.now(UTC), "pia")
    assert fresh.ask("GET", "/api/records", "cora").status_code == 401
    assert fresh.ask("POST", f"/api/records/{RECORD}/lines", "cora", json=lines("note x")).status_code == 401
    assert fresh.sign_in("cora").status_code == 401
    assert ("pia", "account-disabled", "cora") in fresh.audit()


def test_a_session_ends_by_itself(fresh: Lab, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(service, "SESSION", timedelta(seconds=-1))
    cookie = cookie_of(fresh.sign_in("rea"))[1].value
    assert fresh.ask("GET", "/api/records", headers={"cookie": f"unfasten={cookie}"}).status_code == 401


@pytest.mark.parametrize(
    ("name", "password"), [("rea", "wrong"), ("nobody", PASSWORD), ("REA", PASSWORD), ("rea ", PASSWORD)]
)
def test_a_refusal_does_not_tell_who_exists(lab: Lab, name: str, password: str) -> None:
    answers = [lab.sign_in(n, p, headers=HTML, address="10.1.1.1") for n, p in ((name, password), ("rea", "wrong too"))]
    assert [answer.status_code for answer in answers] == [401, 401]
    assert answers[0].text == answers[1].text
    assert "set-cookie" not in answers[0].headers


def test_the_work_is_the_same_for_a_name_that_nobody_has(lab: Lab, monkeypatch: pytest.MonkeyPatch) -> None:
    checked: list[str] = []
    real = service._verify

    def verify(hashed: str, password: str) -> bool:
        checked.append(hashed.rpartition("$")[0].rpartition("$")[0])
        return real(hashed, password)

    monkeypatch.setattr(service, "_verify", verify)
    for name in ("rea", "nobody"):
        lab.sign_in(name, "wrong", address="10.1.1.2")
    assert len(checked) == 2
    assert checked[0] == checked[1]
    assert checked[0].startswith("$argon2id$")


def test_after_too_many_failures_a_name_waits_but_not_where_its_owner_is_known(fresh: Lab) -> None:
    for number in range(NAME.most):
        assert fresh.sign_in("rea", "wrong", address=f"10.2.0.{number}").status_code == 401
    answer = fresh.sign_in("rea", address="10.2.1.1")
    assert answer.status_code == 429
    assert int(answer.headers["retry-after"]) == 60 * 60
    assert "wait 60 minutes" in answer.text
    assert fresh.sign_in("cora", address="10.2.1.1").status_code == 303
    assert fresh.sign_in("rea").status_code == 303, "she was there when the lab began"


def test_after_too_many_failures_an_address_waits_whoever_it_names(fresh: Lab) -> None:
    for number in range(ADDRESS.most):
        assert fresh.sign_in(f"guess-{number}", "wrong", address="10.3.0.1").status_code == 401
    answer = fresh.sign_in("rea", address="10.3.0.1")
    assert (answer.status_code, int(answer.headers["retry-after"])) == (429, 15 * 60)
    assert fresh.sign_in("rea", address="10.3.0.2").status_code == 303


def test_failures_are_forgotten_after_their_window(fresh: Lab, monkeypatch: pytest.MonkeyPatch) -> None:
    for _ in range(PAIR.most):
        fresh.sign_in("rea", "wrong", address="10.4.0.1")
    later = datetime.now(UTC) + PAIR.window + timedelta(seconds=1)
    monkeypatch.setattr(signin, "datetime", type("Later", (), {"now": staticmethod(lambda zone: later)}))
    assert fresh.sign_in("rea", address="10.4.0.1").status_code == 303


def test_guesses_sent_at_the_same_time_do_not_slip_past_the_limit(fresh: Lab) -> None:
    with ThreadPoolExecutor(24) as pool:
        sent = [pool.submit(fresh.sign_in, "rea", f"guess {n}", address="10.5.0.1") for n in range(24)]
        statuses = [one.result().status_code for one in sent]
    assert statuses.count(401) == PAIR.most
    assert statuses.count(429) == 24 - PAIR.most


def test_what_has_run_out_is_removed_when_somebody_signs_in(fresh: Lab, monkeypatch: pytest.MonkeyPatch) -> None:
    swept: list[datetime] = []
    monkeypatch.setattr(type(fresh.accounts), "sweep", lambda _, at: swept.append(at))
    fresh.sign_in("rea", "wrong", address="10.6.0.2")
    assert swept == []
    fresh.sign_in("rea")
    assert len(swept) == 1


def test_the_audit_says_who_came_and_who_was_refused(fresh: Lab) -> None:
    fresh.sign_in("rea", "wrong", address="10.6.0.1")
    fresh.ask("POST", f"/api/records/{RECORD}/lines", "rea", json=lines("note x"))
    told = fresh.audit()
    assert told.count(("rea", "signed-in", "10.0.0.7")) == 1
    assert (None, "sign-in-refused", "rea, from 10.6.0.1") in told
    assert ("rea", "refused", f"POST /api/records/{RECORD}/lines") in told
    assert PASSWORD not in str(told)
    assert "wrong" not in str(told)


def test_a_person_signed_in_is_led_home_and_nowhere_else(lab: Lab) -> None:
    for query in ("", "?next=https://evil.example", "?next=//evil.example"):
        answer = lab.ask("GET", f"/sign-in{query}", "rea")
        assert (answer.status_code, answer.headers["location"]) == (303, "/")
        assert (
            lab.ask("POST", f"/sign-in{query}", data={"name": "rea", "password": PASSWORD}).headers["location"] == "/"
        )


def test_without_a_lab_nobody_signs_in_and_a_token_is_needed_all_the_same(tmp_path: Path) -> None:
    with running(settings(tmp_path, lab=False)) as lab:
        assert lab.ask("GET", "/sign-in").headers["location"] == "/"
        assert lab.sign_in("rea").status_code == 404
        path = f"/api/records/{RECORD}/lines"
        assert lab.ask("POST", path, json=lines("note x")).json()["code"] == "web.token"
        token = lab.token_of("/")
        headers = {"x-unfasten-token": token}
        assert lab.ask("POST", path, json=lines("note x"), headers=headers).status_code == 200
