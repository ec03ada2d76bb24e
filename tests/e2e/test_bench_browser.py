"""The bench in a headless Chromium: entering by keyboard alone, with the server lost and regained."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from support.benchpage import WAIT, answered, focused, opened, typed
from support.serving import NEW, Serving
from support.typist import Typist
from unfasten.record.read import read_tree
from unfasten.routes.solve import solve
from unfasten.service.load import load_record

pytestmark = pytest.mark.browser

TEN = [
    "part back-cover role back-cover",
    "part battery role battery",
    "pick adhesive holds back-cover frame rim heat pad 120 s time 60 s",
    "lift back-cover",
    "4 hex-3 holds shield frame each 5 s",
    "lift shield",
    "spudger connector holds battery frame under shield",
    "note two strips under the battery",
    "pick adhesive holds battery frame time 40 s",
    "lift battery",
]


def test_ten_entries_by_keyboard_alone(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    assert focused(page) == "line"
    for line in TEN:
        typed(page, line)
    answered(page, slab)
    assert page.locator("#readouts dd").first.inner_text().startswith("3 / 1")
    assert page.locator("#rows li .what").last.inner_text() == "Out: Battery"
    page.keyboard.press("Alt+3")
    page.wait_for_selector("#view-depth table", timeout=WAIT)
    assert "Battery" in page.inner_text("#view-depth tbody")
    assert focused(page) == "line"
    tree = slab.get("/api/records/slab")["record"]
    assert [entry["do"] for entry in tree["log"]].count("release") == 4
    assert page.said == []
    assert all(url.startswith(slab.base) for url in page.asked)
    page.close()


def test_what_was_understood_stands_there_before_it_is_taken(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    page.keyboard.insert_text("2 hex-3 holds cover frame edge")
    page.wait_for_function("() => document.getElementById('understood').textContent.startsWith('Undone: 2 × screw')")
    assert "New: tool hex-3, part cover, joint cover-screws" in page.inner_text("#understood")
    assert slab.get("/api/records/slab/ledger")["seq"] == 1
    page.keyboard.press("Enter")
    page.wait_for_selector("#rows li:has-text('place: edge')", timeout=WAIT)
    page.keyboard.insert_text("2 hex-3 holds cober frame")
    page.wait_for_selector("#understood.problem", timeout=WAIT)
    page.keyboard.press("Enter")
    assert 'did you mean "cover"?' in page.inner_text("#understood")
    assert page.input_value("#line") == "2 hex-3 holds cober frame"
    assert page.evaluate("[line.selectionStart, line.selectionEnd]") == [14, 19]
    page.close()


def test_tab_ends_a_word_and_leaves_the_line_when_there_is_none(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    typed(page, "part back-cover")
    page.keyboard.insert_text("lift ba")
    page.wait_for_selector("#completions li", timeout=WAIT)
    page.keyboard.press("Tab")
    page.wait_for_function("() => line.value === 'lift back-cover '", timeout=WAIT)
    page.keyboard.press("Enter")
    page.wait_for_selector("#rows li:has-text('Out: Back cover')", timeout=WAIT)
    page.keyboard.press("Tab")
    assert focused(page) == "take"
    page.close()


def test_a_line_is_withdrawn_and_another_mended_in_its_place(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    typed(page, "3 hex-3 holds cover frame")
    typed(page, "lift cover")
    typed(page, "note wrong")
    typed(page, "undo")
    page.wait_for_selector("#rows li.withdrawn:has-text('wrong')", timeout=WAIT)
    page.locator("#rows li:has-text('Undone: 3') button").click()
    page.wait_for_function("() => line.value === '3 hex-3 holds cover frame'")
    page.fill("#line", "4 hex-3 holds cover frame")
    page.keyboard.press("Enter")
    page.wait_for_selector("#rows li.mended", timeout=WAIT)
    tree = slab.get("/api/records/slab")["record"]
    assert tree["joints"]["cover-screws"]["count"] == 4
    assert [entry["do"] for entry in tree["log"]] == ["release", "lift"]
    page.close()


def test_the_server_is_lost_and_regained_and_nothing_is_lost_or_doubled(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    typed(page, "part cover")
    slab.kill()
    for number in range(5):
        page.keyboard.type(f"note while away {number}")
        page.keyboard.press("Enter")
        page.wait_for_function(
            "count => document.querySelectorAll('#rows li.waiting').length === count", arg=number + 1, timeout=WAIT
        )
    page.wait_for_selector("#queue.away", timeout=WAIT)
    assert "5 lines wait" in page.inner_text("#queue")
    slab.start()
    page.wait_for_function("() => document.querySelectorAll('#rows li.waiting').length === 0", timeout=WAIT)
    rows = slab.get("/api/records/slab/ledger")["rows"]
    notes = [row["text"] for row in rows if row["text"].startswith("note while away")]
    assert notes == [f"note while away {number}" for number in range(5)]
    assert page.inner_text("#queue") == ""
    page.close()


def test_the_queue_outlives_the_page(browser: Any, slab: Serving) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{slab.base}/records/slab")
    page.wait_for_selector("#readouts dl", timeout=WAIT)
    slab.kill()
    page.keyboard.type("note before the page was closed")
    page.keyboard.press("Enter")
    page.wait_for_selector("#rows li.waiting", timeout=WAIT)
    page.close()
    slab.start()
    slab.wait()
    again = context.new_page()
    again.goto(f"{slab.base}/records/slab")
    again.wait_for_selector("#rows li:not(.waiting):has-text('before the page was closed')", timeout=WAIT)
    context.close()


def test_a_line_that_came_late_and_is_not_understood_is_kept_as_a_note(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    slab.kill()
    page.keyboard.type("frobnicate the tape")
    page.keyboard.press("Enter")
    page.wait_for_selector("#rows li.waiting", timeout=WAIT)
    slab.start()
    page.wait_for_selector("#rows li:not(.waiting):has-text('not understood')", timeout=WAIT)
    page.close()


def test_two_benches_see_each_other_and_the_later_author_is_told(browser: Any, slab: Serving) -> None:
    one, other = opened(browser, slab), opened(browser, slab)
    typed(one, "part cover named Back cover")
    other.wait_for_selector("#rows li:has-text('Back cover')", timeout=WAIT)
    seen = slab.get("/api/records/slab/ledger")["seq"]
    other.evaluate("window.stop()")
    typed(one, "part cover named Rear cover")
    body = {"id": "7b5c6a52-6f5e-4f2e-8ac3-9d2e6a6f3c11", "line": "part cover named Lid", "at": "2026-06-01T10:00:00Z"}
    kept = slab.post("/api/records/slab/lines", {"lines": [body | {"seen": seen}]})["kept"][0]
    assert "both are kept" in kept["clash"]
    texts = [row["text"] for row in slab.get("/api/records/slab/ledger")["rows"]]
    assert {"part cover named Rear cover", "part cover named Lid"} <= set(texts)
    one.close()
    other.close()


def test_the_whole_log_of_the_tarn_11_is_recorded_by_keyboard_and_a_kill_in_the_middle_costs_nothing(
    browser: Any, server: Serving, root: Path
) -> None:
    source = load_record(root / "examples" / "tarn-11.yaml").model_dump(mode="json", by_alias=True, exclude_unset=True)
    server.post("/api/records", {**NEW, "id": "tarn-11", "name": "Tarn 11", "survey": "full"})
    page = opened(browser, server, "tarn-11")
    typist = Typist(source)
    lines = []
    for line, at in typist.lines():
        assert typist.take(line, at).ok
        lines.append(line)
    for number, line in enumerate(lines):
        if number == len(lines) // 2:
            server.kill()
        if number == len(lines) // 2 + 10:
            server.start()
        page.keyboard.insert_text(line)
        page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelectorAll('#rows li.waiting').length === 0", timeout=WAIT)
    rows = server.get("/api/records/tarn-11/ledger")["rows"]
    assert [row["text"] for row in rows if row["text"]] == [" ".join(line.split()) for line in lines]
    tree = server.get("/api/records/tarn-11")["record"]
    bare = [{key: one for key, one in entry.items() if key != "at"} for entry in tree["log"]]
    wanted = [{key: one for key, one in entry.items() if key != "at"} for entry in typist.tree["log"]]
    assert bare == wanted
    record = read_tree(tree).record
    assert record is not None
    battery = solve(record, ["battery"])["battery"]
    assert (battery.steps_low, battery.steps_high) == (8, 11)
    assert page.said == [] or all("net::ERR" in said or "Failed to load" in said for said in page.said)
    page.close()
