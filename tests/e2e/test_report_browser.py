"""The report's page in a headless Chromium: fetches nothing, runs nothing foreign, works by keys and without script."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from support.report_record import DAY, tarn_report
from support.small_record import record
from unfasten.report.html import render_html
from unfasten.service.report import build_report

pytestmark = pytest.mark.browser

HOSTILE = "<img src=x onerror='window.hit=1'><script>window.hit=1</script></style>\"><svg onload='window.hit=1'>"


@pytest.fixture(scope="module")
def report_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    path: Path = tmp_path_factory.mktemp("report") / "tarn-11.html"
    path.write_text(render_html(tarn_report()), "utf-8")
    return path.as_uri()


@pytest.fixture
def page(browser: Any, report_file: str) -> Iterator[Any]:
    sheet = browser.new_page(viewport={"width": 1280, "height": 800})
    sheet.asked, sheet.said = [], []
    sheet.on("request", lambda request: sheet.asked.append(request.url))
    sheet.on("console", lambda message: sheet.said.append(message.text))
    sheet.on("pageerror", lambda error: sheet.said.append(str(error)))
    sheet.goto(report_file)
    yield sheet
    sheet.close()


def marked(page: Any) -> set[str]:
    return set(page.evaluate("[...document.querySelectorAll('#drawing .node.on')].map(n => n.dataset.part)"))


def route(part: str) -> set[str]:
    return set(next(node.route for node in tarn_report().structure.nodes if node.part == part))


def test_asks_for_nothing_but_itself_and_says_nothing(page: Any, report_file: str) -> None:
    assert page.asked == [report_file]
    assert page.said == []


def test_route_is_marked_at_first_and_follows_list_and_click(page: Any) -> None:
    assert marked(page) == route("battery")
    page.select_option("#pick", "rear-camera")
    assert marked(page) == route("rear-camera")
    page.click("#drawing .node[data-part='front-camera'] rect")
    assert marked(page) == route("front-camera")
    assert page.input_value("#pick") == "front-camera"


def test_route_list_works_by_keys(page: Any) -> None:
    page.focus("#pick")
    before = page.input_value("#pick")
    page.keyboard.press("ArrowDown")
    after = page.input_value("#pick")
    assert after != before
    assert marked(page) == route(after)


def test_route_table_sorts_by_depth_and_back(page: Any) -> None:
    def column() -> list[float]:
        cells = "[...document.querySelectorAll('table.sortable tbody td:nth-child(3)')].map(c => Number(c.dataset.key))"
        return list(page.evaluate(cells))

    head = page.locator("table.sortable thead th").nth(2)
    head.locator("button").focus()
    page.keyboard.press("Enter")
    assert column() == sorted(column())
    assert head.get_attribute("aria-sort") == "ascending"
    page.keyboard.press("Enter")
    assert column() == sorted(column(), reverse=True)


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (1024, 768), (640, 400)])
def test_page_is_never_wider_than_the_window(page: Any, width: int, height: int) -> None:
    page.set_viewport_size({"width": width, "height": height})
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_the_paper(page: Any, scheme: str) -> None:
    page.emulate_media(color_scheme=scheme)
    contrast = """() => {
      const level = (text) => text.match(/[\\d.]+/g).slice(0, 3).map(Number).map((v) => v / 255)
        .map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
        .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
      const paper = level(getComputedStyle(document.body).backgroundColor);
      return [...document.querySelectorAll("p, td, th, dd, dt, h1, h2, h3, caption, .id, .source")].map((item) => {
        const ink = level(getComputedStyle(item).color);
        return (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05);
      }).reduce((least, value) => Math.min(least, value), 99);
    }"""
    assert page.evaluate(contrast) >= 4.5  # WCAG 2.2, success criterion 1.4.3


def test_works_without_script(browser: Any, report_file: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(report_file)
    assert page.locator("#pick").is_visible() is False
    assert page.locator("#drawing .node.on").count() == len(route("battery"))
    assert page.locator("table.operations").count() == len(tarn_report().procedures)
    context.close()


def test_hostile_names_run_nothing(browser: Any, tmp_path: Path) -> None:
    parts = {"lid": {"name": HOSTILE, "role": "battery", "note": HOSTILE}}
    joints = {"screw": {"name": HOSTILE, "holds": ["lid", "frame"], "where": HOSTILE, "ways": [{}]}}
    sheet = {"number": HOSTILE[:40], "owner": HOSTILE, "by": HOSTILE}
    made = build_report(record(parts, joints, product={"name": HOSTILE}, sheet=sheet), DAY)
    (tmp_path / "h.html").write_text(render_html(made), "utf-8")
    page = browser.new_page()
    page.goto((tmp_path / "h.html").as_uri())
    assert page.evaluate("window.hit") is None
    assert page.locator("img").count() == 0
    assert HOSTILE[:20] in page.inner_text("#routes")
    page.close()


def test_prints_numbered_a4_sheets(page: Any) -> None:
    import io

    from pypdf import PdfReader

    pages = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages
    assert {frozenset((round(float(p.mediabox.width)), round(float(p.mediabox.height)))) for p in pages} == {
        frozenset((595, 842))
    }
    assert f"sheet 1 of {len(pages)}" in " ".join(pages[0].extract_text().split())
