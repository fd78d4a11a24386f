"""What speaks against an entry, in the words of a form: by its fields, not by options of a command."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from browseline.errors import Finding
from browseline.words import known, say

OPTION, AT, WHEN = "--", "at", "when"
"""How an option begins; when it happened: an option, and a field (a look has a field of its own, ``at``)."""


def in_form(found: Iterable[Finding], fields: Mapping[str, str]) -> tuple[Finding, ...]:
    """Return findings as a form tells them: the field's label for its option, and how to mend it there.

    ``fields`` are the labels of the form's fields by their names.
    """
    labels = {name.replace("_", "-"): label for name, label in fields.items()}
    labels[AT] = labels.get(WHEN, "")
    return tuple(replace(one, where=_where(one.where, labels), mend=_mend(one)) for one in found)


def _where(where: str, labels: dict[str, str]) -> str:
    """Return where a finding stands: the label of the field, and what was typed into it."""
    option, _, text = where.partition(" ")
    label = labels.get(option.removeprefix(OPTION), "") if option.startswith(OPTION) else ""
    return f"{label}: {text}" if label else where


def _mend(found: Finding) -> str:
    key = f"form.mend.{found.code}"
    return say(key) if found.code and known(key) else found.mend
