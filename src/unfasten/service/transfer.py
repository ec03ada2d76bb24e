"""Records into the workspace and out of it: as a YAML or JSON file, or as an archive with ledger and photos.

How the web room uses it: `import_file` and `export_file` with the open workspace; both say what they did, and raise
`RecordInvalid`, `ArchiveInvalid` or another `DataError` with everything that is wrong, having changed nothing.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, astuple, dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, Final
from uuid import UUID

from unfasten import __version__
from unfasten.evidence.errors import CallError, DataError
from unfasten.evidence.filebytes import open_regular
from unfasten.record.finding import Finding

if TYPE_CHECKING:
    from unfasten.archive.contents import Archive
    from unfasten.service.workspace import Workspace
    from unfasten.store.entry import Entry

ENDING: Final = ".zip"


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did: the record, entries and photos that are new, and what was noticed or repaired."""

    record: str
    entries: int
    photos: int
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Exported:
    """What an export wrote; `absent` are photos that the record names and the workspace does not hold."""

    path: Path
    is_archive: bool
    entries: int
    photos: int
    absent: tuple[str, ...] = ()


def is_archive(path: Path) -> bool:
    """Tell whether a file is a zip, by its name or its first bytes; `CallError` where there is no file."""
    with open_regular(path) as stream:
        return path.suffix.lower() == ENDING or stream.read(4) in (b"PK\3\4", b"PK\5\6")


def import_file(
    workspace: Workspace, path: Path, at: datetime, entry: UUID, by: str | None = None, *, recover: bool = False
) -> Imported:
    """Take a record file or an archive into the workspace; `entry` names the entry that a record file makes.

    An archive brings its own entries. Into a record that the workspace holds it may bring only what follows: if both
    have entries that the other lacks, that is a `DataError` (`exchange.diverged`). With `recover` a damaged archive is
    taken as far as it goes, and `findings` tells every repair.
    """
    if is_archive(path):
        return _import_archive(workspace, path, at, entry, by, recover=recover)
    if recover:
        raise CallError("transfer.no-archive", path.name, "only archives are recovered", "leave --recover out")
    from unfasten.service.load import RecordInvalid, read_findings

    record, findings = read_findings(path)
    if record is None:
        raise RecordInvalid(path.name, findings)
    tree = record.model_dump(mode="json", by_alias=True, exclude_unset=True)
    added = workspace.store.put_record(tree, entry=entry, at=at, by=by).id == str(entry)
    return Imported(record.product.id, int(added), 0, findings)


def export_file(
    workspace: Workspace, record: str, path: Path, at: datetime, *, archive: bool = False, overwrite: bool = False
) -> Exported:
    """Write a record's present state as YAML, or with its ledger and photos as an archive (`archive`, or `….zip`)."""
    if path.exists() and not overwrite:
        raise CallError("transfer.exists", str(path), "there is a file of this name", "name another, or --overwrite it")
    if archive or path.suffix.lower() == ENDING:
        return _export_archive(workspace, record, path, at)
    from unfasten.record.read import read_tree
    from unfasten.record.write import to_yaml, tree_to_yaml

    state = workspace.store.state(record)
    whole = read_tree(state.tree).record
    text = tree_to_yaml(state.tree) if whole is None else to_yaml(whole)
    with _whole_file(path) as stream:
        stream.write(text.encode("utf-8"))
    return Exported(path, False, state.seq, 0)


def _export_archive(workspace: Workspace, record: str, path: Path, at: datetime) -> Exported:
    from unfasten.archive.contents import photos_named
    from unfasten.archive.layout import Line, PhotoLine
    from unfasten.archive.write import write_archive

    lines = [Line(*astuple(entry)) for entry in workspace.store.entries(record)]
    known = {photo.sha256: photo for photo in workspace.store.photos.all()}
    photos = [PhotoLine(**asdict(known[name])) for name in photos_named(lines) if name in known]
    photos = [photo for photo in photos if photo.sha256 in workspace.photos]
    with _whole_file(path) as stream:
        program, read = f"unfasten {__version__}", workspace.photos.get
        manifest = write_archive(stream, lines, photos, read, made=at.isoformat(), program=program)
    return Exported(path, True, len(lines), len(photos), manifest.absent)


def _import_archive(
    workspace: Workspace, path: Path, at: datetime, entry: UUID, by: str | None, *, recover: bool
) -> Imported:
    from unfasten.archive.read import read_archive
    from unfasten.archive.recover import recover_archive

    with open_regular(path) as stream:
        size = os.fstat(stream.fileno()).st_size
        archive = (recover_archive if recover else read_archive)(stream, size, path.name)
        new = _new_entries(workspace, archive)
        photos = _take_photos(workspace, archive)
        if new:
            workspace.store.append(*new, tell=False, after=len(archive.lines) - len(new))
    added, findings = len(new), archive.repairs
    if archive.restored is not None and _entries_held(workspace, archive.record) == len(archive.lines):
        restored = dict(archive.restored)
        added += workspace.store.put_record(restored, entry=entry, at=at, by=by).id == str(entry)
    elif archive.restored is not None:
        message = "the workspace holds later entries of this record; its text in the archive is not taken"
        findings += (Finding("warning", "transfer.later-held", archive.record, message, "compare the two"),)
    return Imported(archive.record, added, photos, findings)


def _entries_held(workspace: Workspace, record: str) -> int:
    held = record in {head.id for head in workspace.store.records()}
    return workspace.store.state(record).seq if held else 0


def _new_entries(workspace: Workspace, archive: Archive) -> list[Any]:
    """Entries of the archive that the workspace lacks, as drafts; those it has must be the same."""
    from unfasten.store.entry import Draft

    held: tuple[Entry, ...] = ()
    if archive.record in {head.id for head in workspace.store.records()}:
        held = workspace.store.entries(archive.record)
    common = min(len(held), len(archive.lines))
    for mine, its in zip(held[:common], archive.lines[:common], strict=True):
        if astuple(mine) != astuple(its):
            message = f"from entry {mine.seq} on, the workspace and the archive hold different entries"
            remedy = "import it into another workspace (--workspace DIR) and compare the two"
            raise DataError("transfer.diverged", archive.record, message, remedy)
    return [
        Draft(line.id, line.record, line.at, line.by, line.kind, line.body, line.supersedes)
        for line in archive.lines[common:]
    ]


def _take_photos(workspace: Workspace, archive: Archive) -> int:
    from unfasten.store.photo import PhotoFile

    known = {photo.sha256 for photo in workspace.store.photos.all()}
    new = [photo for photo in archive.photos if photo.sha256 not in known or photo.sha256 not in workspace.photos]
    for photo in new:
        workspace.add_photo(archive.photo(photo.sha256), PhotoFile(**asdict(photo)))
    return len(new)


@contextmanager
def _whole_file(path: Path) -> Iterator[IO[bytes]]:
    """A file that takes its name only when it is written and flushed; on any error there is nothing."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise _unwritable(path, error) from error
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        part.chmod(0o644)
        part.replace(path)
    except OSError as error:
        raise _unwritable(path, error) from error
    finally:
        part.unlink(missing_ok=True)


def _unwritable(path: Path, error: OSError) -> CallError:
    why = (error.strerror or str(error)).lower()
    return CallError(
        "transfer.cannot-write", str(path), why, "name a file in a folder that can be written and has room"
    )
