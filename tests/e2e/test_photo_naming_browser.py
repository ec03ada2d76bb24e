"""Naming on the photo page in a headless Chromium: what was measured, what a marking reads, how a board is used."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from support.benchpage import CHECKS, opened, typed
from support.mat_photo import fresh_mat, jpeg_of, lens_of
from support.serving import Serving

pytestmark = pytest.mark.browser
#: a screw's head end as a disc, and a board with bodies, all on the mat [mm]
SCREW = ((180.0, 80.0), 2.43)
BOARD, BODIES = (70.0, 110.0, 90.0, 60.0), ((80.0, 120.0, 14.0, 14.0), (110.0, 120.0, 11.5, 13.0))


@cache
def _photo() -> tuple[bytes, Any]:
    from unfasten.photo.rendered import INK, camera_over, photograph

    sheet = fresh_mat()
    for (x, y, width, height), shade in [(BOARD, 0.4), *((body, 0.1) for body in BODIES)]:
        across, down = (slice(int(a * sheet.scale), int((a + b) * sheet.scale)) for a, b in ((x, width), (y, height)))
        sheet.light[down, across] = shade
    sheet.disc(*SCREW, INK)
    camera = camera_over(lens_of(2400, 1800, 2400), (148.5, 105.0), 400.0, 12.0, 20.0, 5.0)
    return jpeg_of(photograph([sheet], camera, np.random.default_rng(4))), camera


@pytest.fixture
def bench(slab: Serving, tmp_path: Path) -> Serving:
    """A bench with a photo of the mat."""
    import httpx

    files = {"file": ("mat.jpg", _photo()[0], "image/jpeg")}
    address, head = f"{slab.base}/api/records/slab/photos", {"x-unfasten-token": slab.token()}
    httpx.post(address, files=files, headers=head, timeout=200).raise_for_status()
    return slab


def measuring(page: Any, kind: str, number: int = 1) -> None:
    """Open a photo of the record in the measuring view."""
    page.keyboard.press("Alt+2")
    page.click(f"#photos li:nth-child({number}) button")
    page.wait_for_selector("#viewer svg image")
    page.click("[data-shape=measure]")
    page.select_option("#measure-kind", kind)


def picked(page: Any, points: Any) -> None:
    """Click at points of the mat."""
    for x, y in _photo()[1].seen(np.array(points, float)):
        clicked(page, float(x), float(y))


def clicked(page: Any, x: float, y: float) -> None:
    """Click at a pixel of the photo."""
    page.locator("#viewer").scroll_into_view_if_needed()
    at = page.evaluate(
        """([x, y]) => { const svg = document.querySelector('#viewer svg');
        const at = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM()); return [at.x, at.y]; }""",
        [x, y],
    )
    page.mouse.move(*at)
    page.mouse.click(*at)


def corners(x: float, y: float, width: float, height: float) -> list[tuple[float, float]]:
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def steered(page: Any, x: float, y: float) -> None:
    """Move the photo by arrow keys until a pixel of it stands under the cross in the middle."""
    for _ in range(200):
        left, top, width, height = (float(one) for one in page.get_attribute("#viewer svg", "viewBox").split())
        off = (x - left - width / 2) / width, (y - top - height / 2) / height
        keys = (("ArrowRight", "ArrowLeft"), ("ArrowDown", "ArrowUp"))
        far = [abs(one) > 0.0026 for one in off]
        if not any(far):
            return
        axis = 0 if far[0] else 1
        key = keys[axis][0 if off[axis] > 0 else 1]
        page.keyboard.press(key if abs(off[axis]) > 0.06 else f"Shift+{key}")
    raise AssertionError("the photo does not move to where the keys should bring it")


def tabbed(page: Any, wanted: str) -> None:
    """Press Tab until a control has the focus."""
    for _ in range(80):
        if page.evaluate("id => document.activeElement.id === id", wanted):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab does not come to {wanted}")


def test_a_thread_is_named_by_keys_alone_and_stands_on_the_joint_with_its_evidence(
    browser: Any, bench: Serving
) -> None:
    page = opened(browser, bench, width=1024, height=768)
    page.emulate_media(color_scheme="dark")
    typed(page, "2 hex-3 holds back-cover frame edge")
    page.keyboard.press("Alt+2")
    for control in ("photos", "shapes"):
        page.locator(f"#{control} button").last.focus()
        page.keyboard.press("Enter")
        page.wait_for_selector("#viewer svg image")
    tabbed(page, "viewer")
    for _ in range(7):
        page.keyboard.press("+")
    (x, y), width = SCREW
    for end in _photo()[1].seen(np.array([(x - width / 2, y), (x + width / 2, y)])):
        steered(page, *map(float, end))
        page.keyboard.press(" ")
    assert page.locator("#loupe").is_visible()
    page.keyboard.press("Enter")
    page.wait_for_selector("#measure-result .reading")
    tabbed(page, "name-role")
    page.keyboard.press("a")  # one letter: a pause between two would begin the search anew
    assert page.evaluate("document.activeElement.value") == "diameter"
    page.wait_for_selector("#name-candidates")
    rows = page.locator("#name-candidates tbody tr")
    shares = [int(one) for one in re.findall(r"(\d+) %", page.inner_text("#name-candidates tbody"))]
    names = [rows.nth(n).locator("b").inner_text() for n in range(len(shares))]
    assert {"M2.5 x 0.45", "M2.6 x 0.45"} <= set(names)
    assert shares == sorted(shares, reverse=True)
    assert page.locator("[name=name-choice]:checked").count() == 0
    assert "none is chosen" in page.inner_text("#name-list")
    assert json.loads(page.evaluate(CHECKS)) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 1024

    tabbed(page, "name-choice-0")
    page.keyboard.press(" ")
    while page.evaluate("document.querySelector('[name=name-choice]:checked').value") != "M2.5":
        page.keyboard.press("ArrowDown")
    tabbed(page, "name-joint")
    page.keyboard.type("back-cover-screws")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "name-enter"
    page.keyboard.press("Enter")
    page.wait_for_selector("#name-said:has-text('Entered: joints.back-cover-screws.thread')")
    record = bench.get("/api/records/slab")["record"]
    assert record["joints"]["back-cover-screws"]["thread"] == "M2.5 x 0.45"
    (kept,) = record["measurements"].values()
    assert kept["taken_for"]["among"] == [name.partition(" ")[0] for name in names]
    assert kept["taken_for"]["place"] == "joints.back-cover-screws.thread"
    assert kept["file"] == record["photos"]["p-001"]["file"]
    assert page.said == []
    page.close()


def test_pitch_joins_diameter_and_leaves_fewer_threads(browser: Any, bench: Serving) -> None:
    page = opened(browser, bench)
    measuring(page, "diameter")
    page.check("#measure-edge")
    (x, y), width = SCREW
    picked(page, [(x + width / 2 * np.cos(a), y + width / 2 * np.sin(a)) for a in np.linspace(0, 5, 6)])
    page.click("#measure-do")
    page.wait_for_selector("#measure-result .reading")
    page.select_option("#name-role", "diameter")
    page.wait_for_selector("#name-candidates")
    before = page.locator("#name-candidates tbody b").all_inner_texts()
    page.fill("#name-pitch", "0.45 ± 0.004 mm")
    page.keyboard.press("Tab")
    page.wait_for_selector("#name-candidates th:has-text('Pitch')")
    after = page.locator("#name-candidates tbody b").all_inner_texts()
    assert "M2.5 x 0.45" in after
    assert set(after) <= set(before)
    page.fill("#name-pitch", "0.45")
    page.keyboard.press("Tab")
    page.wait_for_selector("#name-said:has-text('unit')")
    assert page.locator("#name-candidates").count() == 0  # nothing stands there that was not asked for
    page.select_option("#name-role", "points")
    page.wait_for_selector("#name-candidates")
    assert "hexalobular" in page.inner_text("#name-candidates")
    page.close()


def test_a_body_is_named_a_board_is_measured_and_both_are_made_again(browser: Any, bench: Serving) -> None:
    page = opened(browser, bench, width=640, height=400)
    typed(page, "part board named Board")
    measuring(page, "area")
    picked(page, corners(*BODIES[1]))
    page.click("#measure-do")
    page.wait_for_selector("#measure-result .reading")
    page.select_option("#name-role", "body")
    page.wait_for_selector("#name-candidates")
    assert "BGA-153" in page.inner_text("#name-candidates")
    page.check("[name=name-choice][value=BGA-153]")
    page.click("#name-enter")
    assert "Say of which part" in page.inner_text("#name-said")
    page.fill("#name-part", "board")
    page.fill("#name-function", "storage")
    page.click("#name-enter")
    page.wait_for_selector("#name-said:has-text('Entered')")

    page.select_option("#measure-kind", "board")
    picked(page, corners(*BOARD))
    for body in BODIES:
        page.click("#measure-again")
        picked(page, corners(*body))
    page.click("#measure-do")
    page.wait_for_selector("#board-use")
    use = page.inner_text("#board-use tbody tr:nth-child(3)")
    low, high = (float(one) for one in re.findall(r"([\d.]+) to ([\d.]+) %", use)[0])
    truth = 100 * sum(width * height for *_, width, height in BODIES) / (BOARD[2] * BOARD[3])
    assert low <= truth <= high
    assert high - low < 2
    page.select_option("#board-side", "back side")
    page.fill("#measure-of", "board")
    page.click("#measure-keep")
    page.wait_for_selector("#measure-next:has-text('Kept as m-003')")
    record = bench.get("/api/records/slab")["record"]
    (component,) = record["parts"]["board"]["components"]
    assert component["package"] == "BGA-153"
    assert {one["name"] for one in record["measurements"].values()} >= {
        "board use, back side",
        "empty share, back side",
    }

    page.click("#measure-rerun")
    page.wait_for_selector("#measured-again")
    assert "All 6 figures come out the same" in page.inner_text("#measure-next")
    assert page.evaluate("document.documentElement.scrollWidth") <= 640
    page.close()


def test_a_marking_is_kept_only_after_comparing_and_its_date_readings_are_chosen(
    browser: Any, bench: Serving, tmp_path: Path
) -> None:
    from PIL import Image, ImageDraw, ImageFont

    chip = Image.new("RGB", (900, 600), "#1c1c1c")
    ImageDraw.Draw(chip).multiline_text((200, 200), "FW8G128A\nK2 2547", font=ImageFont.load_default(80), fill="#444")
    chip.save(tmp_path / "chip.png")
    (bench.folder / "markings.yaml").write_text(
        "format: unfasten-markings/1\nparts: {flash: {name: Flash memory, markings: [FW8G128A]}}\n", encoding="utf-8"
    )
    page = opened(browser, bench)
    typed(page, "part board named Board")
    page.keyboard.press("Alt+2")
    page.set_input_files("#photo-file", str(tmp_path / "chip.png"))
    page.wait_for_selector("#photos li:nth-child(2) [aria-current=true]")
    measuring(page, "marking", 2)
    clicked(page, 150, 160)
    clicked(page, 760, 420)
    page.keyboard.press("Enter") if page.evaluate("document.activeElement.id") == "viewer" else page.click(
        "#measure-do"
    )
    page.wait_for_selector("#marking-text")
    assert page.locator("#measure-result .crop image").count() == 1
    assert page.is_disabled("#measure-keep")
    assert page.locator("[name=marking-date]:checked").count() == 0
    page.check("#marking-compared")
    page.fill("#marking-text", "FW8G128A / K2 2553")
    assert page.is_disabled("#measure-keep")  # what was changed is to be compared anew
    page.keyboard.press("Tab")
    page.wait_for_selector("#marking-dates:has-text('2025 has 52 weeks')")
    page.fill("#marking-text", "FW8G128A / K2 2547")
    page.keyboard.press("Tab")
    page.wait_for_selector("#marking-dates:has-text('week 47 of 2025')")
    page.check("#marking-compared")
    page.check("[name=marking-date][value='2547 2025']")
    page.click("#measure-keep")
    assert "belongs to a component" in page.inner_text("#measure-next")
    page.fill("#measure-of", "board")
    page.fill("#marking-function", "storage")
    page.click("#measure-keep")
    page.wait_for_selector("#rows li:has-text('Confirmed: marking of storage')")
    record = bench.get("/api/records/slab")["record"]
    (component,) = record["parts"]["board"]["components"]
    assert component["marking"] == "FW8G128A / K2 2547"
    assert component["date_code"] == "2547 (2025-W47)"
    mark = record["photos"]["p-002"]["call_outs"]["A"]
    assert mark["about"] == "parts.board"
    assert "confirmed by" in mark["text"]
    assert page.said == []
    page.close()
