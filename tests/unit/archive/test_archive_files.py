"""Archives as they are written: what is in them, how they are packed, and what no archive can hold."""

from __future__ import annotations

import io
import json
import zipfile
from typing import Any
from uuid import UUID

import pytest

from unfasten.archive import write
from unfasten.archive.contents import photos_named, record_text
from unfasten.archive.layout import Line, PhotoLine
from unfasten.archive.members import read_directory
from unfasten.archive.names import twin_key
from unfasten.archive.read import read_archive
from unfasten.archive.strictjson import NotStrict, strict_json
from unfasten.archive.write import write_archive
from unfasten.evidence.errors import DataError

PRODUCT = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}
PHOTO = b"\xff\xd8 a photo"
SHA256 = "6b3cc6a3a4a5f4a8c8a2b3ff9f0ee9a5a6c2e1d5d1d7a3f3f0a3a6d5a0a1b2c3"


def line(seq: int, kind: str, body: dict[str, Any]) -> Line:
    """A ledger line."""
    text = json.dumps(body, ensure_ascii=False, separators=(",", ":"))
    return Line(str(UUID(int=seq)), "lamp", seq, "2026-04-01T09:00:00+00:00", None, kind, text, None)


LINES = [line(1, "put-record", {"product": PRODUCT}), line(2, "log", {"entry": {"do": "note", "text": "Rück ½"}})]


def written(lines: list[Line], photos: list[PhotoLine] | None = None) -> bytes:
    """An archive in memory."""
    stream = io.BytesIO()
    made = "2026-04-01T09:00:00+00:00"
    write_archive(stream, lines, photos or [], lambda _: PHOTO, made=made, program="unfasten test")
    return stream.getvalue()


def test_the_same_record_gives_the_same_bytes() -> None:
    assert written(LINES) == written(list(LINES))


def test_a_person_can_read_what_is_in_it() -> None:
    with zipfile.ZipFile(io.BytesIO(written(LINES))) as archive:
        assert archive.namelist() == ["manifest.json", "ledger.jsonl", "record.yaml", "photos.json"]
        assert "Rück ½" in archive.read("record.yaml").decode()
        manifest = json.loads(archive.read("manifest.json"))
        assert (manifest["format"], manifest["record"], manifest["entries"]) == ("unfasten-archive/1", "lamp", 2)
        first = json.loads(archive.read("ledger.jsonl").split(b"\n")[0])
        assert first["body"] == {"product": PRODUCT}


def test_a_photo_that_the_workspace_lacks_is_said_to_be_absent() -> None:
    lines = [*LINES, line(3, "put", {"at": "photos.p-1", "value": {"file": SHA256}})]
    data = written(lines)
    found = read_archive(io.BytesIO(data), len(data), "a.zip")
    assert (found.absent, found.photos) == ((SHA256,), ())


def test_photos_are_found_anywhere_in_the_past() -> None:
    whole = {"product": PRODUCT, "photos": {"p-1": {"file": "a"}, "p-2": {}, "p-3": None}}
    lines = [
        line(1, "put-record", whole),
        line(2, "put", {"at": "photos.p-1", "value": {"file": "b"}}),
        line(3, "put", {"at": "parts.arm", "value": {"file": "c"}}),
        line(4, "put", {"at": "photos.p-1", "value": {"file": "a"}}),
        line(5, "drop", {"at": "photos.p-1"}),
    ]
    assert photos_named(lines) == ("a", "b")


@pytest.mark.parametrize("value", ["plain", 1.5, 1e300, -0.0, True, None, "no", "0:50", "1.10", "~", "a\tb", " x "])
def test_the_record_stands_as_yaml_where_yaml_holds_it(value: object) -> None:
    tree = {"product": PRODUCT, "parts": {"arm": {"note": value}}}
    name, data = record_text(tree)
    assert name == "record.yaml"
    assert data


@pytest.mark.parametrize("value", ["\x1b[31m", "\x00"])
def test_the_record_stands_as_json_where_yaml_cannot_hold_it(value: str) -> None:
    tree = {"product": PRODUCT, "parts": {"arm": {"note": value}}}
    name, data = record_text(tree)
    assert name == "record.json"
    assert json.loads(data) == tree


def test_what_packs_like_a_bomb_is_stored_and_read_back() -> None:
    lines = [*LINES, line(3, "note", {"text": "x" * 3_000_000})]
    data = written(lines)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        methods = {info.filename: info.compress_type for info in archive.infolist()}
    assert (methods["ledger.jsonl"], methods["record.yaml"]) == (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
    found = read_archive(io.BytesIO(data), len(data), "a.zip")
    assert found.lines[2].tree == {"text": "x" * 3_000_000}


def test_what_no_reader_would_take_is_not_written(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(write, "ENTRIES_LIMIT", 1)
    with pytest.raises(DataError) as caught:
        written(LINES)
    assert caught.value.code == "archive.too-large"


def test_a_zip_with_wide_numbers_is_read() -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive, archive.open("manifest.json", "w", force_zip64=True) as file:
        file.write(b"{}")
    found = read_directory(stream, len(stream.getvalue()))
    assert [(member.name, member.size) for member in found.members] == [("manifest.json", 2)]


def test_a_zip_as_another_program_makes_it_is_read_the_same() -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("manifest.json", "x" * 999)
        archive.writestr("photos.json", "y")
    found = read_directory(stream, len(stream.getvalue()))
    assert [(one.name, one.size) for one in found.members] == [("manifest.json", 999), ("photos.json", 1)]
    assert found.findings == ()


@pytest.mark.parametrize(
    ("one", "two"), [("é", "e\u0301"), ("A", "a"), ("ß", "SS"), ("ﬁ", "fi"), ("Ⅳ", "iv"), ("İ", "i̇")]
)
def test_names_that_some_disks_take_for_one(one: str, two: str) -> None:
    assert one != two
    assert twin_key(one) == twin_key(two)


def test_names_that_no_disk_takes_for_one() -> None:
    assert len({twin_key(name) for name in ("a", "b", "á", "a.jpg", "ab")}) == 5


@pytest.mark.parametrize(
    "text", ["{", '{"a":1,"a":2}', "[NaN]", "[Infinity]", '["\\ud800"]', "[" * 90 + "]" * 90, "9" * 5000, "\xff"]
)
def test_json_that_is_not_strict_is_refused(text: str) -> None:
    with pytest.raises(NotStrict):
        strict_json(text.encode("latin-1"))


def test_a_large_number_as_float_is_refused() -> None:
    with pytest.raises(NotStrict):
        strict_json(b"[1e999]")
