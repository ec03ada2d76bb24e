"""What can be checked of every page by program, and what an hour at the bench asks of it, in headless Chromium."""

from __future__ import annotations

import json
from typing import Any
from uuid import uuid4

import pytest

from support.benchpage import CHECKS, WAIT, answered, opened, put_example, typed
from support.serving import Serving

pytestmark = pytest.mark.browser
PAGES = (
    "/",
    "/records/{}/past",
    "/records/{}/past?at=1",
    "/records/{}/battery",
    "/records/{}/requirements",
    "/nowhere",
)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_page_has_names_landmarks_and_contrast(browser: Any, server: Serving, root: Any, scheme: str) -> None:
    put_example(server, root, "tarn-11")
    page = browser.new_page(viewport={"width": 1280, "height": 800}, color_scheme=scheme)
    for path in PAGES:
        page.goto(f"{server.base}{path.format('tarn-11')}")
        wrong = json.loads(page.evaluate(CHECKS))
        assert [one for one in wrong if one != "no aside,section[aria-label]"] == [], path
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path
    page.close()


def test_a_running_clock_can_be_read(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    page.keyboard.press("F10")
    page.wait_for_selector("#clock-run[aria-pressed=true]", timeout=WAIT)
    assert json.loads(page.evaluate(CHECKS)) == []
    page.close()


def test_the_drawing_follows_the_entries_and_is_made_larger_by_a_key(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    for line in ("2 hex-3 holds cover frame", "lift cover", "clip holds shield frame"):
        typed(page, line)
    page.wait_for_selector("#drawing .node[data-part=shield]", timeout=WAIT)
    width = "document.querySelector('#drawing svg').clientWidth / document.getElementById('drawing').clientWidth"
    assert 1.2 < page.evaluate(width) <= 2.01, "few parts fill the frame"
    before = page.evaluate(width)
    page.focus("#drawing")
    page.keyboard.press("-")
    page.keyboard.press("-")
    smaller = page.evaluate(width)
    assert smaller < before
    page.keyboard.press("Escape")
    typed(page, "lift shield")
    answered(page, slab)
    typed(page, "clip holds gasket frame")
    page.wait_for_selector("#drawing .node[data-part=gasket]", timeout=WAIT)
    assert page.evaluate(width) == pytest.approx(smaller, abs=0.02), "what was chosen stays"
    page.close()


def test_the_newest_entry_stays_in_sight(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab, height=600)
    for number in range(14):
        typed(page, f"note number {number}")
    gap = "(() => { const box = rows; return box.scrollHeight - box.scrollTop - box.clientHeight; })()"
    assert page.evaluate(gap) <= 1
    page.set_viewport_size({"width": 1280, "height": 420})
    page.wait_for_function(f"() => {gap} <= 1", timeout=WAIT)
    page.evaluate("document.getElementById('rows').scrollTop = 0")
    page.wait_for_function("() => document.getElementById('rows').scrollTop === 0", timeout=WAIT)
    line = {"id": str(uuid4()), "line": "note of another bench", "at": "2026-06-01T09:00:00Z"}
    slab.post("/api/records/slab/lines", {"lines": [line]})
    page.wait_for_selector("#rows li:has-text('another bench')", state="attached", timeout=WAIT)
    assert page.evaluate("document.getElementById('rows').scrollTop") == 0, "who reads above is left there"
    page.close()


def test_the_past_is_told_in_words(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    typed(page, "2 hex-3 holds cover frame")
    typed(page, "lift cover")
    typed(page, "undo")
    last = slab.get("/api/records/slab/ledger")["rows"][-2]["seq"]
    page.goto(f"{slab.base}/records/slab/past")
    said = page.inner_text("main table")
    assert "Undone: 2 × screw (cover-screws) that holds Cover and Frame" in said
    assert "Withdrawn: Out: Cover" in said
    assert page.locator("tr.withdrawn .what").count() == 1
    page.click(f"#entry-{last} a")
    page.wait_for_url(f"**/past?at={last}#entry-{last}", timeout=WAIT)
    assert page.locator(f"tr.here#entry-{last}").count() == 1
    page.close()
