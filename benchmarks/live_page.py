"""Live answers as the analyst sees them: from the Enter key to the frame in which the answers are painted.

A headless Chromium records a made record's whole log on a served bench, each line after the answers of the one before,
then goes on entering on the full sheet. A moment counts as painted when the task after the next animation frame runs.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from realistic import realistic_record

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from support.serving import Serving
from support.typist import Typist
from unfasten.service.load import load_record
from unfasten.service.settings import examples_dir

#: notes when each thing is painted that belongs to the entry of the last Enter
WATCH = """(() => {
  const painted = (then) => requestAnimationFrame(() => { const after = new MessageChannel();
    after.port1.onmessage = () => then(performance.now()); after.port2.postMessage(0); });
  let began = 0, from = 0;
  window.painted = {};
  const note = (what) => painted((at) => { if (began) window.painted[what] ??= at - began; });
  const seq = (name) => Number(document.body.dataset[name] ?? 0);
  document.addEventListener("keydown", (event) => { if (event.key !== "Enter") return;
    began = event.timeStamp; from = seq("seq"); window.painted = {}; note("line"); }, true);
  document.addEventListener("DOMContentLoaded", () => {
    new MutationObserver(() => { if (seq("seq") > from) note("answers"); if (seq("asked") > from) note("exact"); })
      .observe(document.body, { attributes: true, attributeFilter: ["data-seq", "data-asked"] });
    new MutationObserver(() => { if (seq("seq") > from) note("questions"); })
      .observe(document.getElementById("question"), { childList: true });
    new MutationObserver(() => note("row")).observe(document.getElementById("rows"), { childList: true });
    new MutationObserver(() => { if (seq("seq") > from) note("drawing"); })
      .observe(document.getElementById("drawing"), { childList: true });
  });
})()"""
MOMENTS = {
    "row": "the line in the ledger",
    "answers": "the answers",
    "questions": "the questions",
    "exact": "the questions in exact order",
    "drawing": "the structure drawing",
}


def further(tree: dict[str, Any]) -> Iterator[str]:
    """Entries on a full sheet: facts, findings, remarks, and withdrawing them."""
    joints = list(tree["joints"])
    for number, joint in enumerate(joints[::2]):
        yield f"joints.{joint}.reuse={('reusable', 'resupplied', 'removable')[number % 3]}"
        if number % 5 == 1:
            yield "undo"
        if number % 5 == 3:
            yield f"note looked at {joint} again"


def play(
    source: Mapping[str, Any], page: Any, base: str, name: str, *, go_on: bool
) -> dict[str, list[dict[str, float]]]:
    """Record a whole log in the page, and go on if asked; gives what was painted when [ms] of each entry, by stage."""
    typist = Typist(source)
    page.goto(f"{base}/records/{name}")
    page.wait_for_selector("#readouts dl")
    found: dict[str, list[dict[str, float]]] = {}
    for line, at in typist.lines():
        typist.take(line, at)
        found.setdefault("while the sheet grows" if go_on else "the Tarn 11's own log", []).append(entered(page, line))
    for line in further(typist.tree) if go_on else ():
        found.setdefault("on the full sheet", []).append(entered(page, line))
    return found


def entered(page: Any, line: str) -> dict[str, float]:
    """Enter one line once it is understood; wait for all that follows it."""
    page.keyboard.insert_text(line)
    page.wait_for_function("() => document.getElementById('understood').textContent !== ''")
    if "problem" in (page.get_attribute("#understood", "class") or ""):
        raise ValueError(f"{line}: {page.inner_text('#understood')}")
    page.keyboard.press("Enter")
    page.wait_for_function("() => window.painted.answers && window.painted.exact", timeout=60_000)
    time.sleep(0.1)
    return dict(page.evaluate("() => window.painted"))


def measured(joints: int, seeds: int, chromium: str | None = None) -> dict[str, list[dict[str, float]]]:
    """Times [ms] of every entry, by stage: made records of so many joints, then the Tarn 11."""
    from playwright.sync_api import sync_playwright

    path = chromium or shutil.which("chromium") or shutil.which("google-chrome")
    records = [realistic_record(joints, seed) for seed in range(seeds)]
    records.append(load_record(examples_dir() / "tarn-11.yaml"))
    found: dict[str, list[dict[str, float]]] = {}
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        server = Serving(Path(folder)).start()
        try:
            server.wait()
            browser = driver.chromium.launch(executable_path=path, args=["--headless", "--no-sandbox"])
            for number, record in enumerate(records):
                source = record.model_dump(mode="json", by_alias=True, exclude_unset=True)
                frame = next(name for name, part in record.parts.items() if part.stays)
                name = f"played-{number}"
                new = {"id": name, "name": "Made", "maker": "Fellwright", "category": "slate-tablet"}
                server.post("/api/records", {**new, "frame": frame, "survey": "full"})
                page = browser.new_page(viewport={"width": 1280, "height": 800})
                page.add_init_script(WATCH)
                for stage, rows in play(source, page, server.base, name, go_on=number < seeds).items():
                    found.setdefault(stage, []).extend(rows)
                page.close()
            browser.close()
        finally:
            server.close()
    return found
