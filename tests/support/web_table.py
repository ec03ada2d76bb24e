"""What every operation of the web room is expected to do: who may, what a good request is, what comes back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from tests.support.photo_files import jpeg
from tests.support.web import RECORD, Lab, lines, new_record, photo


@dataclass(frozen=True)
class Row:
    """An operation: the role that it `needs` (empty: anybody), a good request, its status and media type."""

    needs: str
    path: str
    status: int
    media: str
    how: Callable[[Lab], dict[str, Any]] = lambda lab: {}
    #: it is a form, guarded by its origin and by what it holds, not by the token of a page
    is_form: bool = False
    is_stream: bool = False
    #: body and media type of a request of another kind, which has to be refused
    wrong: tuple[bytes, str] | None = None

    @property
    def who(self) -> str | None:
        """A person who may."""
        return {"": None, "reader": "rea", "recorder": "cora", "publisher": "pia"}[self.needs]


ROOM = f"/api/records/{RECORD}"
JSON_TYPE, PAGE, SVG = "application/json", "text/html; charset=utf-8", "image/svg+xml"
AS_FORM = (b"line=lift+battery", "application/x-www-form-urlencoded")
AS_JSON = (b'{"name": "rea", "file": "x"}', JSON_TYPE)


def _json(make: Callable[[], Any]) -> Callable[[Lab], dict[str, Any]]:
    return lambda lab: {"json": make()}


def photo_held(lab: Lab) -> str:
    """The file of a photo that the record holds; one is added where there is none."""
    held = lab.ask("GET", f"{ROOM}/photos", "rea").json()["photos"]
    if not held:
        lab.ask("POST", f"{ROOM}/photos", "cora", files=photo(data=jpeg(64, 48)))
        held = lab.ask("GET", f"{ROOM}/photos", "rea").json()["photos"]
    return str(next(iter(held.values()))["file"])


def _region(lab: Lab) -> dict[str, Any]:
    photo_held(lab)
    return {"json": {"x": 0, "y": 0, "width": 40, "height": 30}}


def _asked(lab: Lab) -> dict[str, Any]:
    """Something measured where there is no scale: it is refused by its own word."""
    on = {"photo": "p-001", "ask": _measured(lab)["json"]}
    named = {"what": "thread"}
    body = {"named": named, "measured": {"diameter": on}, "chosen": "M2", "joint": "back-screws"}
    return {"json": {"id": str(uuid4()), "at": "2026-06-01T09:00:00Z", **body}}


def _read(lab: Lab) -> dict[str, Any]:
    region = _region(lab)["json"]
    return {"json": {"id": str(uuid4()), "at": "2026-06-01T09:00:00Z", "region": region, "lines": ["FW-A11"]}}


def _board(lab: Lab) -> dict[str, Any]:
    photo_held(lab)
    return {"json": {"board": [[1, 1], [40, 1], [40, 30]], "bodies": {}}}


def _board_kept(lab: Lab) -> dict[str, Any]:
    return {"json": {"id": str(uuid4()), "at": "2026-06-01T09:00:00Z", "ask": _board(lab)["json"]}}


def _held(lab: Lab) -> dict[str, Any]:
    photo_held(lab)
    return {}


def _kept(lab: Lab) -> dict[str, Any]:
    asked = _measured(lab)["json"]
    return {"json": {"id": str(uuid4()), "at": "2026-06-01T09:00:00Z", "ask": asked}}


def _a_record(lab: Lab) -> dict[str, Any]:
    name = f"brought-{uuid4().hex[:8]}"
    text = (
        f"format: unfasten-record/1\nproduct: {{id: {name}, name: Tarn 7, maker: Fellwright, category: slate-tablet}}\n"
        "parts: {frame: {name: Frame, stays: true}}\njoints: {}\n"
    )
    return {"files": {"file": (f"{name}.yaml", text.encode(), "application/yaml")}}


def key_of(lab: Lab, who: str = "cora") -> str:
    """A key for a phone, as the QR code holds it."""
    return str(lab.ask("POST", f"{ROOM}/phone", who).json()["address"].partition("key=")[2])


def ticket_of(lab: Lab, who: str = "cora") -> str:
    """The ticket that a phone gets for a key."""
    page = lab.ask("POST", "/phone", data={"key": key_of(lab, who)})
    return str(page.text.partition('name="ticket" value="')[2].partition('"')[0])


def _call_outs() -> dict[str, Any]:
    return {
        "id": str(uuid4()),
        "at": "2026-04-01T10:00:00Z",
        "call_outs": {"A": {"shape": "point", "corners": [[1, 2]]}},
    }


def _shown(lab: Lab) -> dict[str, Any]:
    photo_held(lab)
    return {"json": _call_outs()}


def _measured(lab: Lab) -> dict[str, Any]:
    photo_held(lab)
    return {"json": {"kind": "distance", "readings": [[[10, 10], [40, 30]]]}}


def _signing_in(lab: Lab) -> dict[str, Any]:
    return {"data": {"name": "rea", "password": "a quiet bench at dusk"}}


ROWS: dict[str, Row] = {
    "GET /": Row("reader", "/", 200, PAGE),
    "GET /api/openapi.json": Row("", "/api/openapi.json", 200, JSON_TYPE),
    "GET /api/photos/{sha}": Row("reader", "/api/photos/{photo}", 200, "image/jpeg"),
    "GET /api/records": Row("reader", "/api/records", 200, JSON_TYPE),
    "GET /api/records/{record}": Row("reader", ROOM, 200, JSON_TYPE),
    "GET /api/records/{record}/drawing.svg": Row("reader", f"{ROOM}/drawing.svg", 200, SVG),
    "GET /api/records/{record}/file.{ending}": Row("reader", f"{ROOM}/file.yaml", 200, "application/yaml"),
    "GET /api/records/{record}/ledger": Row("reader", f"{ROOM}/ledger", 200, JSON_TYPE),
    "GET /api/records/{record}/live": Row(
        "reader", f"{ROOM}/live", 200, "text/event-stream; charset=utf-8", is_stream=True
    ),
    "GET /api/records/{record}/parts/{part}": Row("reader", f"{ROOM}/parts/frame", 200, JSON_TYPE),
    "GET /api/records/{record}/parts/{part}/costs": Row("reader", f"{ROOM}/parts/frame/costs", 200, JSON_TYPE),
    "GET /api/records/{record}/photos": Row("reader", f"{ROOM}/photos", 200, JSON_TYPE),
    "GET /api/records/{record}/photos/{photo}/again": Row(
        "reader", f"{ROOM}/photos/p-001/again", 200, JSON_TYPE, _held
    ),
    "GET /compare": Row("reader", "/compare", 303, ""),
    "GET /families/{family}/swaps": Row("reader", "/families/none/swaps", 404, JSON_TYPE),
    "GET /look/figures.css": Row("", "/look/figures.css", 200, "text/css; charset=utf-8"),
    "GET /phone": Row("", "/phone?key=abc", 200, PAGE),
    "GET /records/{record}": Row("reader", f"/records/{RECORD}", 200, PAGE),
    "GET /records/{record}/battery": Row("reader", f"/records/{RECORD}/battery", 422, JSON_TYPE),
    "GET /records/{record}/past": Row("reader", f"/records/{RECORD}/past", 200, PAGE),
    "GET /records/{record}/report": Row("reader", f"/records/{RECORD}/report", 200, PAGE),
    "GET /records/{record}/requirements": Row("reader", f"/records/{RECORD}/requirements", 200, PAGE),
    "GET /sign-in": Row("", "/sign-in", 200, PAGE),
    "MOUNT /static": Row("", "/static/bench.js", 200, "text/javascript; charset=utf-8"),
    "POST /api/identify": Row(
        "reader", "/api/identify", 200, JSON_TYPE,
        _json(lambda: {"what": "thread", "diameter": "1.95 ± 0.01 mm"}), wrong=AS_FORM
    ),
    "POST /api/import": Row("publisher", "/api/import", 201, JSON_TYPE, _a_record, wrong=AS_JSON),
    "POST /api/phone": Row(
        "", "/api/phone", 201, JSON_TYPE, lambda lab: {"data": {"ticket": ticket_of(lab)}, "files": photo()}, True,
        wrong=AS_JSON,
    ),
    "POST /api/records": Row(
        "recorder", "/api/records", 201, JSON_TYPE, _json(lambda: new_record(f"new-{uuid4().hex[:8]}")), wrong=AS_FORM
    ),
    "POST /api/records/{record}/identified": Row(
        "recorder", f"{ROOM}/identified", 422, JSON_TYPE, _asked, wrong=AS_FORM
    ),
    "POST /api/records/{record}/lines": Row(
        "recorder", f"{ROOM}/lines", 200, JSON_TYPE, _json(lambda: lines("note a remark")), wrong=AS_FORM
    ),
    "POST /api/records/{record}/phone": Row("recorder", f"{ROOM}/phone", 200, JSON_TYPE),
    "POST /api/records/{record}/photos": Row(
        "recorder", f"{ROOM}/photos", 201, JSON_TYPE, lambda lab: {"files": photo()}, wrong=AS_JSON
    ),
    "POST /api/records/{record}/photos/{photo}/board": Row(
        "reader", f"{ROOM}/photos/p-001/board", 422, JSON_TYPE, _board, wrong=AS_FORM
    ),
    "POST /api/records/{record}/photos/{photo}/boards": Row(
        "recorder", f"{ROOM}/photos/p-001/boards", 422, JSON_TYPE, _board_kept, wrong=AS_FORM
    ),
    "POST /api/records/{record}/photos/{photo}/markings": Row(
        "recorder", f"{ROOM}/photos/p-001/markings", 201, JSON_TYPE, _read, wrong=AS_FORM
    ),
    "POST /api/records/{record}/photos/{photo}/marking": Row(
        "reader", f"{ROOM}/photos/p-001/marking", 200, JSON_TYPE, _region, wrong=AS_FORM
    ),
    "POST /api/records/{record}/photos/{photo}/measure": Row(
        "reader", f"{ROOM}/photos/p-001/measure", 422, JSON_TYPE, _measured, wrong=AS_FORM
    ),
    "POST /api/records/{record}/photos/{photo}/measurements": Row(
        "recorder", f"{ROOM}/photos/p-001/measurements", 422, JSON_TYPE, _kept, wrong=AS_FORM
    ),
    "POST /api/records/{record}/understand": Row(
        "recorder", f"{ROOM}/understand", 200, JSON_TYPE, _json(lambda: {"line": "lift battery"}), wrong=AS_FORM
    ),
    "POST /api/sign-out": Row("reader", "/api/sign-out", 204, ""),
    "POST /phone": Row("", "/phone", 200, PAGE, lambda lab: {"data": {"key": key_of(lab)}}, True, wrong=AS_JSON),
    "POST /sign-in": Row("", "/sign-in", 303, "", _signing_in, True, wrong=AS_JSON),
    "PUT /api/records/{record}/photos/{photo}/call-outs": Row(
        "recorder", f"{ROOM}/photos/p-001/call-outs", 200, JSON_TYPE, _shown, wrong=AS_FORM
    ),
}  # fmt: skip
UNSAFE = sorted(name for name in ROWS if name.startswith(("POST", "PUT")))
GUARDED = sorted(name for name, row in ROWS.items() if row.needs)
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE")


def method(name: str) -> str:
    """The method of an operation."""
    first = name.partition(" ")[0]
    return "GET" if first == "MOUNT" else first


def path(lab: Lab, name: str) -> str:
    """The path of a good request."""
    row = ROWS[name]
    return row.path.replace("{photo}", photo_held(lab)) if "{photo}" in row.path else row.path
