"""Everything that happened or was planned: an append-only record and its fold to a state."""
