"""File names of pages, safe on every disk."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable

#: Longest name before its ending, in bytes: disks take 255, and files are written beside under a
#: longer name first.
STEM_BYTES = 100
_RESERVED = re.compile(r"index|(con|prn|aux|nul|com[\d¹²³]|lpt[\d¹²³])(\..*)?")


def page_names(athletes: Iterable[str]) -> dict[str, str]:
    """
    A safe file name for each athlete's page, no two alike on any disk.

    Letters and digits of any script, dot, dash and underscore stay; all else becomes "_". Ids
    that would share a name (on disks that ignore case or accents' spelling too), ids that are too
    long and those that would take the squad page's name get a hash of the id, as long as it needs
    to be. The names depend on the set of ids, not on their order.
    """
    asked = list(dict.fromkeys(athletes))
    ids = sorted(asked)
    stems = {a: _cut(re.sub(r"[^\w.-]", "_", a).strip(".") or "_") for a in ids}
    seen = Counter(map(_alike, stems.values()))
    plain = {
        a
        for a, stem in stems.items()
        if seen[_alike(stem)] == 1
        and not _RESERVED.fullmatch(_alike(stem))
        and len(a.encode("utf-8", "replace")) <= STEM_BYTES
    }
    taken = {_alike(stems[a]) for a in plain}
    names: dict[str, str] = {}
    for athlete in ids:
        stem = stems[athlete]
        if athlete not in plain:
            digest = hashlib.sha256(athlete.encode("utf-8", "surrogatepass")).hexdigest()
            lengths = range(6, len(digest) + 1)
            stem = next(
                found
                for found in (f"{stem}-{digest[:n]}" for n in lengths)
                if _alike(found) not in taken
            )
            taken.add(_alike(stem))
        names[athlete] = stem + ".html"
    return {athlete: names[athlete] for athlete in asked}


def _alike(name: str) -> str:
    """The same for names that some disk takes for one."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def _cut(stem: str) -> str:
    """The stem, not longer than a disk can take, without half a character at its end."""
    return stem.encode("utf-8", "replace")[:STEM_BYTES].decode("utf-8", "ignore")
