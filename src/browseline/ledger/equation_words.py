"""Tree equations as people say them: *pines [Pinus], wood less than 0.45 times as heavy as water*; by whom.

The table and the farm's file hold the names as published: a set, a group, and specific gravity as ``spg``.
"""

from __future__ import annotations

import re

from browseline.words import known, list_words, say

DENSE = re.compile(r"^(?P<names>.+?) (?P<sign>>=|<)?(?P<span>[\d.]+(?:-[\d.]+)?) spg$")
BOUNDS = {">=": "least", "<": "below", None: "span"}
APART = "/"
LATIN = frozenset({
    "abies", "aceraceae", "betulaceae", "cornaceae", "cupressaceae", "ericaceae", "fabaceae",
    "fagaceae", "hamamelidaceae", "hippocastanaceae", "juglandaceae", "larix", "lauraceae",
    "magnoliaceae", "oleaceae", "picea", "pinaceae", "pinus", "platanaceae", "pseudotsuga", "rosaceae",
    "salicaceae", "tiliaceae", "tsuga", "ulmaceae",
})  # fmt: skip
"""Families and genera that have a name of their own in the catalogue."""


def group_words(group: str) -> str:
    """Return a group of trees of an equation in words; what the catalogue does not name stays as it is."""
    found = DENSE.match(group)
    if found is None:
        return _names(group)
    bound = BOUNDS[found["sign"]]
    return say(f"carbon.wood.{bound}", trees=_names(found["names"]), density=found["span"])


def _names(text: str) -> str:
    """Return families and genera with what they are called, those of one group joined."""
    first, comma, rest = text.partition(",")
    head, _, kept = first.partition(" ")
    names = head.split(APART)
    if not all(name.lower() in LATIN for name in names):
        return list_words(first.split(APART)) + comma + rest
    told = list_words(say(f"carbon.trees.{name.lower()}") for name in names)
    more = f" {kept}" if kept else ""
    return say("carbon.latin", trees=told, latin=", ".join(names), more=more) + comma + rest


def equation_words(case: str) -> str:
    """Return an equation named by its set and group, *set, group*, in words; anything else as it is."""
    name, _, group = case.partition(", ")
    if not group or not known(f"carbon.set.{name}"):
        return case
    return say("carbon.equation", group=group_words(group), whose=say(f"carbon.set.{name}"))
