"""
A spreadsheet of one's own to a log folder, by a map that a coach corrects once.

`map_file` holds the map, `guess` makes its first draft, `take` turns rows into rows of the log,
`ledger` knows what was taken before, `adopt` does it all.
"""

from gripbook.logs.adopt.adopt import Adoption, adopt

__all__ = ["Adoption", "adopt"]
