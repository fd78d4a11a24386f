"""What developers and `make` run: measures, locks, sources, pages."""
