"""Keys and tickets by which a phone adds photos without an account: the key works once, the ticket for an hour."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
from datetime import datetime, timedelta
from typing import Final

from unfasten.service.accounts import use_upload_key
from unfasten.store.contract import Accounts
from unfasten.web.errors import Refused

TICKET_MINUTES: Final = 60


def ticket_of(accounts: Accounts, secret: bytes, key: str, now: datetime) -> tuple[str, str]:
    """Use a key up; give its record and a ticket. `Refused` (403) if it is unknown, used or has run out."""
    found = use_upload_key(accounts, key, now)
    if found is None:
        raise Refused(403, "web.phone-key", "the key is unknown, used or has run out", "show a new code on the bench")
    body = {
        "record": found.record,
        "by": found.by or "phone",
        "until": (now + timedelta(minutes=TICKET_MINUTES)).timestamp(),
    }
    text = base64.urlsafe_b64encode(json.dumps(body).encode()).decode()
    return found.record, f"{text}.{_sign(secret, text)}"


def check_ticket(secret: bytes, ticket: str, now: datetime) -> tuple[str, str]:
    """Record and name of a ticket; `Refused` (403) if it was not given here or has run out."""
    text, _, sign = ticket.rpartition(".")
    if not hmac.compare_digest(_sign(secret, text).encode(), sign.encode()):
        raise Refused(
            403, "web.phone-ticket", "the ticket was not given by this server", "show a new code on the bench"
        )
    body = json.loads(base64.urlsafe_b64decode(text))
    if body["until"] < now.timestamp():
        raise Refused(403, "web.phone-ticket", "the ticket has run out", "show a new code on the bench")
    return str(body["record"]), str(body["by"])


def _sign(secret: bytes, text: str) -> str:
    return hmac.new(secret, b"phone:" + text.encode(), hashlib.sha256).hexdigest()
