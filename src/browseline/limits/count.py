"""Count: a count that does not reconcile is an open question, never an edit."""

from __future__ import annotations

from browseline.limits.form import Bite, Limit, Moment, Scene
from browseline.record.state import MobState
from browseline.words import say


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    if mob.place != paddock:
        return []
    return [
        Bite(
            "count",
            mob.id,
            paddock,
            Moment.at(asked.at.start),
            "question",
            say(f"record.question.{asked.code}", **dict(asked.facts)),
            say("limits.count.do"),
            short=say("limits.count.short"),
            reserve=("M",),
        )
        for asked in scene.state.questions
        if asked.subject == mob.id and asked.code == "count"
    ]


LIMIT = Limit("count", _bites)
