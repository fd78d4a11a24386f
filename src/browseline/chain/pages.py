"""Every page by its name: one function of the library each, which gives one frozen record.

A page needs the picture of a farm (``chain.look``) and nothing else; what a person may choose has a default
and is a keyword of the page's own function: ``season_page(picture, made)``, ``record_page(picture, first,
last)``. Every page has ``schema`` and, where it says anything in whole sentences, ``sentences``; an
``Account`` may have a table besides (``head``, ``rows``). Its JSON is
``exchange.plain.document(page.schema, page)``. Papers are pages above the chain: ``papers.relief.relief`` and
``papers.season.season_sheet``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from browseline.chain import accounts, field_pages
from browseline.chain.canopy_page import CanopyPage, canopy_page
from browseline.chain.decades_page import DecadesPage, decades_page
from browseline.chain.field_pages import ReadyPage, ShutPage, WalkPage
from browseline.chain.harvest import HarvestAdvice
from browseline.chain.look import Picture
from browseline.chain.period import Period
from browseline.chain.season_page import SeasonPage, season_page
from browseline.chain.today import Today, today
from browseline.chain.what_if_page import what_if_page
from browseline.ledger.account import Account
from browseline.ledger.carbon_page import CarbonPage
from browseline.ledger.money_page import MoneyPage


@dataclass(frozen=True, slots=True)
class Page:
    """A page: its name (its verb and its route), what it gives, and the function that gives it."""

    name: str
    of: type
    make: Callable[[Picture], Any]


_OWN = (
    Page("today", Today, today),
    Page("walk", WalkPage, field_pages.walk_page),
    Page("season", SeasonPage, season_page),
    Page("what-if", Account, what_if_page),
    Page("shut", ShutPage, field_pages.shut_page),
    Page("ready", ReadyPage, field_pages.ready_page),
    Page("harvest", HarvestAdvice, field_pages.harvest_page),
    Page("canopy", CanopyPage, canopy_page),
    Page("record", Period, field_pages.record_page),
    Page("decades", DecadesPage, decades_page),
)
MORE: Mapping[str, type[Account]] = {"money": MoneyPage, "carbon": CarbonPage}
"""Accounts that hold more than sentences, figures and a table."""
PAGES: Mapping[str, Page] = {
    **{page.name: page for page in _OWN},
    **{name: Page(name, MORE.get(name, Account), make) for name, make in accounts.PAGES.items()},
}
"""The pages of the chain, in the order in which a person meets them."""
