"""Writing pages into a folder: all or none."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from errno import EISDIR
from pathlib import Path

from unfasten.evidence.errors import CallError


def write_pages(out_dir: Path, files: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write all files under temporary names, then rename them; on failure nothing of ours is left behind.

    Raises `CallError` where the folder cannot be written to.
    """
    temporary: dict[Path, Path] = {}
    try:
        out_dir.mkdir(parents=True, exist_ok=True)
        for taken in (out_dir / name for name in files if (out_dir / name).is_dir()):
            raise IsADirectoryError(EISDIR, f"{taken.name} is a folder")
        for name, data in files.items():
            handle, path = tempfile.mkstemp(prefix=f".{name[:40]}.", suffix=".part", dir=out_dir)
            temporary[out_dir / name] = Path(path)
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
        for final, part in temporary.items():
            part.chmod(0o644)
            part.replace(final)
    except OSError as error:
        for part in temporary.values():
            part.unlink(missing_ok=True)
        message = f"cannot write there: {error.strerror or error}"
        raise CallError("report.cannot-write", str(out_dir), message, "name a folder that you may write to") from error
    return tuple(temporary)
