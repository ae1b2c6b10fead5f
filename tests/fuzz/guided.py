"""`python -m tests.fuzz.guided -max_total_time=60`: bytes guided by what code they reach."""

from __future__ import annotations

import sys

import atheris

with atheris.instrument_imports(include=["gripbook.logs"]):
    import gripbook.logs.load  # noqa: F401

from tests.conftest import FILES as SMALL
from tests.fuzz.folders import GUIDED, check


def one(data: bytes) -> None:
    """A folder in which one file holds these bytes; the first of them says which."""
    files = {name: text.encode() for name, text in SMALL.items()}
    if data:
        files[GUIDED[data[0] % len(GUIDED)]] = data[1:]
    check(files)


if __name__ == "__main__":
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()
