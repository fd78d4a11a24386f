"""Which limit bites first, where to go next, and what this land will be."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from browseline.farm.read import read as read

__version__ = "0.1.0"
__all__ = ["__version__", "read"]


def __getattr__(name: str) -> Any:
    """Return a public name, imported when it is first asked for, so that the start stays quick."""
    if name == "read":
        from browseline.farm.read import read

        return read
    raise AttributeError(name)


def __dir__() -> list[str]:
    return sorted(__all__)
