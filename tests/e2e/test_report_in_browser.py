"""The HTML report of the Tarn 11 in a real browser: whole without a network, and its drawing and tables answer."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from unfasten.service.load import load_record
from unfasten.service.report import write_report
from unfasten.service.settings import EXAMPLE, examples_dir

pytestmark = pytest.mark.browser
WIDTHS = (1280, 390)


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory, chromium: str) -> Path:
    """The report, written once."""
    record = load_record(examples_dir() / EXAMPLE)
    return write_report(record, tmp_path_factory.mktemp("report"), date(2026, 4, 1))[0]


@pytest.fixture
def page(browser: Any, report: Path) -> Iterator[Any]:
    """The report opened in a page; what it asked for and complained of is collected beside it."""
    opened = browser.new_page(viewport={"width": WIDTHS[0], "height": 900})
    opened.asked, opened.complaints = [], []
    opened.on("request", lambda request: opened.asked.append(request.url))
    opened.on("console", lambda message: opened.complaints.append(message.text))
    opened.on("pageerror", lambda error: opened.complaints.append(str(error)))
    opened.goto(report.as_uri())
    yield opened
    opened.close()


def test_it_asks_for_nothing_but_itself_and_complains_of_nothing(page: Any, report: Path) -> None:
    assert page.asked == [report.as_uri()]
    assert page.complaints == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_does_not_scroll_sideways(page: Any, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_choosing_a_part_shows_its_route_in_the_drawing(page: Any) -> None:
    page.select_option("#pick", "battery")
    on = set(page.eval_on_selector_all("#drawing .node.on", "nodes => nodes.map(node => node.dataset.part)"))
    assert {"battery", "back-cover"} <= on
    page.click("#drawing .node[data-part=card-tray]")
    assert page.input_value("#pick") == "card-tray"
    assert page.eval_on_selector_all("#drawing .node.on", "nodes => nodes.map(node => node.dataset.part)") == [
        "card-tray"
    ]


def test_a_table_sorts_by_the_column_that_is_clicked(page: Any) -> None:
    steps = page.locator("#routes table.sortable th", has_text="Steps").first
    column = steps.evaluate("head => head.cellIndex")
    steps.locator("button").click()
    keys = page.eval_on_selector_all(
        "#routes table.sortable tbody tr",
        "(rows, column) => rows.map(row => row.children[column].dataset.key ?? row.children[column].textContent)",
        column,
    )
    numbers = [float(key) for key in keys if key.strip().replace(".", "").isdigit()]
    assert len(numbers) > 20
    assert numbers == sorted(numbers)


def test_every_link_of_the_contents_leads_somewhere(page: Any) -> None:
    dead = page.eval_on_selector_all(
        "a[href^='#']", "links => links.map(a => a.getAttribute('href')).filter(h => !document.querySelector(h))"
    )
    assert dead == []
