"""`python -m tests.audit FILE`: what pip-audit's JSON says, and what it could not look up."""

from __future__ import annotations

import json
import sys
from pathlib import Path


def summary(text: str) -> tuple[str, int]:
    """
    What an audit says, and its exit status.

    0: every package was looked up and none has a known fault; 1: some have one; 2: not every
    package could be looked up, though pip-audit itself calls that no fault.
    """
    try:
        packages = json.loads(text)["dependencies"]
    except (ValueError, KeyError, TypeError):
        return "Nothing was checked: the list of known faults could not be reached.", 2
    missed = [p["name"] for p in packages if "skip_reason" in p]
    faults = [
        f"{p['name']} {p['version']}: {fault['id']}"
        for p in packages
        for fault in p.get("vulns", ())
    ]
    checked = len(packages) - len(missed)
    lines = [f"{checked} packages checked, {len(faults)} known faults.", *faults]
    if missed or not packages:
        lines.append(
            f"Not checked, since nothing could be looked up: {', '.join(missed) or 'all'}."
        )
    return "\n".join(lines), 1 if faults else 2 if missed or not packages else 0


def main() -> int:
    """Print the summary of a file."""
    said, status = summary(Path(sys.argv[1]).read_text("utf-8"))
    print(said)
    return status


if __name__ == "__main__":
    sys.exit(main())
