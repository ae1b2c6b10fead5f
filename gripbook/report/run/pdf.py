"""Pages as PDF, printed by a Chromium that is installed: as paper would show them, charts drawn."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import Final, Literal

from gripbook.errors import GripbookError
from gripbook.writing import NotWrittenError, write_file

Paper = Literal["A4", "Letter"]
#: Where a browser is looked for, first the file this variable names.
VARIABLE: Final = "GRIPBOOK_CHROMIUM"
NAMES: Final = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
    "microsoft-edge",
)
_APPLICATIONS: Final = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
)
#: Width and height in points of 1/72 inch; ISO 216, ANSI/ASME Y14.1.
_POINTS: Final[dict[Paper, tuple[float, float]]] = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}
_BOX: Final = re.compile(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]")
_FOLD: Final = re.compile(r"<details( class=\"[^\"]*\")?>")
#: How long one page may take, in seconds.
TIMEOUT_S: Final = 60.0
#: Milliseconds of the page's own clock given to its script: the charts are drawn well within.
_SCRIPT_MS: Final = 10_000
_FLAGS: Final = (
    "--headless",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-extensions",
    "--no-first-run",
    "--no-pdf-header-footer",
    f"--virtual-time-budget={_SCRIPT_MS}",
)


def find_chromium() -> Path:
    """
    Find a Chromium, or a browser built on it.

    Raises
    ------
    GripbookError : there is none; says where it was looked for and what to do.
    """
    named = os.environ.get(VARIABLE, "")
    if named:
        path = shutil.which(named)
        if path is None:
            raise GripbookError(f"{VARIABLE} names {named}, which is no program that can be run.")
        return Path(path)
    for name in (*NAMES, *_APPLICATIONS):
        path = shutil.which(name)
        if path is not None:
            return Path(path)
    raise GripbookError(
        f"--pdf needs Chromium or a browser built on it; none was found as {', '.join(NAMES)}. "
        f"Install one, or name it in the environment variable {VARIABLE}. Or open a page and print "
        "it from your browser: that gives the same."
    )


def print_pages(
    pages: Sequence[Path],
    *,
    paper: Paper = "A4",
    chromium: Path | None = None,
    workers: int = 1,
    full: bool = False,
    timeout_s: float = TIMEOUT_S,
    progress: Callable[[Path, str], None] | None = None,
) -> dict[Path, str]:
    """
    Print pages of `render_reports`, each to a PDF beside it.

    Parameters
    ----------
    pages : HTML files.
    paper : "A4" or "Letter".
    chromium : default: `find_chromium`.
    workers : pages printed at the same time.
    timeout_s : for one page.
    full : open what is folded, which is left out else.
    progress : called after each page with its PDF, and "" or why there is none.

    Returns
    -------
    Why there is no PDF, for each page that has none; the others are made.
    """
    browser = chromium or find_chromium()
    work = partial(_printed, browser=browser, paper=paper, full=full, timeout_s=timeout_s)
    failed: dict[Path, str] = {}
    with ThreadPoolExecutor(workers) as pool:
        for page, reason in zip(pages, pool.map(work, pages), strict=True):
            if reason:
                failed[page] = reason
            if progress is not None:
                progress(pdf_of(page, full=full), reason)
    return failed


def pdf_of(page: Path, *, full: bool = False) -> Path:
    """Where a page's PDF stands, the short one or the one in full."""
    # no page's name has a space in it, so none can meet another athlete's
    return page.with_name(f"{page.stem}{' (full)' if full else ''}.pdf")


def is_current(page: Path, paper: Paper, *, full: bool = False) -> bool:
    """Whether the PDF beside a page was printed after the page was made, and on that paper."""
    pdf = pdf_of(page, full=full)
    if not pdf.exists() or pdf.stat().st_mtime_ns < page.stat().st_mtime_ns:
        return False
    box = _BOX.search(pdf.read_bytes())
    # Chromium rounds to its own pixels, so half a point or so off
    return box is not None and all(
        abs(float(side) - wanted) < 2
        for side, wanted in zip(box.groups(), _POINTS[paper], strict=True)
    )


def _printed(page: Path, *, browser: Path, paper: str, full: bool, timeout_s: float) -> str:
    """Print one page; "" or why it could not be, and then no older PDF is left to pass for it."""
    try:
        reason = _print(page, browser=browser, paper=paper, full=full, timeout_s=timeout_s)
    except (
        OSError,
        NotWrittenError,
    ) as err:  # a browser that doesn't start, a full disk: costs this page alone
        reason = f"no PDF: {err}"
    if reason:
        with contextlib.suppress(OSError):
            pdf_of(page, full=full).unlink(missing_ok=True)
    return reason


def _print(page: Path, *, browser: Path, paper: str, full: bool, timeout_s: float) -> str:
    """Print one page; "" or why it could not be."""
    with tempfile.TemporaryDirectory(prefix="gripbook-pdf-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        # the command line has no paper; the page itself leaves it to whoever prints
        sized = f"<style>@page {{ size: {paper} }}</style>\n</head>"
        source, made = folder / "page.html", folder / "page.pdf"
        text = page.read_text("utf-8").replace("</head>", sized, 1)
        if full:  # no text of a log holds a tag: it is escaped
            text = _FOLD.sub(r"<details open\1>", text)
        source.write_text(text, encoding="utf-8")
        command = [str(browser), *_FLAGS, f"--user-data-dir={folder / 'profile'}"]
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            command.append("--no-sandbox")  # Chromium refuses to start as root with it
        command += [f"--print-to-pdf={made}", source.as_uri()]
        code, said = _run(command, timeout_s)
        if code is None:
            return f"the browser took longer than {timeout_s:g} s"
        if not made.exists() or made.stat().st_size == 0:
            last = said.strip().splitlines()[-1:] or [f"exit status {code}"]
            return f"the browser made no PDF: {last[0]}"
        target = pdf_of(page, full=full)
        write_file(target, made.read_bytes())
        shutil.copymode(page, target)  # who may read the page may read it on paper
    return ""


def _run(command: list[str], timeout_s: float) -> tuple[int | None, str]:
    """Exit status (None: it took too long, and was ended with all it had started) and words."""
    with subprocess.Popen(
        command,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=sys.platform != "win32",
    ) as process:
        try:
            said = process.communicate(timeout=timeout_s)[1]
            return process.returncode, said
        except subprocess.TimeoutExpired:
            return None, ""
        finally:
            if process.poll() is None:
                with contextlib.suppress(OSError):
                    if sys.platform == "win32":
                        process.kill()
                    else:
                        os.killpg(process.pid, signal.SIGKILL)
