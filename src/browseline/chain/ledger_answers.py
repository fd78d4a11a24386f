"""What follows an entry of the ledger: the day to file a loss, copper in mineral, wet ground under trees."""

from __future__ import annotations

from collections.abc import Iterator

from browseline.chain.look import Picture
from browseline.events import Event, Fed, Lost, Planted
from browseline.farm.site import site_notes
from browseline.ledger.goods import copper_words, is_mineral
from browseline.ledger.losses import notice_words, notices
from browseline.words import say


def after_loss(event: Event, body: Lost, picture: Picture) -> Iterator[str]:
    """Yield the notice that a loss belongs to: how much, whether it may qualify, by when to file."""
    planting = next((p for p in picture.farm.plantings if p.id == event.subject), None)
    for notice in notices(picture.scene):
        if planting is not None and (notice.species, notice.cause) == (planting.species, body.cause):
            yield from notice_words(picture.scene, notice)


def after_feed(event: Event, body: Fed, picture: Picture) -> Iterator[str]:
    """Yield the caution on copper where mineral went to sheep, and that on mould where bales were fed."""
    if body.amount.dimension == "count":
        yield say("feed.caution.mould")
    if is_mineral(body.what):
        yield from copper_words(mob for mob in picture.scene.mobs if mob.id == event.subject)


def after_planting(event: Event, _body: Planted, picture: Picture) -> Iterator[str]:
    """Yield the cautions of the place where trees were planted."""
    yield from dict.fromkeys(note.words for note in site_notes(picture.farm) if note.about == event.subject)
