"""Papers as PDF by Typst: templates of the package, data as JSON beside them, fonts that come along."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

from browseline.papers.fit import RELIEF, STEPS, printed
from browseline.papers.relief import ReliefSheet
from browseline.words import language

__all__ = ["RELIEF", "pages", "pdf", "png", "relief_data"]


def relief_data(sheet: ReliefSheet) -> dict[str, Any]:
    """Return what the template sets, shortened step by step until it fits on one page."""

    def at(step: int) -> dict[str, Any]:
        return printed(sheet, STEPS[step]) | {"lang": language.get()}

    fits, last = 0, len(STEPS) - 1
    while fits < last:  # each step takes less room than the one before
        middle = (fits + last) // 2
        if pages(RELIEF, at(middle)) == 1:
            last = middle
        else:
            fits = middle + 1
    return at(last)


def pages(template: str, data: dict[str, Any]) -> int:
    """Return how many pages a template makes of its data."""
    found = json.loads(_compiler(template, data).query("<pages>", field="value", one=True))
    return int(found)


def pdf(template: str, data: dict[str, Any]) -> bytes:
    """Return the PDF of a template; the same data give the same bytes.

    Parameters
    ----------
    template : str
        A file of ``papers/templates`` without its ending.
    data : dict
        Words are set as they stand: nothing in them is read as markup.
    """
    done = _compiler(template, data).compile(format="pdf")
    if not isinstance(done, bytes):
        raise TypeError(template)
    return done


def png(template: str, data: dict[str, Any], dots_per_inch: float = 144.0) -> bytes:
    """Return the first page of a template as PNG.

    Parameters
    ----------
    template : str
        A file of ``papers/templates`` without its ending.
    data : dict
    dots_per_inch : float
    """
    done = _compiler(template, data).compile(format="png", ppi=dots_per_inch)
    first = done[0] if isinstance(done, list) else done
    if not isinstance(first, bytes):
        raise TypeError(template)
    return first


def _compiler(template: str, data: dict[str, Any]) -> Any:
    import typst

    source = (resources.files("browseline") / "papers" / "templates" / f"{template}.typ").read_bytes()
    fonts = typst.Fonts(include_system_fonts=False)
    return typst.Compiler(source, font_paths=fonts, sys_inputs={"data": json.dumps(data, ensure_ascii=False)})
