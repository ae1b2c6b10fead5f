"""The pictures in the README, taken from the demo squad in Chromium: `make pictures`."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from gripbook.logs import load_logs
from gripbook.report.run.batch import render_reports
from gripbook.report.run.pdf import find_chromium
from tests.browser.conftest import FLAGS

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "reports"
ATHLETE = "arvo"


def picture_of_page(browser: Any, folder: Path) -> None:
    """The first screen of an athlete's page."""
    run = render_reports(load_logs(ROOT / "data_demo"), folder, athletes=[ATHLETE], workers=1)
    assert not run.failed
    page = browser.new_page(viewport={"width": 900, "height": 1180})
    page.goto((folder / f"{ATHLETE}.html").as_uri())
    page.wait_for_selector("html[data-charts=drawn]")
    page.screenshot(path=PICTURES / "page.png")
    page.close()


def picture_of_notebook(browser: Any, folder: Path) -> None:
    """The exploring notebook in JupyterLab, with its first chart."""
    logs = folder / "logs"
    shutil.copytree(ROOT / "data_demo", logs)
    command = [sys.executable, "-m", "gripbook.cli", "explore", str(logs), "--no-browser"]
    command += ["--athlete", ATHLETE]
    environment = {**os.environ, "HOME": str(folder)}
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environment) as running:
        try:
            assert running.stderr is not None
            found = (re.search(r"http://127\.0\.0\.1\S+", line) for line in running.stderr)
            address = next(match[0] for match in found if match)
            page = browser.new_page(viewport={"width": 1200, "height": 1000})
            page.goto(address)
            page.wait_for_selector(".vega-embed svg.marks", timeout=90_000)
            page.wait_for_timeout(4000)
            page.screenshot(path=PICTURES / "notebook.png")
            page.close()
        finally:
            running.terminate()
            running.wait(30)


def main() -> None:
    """Take both."""
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as name:
        browser = playwright.chromium.launch(executable_path=str(find_chromium()), args=FLAGS)
        picture_of_page(browser, Path(name) / "pages")
        picture_of_notebook(browser, Path(name))
        browser.close()
    for picture in sorted(PICTURES.glob("*.png")):
        print(f"{picture.relative_to(ROOT)}: {picture.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
