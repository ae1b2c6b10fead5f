"""
The chart library a page carries: one script, made once by vl-convert, packed and kept.

Pages of ours have none, so vl-convert comes with an extra: saved views need the library, and charts
that a notebook of somebody's own shows.

Making it starts a JavaScript engine (seconds, and threads that make a later fork hang), so it's
made in a short-lived process of its own and kept in the user's cache folder.
"""

from __future__ import annotations

import base64
import contextlib
import gzip
import hashlib
import json
import os
import subprocess
import sys
from dataclasses import asdict, dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from gripbook.errors import GripbookError
from gripbook.writing import NotWrittenError, make_folder, write_file

#: Version of Vega-Lite that Altair 6 writes for.
VEGALITE_VERSION = "6.4"
_MAKE_LIMIT_S = 120
# `-P` keeps a stray vl_convert.py in the working folder from being imported.
_MAKE = (
    "import sys, vl_convert; "
    "sys.stdout.buffer.write(vl_convert.javascript_bundle(vl_version=sys.argv[1]).encode())"
)


class BundleError(GripbookError):
    """The chart library could not be made. The message holds what the maker said."""


@dataclass(frozen=True)
class Bundle:
    """
    The packed chart library.

    `packed` is the script, UTF-8, gzip, base64; `sha256` is the base64 SHA-256 of the unpacked
    script, as a Content-Security-Policy names it.
    """

    packed: str
    sha256: str


def script_sha256(script: str) -> str:
    """Base64 SHA-256 of a script's text, as a Content-Security-Policy names it."""
    return base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()


def cache_folder() -> Path:
    """Folder for what can be made again: `$XDG_CACHE_HOME/gripbook`, or the system's custom."""
    if base := os.environ.get("XDG_CACHE_HOME"):
        return Path(base) / "gripbook"
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home())) / "gripbook" / "cache"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "gripbook"
    return Path.home() / ".cache" / "gripbook"


@cache
def load_bundle() -> Bundle:
    """
    Give the packed chart library, from the cache or made anew.

    A kept file that doesn't unpack to the script it names is made again. Where the folder can't be
    written the library is made for this process alone.

    Raises
    ------
    BundleError : vl-convert isn't installed, or failed.
    """
    try:
        maker = version("vl-convert-python")
    except PackageNotFoundError as error:
        raise BundleError(
            "A notebook's own charts need vl-convert to be put on a page, and it isn't installed: "
            "pip install 'gripbook[charts]'."
        ) from error
    kept = cache_folder() / f"charts-{maker}-{VEGALITE_VERSION}.json"
    with contextlib.suppress(OSError, ValueError, TypeError, EOFError):
        found = Bundle(**json.loads(kept.read_text("utf-8")))
        script = gzip.decompress(base64.b64decode(found.packed, validate=True)).decode()
        if script_sha256(script) == found.sha256:
            return found
    made = _make()
    with contextlib.suppress(NotWrittenError):
        make_folder(kept.parent)
        write_file(kept, json.dumps(asdict(made)))
    return made


def _make() -> Bundle:
    command = [sys.executable, "-P", "-c", _MAKE, VEGALITE_VERSION]
    try:
        done = subprocess.run(command, capture_output=True, check=True, timeout=_MAKE_LIMIT_S)
    except subprocess.CalledProcessError as error:
        said = error.stderr.decode(errors="replace").strip().splitlines()
        raise BundleError(
            "The chart library could not be made: " + (said[-1] if said else "no message")
        ) from error
    except subprocess.TimeoutExpired as error:
        raise BundleError(
            f"The chart library was not made within {_MAKE_LIMIT_S} s. Try again."
        ) from error
    script = done.stdout.decode()
    # mtime=0: the time of packing must not get into the page's bytes.
    packed = base64.b64encode(gzip.compress(done.stdout, 9, mtime=0)).decode()
    return Bundle(packed=packed, sha256=script_sha256(script))
