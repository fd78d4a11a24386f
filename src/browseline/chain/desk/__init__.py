"""Where entries are written: from people's words to an event, its doubts, and what it changed."""
