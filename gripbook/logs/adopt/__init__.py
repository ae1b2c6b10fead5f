"""
A spreadsheet of one's own to a log folder, by a map that a coach corrects once.

`map_file` holds the map, `guess` makes its first draft, `take` turns rows into rows of the log,
`ledger` knows what was taken before, `adopt` does it all.
"""

from gripbook.logs.adopt.adopt import Adoption, adopt
from gripbook.logs.adopt.ledger import LEDGER, Conflict
from gripbook.logs.adopt.map_file import HELD, Question
from gripbook.logs.adopt.take import Ignored, UnreadCell

__all__ = ["HELD", "LEDGER", "Adoption", "Conflict", "Ignored", "Question", "UnreadCell", "adopt"]
