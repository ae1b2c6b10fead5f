"""`python -m tests.licences`: the licence that each installed package states, and how often."""

from __future__ import annotations

from collections import Counter
from importlib.metadata import Distribution, distributions


def licence_of(package: Distribution) -> str:
    """The expression, else the classifiers, else the first line of the old field."""
    about = package.metadata
    if expression := about.get("License-Expression"):
        return expression
    named = [c.rpartition(" :: ")[2] for c in about.get_all("Classifier", []) if "License ::" in c]
    old = (about.get("License") or "").strip().splitlines()
    return ", ".join(sorted(named)) or (old[0] if old else "not stated")


def main() -> None:
    """Print name, version and licence of each, then the counts."""
    found = sorted((d.name.lower(), d.version, licence_of(d)) for d in distributions())
    for name, version, licence in found:
        print(f"{name} {version}: {licence}")
    for licence, count in Counter(licence for _, _, licence in found).most_common():
        print(f"{count:4} {licence}")


if __name__ == "__main__":
    main()
