"""The manifest: what the archive is, and every file in it with its size and SHA-256."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from unfasten.archive.layout import FORMAT, MANIFEST, PHOTO, error, is_known
from unfasten.archive.strictjson import NotStrict, strict_json
from unfasten.evidence.place import shown
from unfasten.record.finding import Finding
from unfasten.record.types import ID_PATTERN

_KEYS: Final = {
    "format": str,
    "record": str,
    "program": str,
    "made": str,
    "entries": int,
    "absent": list,
    "files": list,
}
_FILE_KEYS: Final = {"name": str, "size": int, "sha256": str}
_SHA256: Final = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a manifest says. `files`: name -> (size [byte], SHA-256); `absent`: photos that the workspace lacked."""

    record: str
    program: str
    made: str
    entries: int
    absent: tuple[str, ...]
    files: Mapping[str, tuple[int, str]]

    def to_json(self) -> bytes:
        """Write the manifest."""
        files = [{"name": name, "size": size, "sha256": sha256} for name, (size, sha256) in self.files.items()]
        tree = {
            "format": FORMAT,
            "record": self.record,
            "program": self.program,
            "made": self.made,
            "entries": self.entries,
            "absent": list(self.absent),
            "files": files,
        }
        return json.dumps(tree, indent=1, ensure_ascii=False).encode()


def read_manifest(data: bytes) -> tuple[Manifest | None, list[Finding]]:
    """Read a manifest: None with all that is wrong with it."""
    try:
        tree = strict_json(data)
    except NotStrict as reason:
        return None, [error("archive.manifest", MANIFEST, str(reason))]
    findings = list(_findings(tree))
    if findings:
        return None, findings
    files = {one["name"]: (one["size"], one["sha256"]) for one in tree["files"]}
    record, program, made, entries = (tree[key] for key in ("record", "program", "made", "entries"))
    return Manifest(record, program, made, entries, tuple(tree["absent"]), files), []


def _findings(tree: Any) -> Iterator[Finding]:
    if not isinstance(tree, dict) or not isinstance(tree.get("format"), str):
        yield error("archive.manifest", MANIFEST, "it does not say its format")
        return
    if tree["format"] != FORMAT:
        message = f"the format {shown(tree['format'])} is not the one that is read here, {FORMAT}"
        yield error("archive.version", MANIFEST, message, "use the release that wrote it, or a newer one")
        return
    yield from _shape(tree, _KEYS | {"format": str}, MANIFEST)
    if isinstance(tree.get("record"), str) and not re.fullmatch(ID_PATTERN, tree["record"]):
        yield error("archive.manifest", f"{MANIFEST}: record", f"{shown(tree['record'])} is no id of a record")
    names: set[str] = set()
    for number, node in enumerate(tree["files"] if isinstance(tree.get("files"), list) else ()):
        at = f"{MANIFEST}: files[{number}]"
        odd = list(_shape(node, _FILE_KEYS, at))
        yield from odd
        if odd:
            continue
        name = node["name"]
        if name in names or name == MANIFEST or not is_known(name):
            yield error("archive.manifest", at, f"{shown(name)} cannot be listed here")
        if node["size"] < 0 or not _SHA256.fullmatch(node["sha256"]):
            yield error("archive.manifest", at, "size or SHA-256 is none")
        names.add(name)
    absent = tree["absent"] if isinstance(tree.get("absent"), list) else []
    if not all(isinstance(one, str) and _SHA256.fullmatch(one) for one in absent):
        yield error("archive.manifest", f"{MANIFEST}: absent", "it lists what is no SHA-256")


def _shape(node: Any, keys: Mapping[str, type], at: str) -> Iterator[Finding]:
    if not isinstance(node, dict):
        yield error("archive.manifest", at, f"{shown(node)}, where keys are wanted")
        return
    for key in sorted(set(keys) - set(node)):
        yield error("archive.manifest", at, f"no {shown(key)}")
    for key in sorted(set(node) - set(keys)):
        yield error("archive.manifest", at, f"a key {shown(key)} that is not known")
    for key in sorted(set(keys) & set(node)):
        if type(node[key]) is not keys[key]:
            yield error("archive.manifest", f"{at}: {key}", f"{shown(node[key])} does not fit here")


def photo_of(name: str) -> str | None:
    """Give the SHA-256 that the name of a photo file gives, None for other files."""
    found = PHOTO.fullmatch(name)
    return None if found is None else found[1]
