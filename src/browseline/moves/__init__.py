"""The moves arrow: limits, distances and promises in; the season's stays for all mobs out."""

from browseline.moves.form import Clash, Plan, PlannedStay, Season, Verdict, Yardstick
from browseline.moves.judge import judge
from browseline.moves.propose import propose
from browseline.moves.replan import replan
from browseline.moves.season import plan
from browseline.moves.yardstick import yardstick_of

__all__ = [
    "Clash",
    "Plan",
    "PlannedStay",
    "Season",
    "Verdict",
    "Yardstick",
    "judge",
    "plan",
    "propose",
    "replan",
    "yardstick_of",
]
