"""Uploads that are no photo, too large, or made to do harm; and photos are only ever given back as pictures."""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Callable, Iterator
from typing import Any
from uuid import uuid4

import pytest
from PIL import Image
from tests.support.photo_files import chunk, exif, heic, jpeg, png, png_of, saved, scene, with_segment, with_size
from tests.support.web import HTML, RECORD, Lab, is_error, photo, running, settings

ROOM = f"/api/records/{RECORD}/photos"
PAGE = b"<!doctype html><script>alert(1)</script>"
DRAWING = b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"><script>alert(1)</script></svg>'


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """A lab that takes photos of at most two million pixels and one megabyte."""
    made = settings(tmp_path_factory.mktemp("photos"), most_bytes=1024 * 1024, most_pixels=2_000_000)
    with running(made) as running_lab:
        yield running_lab


def zipped(data: bytes) -> bytes:
    """A zip file."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("a.jpg", data)
    return out.getvalue()


def exploding() -> bytes:
    """A compressed text of a PNG, a thousand times longer than its chunk."""
    return chunk(b"zTXt", b"a\0\0" + zlib.compress(bytes(2 * 10**6)))


#: what is sent, and under which name and type
REFUSED: dict[str, tuple[Callable[[], bytes], str, str]] = {
    "a page": (lambda: PAGE, "a.jpg", "image/jpeg"),
    "a page that says so": (lambda: PAGE, "a.html", "text/html"),
    "a drawing": (lambda: DRAWING, "a.svg", "image/svg+xml"),
    "a drawing called a photo": (lambda: DRAWING, "a.png", "image/png"),
    "a script": (lambda: b"#!/bin/sh\nrm -rf /\n", "a.sh", "image/jpeg"),
    "nothing": (lambda: b"", "a.jpg", "image/jpeg"),
    "an animated picture": (lambda: saved(scene(), "GIF"), "a.gif", "image/gif"),
    "a zip": (lambda: zipped(jpeg()), "a.jpg", "image/jpeg"),
    "a zip bomb": (lambda: zipped(bytes(50_000_000)), "a.jpg", "image/jpeg"),
    "too many pixels": (lambda: jpeg(2000, 1200, 20), "a.jpg", "image/jpeg"),
    "a header of too many pixels": (lambda: with_size(jpeg(), 65_000, 65_000), "a.jpg", "image/jpeg"),
    "a bomb of one colour": (lambda: png_of(60_000, 60_000, bytes(10**7)), "a.png", "image/png"),
    "a text that explodes": (lambda: png_of(9, 9, bytes(252), *[exploding()] * 50), "a.png", "image/png"),
    "a photo that also is a page": (lambda: with_segment(jpeg(90, 60), 0xFE, PAGE), "a.jpg", "image/jpeg"),
    "half a photo": (lambda: jpeg()[:3000], "a.jpg", "image/jpeg"),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED)
def test_what_is_no_photo_is_refused_and_nothing_is_kept(lab: Lab, what: str) -> None:
    make, name, kind = REFUSED[what]
    before = files(lab), lab.ask("GET", ROOM, "rea").json()
    answer = lab.ask("POST", ROOM, "cora", files=photo(name, make(), kind))
    assert answer.status_code == 422, answer.text
    assert is_error(answer.json())
    assert answer.json()["code"].startswith("photo.")
    assert str(lab.app.state.settings.folder) not in answer.text
    assert (files(lab), lab.ask("GET", ROOM, "rea").json()) == before


def files(lab: Lab) -> set[str]:
    """Names of the files of photos."""
    return {path.name for path in (lab.app.state.settings.folder / "photos").rglob("*") if path.is_file()}


def test_more_bytes_than_are_allowed(lab: Lab) -> None:
    answer = lab.ask("POST", ROOM, "cora", files=photo(data=jpeg() + bytes(1024 * 1024)))
    assert (answer.status_code, answer.json()["code"]) == (413, "web.too-large")


@pytest.mark.parametrize(
    ("make", "name", "claimed", "given"),
    [
        (jpeg, "a.jpg", "image/jpeg", "image/jpeg"),
        (png, "a.png", "image/png", "image/png"),
        (jpeg, "a.html", "text/html", "image/jpeg"),
        (png, "a.svg", "image/svg+xml", "image/png"),
        (heic, "a.heic", "image/heic", "image/jpeg"),
    ],
)
@pytest.mark.parametrize("size", ["", "?px=240", "?px=2048"])
def test_a_photo_is_given_back_as_a_picture_whatever_it_was_called(
    lab: Lab, make: Callable[[], bytes], name: str, claimed: str, given: str, size: str
) -> None:
    sha = lab.ask("POST", ROOM, "cora", files=photo(name, make(), claimed)).json()["file"]
    answer = lab.ask("GET", f"/api/photos/{sha}{size}", "rea", headers=HTML)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == ("image/jpeg" if size else given)
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert "private" in answer.headers["cache-control"]
    with Image.open(io.BytesIO(answer.content)) as picture:
        assert max(picture.size) <= int(size.removeprefix("?px=") or 10**6)


def test_a_small_copy_does_not_tell_what_the_camera_wrote(lab: Lab) -> None:
    written = exif(taken="2026:04:01 10:00:00", position="N")
    sha = lab.ask("POST", ROOM, "cora", files=photo(data=saved(scene(), "JPEG", exif=written))).json()["file"]
    small = lab.ask("GET", f"/api/photos/{sha}?px=480", "rea").content
    with Image.open(io.BytesIO(small)) as picture:
        assert len(picture.getexif()) == 0


@pytest.mark.parametrize(
    "sha",
    ["0" * 64, "0" * 63, "0" * 65, "A" * 64, "../../ledger.sqlite", "..%2f..%2fledger.sqlite", "%2e%2e%2fserver.key",
     "%00" * 64, "ledger.sqlite", f"{'0' * 64}%0a", f"{'0' * 64}/../../server.key"],
)  # fmt: skip
def test_a_name_that_is_no_photo_leads_nowhere(lab: Lab, sha: str) -> None:
    answer = lab.ask("GET", f"/api/photos/{sha}", "rea")
    assert answer.status_code in (404, 422)
    assert is_error(answer.json())


@pytest.mark.parametrize(
    "path",
    ["/static/../settings.py", "/static/%2e%2e/settings.py", "/static/..%2fsettings.py", "/static//etc/passwd",
     "/static/", "/static/..%5csettings.py", "/static/%00", "/static/bench.js%00.css", "/static/" + "a/" * 400,
     "/static/" + "a" * 5000],
)  # fmt: skip
def test_static_files_are_those_and_no_others(lab: Lab, path: str) -> None:
    answer = lab.ask("GET", path)
    assert answer.status_code == 404
    assert is_error(answer.json())
    assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    "record", ["..", "%2e%2e", "..%2f..%2fetc", "a%00b", "A", "a--b", "-", "a" * 81, "a%0a", "%ff", "é"]
)
@pytest.mark.parametrize("path", ["/api/records/{}", "/api/records/{}/ledger", "/records/{}", "/records/{}/report"])
def test_a_name_that_is_no_record_leads_nowhere(lab: Lab, record: str, path: str) -> None:
    answer = lab.ask("GET", path.format(record), "rea")
    assert answer.status_code in (303, 404, 422) if record != ".." else True
    assert "ledger.sqlite" not in answer.text


@pytest.mark.parametrize("px", ["0", "-1", "241", "100000000", "1e3", "nan", "9" * 5000])
def test_only_the_sizes_that_are_kept(lab: Lab, px: str) -> None:
    sha = lab.ask("POST", ROOM, "cora", files=photo(data=jpeg())).json()["file"]
    assert lab.ask("GET", f"/api/photos/{sha}?px={px}", "rea").status_code == 422


@pytest.mark.parametrize("ahead", ["nan", "inf", "-inf", "1e7", "x", ""])
def test_a_clock_that_is_ahead_by_no_number(lab: Lab, ahead: str) -> None:
    answer = lab.ask("POST", ROOM, "cora", files=photo(data=jpeg(99, 66)), data={"ahead": ahead})
    assert answer.status_code == 422 if ahead else answer.status_code in (201, 422)


@pytest.mark.parametrize(
    "taken", ["0001:01:01 00:00:00", "9999:12:31 23:59:59", "0000:00:00 00:00:00", "2026:02:30 10:00:00"]
)
@pytest.mark.parametrize("offset", [None, "+14:00", "-12:00", "+99:99"])
def test_a_camera_whose_clock_stands_at_the_end_of_time(lab: Lab, taken: str, offset: str | None) -> None:
    how: dict[str, Any] = {"taken": taken, **({"offset": offset} if offset else {})}
    data = saved(scene(100 + len(taken), 60), "JPEG", exif=exif(**how), comment=uuid4().bytes)
    answer = lab.ask("POST", ROOM, "cora", files=photo(data=data))
    assert answer.status_code == 201


def test_a_photo_whose_file_is_gone_is_told_as_missing(lab: Lab) -> None:
    data = jpeg(123, 77)
    sha = lab.ask("POST", ROOM, "cora", files=photo(data=data)).json()["file"]
    lab.app.state.workspace.photos.path(sha).unlink()
    for size in ("", "?px=240"):
        answer = lab.ask("GET", f"/api/photos/{sha}{size}", "rea")
        assert (answer.status_code, answer.json()["code"]) == (404, "store.unknown-photo")
        assert str(lab.app.state.settings.folder) not in answer.text


def test_a_photo_whose_file_was_changed_is_not_shown_small(lab: Lab) -> None:
    sha = lab.ask("POST", ROOM, "cora", files=photo(data=jpeg(124, 78))).json()["file"]
    lab.app.state.workspace.photos.path(sha).write_bytes(PAGE)
    answer = lab.ask("GET", f"/api/photos/{sha}?px=240", "rea")
    assert (answer.status_code, answer.json()["code"]) == (500, "store.damaged-photo")
    assert str(lab.app.state.settings.folder) not in answer.text
    whole = lab.ask("GET", f"/api/photos/{sha}", "rea")
    assert whole.headers["content-type"] in ("image/jpeg", "application/json")
