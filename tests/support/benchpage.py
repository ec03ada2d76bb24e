"""A bench's page in a browser: opened, typed into, waited for."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from support.serving import Serving
from unfasten.service.load import load_record
from unfasten.service.workspace import open_workspace

#: how long a page has for what must come [ms]
WAIT = 200_000


def put_example(server: Serving, root: Path, name: str) -> None:
    """Put an example record into the workspace of a running server, as `unfasten import` does."""
    with open_workspace(server.folder, datetime.now(UTC)) as workspace:
        workspace.put(load_record(root / "examples" / f"{name}.yaml"), datetime.now(UTC))


def opened(browser: Any, server: Serving, record: str = "slab", width: int = 1280, height: int = 800) -> Any:
    page = browser.new_page(viewport={"width": width, "height": height})
    page.set_default_timeout(WAIT)
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


def pressed(page: Any, key: str) -> None:
    """Press a key that takes a line; wait until it stands in the ledger."""
    before = page.locator("#rows li:not(.waiting)").count()
    page.keyboard.press(key)
    page.wait_for_function(
        "count => document.querySelectorAll('#rows li:not(.waiting)').length > count", arg=before, timeout=WAIT
    )


def focused(page: Any) -> str:
    return str(page.evaluate("document.activeElement.id"))


def answered(page: Any, server: Serving, record: str = "slab") -> None:
    """Wait until the answers of the last entry are shown."""
    seq = server.get(f"/api/records/{record}/ledger")["seq"]
    page.wait_for_function("seq => Number(document.body.dataset.seq) >= seq", arg=seq, timeout=WAIT)


def asked(page: Any, server: Serving, record: str = "slab") -> None:
    """Wait until the questions that follow the last entry stand in their exact order."""
    seq = server.get(f"/api/records/{record}/ledger")["seq"]
    page.wait_for_function("seq => Number(document.body.dataset.asked) >= seq", arg=seq, timeout=WAIT)


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
