"""The mat as a PDF: exactly 1:1, read back from its pixels; every marker is legible."""

from __future__ import annotations

from datetime import date

import cv2
import numpy as np
import pypdfium2
import pytest

from unfasten.evidence.errors import CallError
from unfasten.photo.markers import find_mat
from unfasten.photo.mat import CHECK_LINE, PAPERS, Mat, mat_of
from unfasten.photo.matpdf import mat_pdf
from unfasten.photo.plane import fit_plane

DAY = date(2026, 11, 25)
PX_MM = 10.0


def picture(mat: Mat) -> np.ndarray:
    page = pypdfium2.PdfDocument(mat_pdf(mat, DAY, "Unfasten"))[0]
    return np.asarray(page.render(scale=PX_MM * 25.4 / 72).to_pil().convert("L"))


@pytest.mark.parametrize("size", PAPERS)
def test_page_has_the_size_of_the_paper(size: str) -> None:
    mat = mat_of(size)
    document = pypdfium2.PdfDocument(mat_pdf(mat, DAY, "Unfasten"))
    assert len(document) == 1
    assert [side / 72 * 25.4 for side in document[0].get_size()] == pytest.approx([mat.width, mat.height], abs=0.001)


def ticks(profile: np.ndarray) -> list[float]:
    """Middles of the dark bars along a row of pixels, by their darkness [mm]."""
    dark = 255.0 - profile
    bars = np.split(np.flatnonzero(dark > 20), np.flatnonzero(np.diff(np.flatnonzero(dark > 20)) > 5) + 1)
    return [float(np.average(bar + 0.5, weights=dark[bar])) / PX_MM for bar in bars]


@pytest.mark.parametrize("size", PAPERS)
def test_check_lines_are_100_mm_between_their_ticks(size: str) -> None:
    mat = mat_of(size)
    across, down = mat.check_lines
    image = picture(mat)
    for line, profile in (
        (across, image[round((across.y - 1.3) * PX_MM), :]),
        (down, image[:, round((down.x - 1.3) * PX_MM)]),
    ):
        first, last = ticks(profile)
        assert last - first == pytest.approx(CHECK_LINE, abs=0.005), line


@pytest.mark.parametrize("size", PAPERS)
def test_every_marker_is_found_where_the_layout_puts_it(size: str) -> None:
    mat = mat_of(size)
    seen = find_mat(np.ascontiguousarray(picture(mat)))
    assert seen.mat == mat
    assert sorted(seen.ids) == sorted(mat.markers)
    plane = fit_plane((seen.px + 0.5) / PX_MM, seen.mm)
    assert plane.px_mm[:, :2] == pytest.approx(np.eye(3)[:, :2], abs=5e-4)
    assert plane.px_mm[:2, 2] == pytest.approx([0, 0], abs=0.05)
    assert plane.rms < 0.05  # mm: the renderer puts every rectangle on whole pixels of 0.1 mm


def test_nothing_lies_on_anything_else() -> None:
    for size in PAPERS:
        mat = mat_of(size)
        boxes = [*mat.markers.values(), mat.field, *mat.cells, mat.title]
        cover = np.zeros((round(mat.height * 10), round(mat.width * 10)), np.uint8)
        for box in boxes:
            x, y = round(box.x * 10), round(box.y * 10)
            cover[y + 1 : y + round(box.height * 10) - 1, x + 1 : x + round(box.width * 10) - 1] += 1
        assert cover.max() == 1
        assert all(box.x >= 5 and box.x + box.width <= mat.width - 5 for box in boxes)


def test_sizes_share_no_marker() -> None:
    ids = [marker for size in PAPERS for marker in mat_of(size).markers]
    assert len(ids) == len(set(ids))


def test_same_day_gives_the_same_bytes() -> None:
    mat = mat_of("A4")
    assert mat_pdf(mat, DAY, "Unfasten") == mat_pdf(mat, DAY, "Unfasten")


def test_unknown_size_says_which_there_are() -> None:
    with pytest.raises(CallError, match="A4, A3, letter"):
        mat_of("A5")


def test_field_is_plain() -> None:
    mat = mat_of("A4")
    image = cv2.erode(picture(mat), np.ones((3, 3), np.uint8))
    x, y, w, h = (
        round(v * PX_MM) for v in (mat.field.x + 1, mat.field.y + 1, mat.field.width - 2, mat.field.height - 2)
    )
    assert image[y : y + h, x : x + w].min() == 255
