"""One farm behind the pages: its picture, held until an entry, a file or the minute changes it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from browseline.chain import Picture
from browseline.chain.desk.desk import Desk, Said, hold
from browseline.chain.desk.doubts import doubts
from browseline.chain.desk.entry import entered
from browseline.chain.desk.kept import Told, entry_words, kept_words, told_of
from browseline.chain.desk.mend import corrected, entry_of, take_back, undoable
from browseline.chain.desk.typed import Typed
from browseline.chain.in_force import plan_in_force
from browseline.chain.in_units import in_units
from browseline.errors import BadInput, Finding, errors_in, finding
from browseline.events import KINDS, Event, Issued, When, new_id
from browseline.record.rows import Raw
from browseline.record.store import Record
from browseline.units import System
from browseline.web.held import TEXTS, WATCHED, Keeper, Stamp
from browseline.web.photos import with_photo
from browseline.web.sight import allow, hidden_now, is_hidden, seen, signed
from browseline.words import say

__all__ = ["TEXTS", "Stamp", "Store"]

Kept = tuple[str, frozenset[str]]
"""An entry's id, and what was hidden from whom it was told."""
PAPERS = "papers"
"""Where the readable copies of papers go, in the farm's folder."""
MOST_TOLD = 200
"""So many answers to entries are held, to be shown again when the page is."""


class Store:
    """One farm folder. Every method may be called from any thread.

    Parameters
    ----------
    folder : Path
        The farm's folder.
    keeper : Keeper, optional
        Of that folder, where its first picture is being made already.
    """

    def __init__(self, folder: Path, keeper: Keeper | None = None) -> None:
        self.folder = folder
        self._keeper = keeper or Keeper(folder)
        self._told: dict[Kept, Told] = {}
        self._once: dict[str, Kept] = {}

    def picture(self, now: datetime) -> Picture:
        """Return the farm as it is: every entry and file is in it, the clock at most ten minutes behind.

        Raises
        ------
        BadInput
            If the folder cannot be used as it is.
        """
        return self._keeper.held(now).picture

    def page(self, name: str, make: Callable[[Picture], Any], now: datetime) -> Any:
        """Return a page of the picture, made once and held as long as the picture.

        ``name`` tells pages apart; ``make`` is a function of the library that takes a picture, and hangs on
        nothing else: it is called again when the picture changes.
        """
        return self._keeper.page(name, make, now)

    def enter(
        self,
        typed: Typed,
        now: datetime,
        system: System | None = None,
        once: str = "",
        photo: Path | None = None,
    ) -> Told:
        """Keep one entry, once its doubts are settled, and return what it changed.

        ``system`` are the units in which it is told; what comes again with the same ``once`` was kept.
        ``photo`` is the file that came with it.

        Raises
        ------
        BadInput
            If it cannot be read, or if something speaks against it that ``--yes`` did not settle;
            nothing is kept then.
        """
        with self._keeper.writing(now) as before:
            if once and once in self._once:
                return self._told[self._once[once]]
            with hold(self.folder, now) as at:
                said = replace(typed.said, who=signed(typed.said.who))
                typed = with_photo(typed, photo)
                event = entered(typed.entry, typed.words, typed.texts, at, said)
                allow(event.kind)
                settled(doubts(at, event, before, said.at), said)
                at.record.append([event])
            return self._tell(at, event, before, now, system, once)

    def heard(self, typed: Typed, now: datetime) -> tuple[str, tuple[Finding, ...]]:
        """Return how a command is understood, and what speaks against it; nothing is kept.

        Raises
        ------
        BadInput
            If it cannot be read.
        """
        before, typed = self.picture(now), with_photo(typed, None)
        with hold(self.folder, now) as at:
            event = entered(typed.entry, typed.words, typed.texts, at, typed.said)
            return entry_words(at, event, ident=False), doubts(at, event, before, typed.said.at)

    def undo(self, ident: str, who: str, because: str, now: datetime, system: System | None = None) -> Told:
        """Take one entry back, and return what that changed; the record keeps both.

        Raises
        ------
        BadInput
            If there is no such entry, or it stands no more.
        """
        with self._keeper.writing(now) as before:
            with hold(self.folder, now) as at:
                undone, events = take_back(at, entry_of(at, ident).id, signed(who), because)
                allow(*(event.kind for event in (*undone, *events)))
                at.record.append([events[0]])
                kept = say("cli.undone", entry=entry_words(at, undone[0], ident=False))
            told = self._tell(at, events[0], before, now, system)
            return self._remember(replace(told, kept=kept))

    def correct(
        self, ident: str, changes: list[str], said: Said, now: datetime, system: System | None = None
    ) -> Told:
        """Put an entry right, once its doubts are settled; the record keeps both. Return what that changed.

        Raises
        ------
        BadInput
            If there is no such entry, or a change cannot be read, or something speaks against it.
        """
        with self._keeper.writing(now) as before:
            with hold(self.folder, now) as at:
                event = corrected(at, entry_of(at, ident), changes, replace(said, who=signed(said.who)))
                allow(entry_of(at, ident).kind, event.kind)
                settled(doubts(at, event, before, said.at), said)
                at.record.append([event])
            return self._tell(at, event, before, now, system)

    def told(self, ident: str, now: datetime) -> tuple[Told, bool]:
        """Return what was told after an entry, and whether it can be taken back by a tap.

        Once the server has started anew since, the entry alone is told.

        Raises
        ------
        BadInput
            If there is no such entry.
        """
        with hold(self.folder, now) as at:
            event = entry_of(at, ident)
            if is_hidden(event, hidden_now()):
                raise BadInput([finding("cli.no_entry", ident, found=0)])
            held = self._told.get((event.id, hidden_now()))
            told = held or Told(kept_words(at, event, ident=False), (), (), (), (), (), event.id)
            return told, undoable(at, event)

    def issue_relief(
        self, view: Picture, days: int, who: str, now: datetime, system: System | None, once: str = ""
    ) -> Told:
        """Issue the relief sheet of what a person sees, and keep what it was printed from.

        ``days`` are those after today; what comes again with the same ``once`` was issued.
        """
        from browseline.papers.issued import issue

        with self._keeper.writing(now) as before:
            if once and once in self._once:
                return self._told[self._once[once]]
            allow("issued")
            paper = issue(view, "relief", self.folder / PAPERS, season=plan_in_force(view), days=days)
            with hold(self.folder, now) as at:
                local = now.astimezone(at.zone)
                event = Event(
                    new_id(now), at.record.device, signed(who), When.at(local), local, "farm", paper.event
                )
                at.record.append([event])
            return self._tell(at, event, before, now, system, once)

    def issued(self, ident: str, kind: str, now: datetime) -> Issued:
        """Return a paper of a kind as it was issued.

        Raises
        ------
        BadInput
            If no such paper was issued under that entry.
        """
        with hold(self.folder, now) as at:
            body = entry_of(at, ident).body
        if not isinstance(body, Issued) or body.paper != kind:
            raise BadInput([finding("cli.no_entry", ident, found=0)])
        return body

    def take(self, raws: Sequence[Raw], now: datetime) -> tuple[Picture, Picture]:
        """Take entries of another device in, those that are here already once; return before and after."""
        with self._keeper.writing(now) as before:
            allow(*(raw["kind"] for raw in raws if raw["kind"] in KINDS))
            with Record.open(self.folder) as record:
                record.keep_files(now)
                record.append_rows(raws)
            return before, self._keeper.renew(now).picture

    def _tell(
        self, at: Desk, event: Event, before: Picture, now: datetime, system: System | None, once: str = ""
    ) -> Told:
        after = self._keeper.renew(now).picture
        views = (in_units(seen(picture, hidden_now()), system) for picture in (before, after))
        told = told_of(at, event, *views)
        return self._remember(replace(told, kept=kept_words(at, event, ident=False)), once)

    def _remember(self, told: Told, once: str = "") -> Told:
        while len(self._told) >= MOST_TOLD:
            gone = next(iter(self._told))
            del self._told[gone]
            self._once = {key: made for key, made in self._once.items() if made != gone}
        self._told[told.event, hidden_now()] = told
        if once:
            self._once[once] = (told.event, hidden_now())
        return told

    def stamp(self, names: Iterable[str] = WATCHED) -> Stamp:
        """Return what changes whenever one of these files does."""
        return self._keeper.stamp(names)


def settled(found: tuple[Finding, ...], said: Said) -> None:
    """Hold an entry back that something speaks against.

    Raises
    ------
    BadInput
        With the errors, or with the questions that were not answered with "keep it".
    """
    asked = [one for one in found if one.level == "question"]
    if wrong := errors_in(found) or ([] if said.yes else asked):
        raise BadInput(wrong)
