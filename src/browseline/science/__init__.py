"""Equations: arrays in, arrays out. Constants arrive as arguments; nothing here reads a file."""
