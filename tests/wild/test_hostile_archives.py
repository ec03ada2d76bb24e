"""Archives that are broken, odd or made to do harm: each is refused by name, and recovery takes nothing unsafe."""

from __future__ import annotations

import io
import json
import stat
import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from support.raw_zip import (
    PHOTO,
    PHOTO_NAME,
    SHA256,
    TREE,
    RawFile,
    RawZip,
    archive,
    good_files,
    ledger,
    manifest,
    photo_list,
    raw_files,
)
from unfasten.archive.contents import Archive
from unfasten.archive.layout import ArchiveInvalid
from unfasten.archive.read import read_archive
from unfasten.archive.recover import recover_archive
from unfasten.record.finding import Finding

EVIL = b"#!/bin/sh\necho harm\n"


def extra(name: bytes | str, **more: Any) -> bytes:
    """A good archive with one more file."""
    return RawZip([*raw_files(), RawFile(name, EVIL, **more)]).to_bytes()


def with_photo(**more: Any) -> bytes:
    """A good archive but for the header of its photo."""
    files = raw_files()
    return RawZip([*files[:-1], replace(files[-1], **more)]).to_bytes()


def with_files(**changed: bytes | None) -> bytes:
    """A good archive with files changed (`ledger_jsonl=…`) or left out, and a manifest to match."""
    files = good_files()
    for key, data in changed.items():
        name = key.replace("_", ".") if key != "photo" else PHOTO_NAME
        files.pop(name)
        if data is not None:
            files[name] = data
    return archive(files)


def manifest_is(data: bytes) -> bytes:
    """A good archive with another manifest."""
    return RawZip([RawFile("manifest.json", data), *raw_files()[1:]]).to_bytes()


def bomb(method: int = 8, **more: Any) -> bytes:
    """A good archive whose record unpacks to very much."""
    files = raw_files()
    return RawZip([*files[:-2], RawFile("record.yaml", b"\0" * 300_000_000, method, **more), *files[-2:]]).to_bytes()


def deflated(data: bytes, tail: bytes = b"") -> bytes:
    """Packed bytes with something behind them."""
    deflate = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    return deflate.compress(data) + deflate.flush() + tail


def quine() -> bytes:
    """Every file of the directory points to the same bytes."""
    return RawZip(raw_files(), overlap=True).to_bytes()


#: what is wrong -> (how it is made, a code that must be told)
WRONG: dict[str, tuple[Callable[[], bytes], str]] = {
    "a name that climbs": (lambda: extra("../../evil.sh"), "archive.outside"),
    "a name that climbs in the middle": (lambda: extra("photos/../../evil.sh"), "archive.outside"),
    "an absolute name": (lambda: extra("/etc/cron.d/evil"), "archive.outside"),
    "a drive": (lambda: extra("C:evil.exe"), "archive.outside"),
    "a drive with a slash": (lambda: extra("c:/evil.exe"), "archive.outside"),
    "a backslash": (lambda: extra("photos\\..\\evil.exe"), "archive.outside"),
    "a name on another machine": (lambda: extra("\\\\server\\share\\evil"), "archive.outside"),
    "a zero byte in a name": (lambda: extra(b"record.yaml\0.exe"), "archive.bad-name"),
    "a colour of a terminal": (lambda: extra(b"\x1b[31mrecord.yaml"), "archive.bad-name"),
    "a name that is not UTF-8": (lambda: extra(b"photos/\xff\xfe"), "archive.bad-name"),
    "letters beyond ASCII without the mark": (lambda: extra("é.jpg".encode(), flags=0), "archive.bad-name"),
    "an empty name": (lambda: extra(""), "archive.bad-name"),
    "a name that is not of the format": (lambda: extra("README.txt"), "archive.bad-name"),
    "a photo that is named by no hash": (lambda: extra("photos/cat.jpg"), "archive.bad-name"),
    "a photo deeper than the format has": (lambda: extra(f"photos/x/{SHA256}.jpg"), "archive.bad-name"),
    "a link": (lambda: extra(PHOTO_NAME, mode=stat.S_IFLNK | 0o777), "archive.special"),
    "a folder": (lambda: extra("photos/", mode=stat.S_IFDIR | 0o755), "archive.special"),
    "a folder without its mode": (lambda: extra("photos/", mode=0), "archive.special"),
    "a device": (lambda: extra("record.yaml", mode=stat.S_IFCHR | 0o666), "archive.special"),
    "a pipe": (lambda: extra("record.yaml", mode=stat.S_IFIFO | 0o666), "archive.special"),
    "a socket": (lambda: extra("record.yaml", mode=stat.S_IFSOCK | 0o666), "archive.special"),
    "a name that stands twice": (lambda: extra("manifest.json"), "archive.duplicate"),
    "a photo that stands twice": (lambda: extra(PHOTO_NAME), "archive.duplicate"),
    "twins by case": (lambda: extra("Manifest.json"), "archive.twin"),
    "twins by composition": (
        lambda: RawZip([*raw_files(), RawFile("photos/é.jpg", EVIL), RawFile("photos/e\u0301.jpg", EVIL)]).to_bytes(),
        "archive.twin",
    ),
    "twins by compatibility": (lambda: extra("ｍanifest.json"), "archive.twin"),
    "twins by a letter that folds": (
        lambda: RawZip([*raw_files(), RawFile("ß.txt", EVIL), RawFile("SS.txt", EVIL)]).to_bytes(),
        "archive.twin",
    ),
    "an encrypted file": (lambda: with_photo(flags=0x0801), "archive.encrypted"),
    "strong encryption": (lambda: with_photo(flags=0x0841), "archive.encrypted"),
    "masked headers": (lambda: with_photo(flags=0x2800), "archive.encrypted"),
    "another method": (lambda: with_photo(method=14), "archive.compression"),
    "a bomb": (bomb, "archive.bomb"),
    "a bomb that lies about its size": (lambda: bomb(size=100, local_size=100), "archive.bomb"),
    "a photo beyond its limit": (
        lambda: with_photo(data=b"\0" * 300_000_000, method=8, size=10, local_size=10),
        "archive.bomb",
    ),
    "a directory that promises very much": (
        lambda: RawZip([RawFile(f"photos/{n:064x}", b"", size=2**32 - 2, local_size=2**32 - 2) for n in range(5)])
        .to_bytes(),
        "archive.too-large",
    ),
    "very many files": (
        lambda: RawZip([RawFile(f"photos/{n:064x}", b"") for n in range(6000)]).to_bytes(),
        "archive.too-many",
    ),
    "files upon each other": (quine, "archive.layout"),
    "a program before the zip": (lambda: RawZip(raw_files(), before=EVIL).to_bytes(), "archive.layout"),
    "bytes after the zip": (lambda: RawZip(raw_files(), after=EVIL).to_bytes(), "archive.layout"),
    "another zip after the zip": (lambda: archive() + RawZip([]).to_bytes(), "archive.layout"),
    "a comment": (lambda: RawZip(raw_files(), comment=EVIL).to_bytes(), "archive.layout"),
    "bytes between files": (lambda: with_photo(gap=EVIL), "archive.layout"),
    "bytes before the directory": (lambda: RawZip(raw_files(), tail=EVIL).to_bytes(), "archive.layout"),
    "bytes behind the directory": (lambda: RawZip(raw_files(), spare=EVIL).to_bytes(), "archive.layout"),
    "fewer files than are there": (lambda: RawZip(raw_files(), count=2).to_bytes(), "archive.layout"),
    "more files than are there": (lambda: RawZip(raw_files(), count=9).to_bytes(), "archive.layout"),
    "a name that is another inside": (lambda: with_photo(local_name="evil.sh"), "archive.layout"),
    "a size that is another inside": (lambda: with_photo(local_size=3), "archive.layout"),
    "sizes behind the data": (lambda: with_photo(flags=0x0808), "archive.layout"),
    "bytes behind packed data": (lambda: with_photo(method=8, packed=deflated(PHOTO, EVIL)), "archive.layout"),
    "packed data cut off": (lambda: with_photo(method=8, packed=deflated(PHOTO)[:-3]), "archive.layout"),
    "packed data damaged": (lambda: with_photo(method=8, packed=b"\xff" * 40), "archive.layout"),
    "a size that is not the real one": (lambda: with_photo(size=5, local_size=5), "archive.layout"),
    "a wrong CRC": (lambda: with_photo(crc=7), "archive.checksum"),
    "nothing": (lambda: b"", "archive.not-zip"),
    "something else": (lambda: b"format: unfasten-record/1\n" * 9, "archive.not-zip"),
    "a zip cut off": (lambda: archive()[:-100], "archive.not-zip"),
    "an empty zip": (lambda: RawZip([]).to_bytes(), "archive.no-manifest"),
    "no manifest": (lambda: RawZip(raw_files()[1:]).to_bytes(), "archive.no-manifest"),
    "another format": (lambda: archive(format="unfasten-archive/9"), "archive.version"),
    "a manifest that is no JSON": (lambda: manifest_is(b"{"), "archive.manifest"),
    "a manifest that is no object": (lambda: manifest_is(b"[]"), "archive.manifest"),
    "a key twice": (lambda: manifest_is(b'{"format": "x", "format": "y"}'), "archive.manifest"),
    "deep nesting": (lambda: manifest_is(b"[" * 5000 + b"]" * 5000), "archive.manifest"),
    "a very long number": (lambda: manifest_is(b'{"format": ' + b"9" * 5000 + b"}"), "archive.manifest"),
    "a number that JSON lacks": (lambda: manifest_is(b'{"format": NaN}'), "archive.manifest"),
    "half a character": (lambda: manifest_is(b'{"format": "\\ud800"}'), "archive.manifest"),
    "a key that is not known": (lambda: archive(run="evil.sh"), "archive.manifest"),
    "a record that is no id": (lambda: archive(record="../lamp"), "archive.manifest"),
    "entries that are no number": (lambda: archive(entries=True), "archive.manifest"),
    "a manifest that lists itself": (
        lambda: manifest_is(manifest({**good_files(), "manifest.json": b""})),
        "archive.manifest",
    ),
    "a file that is not listed": (
        lambda: RawZip([*raw_files(), RawFile("record.yaml", b"a: 1\n")]).to_bytes(),
        "archive.unlisted",
    ),
    "a file that is listed only": (lambda: RawZip(raw_files()[:-1]).to_bytes(), "archive.missing"),
    "a file that was changed": (
        lambda: RawZip([*raw_files()[:1], RawFile("ledger.jsonl", ledger()), *raw_files()[2:]]).to_bytes(),
        "archive.checksum",
    ),
    "a photo that is another": (lambda: with_files(photo=b"\xff\xd8 another"), "archive.checksum"),
    "a photo list that lacks it": (lambda: with_files(photos_json=b"[]"), "archive.photos"),
    "a photo list that lies": (lambda: with_files(photos_json=photo_list(size=9)), "archive.photos"),
    "a photo list of another kind": (lambda: with_files(photos_json=photo_list(width="4")), "archive.photos"),
    "a photo that the ledger names": (
        lambda: with_files(photo=None, photos_json=b"[]"),
        "archive.missing",
    ),
    "no record": (lambda: with_files(record_json=None), "archive.missing"),
    "a record that the ledger does not make": (
        lambda: with_files(record_json=json.dumps(TREE).encode()),
        "archive.record-differs",
    ),
    "no ledger": (lambda: with_files(ledger_jsonl=None), "archive.ledger"),
    "a ledger that is no JSON": (lambda: with_files(ledger_jsonl=b"seq 1\n"), "archive.ledger"),
    "a ledger cut off": (lambda: with_files(ledger_jsonl=good_files()["ledger.jsonl"][:-1]), "archive.ledger"),
    "a number left out": (lambda: with_files(ledger_jsonl=ledger(("note", {}), seq=3)), "archive.ledger"),
    "another record's entry": (lambda: with_files(ledger_jsonl=ledger(("note", {}), record="x")), "archive.ledger"),
    "an id that is none": (lambda: with_files(ledger_jsonl=ledger(("note", {}), id="2")), "archive.ledger"),
    "an id twice": (
        lambda: with_files(ledger_jsonl=ledger(("note", {}), id="00000000-0000-4000-8000-000000000001")),
        "archive.ledger",
    ),
    "a time without offset": (lambda: with_files(ledger_jsonl=ledger(("note", {}), at="2026-04-01")), "archive.ledger"),
    "an entry corrected before it is": (
        lambda: with_files(ledger_jsonl=ledger(("undo", {}), supersedes="00000000-0000-4000-8000-000000000009")),
        "archive.ledger",
    ),
    "a body that puts nowhere": (
        lambda: with_files(ledger_jsonl=ledger(("put", {"at": "__class__", "value": {}}))),
        "ledger.bad-place",
    ),
    "another product": (
        lambda: with_files(ledger_jsonl=ledger(("put", {"at": "product", "value": {"id": "x"}}))),
        "ledger.other-product",
    ),
}  # fmt: skip


def read(data: bytes) -> Any:
    """Read an archive strictly."""
    return read_archive(io.BytesIO(data), len(data), "a.zip")


def rescued(data: bytes) -> tuple[Archive | None, tuple[Finding, ...]]:
    """Recover an archive: what was taken, if anything, and what was told."""
    try:
        found = recover_archive(io.BytesIO(data), len(data), "a.zip")
    except ArchiveInvalid as refused:
        return None, refused.findings
    return found, found.repairs


def test_the_archive_that_the_others_are_made_of_is_good() -> None:
    found = read(archive())
    assert (found.record, len(found.lines), found.tree["photos"]) == ("lamp", 2, {"p-1": {"file": SHA256}})
    assert found.photo(SHA256) == PHOTO


@pytest.mark.parametrize("wrong", WRONG)
def test_a_hostile_archive_is_refused(wrong: str) -> None:
    make, code = WRONG[wrong]
    with pytest.raises(ArchiveInvalid) as caught:
        read(make())
    assert code in {finding.code for finding in caught.value.findings}
    for finding in caught.value.findings:
        assert finding.level == "error"
        assert finding.remedy
        assert finding.at
        assert len(str(finding)) < 500
        assert all(char.isprintable() for char in str(finding))


@pytest.mark.parametrize("wrong", WRONG)
def test_recovery_takes_only_what_is_safe(wrong: str) -> None:
    found, told = rescued(WRONG[wrong][0]())
    assert told, "what was wrong is told"
    if found is None:
        return
    assert found.record == "lamp"
    assert [line.seq for line in found.lines] == list(range(1, len(found.lines) + 1))
    for photo in found.photos:
        assert photo.sha256 == SHA256
        assert found.photo(photo.sha256) == PHOTO


def test_all_that_is_wrong_is_told_at_once() -> None:
    files = raw_files()
    odd = [RawFile("../x", EVIL), RawFile("/y", EVIL), RawFile("record.yaml", EVIL), replace(files[-1], crc=1)]
    with pytest.raises(ArchiveInvalid) as caught:
        read(RawZip([*files[:-1], *odd]).to_bytes())
    told = [finding.code for finding in caught.value.findings]
    assert told == ["archive.outside", "archive.outside", "archive.unlisted", "archive.checksum"]
    assert '"../x"' in str(caught.value)


def test_a_photo_that_changes_while_it_is_read_is_not_taken() -> None:
    stream = io.BytesIO(archive())
    found = read_archive(stream, len(stream.getvalue()), "a.zip")
    place = stream.getvalue().index(PHOTO)
    stream.seek(place)
    stream.write(b"\0")
    with pytest.raises(Exception, match="changed while it was read"):
        found.photo(SHA256)


def test_what_can_be_saved_of_a_cut_archive_is_saved() -> None:
    whole = archive()
    found, _ = rescued(whole[: whole.index(PHOTO) + 3])
    assert found is not None
    assert len(found.lines) == 2
    assert found.photos == ()
    assert found.absent == (SHA256,)
    codes = [finding.code for finding in found.repairs]
    assert {"archive.not-zip", "archive.missing"} <= set(codes)
    assert all(finding.level == "warning" for finding in found.repairs)


def test_a_damaged_line_of_the_ledger_ends_it_and_the_text_of_the_record_restores_the_rest() -> None:
    files = good_files()
    whole = files["ledger.jsonl"]
    damaged = whole.replace(b'"kind": "put",', b'"kind": "put" ')
    raw = raw_files(files)
    raw[1] = RawFile("ledger.jsonl", damaged)
    data = RawZip(raw).to_bytes()
    found = recover_archive(io.BytesIO(data), len(data), "a.zip")
    assert len(found.lines) == 1
    assert found.restored == json.loads(files["record.json"])
    assert any("line 2" in finding.at for finding in found.repairs)


def test_a_good_archive_is_recovered_without_a_repair() -> None:
    data = archive()
    found = recover_archive(io.BytesIO(data), len(data), "a.zip")
    assert (found.repairs, found.restored) == ((), None)
    assert len(found.lines) == 2
    assert found.photo(SHA256) == PHOTO


def test_an_import_of_a_hostile_archive_leaves_the_workspace_as_it_was(tmp_path: Path) -> None:
    from datetime import UTC, datetime
    from uuid import uuid4

    from unfasten.service.transfer import import_file
    from unfasten.service.workspace import open_workspace

    now = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
    path = tmp_path / "evil.zip"
    path.write_bytes(extra("../evil.sh"))
    with open_workspace(tmp_path / "ws", now) as workspace:
        with pytest.raises(ArchiveInvalid):
            import_file(workspace, path, now, uuid4())
        assert workspace.store.records() == ()
        assert workspace.store.photos.all() == ()
    assert not (tmp_path / "ws" / "photos").exists()
    assert sorted(one.name for one in tmp_path.iterdir()) == ["evil.zip", "ws"]
