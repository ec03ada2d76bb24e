"""Keys and tickets by which a phone adds photos without an account: the key works once, the ticket for an hour."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
from datetime import datetime, timedelta
from typing import Final

from unfasten.service.accounts import may, note, use_upload_key
from unfasten.service.attempts import PAIR, counted
from unfasten.store.contract import Accounts
from unfasten.web.errors import Refused

TICKET_MINUTES: Final = 60


def ticket_of(accounts: Accounts, secret: bytes, key: str, address: str, now: datetime) -> tuple[str, str]:
    """Use a key up; give its record and a ticket.

    `Refused` if it is unknown, used or has run out (403), or after too many such keys from one address (429).
    """
    who = f"phone {counted(address)}"
    if accounts.attempts(who, now - PAIR.window) >= PAIR.most:
        raise Refused(429, "web.phone-attempts", "too many keys that open nothing", "wait a quarter of an hour")
    found = use_upload_key(accounts, key, now)
    if found is None or not _may_record(accounts, found.by):
        accounts.note_attempt(who, now)
        note(accounts, now, None, "upload-key-refused", address)
        raise Refused(403, "web.phone-key", "the key is unknown, used or has run out", "show a new code on the bench")
    body = {
        "record": found.record,
        "by": found.by,
        "until": (now + timedelta(minutes=TICKET_MINUTES)).timestamp(),
    }
    text = base64.urlsafe_b64encode(json.dumps(body).encode()).decode()
    return found.record, f"{text}.{_sign(secret, text)}"


def check_ticket(accounts: Accounts, secret: bytes, ticket: str, now: datetime) -> tuple[str, str]:
    """Record and name of a ticket; `Refused` (403) if it was not given here, has run out, or its giver has left."""
    text, _, sign = ticket.rpartition(".")
    if not hmac.compare_digest(_sign(secret, text).encode(), sign.encode("utf-8", "replace")):
        raise Refused(
            403, "web.phone-ticket", "the ticket was not given by this server", "show a new code on the bench"
        )
    body = json.loads(base64.urlsafe_b64decode(text))
    if body["until"] < now.timestamp():
        raise Refused(403, "web.phone-ticket", "the ticket has run out", "show a new code on the bench")
    if not _may_record(accounts, body["by"]):
        raise Refused(403, "web.phone-ticket", "who gave the ticket may not record any more", "ask at the bench")
    return str(body["record"]), str(body["by"] or "phone")


def _may_record(accounts: Accounts, name: str | None) -> bool:
    """Tell whether the giver of a key still may record; one without an account sits at this machine."""
    held = None if name is None else accounts.get(name)
    return held is None or may(held, "recorder")


def _sign(secret: bytes, text: str) -> str:
    return hmac.new(secret, b"phone:" + text.encode("utf-8", "replace"), hashlib.sha256).hexdigest()
