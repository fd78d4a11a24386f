"""Runs the arrows in order; alone knows them all."""

from browseline.chain.look import Picture, look, picture
from browseline.chain.today import Today, today

__all__ = ["Picture", "Today", "look", "picture", "today"]
