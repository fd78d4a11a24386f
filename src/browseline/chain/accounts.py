"""The pages of the ledger and of the site, each by its name."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from browseline import tables
from browseline.chain.look import Picture
from browseline.chain.plant_dangers import poison_account
from browseline.chain.purpose import purpose_account
from browseline.chain.season_growth import grown_of
from browseline.chain.store import store_account
from browseline.farm import settings
from browseline.farm.settings import Setting
from browseline.farm.site import site_notes
from browseline.figures import BASES, Basis
from browseline.ledger.account import Account
from browseline.ledger.balance_page import balance_account
from browseline.ledger.hours import hours_account
from browseline.ledger.losses import losses_account
from browseline.ledger.pasture_share import share_account
from browseline.units import plain
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
        found.append(say("site.unread", places=list_words(unread)))
    return Account("browseline/site/1", "site", tuple(found))


# ---------------------------------------------------------------- sources that differ


def settings_account(picture: Picture) -> Account:
    """Return every question on which sources differ: all readings, and what is used here."""
    found = settings.settings(picture.farm)
    told = [line for one in found for line in _setting(one)]
    told.append(say("account.settings.conflicts"))
    told += [_conflict(row) for row in tables.texts("conflicts")]
    return Account("browseline/settings/1", "settings", tuple(told))


def _setting(one: Setting) -> Iterator[str]:
    if one.typed is not None:
        used = say("account.settings.typed", amount=one.typed.text)
    else:
        used = say(f"account.settings.{'named' if one.named else 'default'}", name=one.used.applies_to)
    yield say("account.settings.question", question=say(f"account.settings.{one.key}"), used=used)
    for row in one.readings:
        known = tables.sources().get(row.source, {}).get("reference", row.source)
        yield say("account.settings.reading", name=row.applies_to, amount=_amount(row), mark=BASES[row.basis],
                  source=known, locator=row.locator, note=row.note)  # fmt: skip
    if not one.cautious and one.typed is None:
        yield say("account.settings.shorter")
    yield say("account.settings.how", key=one.key, name=one.used.applies_to)


def _amount(row: tables.Row) -> str:
    if row.value is not None:
        return f"{plain(row.value)} {row.unit}"
    if row.low is None or row.high is None:
        return say("account.settings.no_number")
    return say("account.settings.from_to", low=plain(row.low), high=plain(row.high), unit=row.unit)


def _conflict(row: Mapping[str, str]) -> str:
    third = say("account.settings.third", third=row["reading_c"]) if row["reading_c"] else ""
    basis: Basis = row["basis"]  # type: ignore[assignment]
    ident = f"{row['conflict_id']} {BASES[basis]}"
    told = {
        "topic": row["topic"],
        "first": row["reading_a"],
        "second": row["reading_b"],
        "done": row["do_this"],
    }
    return say("account.settings.conflict", third=third, ident=ident, source=row["source_id"], **told)


PAGES: Mapping[str, Callable[[Picture], Account]] = {
    "store": store_account,
    "balance": lambda picture: balance_account(picture.scene, grown_of(picture)),
    "share": lambda picture: share_account(picture.scene, picture.events),
    "hours": lambda picture: hours_account(picture.scene, picture.events),
    "losses": lambda picture: losses_account(picture.scene),
    "site": site_account,
    "purpose": purpose_account,
    "poison": poison_account,
    "settings": settings_account,
}
"""What ``why NAME`` opens beside limits and numbers."""
