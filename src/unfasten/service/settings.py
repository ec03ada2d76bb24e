"""Where things lie on this machine: the shipped examples, the default workspace, and the database of a lab."""

from __future__ import annotations

import os
from importlib.resources import files
from pathlib import Path
from typing import Final

from unfasten.evidence.errors import DataError

#: folder of the workspace, below the current folder, where none is named
WORKSPACE: Final = Path("workspace")
#: the example record to look at first
EXAMPLE: Final = "tarn-11.yaml"
#: environment variable with the URL of a lab's database
DATABASE_VARIABLE: Final = "UNFASTEN_DB"


def examples_dir() -> Path:
    """Folder of the shipped example records: inside an installed package, beside `src` in a checkout."""
    package = Path(str(files("unfasten")))
    for folder in (package / "examples", package.parent.parent / "examples"):
        if any(folder.glob("*.yaml")):
            return folder
    raise DataError(
        "install.no-examples", str(package), "the example records are missing", "install unfasten again from its wheel"
    )


def example_records() -> tuple[Path, ...]:
    """Files of the shipped example records, by name."""
    return tuple(sorted(examples_dir().glob("*.yaml")))


def database_url() -> str | None:
    """URL of the lab's database, as `UNFASTEN_DB` gives it; None where none is named."""
    return os.environ.get(DATABASE_VARIABLE) or None
