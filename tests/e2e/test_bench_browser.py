"""The bench in a headless Chromium: the main stories, by keyboard alone, with the server lost and regained."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from support.serving import NEW, Serving
from support.typist import Typist
from unfasten.record.read import read_tree
from unfasten.routes.solve import solve
from unfasten.service.load import load_record

pytestmark = pytest.mark.browser

WAIT = 20_000


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Serving]:
    running = Serving(tmp_path).start()
    running.wait()
    yield running
    running.close()


@pytest.fixture
def slab(server: Serving) -> Serving:
    server.post("/api/records", NEW)
    return server


def put_example(server: Serving, root: Path, name: str) -> None:
    """Put an example record into the workspace of a running server, as `unfasten import` does."""
    from datetime import UTC, datetime

    from unfasten.service.workspace import open_workspace

    with open_workspace(server.folder, datetime.now(UTC)) as workspace:
        workspace.put(load_record(root / "examples" / f"{name}.yaml"), datetime.now(UTC))


def opened(browser: Any, server: Serving, record: str = "slab", width: int = 1280, height: int = 800) -> Any:
    page = browser.new_page(viewport={"width": width, "height": height})
    page.said, page.asked = [], []
    page.on("console", lambda message: page.said.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: page.said.append(str(error)))
    page.on("request", lambda request: page.asked.append(request.url))
    page.goto(f"{server.base}/records/{record}")
    page.wait_for_selector("#readouts dl", timeout=WAIT)
    return page


def typed(page: Any, line: str, *, understood: str | None = None) -> None:
    """Type a line and take it with Enter; wait until it stands in the ledger."""
    before = page.locator("#rows li:not(.waiting)").count()
    page.keyboard.type(line)
    if understood is not None:
        page.wait_for_function(
            "words => document.getElementById('understood').textContent.includes(words)", arg=understood, timeout=WAIT
        )
    page.keyboard.press("Enter")
    page.wait_for_function(
        "count => document.querySelectorAll('#rows li:not(.waiting)').length > count", arg=before, timeout=WAIT
    )


def focused(page: Any) -> str:
    return str(page.evaluate("document.activeElement.id"))


def answered(page: Any, server: Serving, record: str = "slab") -> None:
    """Wait until the answers of the last entry are shown."""
    seq = server.get(f"/api/records/{record}/ledger")["seq"]
    page.wait_for_function("seq => Number(document.body.dataset.seq) >= seq", arg=seq, timeout=WAIT)


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
    page.keyboard.type("2 hex-3 holds cover frame edge")
    page.wait_for_function("() => document.getElementById('understood').textContent.startsWith('Undone: 2 × screw')")
    assert "New: tool hex-3, part cover, joint cover-screws" in page.inner_text("#understood")
    assert slab.get("/api/records/slab/ledger")["seq"] == 1
    page.keyboard.press("Enter")
    page.wait_for_selector("#rows li:has-text('place: edge')", timeout=WAIT)
    page.keyboard.type("2 hex-3 holds cober frame")
    page.wait_for_selector("#understood.problem", timeout=WAIT)
    page.keyboard.press("Enter")
    assert 'did you mean "cover"?' in page.inner_text("#understood")
    assert page.input_value("#line") == "2 hex-3 holds cober frame"
    assert page.evaluate("[line.selectionStart, line.selectionEnd]") == [14, 19]
    page.close()


def test_tab_ends_a_word_and_leaves_the_line_when_there_is_none(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    typed(page, "part back-cover")
    page.keyboard.type("lift ba")
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
            "count => document.querySelectorAll('#rows li.waiting').length === count", arg=number + 1
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


def test_an_answer_narrows_the_index(browser: Any, server: Serving, root: Path) -> None:
    put_example(server, root, "tarn-11")
    page = opened(browser, server, "tarn-11")
    page.wait_for_selector("#asked", timeout=WAIT)
    before = page.inner_text("#readouts .band-cell b >> nth=0")
    first = page.get_attribute("#asked", "data-key")
    assert before == "3.2575–3.37"
    page.keyboard.press("F6")
    page.wait_for_function("key => document.querySelector('#asked')?.dataset.key !== key", arg=first, timeout=WAIT)
    page.keyboard.press("F6")
    page.wait_for_function(
        "old => document.querySelector('#readouts .band-cell b').textContent !== old", arg=before, timeout=WAIT
    )
    low, high = (float(end) for end in page.inner_text("#readouts .band-cell b >> nth=0").split("–"))
    assert 3.2575 <= low <= high <= 3.37
    assert high - low < 3.37 - 3.2575
    page.keyboard.press("Alt+4")
    page.click("#view-index summary:has-text('Disassembly depth')")
    assert "attery" in page.inner_text("#view-index")
    page.close()


def test_a_part_is_clicked_and_says_what_holds_and_covers_it(browser: Any, server: Serving, root: Path) -> None:
    put_example(server, root, "tarn-11")
    page = opened(browser, server, "tarn-11")
    page.wait_for_selector("#drawing .node", timeout=WAIT)
    page.locator("#drawing .node[data-part=battery]").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#look ol li", timeout=WAIT)
    told = page.inner_text("#look")
    assert "adhesive to Midframe" in told
    assert "under" in told
    assert page.locator("#drawing .node.on").count() > 3
    page.close()


def test_the_predecessor_is_confirmed_with_one_key_and_changes_are_marked(
    browser: Any, server: Serving, root: Path
) -> None:
    put_example(server, root, "tarn-9")
    server.post("/api/records", {**NEW, "predecessor": "tarn-9"})
    page = opened(browser, server)
    page.wait_for_selector("#expected [data-line]", timeout=WAIT)
    first = page.inner_text("#expected li >> nth=0")
    rows = page.locator("#rows li:not(.waiting)").count()
    page.keyboard.press("F2")
    page.wait_for_function(
        "count => document.querySelectorAll('#rows li:not(.waiting)').length > count", arg=rows, timeout=WAIT
    )
    answered(page, server)
    assert page.inner_text("#expected li >> nth=0") != first
    tree = server.get("/api/records/slab")["record"]
    assert tree["log"][0]["do"] in ("release", "lift")
    name = next(iter(tree["joints"]))
    typed(page, f"joints.{name}.count=7")
    answered(page, server)
    page.keyboard.press("Alt+5")
    assert "→ 7" in page.inner_text("#view-findings") or "count" in page.inner_text("#view-findings")
    page.close()


def test_a_photo_is_attached_and_annotated(browser: Any, slab: Serving, tmp_path: Path) -> None:
    from PIL import Image

    made = io.BytesIO()
    Image.effect_noise((1600, 1200), 60).convert("RGB").save(made, "JPEG")
    shot = tmp_path / "shot.jpg"
    shot.write_bytes(made.getvalue())
    page = opened(browser, slab)
    page.keyboard.press("F10")
    page.wait_for_selector("#rows li:has-text('The film is at')", timeout=WAIT)
    typed(page, "2 hex-3 holds cover frame")
    page.keyboard.press("Alt+2")
    page.set_input_files("#photo-file", str(shot))
    page.wait_for_selector("#viewer svg image", timeout=WAIT)
    page.wait_for_function(
        "() => document.getElementById('photo-said').textContent.includes('tied to log entry 1')", timeout=WAIT
    )
    page.click("[data-shape=box]")
    box = page.locator("#viewer").bounding_box()
    assert box is not None
    for share in (0.4, 0.6):
        page.mouse.click(box["x"] + box["width"] * share, box["y"] + box["height"] * share)
    page.wait_for_selector("#callouts tbody tr", timeout=WAIT)
    page.fill("#callouts input", "two screws at the edge")
    page.keyboard.press("Tab")
    page.wait_for_function("() => document.getElementById('photo-said').textContent === 'Kept.'", timeout=WAIT)
    page.wait_for_timeout(300)
    photo = slab.get("/api/records/slab/photos")["photos"]["p-001"]
    mark = photo["call_outs"]["A"]
    assert (mark["shape"], mark["text"]) == ("box", "two screws at the edge")
    (x1, y1), (x2, y2) = mark["corners"]
    assert 0 < x1 < x2 < 1600
    assert 0 < y1 < y2 < 1200
    assert slab.get("/api/records/slab")["record"]["log"][0]["photo"] == "p-001"
    page.close()


def test_the_film_clock_runs_marks_and_is_set(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    typed(page, "clock 0:12:30")
    assert page.inner_text("#clock") == "0:12:30"
    page.keyboard.press("F10")
    page.wait_for_function("() => document.getElementById('clock').textContent > '0:12:30'", timeout=WAIT)
    page.keyboard.press("F9")
    page.wait_for_function("() => document.getElementById('marked').textContent >= 'marked 1'", timeout=WAIT)
    typed(page, "hex-3 holds cover frame")
    entry = slab.get("/api/records/slab")["record"]["log"][0]
    assert entry["at"].startswith("0:12:3")
    assert int(entry["took"].removesuffix(" s")) >= 1
    page.reload()
    page.wait_for_selector("#readouts dl", timeout=WAIT)
    assert page.inner_text("#clock") >= "0:12:31"
    page.close()


def test_the_form_writes_the_same_line(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    page.keyboard.press("Alt+6")
    page.fill("#form [name=count]", "2")
    page.fill("#form [name=tools]", "hex-3")
    page.fill("#form [name=holds]", "cover frame")
    page.fill("#form [name=under]", "tape")
    page.keyboard.press("Enter")
    assert page.input_value("#line") == "2 hex-3 holds cover frame under tape"
    assert focused(page) == "line"
    page.close()


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
    page.wait_for_function("() => document.querySelectorAll('#rows li.waiting').length === 0", timeout=120_000)
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


def test_contrast_names_and_landmarks(browser: Any, slab: Serving) -> None:
    page = opened(browser, slab)
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert json.loads(page.evaluate(CHECKS)) == []
    page.close()


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (1024, 768), (640, 400)])
def test_nothing_is_cut_off_on_a_laptop_a_tablet_or_at_twice_the_size(
    browser: Any, slab: Serving, width: int, height: int
) -> None:
    page = opened(browser, slab, width=width, height=height)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for wanted in ("#line", "#take", "#clock", "#clock-mark"):
        page.locator(wanted).scroll_into_view_if_needed()
        box = page.locator(wanted).bounding_box()
        assert box is not None
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width + 1
    page.close()


#: what can be checked of WCAG 2.2 by program: names of controls, labels, landmarks, headings, ids, and contrast of text
CHECKS = """(() => {
  const wrong = [];
  const shown = (one) => one.getClientRects().length > 0;
  const named = (one) => (one.ariaLabel || one.textContent.trim() || one.title || one.labels?.length
    || one.getAttribute('aria-labelledby') || one.alt);
  for (const one of document.querySelectorAll('button,a[href],input,select,textarea,[role=tab],[role=button]'))
    if (shown(one) && one.type !== 'hidden' && !named(one)) wrong.push('no name: ' + one.outerHTML.slice(0, 80));
  for (const one of ['main', 'header', 'aside,section[aria-label]', 'footer,[role=contentinfo]', 'h1'])
    if (!document.querySelector(one)) wrong.push('no ' + one);
  const ids = [...document.querySelectorAll('[id]')].map((one) => one.id);
  for (const id of ids) if (ids.indexOf(id) !== ids.lastIndexOf(id)) wrong.push('id twice: ' + id);
  for (const one of document.querySelectorAll('[aria-controls],[aria-labelledby],[aria-describedby]'))
    for (const key of ['aria-controls', 'aria-labelledby', 'aria-describedby'])
      for (const id of (one.getAttribute(key) ?? '').split(' ').filter(Boolean))
        if (!document.getElementById(id)) wrong.push(`${key} points nowhere: ${id}`);
  if (document.documentElement.lang !== 'en') wrong.push('no language');
  const light = (text) => {
    const [r, g, b] = text.match(/[\\d.]+/g).slice(0, 3).map((v) => {
      const s = v / 255; return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4; });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const behind = (one) => { for (let at = one; at; at = at.parentElement) {
    const colour = getComputedStyle(at).backgroundColor; if (!/, 0\\)$|transparent/.test(colour)) return colour; }
    return 'rgb(255,255,255)'; };
  for (const one of document.querySelectorAll('body *')) {
    if (!shown(one) || one.closest('svg') || one.disabled) continue;
    if (![...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim())) continue;
    const [a, b] = [light(getComputedStyle(one).color), light(behind(one))].sort((x, y) => y - x);
    if ((a + 0.05) / (b + 0.05) < 4.5) wrong.push('contrast: ' + one.textContent.trim().slice(0, 40));
  }
  return JSON.stringify(wrong);
})()"""
