"""Make the pictures of the README: the demo's table as a terminal shows it, two sheets of the report, and the bench.

Needs what the tests need (`make test` sets it up) and a Chromium; run it with the environment's Python.
"""

from __future__ import annotations

import html
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

DOCS = Path(__file__).parent
PAGE = """<!doctype html><meta charset="utf-8"><style>body{{margin:0;background:#fbfaf7}}
pre{{font:13px/1.32 "DejaVu Sans Mono",monospace;color:#1a1a1a;margin:0;padding:18px 22px;width:max-content}}</style>
<pre>{}</pre>"""


def main() -> None:
    """Write demo.png, report.png and bench.png in docs/pictures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        env = os.environ | {"COLUMNS": "84"}
        done = subprocess.run(
            [sys.executable, "-m", "unfasten", "demo", "-o", str(folder / "workspace")],
            capture_output=True, text=True, check=True, env=env,
        )  # fmt: skip
        _terminal(done.stdout, folder)
        _sheets(next(folder.rglob("tarn-11.pdf")))
        _bench(folder / "workspace")


def _terminal(text: str, folder: Path) -> None:
    from playwright.sync_api import sync_playwright

    lines = text.splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("Tarn 11  "))
    end = next(i for i in range(start + 5, len(lines)) if lines[i].startswith("Tarn 11 Plus"))
    shown = [line.rstrip() for line in lines[start:end] if not line.startswith("[")]
    page_file = folder / "demo.html"
    page_file.write_text(PAGE.format(html.escape("\n".join(shown).strip())), encoding="utf-8")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--headless", "--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page()
        page.goto(page_file.as_uri())
        page.locator("pre").screenshot(path=str(DOCS / "pictures" / "demo.png"))
        browser.close()


def _bench(workspace: Path) -> None:
    """The bench with the Tarn 11 as its demo leaves it, the battery's route marked."""
    from playwright.sync_api import sync_playwright

    serve = [sys.executable, "-m", "unfasten", "serve", "-w", str(workspace), "--port", "0", "--on", "2026-06-01"]
    with subprocess.Popen(serve, stdout=subprocess.PIPE, text=True) as server, sync_playwright() as driver:
        assert server.stdout is not None
        address = next(word for word in server.stdout.readline().split() if word.startswith("http"))
        browser = driver.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--headless", "--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.goto(f"{address}/records/tarn-11")
        page.wait_for_selector("#asked", timeout=60_000)
        page.locator("#drawing .node[data-part=battery]").click()
        page.wait_for_selector("#look ol li")
        page.click("#line")
        page.keyboard.type("2 hex-3 holds back-cover frame edge")
        page.wait_for_selector("#understood:has-text('Undone')")
        page.screenshot(path=str(DOCS / "pictures" / "bench.png"))
        browser.close()
        server.terminate()


def _sheets(pdf: Path) -> None:
    import pypdfium2
    from PIL import Image

    document = pypdfium2.PdfDocument(pdf)
    wanted = [0, _sheet_with(document, "Parts in layers from the surface down")]
    sheets = [document[number].render(scale=1.25).to_pil() for number in wanted]
    height = max(sheet.height for sheet in sheets)
    picture = Image.new("RGB", (sum(sheet.width for sheet in sheets) + 20, height), "#fbfaf7")
    across = 0
    for sheet in sheets:
        picture.paste(sheet, (across, (height - sheet.height) // 2))
        across += sheet.width + 20
    picture.quantize(200).save(DOCS / "pictures" / "report.png", optimize=True)


def _sheet_with(document: object, word: str) -> int:
    for number in range(1, len(document)):  # type: ignore[arg-type]
        if word in document[number].get_textpage().get_text_bounded():  # type: ignore[index]
            return number
    return 1


if __name__ == "__main__":
    main()
