"""p16 and m15: a relief weekend on one sheet of paper, typed in on Monday; two copies joined both ways."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pdfplumber
import pytest
from pypdf import PdfReader

from browseline import papers
from browseline.chain import Picture, look
from browseline.events import Moved, Shut
from browseline.papers.plain import parts
from browseline.record.fold import fold
from browseline.record.join import join
from browseline.record.store import Record
from tests.acceptance.cases import BALE, EWE, LAMBS, at, entry, farm_folder, mob, seen, walked

POINTS = 14
SMS_PARTS = 4


def weekend(folder: Path) -> Picture:
    """Return the farm on a Friday in May: ewes in 6, moves on Saturday and Monday, 4 shut."""
    farm_folder(
        folder,
        as_of=date(2026, 5, 1),
        mobs=[mob(EWE | {"intake": "4.4 lb"}, LAMBS | {"intake": "1.2 lb"})],
        hay=[BALE | {"bales": "14 bales", "price": "$60"}],
        place_words="Second lane past the mill, red gate",
        energiser={"where": "in the shed", "reading": "6.0 kV", "read_on": date(2026, 5, 21)},
        contacts={
            "vet": {"name": "Vet", "phone": "555 0101"},
            "neighbour": {"name": "Next door", "phone": "555 0102"},
            "emergency": {"name": "Emergency", "phone": "911"},
        },
    )
    entries = [
        *walked("2026-05-20 18:00", [7.0] * 12),
        entry("2026-05-20 08:00", "ewes", Moved("6")),
        entry("2026-05-21 07:00", "4", Shut("cherry limb down", until="leaves gone")),
        entry("2026-05-23 08:00", "ewes", Moved("8"), planned=True),
        entry("2026-05-25 08:00", "ewes", Moved("9"), planned=True),
    ]
    return seen(folder, "2026-05-22 16:00", entries)


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str, str]:
    """Return the PDF, its text, and the text message."""
    folder = tmp_path_factory.mktemp("p16")
    picture = weekend(folder / "farm")
    paper = papers.issue(picture, "relief", folder / "out", days=3)
    pdf = next(path for path in paper.paths if path.suffix == ".pdf")
    return pdf, PdfReader(pdf).pages[0].extract_text(), paper.text


def test_p16_one_side_14_points_black_and_white(sheet: tuple[Path, str, str]) -> None:
    with pdfplumber.open(sheet[0]) as pdf:
        assert len(pdf.pages) == 1
        sizes = [round(c["size"], 2) for c in pdf.pages[0].chars if c["text"].strip()]
        inks = {c["non_stroking_color"] for c in pdf.pages[0].chars}
    assert min(sizes) >= POINTS
    assert all(set(ink) <= {0, 1} for ink in inks if ink is not None)


@pytest.mark.parametrize(
    "said",
    [
        "60",
        "96",
        "cherry limb down",
        "leaves gone",
        "911",
        "Second lane past the mill",
        "555 0101",
        "555 0102",
        "6.0 kV",
        "Sat",
        "Mon",
        "COUNT",
        "FENCE",
        "TREE",
        "OFF before a hand touches wire",
        "trough",
    ],
)
def test_p16_the_sheet_says(sheet: tuple[Path, str, str], said: str) -> None:
    assert said in " ".join(sheet[1].split())


def test_p16_two_moves_in_order(sheet: tuple[Path, str, str]) -> None:
    words = " ".join(sheet[1].split()).partition("MOVE")[2]
    assert words.index("23 May") < words.index("25 May")
    assert words.count("8:00") >= 2


@pytest.mark.parametrize("never", ["$", "USD", "latitude", "withdrawal", "log in", "password"])
def test_p16_the_sheet_never_says(sheet: tuple[Path, str, str], never: str) -> None:
    assert never.lower() not in sheet[1].lower()
    assert never.encode() not in sheet[0].read_bytes() or never == "$"


def test_p16_a_text_phone_gets_it_whole(sheet: tuple[Path, str, str]) -> None:
    assert parts(sheet[2]) <= SMS_PARTS
    assert all(word in sheet[2] for word in ("60", "96", "911", "SHUT 4"))


def test_p16_what_was_ticked_is_typed_in_on_monday(tmp_path: Path) -> None:
    weekend(tmp_path / "farm")
    done = [entry("2026-05-23 08:40", "ewes", Moved("8")), entry("2026-05-25 08:10", "ewes", Moved("9"))]
    picture = seen(tmp_path / "farm", "2026-05-25 17:00", done)
    happened = [(s.place, s.begin.start) for s in picture.state.stays if s.mob == "ewes"][-2:]
    assert happened == [("8", at("2026-05-23 08:40")), ("9", at("2026-05-25 08:10"))]


def test_m15_two_phones_offline_two_days_end_alike_in_either_order(tmp_path: Path) -> None:
    weekend(tmp_path / "a")
    shutil.copytree(tmp_path / "a", tmp_path / "b")
    with Record.open(tmp_path / "a") as record:
        record.append([entry("2026-05-23 08:40", "ewes", Moved("8"))])
    with Record.open(tmp_path / "b") as record:
        record.append([entry("2026-05-23 19:00", "ewes", Moved("9")), *walked("2026-05-23 19:10", {8: 6.5})])
    copies = {order: tmp_path / order for order in ("ab", "ba")}
    for order, target in copies.items():
        shutil.copytree(tmp_path / order[0], target)
        join(target, tmp_path / order[1], at("2026-05-24 20:00"))
    states = []
    for target in copies.values():
        with Record.open(target) as record:
            states.append(
                fold(look(target, at("2026-05-24 21:00")).farm, record.events(), at("2026-05-24 21:00"))
            )
    assert states[0] == states[1]
    # the later observed place wins, and both entries stay
    assert [m.place for m in states[0].mobs if m.id == "ewes"] == ["9"]
    assert [s.place for s in states[0].stays if s.mob == "ewes"][-2:] == ["8", "9"]
