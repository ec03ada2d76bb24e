"""The ledger and the photo list of an archive: one entry a line, each line by itself readable."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, fields
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from unfasten.archive.layout import ENTRIES_LIMIT, LEDGER, PHOTOS, Line, PhotoLine, error
from unfasten.archive.strictjson import NotStrict, strict_json
from unfasten.evidence.place import shown
from unfasten.record.entrybody import check_body
from unfasten.record.finding import Finding
from unfasten.record.place import FINDING_LIMIT

_TEXT_OR_NONE: Final = (str, type(None))
_KINDS: Final[dict[str, tuple[type, ...]]] = {
    "id": (str,),
    "record": (str,),
    "seq": (int,),
    "at": (str,),
    "by": _TEXT_OR_NONE,
    "kind": (str,),
    "body": (dict,),
    "supersedes": _TEXT_OR_NONE,
}
_NUMBER_OR_NONE: Final = (int, type(None))
_PHOTO_KINDS: Final[dict[str, tuple[type, ...]]] = {
    "sha256": (str,),
    "media_type": (str,),
    "width": _NUMBER_OR_NONE,
    "height": _NUMBER_OR_NONE,
    "orientation": _NUMBER_OR_NONE,
    "taken": _TEXT_OR_NONE,
    "size": (int,),
    "name": _TEXT_OR_NONE,
}


def write_ledger(lines: Iterable[Line]) -> bytes:
    """Write a ledger; bodies stand in it as objects, in their own order."""
    return b"".join(_write_line(line) for line in lines)


def _write_line(line: Line) -> bytes:
    tree = {field.name: getattr(line, field.name) for field in fields(Line)} | {"body": line.tree}
    return json.dumps(tree, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode() + b"\n"


def read_ledger(data: bytes, record: str | None) -> tuple[list[Line], list[Finding]]:
    """Read a ledger: the lines up to the first that is wrong, and all that is wrong.

    `record` None takes the record that the first line names.
    """
    lines: list[Line] = []
    findings: list[Finding] = []
    ids: set[str] = set()
    for number, text in enumerate(_split(data), 1):
        if number > ENTRIES_LIMIT or len(findings) > FINDING_LIMIT:
            findings.append(error("archive.ledger", LEDGER, f"reading stopped at line {number}", "mend these first"))
            break
        at = f"{LEDGER}: line {number}"
        try:
            tree = strict_json(text)
        except NotStrict as reason:
            findings.append(error("archive.ledger", at, str(reason)))
            continue
        odd = list(_line_findings(tree, at, number, record, ids))
        findings += odd
        if odd:
            continue
        line = Line(**{**tree, "body": _compact(tree["body"])})
        record = record or line.record
        ids.add(line.id)
        if not findings:
            lines.append(line)
    if data and not data.endswith(b"\n"):
        findings.append(error("archive.ledger", LEDGER, "its last line is cut off"))
    return lines, findings


def _split(data: bytes) -> list[bytes]:
    lines = data.split(b"\n")
    return lines[:-1] if not lines[-1] else lines


def _compact(body: dict[str, Any]) -> str:
    return json.dumps(body, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def _line_findings(tree: Any, at: str, number: int, record: str | None, ids: set[str]) -> Iterator[Finding]:
    wrong = list(_kinds(tree, _KINDS, at, "archive.ledger"))
    yield from wrong
    if wrong:
        return
    if tree["seq"] != number:
        yield error("archive.ledger", at, f"its number is {tree['seq']}, where {number} comes next")
    if record is not None and tree["record"] != record:
        yield error("archive.ledger", at, f"it is about the record {shown(tree['record'])}")
    if not _is_uuid(tree["id"]) or tree["id"] in ids:
        yield error("archive.ledger", at, f"{shown(tree['id'])} is no id, or stands twice")
    if not _is_time(tree["at"]):
        yield error("archive.ledger", at, f"{shown(tree['at'])} is no time with offset")
    if tree["supersedes"] is not None and tree["supersedes"] not in ids:
        yield error("archive.ledger", at, f"it supersedes {shown(tree['supersedes'])}, which does not stand before it")
    for problem in check_body(tree["record"], tree["kind"], tree["body"], at):
        yield error(problem.code, at, problem.message, problem.remedy)


def write_photos(photos: Iterable[PhotoLine]) -> bytes:
    """Write what is known of photo files."""
    return json.dumps([asdict(photo) for photo in photos], indent=1, ensure_ascii=False).encode()


def read_photos(data: bytes) -> tuple[list[PhotoLine], list[Finding]]:
    """Read what is known of photo files: those that are right, and all that is wrong."""
    try:
        tree = strict_json(data)
    except NotStrict as reason:
        return [], [error("archive.photos", PHOTOS, str(reason))]
    if not isinstance(tree, list):
        return [], [error("archive.photos", PHOTOS, f"{shown(tree)}, where a list is wanted")]
    photos: dict[str, PhotoLine] = {}
    findings: list[Finding] = []
    for number, node in enumerate(tree):
        at = f"{PHOTOS}: [{number}]"
        odd = list(_kinds(node, _PHOTO_KINDS, at, "archive.photos"))
        if not odd and node["sha256"] in photos:
            odd = [error("archive.photos", at, "the photo stands twice")]
        findings += odd
        if not odd:
            photos[node["sha256"]] = PhotoLine(**node)
    return list(photos.values()), findings


def _kinds(node: Any, kinds: dict[str, tuple[type, ...]], at: str, code: str) -> Iterator[Finding]:
    if not isinstance(node, dict) or set(node) != set(kinds):
        keys = sorted(set(node) ^ set(kinds)) if isinstance(node, dict) else []
        what = f"keys missing or not known: {', '.join(map(shown, keys[:8]))}" if keys else f"{shown(node)} stands here"
        yield error(code, at, what)
        return
    for key, allowed in kinds.items():
        if type(node[key]) not in allowed:
            yield error(code, at, f"its {key} is {shown(node[key])}")


def _is_uuid(text: str) -> bool:
    try:
        return str(UUID(text)) == text
    except ValueError:
        return False


def _is_time(text: str) -> bool:
    try:
        return datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False
