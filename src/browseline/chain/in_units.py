"""A picture in the units that one person reads; what is recorded stays as it was typed."""

from __future__ import annotations

from dataclasses import replace

from browseline.chain.look import Picture
from browseline.units import System


def in_units(picture: Picture, system: System | None) -> Picture:
    """Return the picture with every amount told in some units; None leaves the farm's own."""
    if system is None or system == picture.farm.units:
        return picture
    farm = replace(picture.farm, units=system)
    return replace(picture, farm=farm, scene=replace(picture.scene, farm=farm, memo=kept_by(picture)))


def kept_by(picture: Picture) -> dict[object, object]:
    """Return what a picture told otherwise still holds: its weather, and what the farm taught."""
    memo = picture.scene.memo
    return {name: memo[name] for name in ("growing", "taught") if name in memo}
