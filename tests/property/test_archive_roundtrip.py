"""Export, then import into an empty workspace: the same entries, the same record, the same bytes of photos."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from uuid import UUID

from hypothesis import given, settings
from hypothesis import strategies as st

from unfasten.service.transfer import export_file, import_file
from unfasten.service.workspace import Workspace
from unfasten.store.blobs import Blobs
from unfasten.store.entry import draft_of
from unfasten.store.memory import MemoryStore
from unfasten.store.photo import PhotoFile

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
OTHER = UUID("00000000-0000-4000-8000-00000000ffff")
PRODUCT = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=8,
)
objects = st.dictionaries(texts, values, max_size=3)
places = st.sampled_from(["parts.bulb", "parts.arm", "joints.thread", "tools.pick", "setup", "supply", "photos.p-1"])
wholes = st.fixed_dictionaries({"product": st.just(PRODUCT)}, optional={"parts": st.dictionaries(texts, objects)})
times = st.datetimes(min_value=datetime(2000, 1, 1), max_value=datetime(2099, 1, 1)).map(
    lambda at: at.replace(tzinfo=timezone(timedelta(hours=at.hour - 12)))
)
bodies = st.one_of(
    st.tuples(st.just("put"), st.fixed_dictionaries({"at": places, "value": objects})),
    st.tuples(st.just("put"), st.fixed_dictionaries({"at": places, "value": objects, "base": st.none() | texts})),
    st.tuples(st.just("drop"), st.fixed_dictionaries({"at": places})),
    st.tuples(st.just("log"), st.fixed_dictionaries({"entry": objects})),
    st.tuples(st.just("note"), objects),
    st.tuples(st.just("put-record"), wholes),
)
entries = st.tuples(bodies, times, st.none() | texts.filter(lambda text: "\0" not in text), st.integers(0, 9))
photos = st.binary(min_size=1, max_size=300)


def workspace(folder: str, name: str) -> Workspace:
    """A workspace whose ledger is in memory."""
    return Workspace(Path(folder), MemoryStore(), Blobs(Path(folder) / name))


def fill(home: Workspace, made: list[Any], files: list[bytes]) -> None:
    """Put a record, photos and entries; every third entry corrects or undoes an earlier one."""
    home.store.put_record({"product": PRODUCT}, entry=UUID(int=1 << 100), at=NOW)
    for number, data in enumerate(files):
        sha256 = home.photos.put(data)
        home.store.photos.add(PhotoFile(sha256, "image/jpeg", 4, None, None, None, len(data), f"{number}.jpg"))
        body = {"at": f"photos.p-{number + 1}", "value": {"file": sha256}}
        home.store.append(draft_of("lamp", "put", body, entry=UUID(int=(2 << 100) + number), at=NOW))
    log: list[UUID] = []
    for number, ((kind, body), at, by, back) in enumerate(made):
        entry, target = UUID(int=(3 << 100) + number), log[back % len(log)] if log else None
        if number % 3 == 2 and target is not None:
            kind, body = ("undo", {}) if back % 2 else (kind, body)
            target = target if kind in ("put", "drop", "log", "undo") else None
            home.store.append(draft_of("lamp", kind, body, entry=entry, at=at, by=by, supersedes=target))
        else:
            home.store.append(draft_of("lamp", kind, body, entry=entry, at=at, by=by))
        if kind in ("put", "drop", "log"):
            log.append(entry)


@given(st.lists(entries, max_size=8), st.lists(photos, max_size=3, unique=True))
@settings(max_examples=60, deadline=None)
def test_an_archive_brings_everything_back(made: list[Any], files: list[bytes]) -> None:
    with TemporaryDirectory() as folder:
        home, away = workspace(folder, "home"), workspace(folder, "away")
        fill(home, made, files)
        path = Path(folder) / "lamp.zip"
        done = export_file(home, "lamp", path, NOW)
        first = path.read_bytes()
        assert done.absent == ()
        taken = import_file(away, path, NOW, OTHER)
        assert away.store.entries("lamp") == home.store.entries("lamp")
        assert away.store.state("lamp") == home.store.state("lamp")
        assert away.store.records() == home.store.records()
        named = {one.sha256: one for one in home.store.photos.all()}
        assert {one.sha256: one for one in away.store.photos.all()} == named
        for sha256 in named:
            assert away.photos.get(sha256) == home.photos.get(sha256)
        assert (taken.entries, taken.photos) == (len(home.store.entries("lamp")), len(named))
        export_file(away, "lamp", path, NOW, overwrite=True)
        assert path.read_bytes() == first
        again = import_file(home, path, NOW, OTHER)
        assert (again.entries, again.photos) == (0, 0)
