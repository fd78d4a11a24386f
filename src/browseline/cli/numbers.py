"""Figures in words, as the pages tell them."""

from browseline.chain.why import amount

__all__ = ["amount"]
