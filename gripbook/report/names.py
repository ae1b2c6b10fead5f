"""File names of pages, safe on every disk."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterable


def page_names(athletes: Iterable[str]) -> dict[str, str]:
    """
    A safe file name for each athlete's page.

    Letters and digits of any script, dot, dash and underscore stay; all else becomes "_". Ids
    that would share a name (on disks that ignore case too), or the squad page's, get a short
    hash of the id.
    """
    ids = list(dict.fromkeys(athletes))
    bases = {a: re.sub(r"[^\w.-]", "_", a).strip(".") or "_" for a in ids}
    seen = Counter(b.casefold() for b in bases.values())
    names: dict[str, str] = {}
    for athlete, base in bases.items():
        stem = base[:100]
        reserved = re.fullmatch(r"index|con|prn|aux|nul|com\d|lpt\d", base.casefold())
        if seen[base.casefold()] > 1 or reserved or stem != base:
            stem += "-" + hashlib.sha256(athlete.encode()).hexdigest()[:6]
        names[athlete] = stem + ".html"
    return names
