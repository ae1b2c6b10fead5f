"""What may go wrong while pages are made: kills, a full disk, no memory, two runs, links."""
