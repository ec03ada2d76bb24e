"""Opening a photograph: what the camera wrote, which way is up, and small copies that give nothing away."""

from __future__ import annotations

import io
import subprocess
import sys
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
import skimage.data
from PIL import Image, ImageOps
from tests.support.photo_files import exif, heic, jpeg, png, saved, scene

from unfasten.photo.exif import read_exposure
from unfasten.photo.facts import Exposure, PhotoError, PhotoFacts
from unfasten.photo.open import open_photo, photo_facts
from unfasten.photo.thumbnails import thumbnail
from unfasten.service.photofile import take_photo


def test_what_the_camera_wrote() -> None:
    written = exif(taken="2026:03:02 10:11:12", offset="-03:30", focal=5.5, focal_35=26, size=(320, 240), position="N")
    facts = photo_facts(saved(scene(), "JPEG", exif=written), "p-001.jpg")
    zone = timezone(-timedelta(hours=3, minutes=30))
    assert facts.exposure == Exposure(
        taken=datetime(2026, 3, 2, 10, 11, 12, tzinfo=zone),
        make="Fellwright",
        model="Fellwright Lens 1",
        focal_length=5.5,
        focal_35=26,
        size=(320, 240),
        has_position=True,
    )
    assert facts.camera == "Fellwright Lens 1"
    assert facts.as_json()["taken"] == "2026-03-02T10:11:12-03:30"
    assert facts.remarks == ()


def test_what_the_camera_did_not_write_is_unknown() -> None:
    facts = photo_facts(jpeg(), "p.jpg")
    assert facts.exposure == Exposure()
    told = facts.as_json()
    assert [told[key] for key in ("taken", "camera", "focal_length_mm", "focal_length_35mm")] == [None] * 4
    assert photo_facts(saved(scene(), "JPEG", exif=exif(focal=0.0))).exposure.focal_length is None


@pytest.mark.parametrize(
    ("taken", "offset", "sound", "text"),
    [
        ("2026:03:02 10:11:12", None, True, "2026-03-02T10:11:12"),
        ("2026:03:02 10:11:12", "+05:45", True, "2026-03-02T10:11:12+05:45"),
        ("2026:03:02 10:11:12", "north", True, "2026-03-02T10:11:12"),
        ("    :  :     :  :  ", None, True, None),
        ("0000:00:00 00:00:00", None, True, None),
        ("2026:02:30 10:11:12", None, False, None),
        ("yesterday", None, False, None),
    ],
)
def test_moments_as_cameras_write_them(taken: str, offset: str | None, sound: bool, text: str | None) -> None:
    tags = {"taken": taken} | ({} if offset is None else {"offset": offset})
    exposure, was_sound = read_exposure(exif(**tags).tobytes())
    assert was_sound is sound
    assert (exposure.taken.isoformat() if exposure.taken else None) == text


def test_both_byte_orders_are_read() -> None:
    little = exif(focal_35=26).tobytes()
    assert little[6:8] in (b"II", b"MM")
    written = Image.Exif()
    written.endian = "<" if little[6:8] == b"MM" else ">"
    written[0x0110] = "Lens 1"
    written.get_ifd(0x8769)[0xA405] = 26
    other = written.tobytes()
    assert other[6:8] != little[6:8]
    assert read_exposure(other)[0].focal_35 == read_exposure(little)[0].focal_35 == 26


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("form", ["JPEG", "PNG"])
def test_the_picture_is_upright_whichever_way_the_camera_was_held(orientation: int, form: str) -> None:
    data = saved(scene(), form, exif=exif(orientation=orientation))
    wanted = ImageOps.exif_transpose(Image.open(io.BytesIO(data))).convert("RGB")
    photo = open_photo(data)
    assert (photo.width, photo.height) == wanted.size
    assert np.array_equal(photo.pixels, np.asarray(wanted)[:, :, ::-1])
    small = Image.open(io.BytesIO(thumbnail(data, 80)))
    near = wanted.resize(small.size, Image.Resampling.LANCZOS)
    assert max(small.size) == 80
    assert np.corrcoef(np.asarray(small).ravel(), np.asarray(near).ravel())[0, 1] > 0.9


def test_an_orientation_that_does_not_exist_is_no_orientation() -> None:
    facts = photo_facts(saved(scene(), "JPEG", exif=exif(orientation=9)), "p.jpg")
    assert facts.exposure.orientation == 1
    assert [remark.code for remark in facts.remarks] == ["photo.exif-unreadable"]


def test_a_heic_is_turned_once() -> None:
    import pillow_heif

    out = io.BytesIO()
    pillow_heif.from_pillow(scene()).save(out, exif=exif(orientation=6).tobytes())
    photo = open_photo(out.getvalue(), "p.heic")
    assert photo.facts.exposure.orientation == 1
    assert photo.pixels.shape == (photo.height, photo.width, 3)
    assert photo.facts.camera == "Fellwright Lens 1"
    assert open_photo(heic()).pixels.shape == (240, 320, 3)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_without_the_vision_library_the_pixels_are_the_same(orientation: int, monkeypatch: pytest.MonkeyPatch) -> None:
    data = saved(scene(), "JPEG", exif=exif(orientation=orientation))
    quick = open_photo(data).pixels
    monkeypatch.setitem(sys.modules, "cv2", None)
    assert np.array_equal(open_photo(data).pixels, quick)


def test_pictures_that_others_made_agree_with_their_own_reader() -> None:
    """The pictures in the wheel of scikit-image: none is refused, every pixel is as Pillow alone gives it."""
    folder = Path(skimage.data.__file__).parent
    paths = [path for path in sorted(folder.iterdir()) if path.suffix in (".png", ".jpg")]
    assert len(paths) > 5
    for path in paths:
        with Image.open(path) as image:
            if image.mode in ("RGB", "L"):
                assert np.array_equal(open_photo(path).pixels[:, :, ::-1], np.asarray(image.convert("RGB"))), path.name
        assert max(Image.open(io.BytesIO(take_photo(path.read_bytes(), path.name).small)).size) <= 480


def test_small_copies_give_nothing_away() -> None:
    data = saved(scene(), "JPEG", exif=exif(position="N", taken="2026:03:02 10:11:12"))
    assert b"Fellwright" in data
    small = thumbnail(data, 96)
    assert b"Fellwright" not in small
    assert b"Exif" not in small
    assert Image.open(io.BytesIO(small)).size == (96, 72)


def test_small_copies_are_never_larger_than_the_picture_and_never_empty() -> None:
    assert Image.open(io.BytesIO(thumbnail(jpeg(), 4096))).size == (320, 240)
    sliver = saved(scene(2000, 2), "PNG")
    assert Image.open(io.BytesIO(thumbnail(sliver, 16))).size == (16, 1)
    for size in (0, 15, 5000):
        with pytest.raises(ValueError, match="ask for 16 to 4096 px"):
            thumbnail(jpeg(), size)


def test_16_bits_of_grey_keep_their_shade() -> None:
    data = saved(Image.fromarray(np.full((24, 32), 40_000, np.uint16)), "PNG")
    assert set(open_photo(data).pixels.ravel()) == {40_000 >> 8}
    small = np.asarray(Image.open(io.BytesIO(thumbnail(data, 32))))
    assert abs(int(small.mean()) - (40_000 >> 8)) <= 1


def test_what_is_transparent_becomes_white() -> None:
    clear = Image.new("RGBA", (32, 24), (9, 9, 9, 0))
    assert open_photo(saved(clear, "PNG")).pixels.min() == 255


def test_pixels_are_decoded_once_and_cannot_be_changed(tmp_path: Path) -> None:
    path = tmp_path / "p.png"
    path.write_bytes(png())
    photo = open_photo(path)
    assert photo.facts.name == "p.png"
    assert photo.pixels is photo.pixels
    assert np.array_equal(photo.pixels[:, :, ::-1], np.asarray(scene()))
    with pytest.raises(ValueError, match="read-only"):
        photo.pixels[0, 0, 0] = 1


def test_the_make_is_not_said_twice() -> None:
    for make, model, said in (
        ("Fellwright", "Lens 1", "Fellwright Lens 1"),
        ("FELLWRIGHT", "Fellwright Lens 1", "Fellwright Lens 1"),
        ("", "Lens 1", "Lens 1"),
        ("", "", ""),
    ):
        assert PhotoFacts("", "image/jpeg", 1, "", 1, 1, Exposure(make=make, model=model)).camera == said


def test_facts_need_neither_arrays_nor_a_vision_library(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom unfasten.photo.open import photo_facts\nfrom unfasten.photo.thumbnails import thumbnail\n"
        "data = open(sys.argv[1], 'rb').read()\nphoto_facts(data); thumbnail(data, 64)\n"
        "print(sorted({'numpy', 'cv2', 'scipy', 'pillow_heif'} & set(sys.modules)))\n"
    )
    path = tmp_path / "p.jpg"
    path.write_bytes(jpeg())
    done = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_without_its_reader_a_heic_names_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    data = heic()
    monkeypatch.setitem(sys.modules, "pillow_heif.as_plugin", None)
    with pytest.raises(PhotoError) as caught:
        open_photo(data, "p.heic")
    assert (caught.value.code, caught.value.where) == ("photo.heic-needs-extra", "p.heic")
    assert "export the picture as JPEG" in caught.value.remedy
