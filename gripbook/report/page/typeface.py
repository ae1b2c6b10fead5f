"""The typeface that every page carries, so that it looks and measures the same everywhere."""

from __future__ import annotations

import base64
from functools import cache
from pathlib import Path
from typing import Final

#: The cut's name; its licence reserves that of the typeface it is cut from (`face/OFL.txt`).
FAMILY: Final = "Gripbook Serif"
#: Family of the large cut, for the name at the head of a page.
NAME_FAMILY: Final = "Gripbook Name"

_FACE = Path(__file__).parent / "face"
#: file -> family, weights, style
_CUTS = {
    "text": (FAMILY, "400 600", "normal"),
    "italic": (FAMILY, "400", "italic"),
    "name": (NAME_FAMILY, "400", "normal"),
}


@cache
def face_css() -> str:
    """
    Style rules that hold the typeface, 78 kB in all.

    The page's policy must allow `font-src data:`.
    """
    rules = []
    for name, (family, weight, style) in _CUTS.items():
        data = base64.b64encode((_FACE / f"{name}.woff2").read_bytes()).decode()
        rules.append(
            f'@font-face{{font-family:"{family}";font-weight:{weight};font-style:{style};'
            f"font-display:block;src:url(data:font/woff2;base64,{data})}}"
        )
    return "\n".join(rules)
