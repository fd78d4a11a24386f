"""The pages of the ledger and of the site, each by its name."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from browseline.chain.look import Picture
from browseline.chain.money_ahead import money_given
from browseline.chain.plant_dangers import poison_account
from browseline.chain.purpose import purpose_account
from browseline.chain.season_growth import grown_of
from browseline.chain.settings_page import settings_account
from browseline.chain.store import store_account
from browseline.chain.tree_ages import aged_light
from browseline.farm.names import words
from browseline.farm.site import site_notes
from browseline.ledger.account import Account
from browseline.ledger.balance_page import balance_account
from browseline.ledger.carbon_page import carbon_account
from browseline.ledger.cultivars import cultivars_account
from browseline.ledger.harvest_log import yield_account
from browseline.ledger.hours import hours_account
from browseline.ledger.losses import losses_account
from browseline.ledger.money_page import money_account
from browseline.ledger.pasture_share import share_account
from browseline.words import list_words, say


def site_account(picture: Picture) -> Account:
    """Return the cautions of the place: wet soil, walnut and its neighbours, leases."""
    found = [note.words for note in site_notes(picture.farm)] or [say("site.none")]
    planted = {p.paddock for p in picture.farm.plantings if p.paddock}
    unread = [
        place.name for place in picture.farm.paddocks
        if place.id in planted and getattr(picture.farm.soil_of(place), "drainage", None) is None
    ]  # fmt: skip
    if unread:
        found.append(say("site.unread", places=list_words(unread), drainages=list_words(words("drainage"))))
    return Account("browseline/site/1", "site", tuple(found))


PAGES: Mapping[str, Callable[[Picture], Account]] = {
    "store": store_account,
    "balance": lambda picture: balance_account(picture.scene, grown_of(picture), aged_light(picture)),
    "share": lambda picture: share_account(picture.scene, picture.events),
    "hours": lambda picture: hours_account(picture.scene, picture.events),
    "losses": lambda picture: losses_account(picture.scene),
    "carbon": lambda picture: carbon_account(picture.scene, picture.events),
    "money": lambda picture: money_account(picture.scene, picture.events, (), money_given(picture)),
    "yield": lambda picture: yield_account(picture.scene, picture.events),
    "cultivars": lambda picture: cultivars_account(picture.scene, picture.events),
    "site": site_account,
    "purpose": purpose_account,
    "poison": poison_account,
    "settings": settings_account,
}
"""What ``why NAME`` opens beside limits and numbers."""
