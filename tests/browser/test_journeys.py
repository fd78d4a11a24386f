"""The cases of the scenarios through the pages' own forms, by hand and eye: M1, P3 to P8, P16.

The farms are those of the acceptance tests; what they enter by code is typed here by a person.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path

from playwright.sync_api import Browser, Page

from browseline.chain import Picture, look
from browseline.record.store import Record
from tests.acceptance import test_p03, test_p04, test_p05, test_p06, test_p08, test_p16
from tests.acceptance.cases import EWE, at, farm_folder, mob, seen, walked
from tests.browser.conftest import PHONE, Served, Server, profile


class Person:
    """Somebody with a phone in front of a farm."""

    def __init__(self, page: Page, address: str, folder: Path, now: datetime) -> None:
        self.page, self.address, self.folder, self.now = page, address, folder, now
        self.entries = 0

    def go(self, path: str) -> None:
        """Open a page by its address."""
        self.page.goto(f"{self.address}/{path}")

    def tap(self, name: str) -> None:
        """Tap a link or a button by its words."""
        found = self.page.get_by_role("link", name=name).or_(self.page.get_by_role("button", name=name))
        found.first.click()
        self.page.wait_for_load_state("load")

    def more(self) -> None:
        """Unfold what stands under "more"."""
        self.page.locator("summary").filter(has_text="More").first.click()

    def write(self, **typed: str) -> None:
        """Fill in fields by their names, each a choice or a text; each is one entry."""
        for name, text in typed.items():
            field = self.page.locator(f'[name="{name.replace("__", "-")}"]:not([type=hidden])').first
            if field.evaluate("el => el.tagName") == "SELECT":
                field.select_option(text)
            else:
                field.fill(text)
            self.entries += 1

    def keep(self) -> str:
        """Keep the form and return what is told after it."""
        self.tap("Keep it")
        return self.words()

    def words(self) -> str:
        """Return what stands on the page."""
        return " ".join(self.page.inner_text("main").split())

    def sees(self, path: str) -> str:
        """Open a page and return what stands on it."""
        self.go(path)
        return self.words()

    def farm(self) -> Picture:
        """Return the farm as the record has it now."""
        return look(self.folder, self.now)


@contextmanager
def person(browser: Browser, folder: Path, now: str) -> Iterator[Person]:
    """Stand before the pages of a farm at a local time of it."""
    instant = at(now)
    context = profile(browser, viewport=PHONE, has_touch=True)
    with Server(folder, instant) as address:
        yield Person(context.new_page(), address, folder, instant)
    context.close()


def test_m1_first_answer_in_at_most_twelve_entries(own: Served, browser: Browser) -> None:
    """60 ewes of 150 lb in milk, 3.0 ac, 8 in, 275 lb/ac/in, leave 4, 70 %, 4.4 lb: 8.75 d, worms first."""
    before = sorted(path.name for path in own.folder.iterdir())
    context = profile(browser, viewport=PHONE)
    somebody = Person(context.new_page(), own.address, own.folder, datetime.now().astimezone())
    somebody.go("start")
    somebody.write(head="60", weight="150", area="3.0", height="8")
    somebody.write(**{"class": "sheep, ewe lactating twins"})
    somebody.more()
    somebody.write(intake="4.4", mass__per__height="275", leave__at="4", share__eaten="70")
    somebody.tap("When?")
    told = somebody.words()
    assert somebody.entries <= 12
    assert "Move by Sun 16:00: Worms comes first. 4 days in is the longest stay" in told
    assert "2,310 lb to eat at 264 lb/d is 8.7 d" in told
    assert "Nothing was kept." in told
    somebody.page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    assert "275 lb/ac/in" in somebody.words()
    assert sorted(path.name for path in own.folder.iterdir()) == before
    context.close()


def test_p3_an_injured_ewe_leaves_and_comes_back(tmp_path: Path, browser: Browser) -> None:
    test_p03.lambing(tmp_path, "2026-05-03 06:00")
    with person(browser, tmp_path, "2026-05-03 11:30") as farmer:
        farmer.go("enter/pen")
        farmer.write(animal="0123", why="lame", **{"head:sheep/ewes": "1", "head:sheep/lambs": "2"})
        farmer.more()
        farmer.write(when="today 7:30")
        told = farmer.keep()
        assert "59 ewes + 94 lambs" in told
        assert "−1.8 %" in told
        farmer.go("enter/treat")
        farmer.write(animal="0123", product="given by the vet", withdrawal="25 May")
        told = farmer.keep()
        assert "25 May" in told
        for words in ("mg", "ml", "dose"):
            assert words not in told.split()
        assert "59 ewes + 94 lambs" in farmer.sees("relief")
        assert "given by the vet" not in farmer.words()
        assert "25 May" in farmer.sees("today")
        farmer.go("enter/count")
        farmer.write(**{"head:sheep/ewes": "59", "head:sheep/lambs": "94"})
        assert "The count adds up." in farmer.keep()
        assert farmer.farm().state.questions == ()
    with person(browser, tmp_path, "2026-05-12 08:30") as farmer:
        farmer.go("enter/back")
        farmer.write(animal="0123")
        assert "60 ewes + 96 lambs" in farmer.keep()


def test_p4_the_fence_failed_and_nobody_knows_when(tmp_path: Path, browser: Browser) -> None:
    test_p04.broken_out(tmp_path, now="2026-06-10 21:00")
    with person(browser, tmp_path, "2026-06-11 07:30") as farmer:
        farmer.go("today")
        farmer.page.locator('a[href*="/enter/move"]').last.click()
        farmer.write(to="10")
        farmer.more()
        farmer.write(when="between 21:00 and 6:30")
        told = farmer.keep()
        for words in ("9.5 h", "150 lb", "energiser", "road", "neighbour", "3-4 kV", "60 ewes + 96 lambs"):
            assert words.casefold() in told.casefold(), words
        stay = farmer.farm().state.stays[-1]
        assert (stay.begin.start, stay.begin.end) == (at("2026-06-10 21:00"), at("2026-06-11 06:30"))
        farmer.go("enter/look?at=trees&paddock=10")
        farmer.write(seen="40", bitten="6", barked="2")
        told = farmer.keep()
        assert "6 of 40 bitten, 15 % (8-26 %" in told
        assert "2 of 40 barked, 5 % (2-14 %" in told


def test_p5_trees_browsed_move_now(tmp_path: Path, browser: Browser) -> None:
    heights = walked(test_p05.CAME, dict.fromkeys(range(1, 13), 7.0))
    farm_folder(tmp_path, as_of=date(2026, 5, 1),
                mobs=[mob(test_p05.EWES, test_p05.SUCKING, place="7", since=test_p05.CAME)])  # fmt: skip
    seen(tmp_path, test_p05.CAME, heights)
    with person(browser, tmp_path, "2026-05-06 08:30") as farmer:
        farmer.go("walk/7")
        farmer.write(height="4.2")
        farmer.page.locator("button.act").first.click()
        assert "1.1 d" in farmer.words()
        farmer.go("enter/look?at=trees&paddock=7")
        farmer.write(seen="30", bitten="5", barked="2")
        told = farmer.keep()
        assert "5 of 30 bitten, 17 % (8-30 %" in told
        first = farmer.sees("today")
        assert "Trees: now" in first
        farmer.page.locator(".limits a").first.click()
        assert "3 to 9 %" in farmer.words() or "3-9 %" in farmer.words()


def test_p6_cherry_down_out_now_and_never_a_safe_amount(tmp_path: Path, browser: Browser) -> None:
    test_p06.after_the_gale(tmp_path, storm=False)
    with person(browser, tmp_path, "2026-05-06 06:00") as farmer:
        farmer.go("enter/storm")
        farmer.write(what="gale")
        farmer.more()
        farmer.write(when="2:00")
        told = farmer.keep()
        assert "second person" in told
        farmer.go("enter/shut")
        farmer.write(paddock="4", because="cherry limb down", until="cleared or dry")
        farmer.keep()
        today = farmer.sees("today")
        assert today.index("NOW:") < today.index("Poison")
        assert "Poison: now" in today
        assert "Large-animal practice" in farmer.sees("relief")
        assert "Moved to 4" not in today
        for page in ("today", "relief", "shut", "poison"):
            for amount in ("safe", "0.46", "69 g"):
                assert amount not in farmer.sees(page).casefold() or page == "poison", (page, amount)
        assert "cherry limb down" in farmer.sees("relief")
        farmer.go("enter/move?mob=ewes&to=4")
        farmer.tap("Keep it")
        assert "4" in farmer.words()
        farmer.go("enter/move?mob=ewes&to=2")
        farmer.keep()
        farmer.go("enter/move?mob=ewes&to=4")
        farmer.page.locator('[name="because"]').first.evaluate("el => el.required = false")
        farmer.tap("Keep it")
        assert "4 is shut" in farmer.words()
        assert farmer.farm().state.mobs[0].place == "2"
        assert farmer.page.locator('select[name="to"]').input_value() == "4"


def test_p7_twenty_goats_on_loan(tmp_path: Path, browser: Browser) -> None:
    farm_folder(tmp_path, as_of=date(2026, 7, 31),
                mobs=[mob(EWE | {"intake": "2.6 lb/d"}, place="1", since="2026-07-31 08:00")])  # fmt: skip
    text = (tmp_path / "farm.toml").read_text("utf-8")
    brush = '[[paddocks]]\nid = "brush"\nname = "the brush"\ndeeded = "1.5 ac"\nwater = "trough"\n\n'
    (tmp_path / "farm.toml").write_text(text.replace("[[mobs]]", f"{brush}[[mobs]]", 1), "utf-8")
    seen(tmp_path, "2026-08-01 08:00", walked("2026-07-31 08:00", [7.0] * 12))
    with person(browser, tmp_path, "2026-08-01 09:30") as farmer:
        farmer.go("enter/borrow")
        farmer.write(new_mob="goats", heads="20", heads_class="doe range browsing", until="22 Aug",
                     owner="the neighbour", to="brush")  # fmt: skip
        farmer.more()
        farmer.write(weight="110", intake="3.85", when="9:00")
        told = farmer.keep()
        for words in ("disease", "30 d", "copper", "vet"):
            assert words in told, words
        lent = farmer.farm().state.mob("goats")
        assert lent is not None
        assert (lent.head, lent.owner, lent.due, lent.place) == (
            20,
            "the neighbour",
            date(2026, 8, 22),
            "brush",
        )
        assert "60 ewes" in farmer.sees("today")
    with person(browser, tmp_path, "2026-08-22 10:00") as farmer:
        farmer.go("enter/return")
        farmer.write(mob="goats")
        farmer.more()
        farmer.write(when="9:00")
        farmer.keep()
        assert "26 Sep" in farmer.sees("ready")


def test_p8_nut_harvest_last_grazing(tmp_path: Path, browser: Browser) -> None:
    test_p08.nut_year(tmp_path, "2026-05-21")
    with person(browser, tmp_path, "2026-05-21 07:00") as farmer:
        assert "7 days to its last grazing, 28 May" in farmer.sees("today")
        assert "6 ac of 34 ac (17.6 %)" in farmer.sees("harvest")
        assert "28 May" in farmer.sees("shut")
    with person(browser, tmp_path, "2026-07-10 07:00") as farmer:
        today = farmer.sees("today")
        assert not any(f"Moved to {place}" in today for place in ("5", "6", "7"))
        farmer.go("enter/move?mob=ewes&to=6")
        farmer.keep()
        assert "Harvest: now" in farmer.sees("today")


def test_p16_relief_weekend_typed_in_on_monday(tmp_path: Path, browser: Browser) -> None:
    test_p16.weekend(tmp_path)
    with person(browser, tmp_path, "2026-05-22 16:00") as farmer:
        sheet = farmer.sees("relief")
        for words in ("60 ewes + 96 lambs", "cherry limb down", "leaves gone", "911",
                      "Second lane past the mill", "555 0101", "Sat 23 May 8:00",
                      "Mon 25 May 8:00"):  # fmt: skip
            assert words in sheet, words
        for never in ("$", "41.0", "login", "password"):
            assert never not in sheet, never
        paper = farmer.page.request.get(f"{farmer.address}/relief.pdf?days=3")
        assert paper.body().startswith(b"%PDF")
    with person(browser, tmp_path, "2026-05-25 18:00") as farmer:
        for paddock, when in (("8", "Sat 8:00"), ("9", "today 8:00")):
            farmer.go("enter/move")
            farmer.write(mob="ewes", to=paddock)
            farmer.more()
            farmer.write(when=when)
            farmer.keep()
        farmer.go("enter/count")
        farmer.write(**{"head:sheep/ewes": "60", "head:sheep/lambs": "96"})
        farmer.keep()
        assert farmer.entries <= 12, "three minutes at a quarter of a minute an entry"
        stays = [(s.place, s.begin.start) for s in farmer.farm().state.stays if not s.planned][-2:]
        assert stays == [("8", at("2026-05-23 08:00")), ("9", at("2026-05-25 08:00"))]


def test_one_mob_fits_one_screen_of_a_phone(tmp_path: Path, browser: Browser) -> None:
    """From the day to what can wait: limits, where next, if you can't, shut gates."""
    test_p16.weekend(tmp_path)
    seen(tmp_path, "2026-05-22 16:00", walked("2026-05-22 15:00", {6: 7.0, 8: 10.0}))
    with person(browser, tmp_path, "2026-05-22 16:00") as farmer:
        farmer.go("today")
        tops = farmer.page.evaluate(
            "[...document.querySelectorAll('.limits .first, .limits .later, .next, .late, .act, .brief, '"
            " + '#ahead')]"
            ".map((e) => [e.id || e.className, Math.round(e.getBoundingClientRect().bottom)])"
        )
        order = [name for name, _ in tops]
        assert order[0] == "first"
        assert order[-4:] == ["tap act", "brief", "brief", "ahead"]
        assert max(bottom for name, bottom in tops if name != "ahead") <= PHONE["height"]
        first = farmer.page.locator(".limits .first a")
        size = "el => parseFloat(getComputedStyle(el).fontSize) * 1000 + +getComputedStyle(el).fontWeight"
        others = farmer.page.locator(".limits .later a").all()
        assert all(first.evaluate(size) > other.evaluate(size) for other in others)


def test_what_was_typed_stays_when_it_is_questioned(own: Served, page390: Page) -> None:
    page390.goto(f"{own.address}/walk/2")
    page390.fill("[name=height]", "90")
    page390.locator("button.act").click()
    assert page390.locator(".asked").count() == 1
    assert page390.input_value("[name=height]") == "90"
    page390.get_by_role("button", name="Keep it anyway").click()
    page390.wait_for_load_state("load")
    with Record.open(own.folder) as record:
        heights = [getattr(event.body, "height", None) for event in record.events()]
    assert any(height is not None and height.text == "90 in" for height in heights)


def test_units_of_one_person_change_nothing(own: Served, page390: Page) -> None:
    with Record.open(own.folder) as record:
        before = [event.id for event in record.events()]
    text = (own.folder / "farm.toml").read_bytes()
    page390.goto(f"{own.address}/settings")
    token = page390.input_value("input[name=csrf] >> nth=0")
    first = page390.request.get(f"{own.address}/today?as=json").text()
    for n in range(20):
        units = ("hectares", "acres")[n % 2]
        answer = page390.request.post(f"{own.address}/settings", form={"units": units, "csrf": token})
        assert answer.ok
        if n == 0:
            page390.goto(f"{own.address}/walk/1")
            assert "cm" in page390.inner_text("main")
    assert page390.request.get(f"{own.address}/today?as=json").text() == first
    with Record.open(own.folder) as record:
        assert [event.id for event in record.events()] == before
    assert (own.folder / "farm.toml").read_bytes() == text


def test_names_that_are_markup_reach_pages_and_drawings_as_data(own: Served, page390: Page) -> None:
    nasty = '<img src=x onerror="document.title=1">&{{ 7 * 7 }}</text><script>document.title=1</script>'
    farm = own.folder / "farm.toml"
    farm.write_text(farm.read_text("utf-8").replace('name = "Stile"', f"name = '{nasty}'"), "utf-8")
    for path in (
        "today",
        "walk",
        "walk/7",
        "enter/move",
        "map",
        "season",
        "shut",
        "ready",
        "relief",
        "record",
    ):
        page390.goto(f"{own.address}/{path}")
        assert page390.locator("img[src=x]").count() == 0, path
        assert page390.title() != "1", path
        assert page390.locator("main script, svg script").count() == 0, path
    page390.goto(f"{own.address}/walk/7")
    assert nasty in page390.inner_text("main")
