"""Writing the bench mat."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from unfasten import __version__
from unfasten.evidence.errors import DataError
from unfasten.photo.mat import Mat, mat_of
from unfasten.photo.matpdf import mat_pdf


def write_mat(size: str, out: Path, on: date) -> Mat:
    """Write the mat of a size of paper as a PDF at 1:1; `CallError` for an unknown size, `DataError` if it cannot."""
    mat = mat_of(size)
    data = mat_pdf(mat, on, f"Unfasten {__version__}")
    try:
        out.write_bytes(data)
    except OSError as error:
        why = (error.strerror or "it cannot be written").lower()
        raise DataError("mat.cannot-write", str(out), why, "name another file with -o") from error
    return mat
