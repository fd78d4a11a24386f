"""Copies to try things on, the same land as something else, designs side by side."""
