"""Pages opened from disk in a real Chromium. A request to any network or an error fails a test."""

from __future__ import annotations

import contextlib
import fcntl
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from gripbook.logs import load_logs
from gripbook.report.run.batch import render_reports

FLAGS = ["--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu"]

#: What those who share a tab may ask for.
SHARED = {"java_script_enabled", "color_scheme"}

Open = Callable[..., contextlib.AbstractContextManager[Any]]


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory, demo_logs_folder: Path) -> Path:
    """The demo squad's pages, rendered once for all workers of a run; not to be changed."""
    base = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        base = base.parent
    out = base / "demo-pages"
    with (base / "demo-pages.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not out.exists():
            aside = base / "demo-pages.part"
            assert render_reports(load_logs(demo_logs_folder), aside, workers=2).failed == []
            aside.rename(out)
    return out


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Any]:
    """A running Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="session")
def open_page(browser: Any) -> Open:
    """
    Open a file as a reader would: `with open_page(path, width=390, color_scheme="dark") as page`.

    On leaving, the page must have asked for nothing but its own file (`alone=False`: it may have
    tried) and have said nothing on the console (`silent=False`: it may have complained).

    A tab is used again, emptied, where nothing is asked for but a size, a colour scheme or no
    script: a new one costs as much as the page in it. What stores, taps or adds a script has a tab
    of its own, and so has who comes after a failure.
    """
    free: dict[bool, Any] = {}  # a tab without script, one with it

    @contextlib.contextmanager
    def opened(
        path: Path,
        *,
        width: int = 1100,
        height: int = 850,
        alone: bool = True,
        silent: bool = True,
        wait: bool = True,
        before: str = "",
        **options: Any,
    ) -> Iterator[Any]:
        shared = alone and silent and not before and options.keys() <= SHARED
        script = options.get("java_script_enabled", True)
        page = free.pop(script, None) if shared else None
        size = {"width": width, "height": height}
        if page is None:
            context = browser.new_context(viewport=size, **options)
            if before:
                context.add_init_script(before)
            page = context.new_page()
        else:
            page.set_viewport_size(size)
        page.emulate_media(media="null", color_scheme=options.get("color_scheme", "light"))
        asked: list[str] = []
        said: list[str] = []
        hears = {
            "request": lambda request: asked.append(request.url),
            "websocket": lambda socket: asked.append(socket.url),
            "console": lambda message: said.append(message.text),
            "pageerror": lambda error: said.append(str(error)),
        }
        try:
            for event, heard in hears.items():
                page.on(event, heard)
            page.goto(path.as_uri())
            if wait:
                page.wait_for_selector("html[data-charts]", timeout=30_000)
            yield page
            page.wait_for_timeout(50)
            assert asked == [path.as_uri()] or not alone
            assert said == [] or not silent
        except BaseException:
            shared = False
            raise
        finally:
            if shared and script not in free:
                for event, heard in hears.items():
                    page.remove_listener(event, heard)
                page.goto("about:blank")
                free[script] = page
            else:
                page.context.close()

    return opened
