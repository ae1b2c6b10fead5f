"""What is kept of a failed page says nothing of the machine it failed on."""

from __future__ import annotations

import json
import re
import sys
import tempfile
from pathlib import Path

# a path from the root, from home, or from a drive (in JSON each backslash is written twice), plain
# or coloured for a terminal; what follows a tag, an address or a word is none
_PATHS = re.compile(
    r"""(?:(?<=\[\dm)|(?<=[\[;]\d\dm)|(?<=;\d\d\dm)|(?<![\w<>:/\\.)\]}~"'=-]))"""
    r"""(?:~/(?:[\w.+@-]+/)*|/(?:[\w.+@-]+/)+)([\w.+@<>-]+)"""
    r"""|(?<![\w])[A-Za-z]:(?:\\\\?[\w.+@ -]+)+\\\\?([\w.+@<>-]+)"""
)
_QUOTED = re.compile(
    r"""(?<=["'=(])(?:~/(?:[\w.+@ -]+/)*|/(?:[\w.+@ -]+/)+)([\w.+@<>-]+)(?=\\?["')])"""
)


def without_places(text: str, *folders: Path) -> str:
    """
    A text without paths of this machine; of each the last name stays.

    Parameters
    ----------
    text : words, code or a notebook as JSON.
    folders : folders of this run, such as the logs', of which names below them stay too.
    """
    known = {folder.resolve(): folder.resolve().name for folder in folders}
    usual = (Path.home(), Path.cwd(), Path(sys.prefix), Path(tempfile.gettempdir()))
    known = {**dict.fromkeys(usual, "~"), **known}  # whatever signs are in their names
    # the longest first, so that a folder within another goes whole
    for folder in sorted(known, key=lambda f: -len(str(f))):
        if folder.parent == folder:
            continue
        for written in {str(folder), json.dumps(str(folder), ensure_ascii=False)[1:-1]}:
            text = known[folder].join(re.split(re.escape(written) + r"(?!\w)", text))
    text = _QUOTED.sub(lambda m: m.group(1), text)
    return _PATHS.sub(lambda m: m.group(1) or m.group(2), text)
