"""What asks for a mob to be out of where it stands by now, whatever is planned."""

from __future__ import annotations

from browseline.chain.look import Picture
from browseline.limits import Bite, bites
from browseline.record.state import MobState


def out_now(picture: Picture, mob: MobState) -> Bite | None:
    """Return the hard limit that bites a mob where it stands by now, poison first; None if none does."""
    if mob.place is None or mob.place not in picture.scene.paddocks:
        return None
    due = (
        bite
        for bite in bites(picture.scene, mob.id, mob.place)
        if bite.hardness == "hard" and bite.moment is not None and bite.moment.likely <= picture.now
    )
    return min(due, key=lambda bite: bite.limit != "poison", default=None)
