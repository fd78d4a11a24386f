"""What the farm's rest asks of its open paddocks, and how much of it the grass covers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from browseline.figures import Figure, typed
from browseline.ledger.balance import Ground
from browseline.ledger.hay import Lasting
from browseline.limits import Scene


@dataclass(frozen=True)
class Rotation:
    """What the farm's rest asks of the paddocks: length of stays, and the share of it that grass covers."""

    rest: Figure
    paddocks: int
    stay: Figure
    covers: Figure


def rotation_of(scene: Scene, there: Ground, grass: Sequence[Lasting | None]) -> Rotation | None:
    """Return what the rest that the farm typed asks for; None where it typed none, or growth is not short."""
    said, paddocks = scene.farm.rules.rest, len(there.ground.which)
    if said is None or paddocks < 2 or not grass or grass[0] is None:
        return None
    rest = typed("rest", said.to("d"), "d", said.text)
    days = grass[0].days
    stay_d = (rest.value or 0.0) / (paddocks - 1)
    stay = Figure("stay", stay_d, "d", formula=f"{rest.value:g} d ÷ ({paddocks} − 1)", parts=(rest,))
    share = (days.value or 0.0) / (rest.value or 1.0)
    covers = Figure(
        "rest_covered", share, "1", formula=f"{days.value:.4g} d ÷ {rest.value:g} d", parts=(days, rest)
    )
    return Rotation(rest, paddocks, stay, covers)
