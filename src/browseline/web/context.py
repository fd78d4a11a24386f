"""Contexts of the pages that the library has no record for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from browseline.chain.desk.choices import Choice
from browseline.chain.desk.kept import Told
from browseline.errors import Finding
from browseline.ledger.account import Account
from browseline.units import CHOSEN
from browseline.words import say

GROUPS: Mapping[str, tuple[str, ...]] = {
    "moves": ("move", "split", "merge", "net"),
    "land": ("walk", "look", "shut", "open", "rain", "forecast", "storm", "cut", "sow", "spread", "sample"),
    "animals": (
        "count", "pen", "back", "born", "died", "sold", "bought", "wean", "weigh", "borrow", "return", "feed",
        "treat",
    ),
    "trees": ("plant", "lost", "guard", "prune", "thin", "fell", "measure", "pick"),
    "books": ("work", "spent", "earned", "fuel", "photo", "note"),
}  # fmt: skip
"""Every verb that writes an entry, in the groups in which people look for it."""
MORE: Mapping[str, tuple[str, ...]] = {
    "plan": ("season", "what-if", "ready", "harvest", "decades", "try", "compare", "brief", "map", "layout",
             "canopy"),
    "papers": ("relief", "record", "entries"),
    "store": ("store", "balance", "money", "carbon", "losses", "hours", "share", "yield", "cultivars"),
    "farm": ("pocket", "people", "bring", "site", "poison", "purpose", "settings", "start"),
}  # fmt: skip
"""Every page that is not in the row of words above each page."""


@dataclass(frozen=True, slots=True)
class FindingsPage:
    """What is to be mended before something can be done: errors and questions, all at once."""

    schema: str
    findings: tuple[Finding, ...]

    @classmethod
    def of(cls, found: Iterable[Finding]) -> FindingsPage:
        """Return the page of some findings."""
        return cls("browseline/findings/1", tuple(found))


@dataclass(frozen=True, slots=True)
class NewsPage:
    """What a phone asks for every few seconds: how many entries there are, what is wrong; its token.

    ``units`` are those of a height, the person's own first: another order than the phone's table has tells it
    that the person reads other units now.
    """

    schema: str
    events: int
    alarms: tuple[str, ...]
    csrf: str
    units: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WorkingPage:
    """A page that takes long is being made; the browser asks again by itself."""

    schema: str


@dataclass(frozen=True, slots=True)
class ToldPage:
    """What is told after an entry. ``undo`` tells that it can still be taken back from this page."""

    schema: str
    told: Told
    undo: bool

    @classmethod
    def of(cls, told: Told, undo: bool) -> ToldPage:
        """Return the page of an entry."""
        return cls("browseline/told/2", told, undo)


@dataclass(frozen=True, slots=True)
class HeardPage:
    """A command read back before it is kept: what was typed, what was understood, what speaks against it.

    ``entry`` is empty where the command could not be understood; ``questions`` tells that all that was
    ``found`` may be kept anyway.
    """

    schema: str
    words: str
    entry: str
    found: tuple[Finding, ...]
    questions: bool

    @classmethod
    def of(cls, words: str, entry: str, found: Iterable[Finding] = ()) -> HeardPage:
        """Return the page of a command."""
        wrong = tuple(found)
        asked = all(one.level == "question" for one in wrong)
        return cls("browseline/heard/1", words, entry, wrong, asked and bool(entry))


@dataclass(frozen=True, slots=True)
class VerbGroup:
    """Verbs that belong together, each with the words on its button."""

    title: str
    verbs: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class EnterPage:
    """Every verb that writes an entry, group by group."""

    schema: str
    groups: tuple[VerbGroup, ...]

    @classmethod
    def of(cls) -> EnterPage:
        """Return the page."""
        groups = (
            VerbGroup(say(f"web.group.{name}"), tuple(Choice(v, say(f"form.verb.{v}.button")) for v in verbs))
            for name, verbs in GROUPS.items()
        )
        return cls("browseline/enter/1", tuple(groups))


@dataclass(frozen=True, slots=True)
class MorePage:
    """The way to every page, group by group; a choice's value is the page's address."""

    schema: str
    groups: tuple[VerbGroup, ...]

    @classmethod
    def of(cls, may: Callable[[str], bool]) -> MorePage:
        """Return the page of a person: only what ``may`` says that they may see."""
        groups = []
        for name, pages in MORE.items():
            own = tuple(Choice(page, say(f"web.page.{page}")) for page in pages if may(page))
            groups += [VerbGroup(say(f"web.more.{name}"), own)] if own else []
        return cls("browseline/more/1", tuple(groups))


@dataclass(frozen=True, slots=True)
class SettingsPage:
    """The units that the person reads, those there are, and every question on which sources differ."""

    schema: str
    chosen: str
    systems: tuple[Choice, ...]
    sources: Account

    @classmethod
    def of(cls, sources: Account, chosen: str) -> SettingsPage:
        """Return the page of a person who reads some units."""
        systems = tuple(Choice(system, say(f"web.units.{system}")) for system in CHOSEN)
        return cls("browseline/settings-page/1", chosen, systems, sources)
