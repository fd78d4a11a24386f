"""m26, cautions where the hand is: every entry whose task can hurt shows its caution and who decides."""

from __future__ import annotations

from pathlib import Path

import pytest

from browseline import tables
from browseline.chain.desk.cautions import BY_WORD
from browseline.events.verbs import ENTRIES
from browseline.words import known, say
from tests.unit.cli_farm import FARM, SmallFarm, small_farm

HURTS = {
    "move": ("move ewes 8", "C1 C6"),
    "split": ("split ewes 10 into lates", "C1"),
    "merge": ("merge lates ewes", "C1"),
    "net": ("net 8 a 1 ac, b 2 ac", "C6"),
    "walk": ("walk 8 6", "C8"),
    "look": ("look ground 8 --ruts none", "C1 C8"),
    "count": ("count ewes 60", "C1"),
    "pen": ("pen ewes 0123 limping", "C1"),
    "back": ("back ewes 0123", "C1"),
    "born": ("born ewes 2 lambs", "C1 C7"),
    "died": ("died ewes 1 lamb", "C1 C7"),
    "sold": ("sold ewes 4 lambs", "C1"),
    "bought": ("bought ewes 4 lambs", "C1"),
    "wean": ("wean ewes 4 lambs weaners", "C1"),
    "weigh": ("weigh ewes 150", "C1"),
    "borrow": ("borrow goats 20 goats --kind goat --class doe", "C1 C6"),
    "return": ("return ewes", "C1"),
    "feed": ("feed ewes 2", "C1"),
    "treat": ("treat 0123 as said", "C1 C10"),
    "storm": ("storm wind", "C3 C4 C5 C9"),
    "cut": ("cut 8 hay", "C8"),
    "prune": ("prune hazel 3", "C3 C4"),
    "thin": ("thin hazel 3", "C3 C4"),
    "fell": ("fell hazel 3", "C3 C4"),
}
"""What is typed for a verb, and the cautions of ``data/cautions.csv`` that its "when" asks for."""
HARMLESS = {
    "shut", "open", "rain", "forecast", "sow", "spread", "sample", "plant", "lost", "guard", "measure",
    "pick", "spent", "earned", "fuel", "work", "photo", "note",
}  # fmt: skip
"""Verbs that are no such task by themselves; what their words say may still be one (below)."""
BY_WORDS = {
    "work 2 h storm clean-up": "C3 C4",
    "work 2 h sawing": "C3 C4",
    "work 2 h fencing": "C6",
    "work 2 h lambing": "C7",
    "work 1 h burning brush": "C3 C4 C13",
    "cut 8 brush": "C3 C4 C8 C13",
    "cut 8 pollards": "C3 C4 C8",
    "cut 8 firewood": "C3 C4 C8",
    "borrow hens 20 hens --kind chicken --class hen": "C1 C6 C14",
}
ELSEWHERE = {"C2": "the pattern behind C1", "C11": "the limit heat", "C12": "no verb designs or builds"}
FIRST = {"merge": ["split ewes 10 into lates"], "back": ["pen ewes 0123 limping"]}


@pytest.fixture
def farm(tmp_path: Path) -> SmallFarm:
    return small_farm(tmp_path / "farm")


def sentence(ident: str) -> str:
    """Return a caution as it must stand: its words, and who decides by the table."""
    row = next(row for row in tables.texts("cautions") if row["id"] == ident)
    text = say(f"cli.caution.{ident}")
    return say("cli.caution", text=text, who=row["defer_to"]) if row["defer_to"] else text


def shown(farm: SmallFarm, command: str) -> set[str]:
    """Return the cautions that a command's answer shows, whole."""
    done = farm.run(*command.split(), "--yes")
    assert done.code == 0, done.all
    idents = [row["id"] for row in tables.texts("cautions") if known(f"cli.caution.{row['id']}")]
    return {ident for ident in idents if sentence(ident) in done.all.replace("! ", "")}


def test_every_verb_is_judged() -> None:
    assert set(HURTS) | HARMLESS == set(ENTRIES)
    assert not set(HURTS) & HARMLESS


def test_every_caution_of_the_table_is_some_tasks_or_named_elsewhere() -> None:
    of_verbs = {ident for _, idents in HURTS.values() for ident in idents.split()}
    of_words = {ident for idents in BY_WORDS.values() for ident in idents.split()}
    table = {row["id"] for row in tables.texts("cautions")}
    assert of_verbs | of_words | set(ELSEWHERE) == table
    assert [
        i for i in {i for idents in BY_WORD.values() for i in idents} if not known(f"cli.caution.{i}")
    ] == []


@pytest.mark.parametrize("verb", HURTS)
def test_the_answer_shows_the_caution_and_who_decides(farm: SmallFarm, verb: str) -> None:
    for earlier in FIRST.get(verb, ()):
        farm.run(*earlier.split(), "--yes")
    command, idents = HURTS[verb]
    assert shown(farm, command) == set(idents.split())


@pytest.mark.parametrize("command", BY_WORDS)
def test_what_an_entry_is_about_calls_for_its_caution(farm: SmallFarm, command: str) -> None:
    assert shown(farm, command) == set(BY_WORDS[command].split())


@pytest.mark.parametrize("command", ["rain 0.5", "note gate mended", "plant hazel 3", "work 2 h books"])
def test_a_task_that_cannot_hurt_cries_no_wolf(farm: SmallFarm, command: str) -> None:
    assert shown(farm, command) == set()


def test_bales_are_fed_with_the_caution_on_mould(farm: SmallFarm) -> None:
    assert "Mouldy bales to no animal; ask the vet." in farm.run("feed", "ewes", "2").all


def test_a_file_of_entries_shows_each_caution_once(farm: SmallFarm, tmp_path: Path) -> None:
    rows = tmp_path / "rows.txt"
    rows.write_text("\n".join(f"2026-05-05 07:0{i} {row}" for i, row in enumerate(ROWS)), encoding="utf-8")
    done = farm.run("note", "--from", str(rows), "--yes")
    assert done.code == 0, done.all
    for ident in ("C1", "C3", "C4", "C6", "C7"):
        assert done.all.replace("! ", "").count(sentence(ident)) == 1


ROWS = ("cut 8 hay", "born ewes 2 lambs", "work 2 h fencing", "fell hazel 3")
PLACE = "Mill Lane, second gate after the ford"


def relief_text(folder: Path, more: str = "") -> str:
    text = FARM.replace('units = "acres"', f'units = "acres"\nplace_words = "{PLACE}"')
    farm = small_farm(folder, text + more)
    done = farm.run("papers", "relief", "--text")
    assert done.code == 0, done.all
    return done.all


EMERGENCY = '\n[contacts.emergency]\nname = "Emergency"\nphone = "911"\n'
PIGS = """
[[mobs]]
id = "pigs"
name = "Pigs"
at = "4"

[[mobs.lines]]
kind = "pig"
class = "sow"
head = 3
intake = "5 lb/d"
"""


@pytest.mark.parametrize(("more", "males"), [("", {"a ram"}), (PIGS, {"a ram", "a boar"})])
def test_the_relief_sheet_says_whom_to_ring_where_it_is_and_not_alone(
    tmp_path: Path, more: str, males: set[str]
) -> None:
    said = relief_text(tmp_path / "farm", EMERGENCY + more)
    assert "911 for help" in said
    assert f"At {PLACE}"[:40] in said
    alone = said.partition("Not alone with ")[2].partition(".")[0]
    assert {male for male in ("a ram", "a boar", "a bull") if male in alone} == males
    assert "OFF before touching wire" in said
    assert "do not cut" in said
