"""Which limit bites first, where to go next, and what this land will be."""
