"""The store: hay, crops, feed and mineral, water hauled, from the farm's opening values and the record."""

from __future__ import annotations

from dataclasses import dataclass

from browseline.chain.look import Picture
from browseline.figures import Figure
from browseline.ledger.account import Account
from browseline.ledger.goods import Goods, goods, goods_words
from browseline.ledger.hay import HayStore, hay_store


@dataclass(frozen=True)
class Store:
    """What lies in the barn and what went out of it."""

    schema: str
    hay: HayStore | None
    goods: Goods
    sentences: tuple[str, ...]


def store(picture: Picture) -> Store:
    """Return what is in store now."""
    hay, found = hay_store(picture.scene), goods(picture.scene, picture.events)
    return Store("browseline/store/1", hay, found, tuple(goods_words(picture.scene, found, hay)))


def store_account(picture: Picture) -> Account:
    """Return the store as a page."""
    made = store(picture)
    figures: list[Figure] = [made.hay.bales, made.hay.stored, made.hay.eaten] if made.hay is not None else []
    figures += [crop.left for crop in made.goods.crops]
    figures += [one.left or one.given for one in made.goods.given]
    figures += [haul.water for haul in made.goods.hauled]
    return Account(made.schema, "store", made.sentences, tuple(figures))
