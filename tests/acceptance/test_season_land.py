"""The season's plan on small farm folders: hay, winter grass, who comes and goes, ways, water, shade, away.

Each farm is a folder with farm.toml, a drawn map, weather and entries typed as a farmer types them. What is
held against a plan is worked out here from what was typed.
"""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from pypdf import PdfReader

from browseline.chain import look
from browseline.moves.paths import far_km
from browseline.papers import parts
from tests.acceptance.cases import at
from tests.acceptance.land_farm import (
    EWES,
    SIDE_M,
    LandFarm,
    box,
    days_in,
    land,
    line,
    mob,
    moves,
    part,
    plain,
    point,
    stays,
)
from tests.web_farm import Served

LB_KG = 0.45359237
DAY = timedelta(days=1)
HAY_RULES = {"hay_pass": "40 USD/ac", "hay_field_loss": "20 %", "hay_days": "4 d", "worm_rest": "28 d"}
BARN = {"id": "barn", "bales": "20 bales", "bale_weight": "800 lb", "dry": "88 %"}

SEASON = {
    "id": "out",
    "kind": "grazing",
    "what": "Season",
    "from": date(2026, 4, 25),
    "to": date(2026, 11, 10),
}


def fields(count: int) -> list[dict[str, Any]]:
    return [{"id": str(n)} for n in range(1, count + 1)]


def local(day: str, hour: str = "07:30") -> str:
    return f"{day}T{hour}-04:00"


def days(first: date, last: date) -> set[date]:
    """Return the days from the first to the last, both among them."""
    return {first + DAY * n for n in range((last - first).days + 1)}


# ---------------------------------------------------------------- 1: hay in a spring flush

FLUSH = local("2026-05-10")


@pytest.fixture(scope="module")
def flush(tmp_path_factory: pytest.TempPathFactory) -> tuple[LandFarm, dict[str, Any]]:
    """Five fields of 4.8 ac in the flush, 90 ewes, hay at $40 a bale; 3 is promised to a neighbour."""
    promised = {"id": "meyer", "kind": "hay", "what": "Hay for the neighbour", "from": date(2026, 5, 1),
                "to": date(2026, 6, 6), "paddocks": ["3"]}  # fmt: skip
    farm = land(
        tmp_path_factory.mktemp("flush"), fields(6), [mob("1", "2026-05-09 08:00", EWES | {"head": 90})],
        date(2026, 5, 9), rules=HAY_RULES, hay=[BARN], prices={"hay": "$40"}, promises=[promised],
    )  # fmt: skip
    farm.walk(
        {str(n): h for n, h in enumerate((8, 9, 9, 10, 8, 9), start=1)}, now=local("2026-05-10", "07:00")
    )
    return farm, farm.season("--keep", now=FLUSH, days=40)


def test_the_plan_cuts_what_it_skips_and_grazes_nothing_that_is_kept_for_hay(
    flush: tuple[LandFarm, dict[str, Any]],
) -> None:
    _, made = flush
    assert made["cuts"]
    for cut in made["cuts"]:
        day, clear = date.fromisoformat(cut["day"]), date.fromisoformat(cut["clear"])
        grazed = days_in(made, cut["paddock"])
        assert (clear - day).days == 4
        assert not grazed & days(day, clear - DAY)
        # grass that was cut is grazed again only when it stands at its start height, weeks on
        assert min((d for d in grazed if d >= clear), default=day + 20 * DAY) >= day + 10 * DAY
        assert cut["saved"]["value"] >= 0.5
        assert cut["paddock"] != "3"
    assert not days_in(made, "3") & days(date(2026, 5, 10), date(2026, 6, 5))
    hay = [p for p in made["parts"] if p["name"] == "plan_hay_made"]
    assert len(hay) == 1
    assert hay[0]["value"] == pytest.approx(sum(c["made"]["value"] for c in made["cuts"]))
    # $40 a bale of 800 lb, 88 % dry, less 40 USD an acre of 140 m squares
    usd_kg = 40 / (800 * LB_KG * 0.88)
    worth = hay[0]["value"] * usd_kg - len(made["cuts"]) * 40 * (SIDE_M**2 / 4046.8564224)
    assert -hay[0]["parts"][0]["value"] == pytest.approx(worth, rel=2e-3)
    assert "hay as dry matter $0.057/lb" in plain(made)  # 40 / (800 x 0.88)


def test_relief_reads_which_ground_is_kept_for_hay_on_paper_and_on_the_phone(
    flush: tuple[LandFarm, dict[str, Any]],
) -> None:
    farm, made = flush
    cuts = sorted((date.fromisoformat(c["day"]), c["paddock"]) for c in made["cuts"])
    (day, paddock), later = cuts[0], {p for _, p in cuts[1:]}
    eve = local(str(day - 2 * DAY), "06:00")
    done = farm.typed("papers", "relief", "--text", now=eve)
    (told,) = [row for row in done.out.splitlines() if row.startswith("HAY ")]
    until = f"cut {day.day} May, shut to {(day + 4 * DAY).day} May"
    assert re.search(rf"\b{paddock}( Field {paddock})?: {until}", told)
    assert all(f"{p} Field {p}" in done.out or f" {p}" in done.out for p in later)
    paper = PdfReader(farm.folder / "papers" / f"relief {day - 2 * DAY}.pdf")
    words = " ".join(paper.pages[0].extract_text().split())
    assert len(paper.pages) == 1
    assert "HAY: keep stock out" in words
    assert f"{paddock} Field {paddock}: cut about" in words
    phone = Served(farm.folder, now=eve).here()
    carried = phone.get("/pocket/relief", headers={"accept": "application/json"}).json()
    assert f"cut about {day:%a} {day.day} May" in carried["hay"][0]["words"]
    assert "HAY: keep stock out" in phone.get("/relief").text
    assert any("Hay for the neighbour, 1 May to 5 Jun." in row["because"] for row in carried["shut"])


def test_a_cut_whose_day_went_by_is_told_and_many_cuts_still_make_one_page(
    flush: tuple[LandFarm, dict[str, Any]], tmp_path: Path
) -> None:
    """The day after an unentered cut its ground may hold hay; twelve cuts in two days fit on one side."""
    farm, made = flush
    day, paddock = min((date.fromisoformat(c["day"]), c["paddock"]) for c in made["cuts"])
    after = farm.typed("papers", "relief", "--text", now=local(str(day + DAY), "06:00")).out
    assert f"HAY {paddock} Field {paddock}: cut was due {day.day} May, ask before stock go in" in after
    many = land(tmp_path, fields(14), [mob("1", "2026-05-09 08:00")], date(2026, 5, 9), rules=HAY_RULES)
    for n in range(2, 14):
        many.typed("cut", str(n), "hay", "--planned", "--at", f"{11 + n % 2} May", now=FLUSH)
    text = many.typed("papers", "relief", "--text", now=FLUSH).out
    paper = PdfReader(many.folder / "papers" / "relief 2026-05-10.pdf")
    words = " ".join(paper.pages[0].extract_text().replace("\u200b", "").split())
    assert len(paper.pages) == 1
    assert "cut 11 May, shut to 15 May" in words
    (hay,) = [line for line in text.splitlines() if line.startswith("HAY ")]
    for first, days in ((2, "11 May, shut to 15 May"), (3, "12 May, shut to 16 May")):
        told = next(part for part in hay.removeprefix("HAY ").split("; ") if days in part)
        named = {int(number) for number in re.findall(r"\d+", told.split(": ")[0])}
        assert named == set(range(first, 14, 2))
    assert parts(text[text.index("RELIEF ") :].strip()) <= 4


def test_today_sends_nobody_into_ground_that_is_kept_for_hay(tmp_path: Path) -> None:
    """2 is highest and is named, until its cut is planned; where nothing else is open it is named as kept."""
    farm = land(tmp_path, fields(3), [mob("1", "2026-05-09 08:00")], date(2026, 5, 9), rules=HAY_RULES)
    farm.walk({"1": 8, "2": 11, "3": 9}, now=FLUSH)

    def named(hour: str) -> dict[str, Any]:
        told = json.loads(farm.typed("today", "--json", now=local("2026-05-10", hour)).out)
        found: dict[str, Any] = told["mobs"][0]["next"]
        return found

    assert named("08:00")["paddock"] == "2"
    farm.typed("cut", "2", "hay", "--planned", "--at", "20 May", now=local("2026-05-10", "08:30"))
    assert named("09:00")["paddock"] == "3"
    farm.typed("shut", "3", "because", "limb", "down", "until", "cleared", now=local("2026-05-10", "09:30"))
    assert (named("10:00")["paddock"], named("10:00")["because"]) == (
        "2", "kept for hay, to be cut about 20 May",
    )  # fmt: skip


def test_what_if_cuts_no_ground_whose_hay_is_promised_or_that_is_kept_for_a_cut(
    flush: tuple[LandFarm, dict[str, Any]],
) -> None:
    farm, made = flush
    told = farm.typed("season", "--what-if", "--days", "40", "--iterations", "200", now=FLUSH).all
    assert "What each rule is worth" in told
    assert not [p for p in ("3", *(c["paddock"] for c in made["cuts"])) if f"Cut Field {p} on" in told]


def test_a_gate_shut_after_the_plan_drops_its_cut_with_the_reason(
    flush: tuple[LandFarm, dict[str, Any]],
) -> None:
    farm, made = flush
    paddock = made["cuts"][0]["paddock"]
    farm.typed("shut", paddock, "because", "oak", "limb", "down", "until", "cleared", now=local("2026-05-11"))
    again = farm.season(now=local("2026-05-11", "08:00"), days=40)
    assert paddock not in {c["paddock"] for c in again["cuts"]}
    assert not days_in(again, paddock) & days(date(2026, 5, 12), date(2026, 6, 18))
    assert f"The cut of Field {paddock} kept for" in plain(again)
    assert f"Field {paddock} is no longer cut about" in plain(again)
    text = farm.typed("papers", "relief", "--text", now=local("2026-05-11", "08:00")).out
    assert f"SHUT {paddock} Field {paddock}: oak limb down" in text
    assert f"HAY {paddock} " not in text


# ---------------------------------------------------------------- 2: winter grass, turnout, housing

DRY = {"kind": "sheep", "class": "ewe maintenance", "head": 70, "weight": "150 lb", "intake": "2.6 lb/d"}


def test_grass_kept_for_winter_is_left_until_its_day_and_stock_go_in_on_theirs(tmp_path: Path) -> None:
    """5 and 6 are stockpiled to 31 Oct, the season ends on 9 Nov: both typed as a farmer says them."""
    farm = land(tmp_path, [*fields(6), {"id": "sac", "name": "Hill", "sacrifice": True}],
                [mob("1", "2026-10-09 08:00", DRY)], date(2026, 10, 9))  # fmt: skip
    now = local("2026-10-10")
    farm.walk({str(n): h for n, h in enumerate((8, 7, 6, 8, 9, 9), start=1)}, now=now)
    farm.typed(
        "promise", "stockpile", "1", "Sep", "to", "31", "Oct", "5", "6", "--what", "Winter grass", now=now
    )
    farm.typed("promise", "grazing", "25", "Apr", "to", "9", "Nov", now=now)
    made = farm.season(now=now, days=40, iterations=2_500)
    kept = days_in(made, "5") | days_in(made, "6")
    assert kept
    assert min(kept) >= date(2026, 11, 1)
    assert stays(made)[-1] == ("yard", date(2026, 11, 10), date(2026, 11, 19))
    assert "Housed from 10 Nov." in plain(made)
    # nobody is asked to read a height on ground that no plan grazes
    assert "No height has been read" not in plain(made)
    # 9 days in at 70 x 2.6 lb, and nothing is paid for a day off grass there
    assert part(made, "plan_hay") >= 9 * 70 * 2.6 * LB_KG - 0.1
    told = farm.typed("papers", "relief", "--text", now=now).out
    assert "Winter grass, 1 Sep to 31 Oct." in told
    assert "5 Field 5 and 6 Field 6" in told


def test_before_turnout_a_mob_stays_in_and_the_plan_says_since_when_it_might_go(tmp_path: Path) -> None:
    farm = land(tmp_path, fields(3), [mob("yard", "2026-04-09 08:00")], date(2026, 4, 9), promises=[SEASON])
    now = local("2026-04-10")
    farm.walk({"1": 4.5, "2": 5, "3": 5}, now=now)
    told = farm.typed("today", now=now).all
    # the ground is wet in April: nothing is open, which is no want of weather
    assert ("None: no paddock is open today." in told) == ("(Ground)" in told)
    assert "Growth is not known" not in told
    made = farm.season(now=now, days=28)
    first = moves(made)[0]
    assert first >= date(2026, 4, 25)
    assert stays(made)[0][0] == "yard"
    says = (
        f"Turned out on {first.day} Apr."
        if first == date(2026, 4, 25)
        else "The grazing season begins on 25 Apr."
    )
    assert says in plain(made)


# ---------------------------------------------------------------- 3: sold, bought, lent

LAMBS = {"kind": "sheep", "class": "lamb growing 30 kg", "head": 50, "weight": "66 lb", "intake": "2.4 lb/d"}
JULY = local("2026-07-01")


def trading(folder: Path, *, housed: bool) -> LandFarm:
    """Ewes, lambs; a neighbour's steers to 12 Jul; lambs to be sold on the 10th, ewes bought on the 15th."""
    steers = {"id": "steers", "name": "Steers", "at": "yard" if housed else "4", "since": "2026-06-29 08:00",
              "owner": "Neighbour", "due": date(2026, 7, 12), "lines": [
                  {"kind": "cattle", "class": "beef yearling", "head": 8, "weight": "700 lb",
                   "intake": "18 lb/d"}]}  # fmt: skip
    autumn = {
        "id": "out",
        "kind": "grazing",
        "what": "Season",
        "from": date(2026, 9, 1),
        "to": date(2026, 11, 1),
    }
    farm = land(folder, fields(5), [mob("yard" if housed else "1", "2026-06-30 08:00", EWES, LAMBS), steers],
                date(2026, 6, 30), promises=[autumn] if housed else [])  # fmt: skip
    farm.walk({str(n): h for n, h in enumerate((8, 9, 7, 8, 9), start=1)}, now=local("2026-07-01", "07:00"))
    farm.typed("sold", "ewes", "50", "lamb growing 30 kg", "--planned", "--at", "10 Jul", now=JULY)
    farm.typed("bought", "ewes", "20", "ewe lactating twins", "--planned", "--at", "15 Jul", now=JULY)
    return farm


def fed_kg(*stretches: tuple[float, int]) -> float:
    return sum(lb * days_ * LB_KG for lb, days_ in stretches)


def test_what_is_planned_to_be_sold_bought_and_sent_home_eats_until_or_from_its_day(tmp_path: Path) -> None:
    """Housed: 296 lb a day to the 9th, 176 without lambs, 264 with 20 ewes more; steers 144 to the 11th."""
    farm = trading(tmp_path, housed=True)
    made = farm.season(now=JULY, days=20)
    own = fed_kg((40 * 4.4 + 50 * 2.4, 9), (40 * 4.4, 5), (60 * 4.4, 6))
    assert part(made, "plan_hay") == pytest.approx(own + fed_kg((8 * 18, 11)), rel=1e-6)
    assert stays(made, "steers")[-1] == ("away", date(2026, 7, 12), date(2026, 7, 21))
    # both came early: the lambs eat no more from then on, and no ewes are bought a second time on the 15th
    farm.typed("sold", "ewes", "50", "lamb growing 30 kg", now=local("2026-07-08", "07:00"))
    farm.typed("bought", "ewes", "20", "ewe lactating twins", now=local("2026-07-08", "07:10"))
    again = farm.season(now=local("2026-07-08"), days=13)
    assert part(again, "plan_hay") == pytest.approx(fed_kg((60 * 4.4, 13), (8 * 18, 4)), rel=1e-6)


def test_lent_steers_go_on_their_day_and_goats_that_are_to_come_have_their_days(tmp_path: Path) -> None:
    farm = trading(tmp_path, housed=False)
    farm.typed("borrow", "goats", "20", "doe dry", "--kind", "goat", "--from", "Hill", "--until", "20 Jul",
               "--intake", "3 lb/d", "--planned", "--at", "8 Jul", now=JULY)  # fmt: skip
    made = farm.season(now=JULY, days=21)
    goats = stays(made, "goats")
    assert goats[0] == ("away", date(2026, 7, 1), date(2026, 7, 8))
    assert goats[-1][:2] == ("away", date(2026, 7, 20))
    assert "Comes to the farm on 8 Jul." in plain(made)
    assert "Goes from the farm on 12 Jul." in plain(made)
    # on the day itself they go, and Today says so from three days before
    the_day = farm.season(now=local("2026-07-12"), days=21)
    assert {place for place, _, _ in stays(the_day, "steers")} == {"away"}
    assert "Steers go home on 12 Jul (Neighbour)." in farm.typed("today", now=local("2026-07-09")).all
    late = local("2026-07-13")
    assert "Steers were to go home on 12 Jul (Neighbour)" in farm.typed("today", now=late).all
    after = farm.season(now=late, days=14)
    assert "50 growing lambs of Ewes were to be sold on 10 Jul." in plain(after)
    assert re.search(r"Goats \(20 .*\) were to come on 8 Jul\.", plain(after))
    assert "goats" not in {one["id"] for one in after["mobs"]}


def test_a_mob_that_comes_where_nobody_meant_it_to_is_told_why(tmp_path: Path) -> None:
    """The plan goes by limits; what was typed for the day on which it comes is answered with its price."""
    said = {}
    for n, to in enumerate(("1", "2", "3", "4", "5")):
        farm = trading(tmp_path / str(n), housed=False)
        farm.typed("borrow", "goats", "20", "doe dry", "--kind", "goat", "--from", "Hill", "--to",
                   to, "--until", "20 Jul", "--intake", "3 lb/d", "--planned", "--at", "8 Jul", "--yes",
                   now=JULY)  # fmt: skip
        made = farm.season(now=JULY, days=21)
        first = stays(made, "goats")[1][0]
        said[to] = (first, plain(made).split("You typed ")[1:])
    assert len({first for first, _ in said.values()}) == 1
    for to, (first, told) in said.items():
        if to == first:
            assert told == []
        else:
            assert told[0].startswith(f"Field {to}: ")
            assert any(words in told[0] for words in ("it would cost $", "a rule bars it", "as good"))


# ---------------------------------------------------------------- 4: lanes, gates, water


def test_animals_walk_by_lane_and_gate_and_no_dry_ground_is_planned(tmp_path: Path) -> None:
    """Far lies on 1's back fence, 140 m off; its one gate opens to a lane that goes round: 1.71 km."""
    wide = 5 * SIDE_M
    shapes = [
        box("far", "paddock", (0, SIDE_M), (SIDE_M, SIDE_M)),
        point("gate-far", "gate", (SIDE_M / 2, 2 * SIDE_M)),
        line("back", "lane", [(wide + 5, -5), (wide + 5, 2 * SIDE_M + 5), (0, 2 * SIDE_M + 5)], width="8 m"),
    ]  # fmt: skip
    places = [*fields(2), {"id": "far", "name": "Far"}, {"id": "dry", "name": "Dry", "water": "none"},
              {"id": "spring", "name": "Spring", "water": "unknown"}]  # fmt: skip
    farm = land(tmp_path, places, [mob("1", "2026-06-04 08:00")], date(2026, 6, 4), shapes=shapes)
    now = local("2026-06-05")
    farm.walk({p["id"]: 9 for p in places}, now=local("2026-06-05", "07:00"))
    picture = look(farm.folder, at("2026-06-05 07:30"))
    order, km = picture.scene.paddocks, far_km(picture.farm, picture.scene.paddocks)
    # middle to gate 70 m, lane 5 m off: east 635, north 290, back west 635; and the same in the far field
    by_hand = 70 + 5 + (wide + 5 - SIDE_M / 2) + (2 * SIDE_M + 10) + (wide + 5 - SIDE_M / 2) + 5 + 70
    assert km[order.index("1"), order.index("far")] * 1000 == pytest.approx(by_hand, abs=3)
    made = farm.season(now=now, days=20)
    stood = [place for place, _, _ in stays(made)]
    told_km = sum(km[order.index(a), order.index(b)] for a, b in pairwise(stood)
                  if "yard" not in (a, b))  # fmt: skip
    if "yard" not in stood:
        assert part(made, "plan_walk") == pytest.approx(told_km, rel=1e-6)
    assert "dry" not in stood
    assert ("Nobody wrote whether there is water in Spring" in plain(made)) == ("spring" in stood)
    dear = tmp_path / "dear"
    far = land(
        dear, places, [mob("1", "2026-06-04 08:00")], date(2026, 6, 4), shapes=shapes, prices={"walk": "$200"}
    )
    far.walk({p["id"]: 9 for p in places}, now=local("2026-06-05", "07:00"))
    assert "far" not in {place for place, _, _ in stays(far.season(now=now, days=20))}


def test_water_carried_at_a_price_is_the_last_choice_and_a_broken_trough_shuts_its_field(
    tmp_path: Path,
) -> None:
    def made(trip: str | None, folder: Path) -> tuple[LandFarm, dict[str, Any]]:
        places = [*fields(3), {"id": "4", "water": "trailer", "trough": "100 gal"}]
        prices = {"water_trip": trip} if trip else {}
        farm = land(folder, places, [mob("1", "2026-06-04 08:00")], date(2026, 6, 4), prices=prices)
        farm.walk({"1": 9, "2": 9, "3": 9, "4": 11}, now=local("2026-06-05", "07:00"))
        return farm, farm.season(now=local("2026-06-05"), days=14)

    farm, free = made(None, tmp_path / "free")
    _, dear = made("$60", tmp_path / "dear")
    assert "one filling of a trailer $60 (water_trip)" in plain(dear)
    assert "filling of a trailer" not in plain(free)
    assert days_in(free, "4")
    assert len(days_in(dear, "4")) < len(days_in(free, "4"))
    grazed = sorted({place for place, _, _ in stays(free)} & {"2", "3"})
    broken = grazed[0] if grazed else "2"
    farm.typed(
        "shut", broken, "because", "trough", "broken", "until", "mended", now=local("2026-06-05", "08:00")
    )
    again = farm.season(now=local("2026-06-05", "08:30"), days=14)
    assert not days_in(again, broken)


# ---------------------------------------------------------------- 5: shade on hot days

COWS = {
    "kind": "cattle",
    "class": "dairy cow lactating",
    "head": 6,
    "weight": "1300 lb",
    "intake": "45 lb/d",
}


def test_hot_days_are_spent_in_the_shade_as_far_as_its_grass_goes(tmp_path: Path) -> None:
    """Price of a hot day against none; days told are those outside the shade by how likely they are hot."""

    def made(price: str) -> dict[str, Any]:
        places = [*fields(3), {"id": "wood", "name": "Wood edge", "cover": "50 %"}]
        farm = land(tmp_path / price.strip("$"), places, [mob("1", "2026-07-09 08:00", COWS)],
                    date(2026, 7, 9), prices={"heat_day": price})  # fmt: skip
        farm.walk({p["id"]: 9 for p in places}, now=local("2026-07-10", "07:00"))
        return farm.season(now=local("2026-07-10"), days=12)

    cool, hot = made("$0"), made("$10")
    assert len(days_in(hot, "wood")) > len(days_in(cool, "wood"))
    assert len(days_in(hot, "wood")) >= 7
    (told,) = [p for p in hot["parts"] if p["name"] == "plan_dear"]
    outside = 12 - len(days_in(hot, "wood")) - len(days_in(hot, "yard"))
    assert 0 < told["value"] < outside + len(days_in(hot, "wood"))
    # 6 x 45 lb a day at 11 kg the livestock unit and 10 USD: what a surely hot day outside costs
    units = 6 * 45 * LB_KG / 11
    assert told["parts"][0]["value"] == pytest.approx(told["value"] * units * 10, rel=1e-6)
    assert not [p for p in cool["parts"] if p["name"] == "plan_dear"]


# ---------------------------------------------------------------- 6: away 10-14 June


def test_away_10_to_14_june_is_typed_in_one_line_and_moves_nothing_on_those_days(tmp_path: Path) -> None:
    farm = land(tmp_path, fields(6), [mob("1", "2026-06-04 08:00")], date(2026, 6, 4))
    now = local("2026-06-05")
    farm.walk({str(n): 9 for n in range(1, 7)}, now=local("2026-06-05", "07:00"))
    kept = farm.season("--keep", now=now, days=24)
    inside = days(date(2026, 6, 10), date(2026, 6, 14))
    missing = farm.run("away", "10-14", "Jun", now=now)
    assert "Did you mean promise?" in missing.all
    said = farm.typed("promise", "away", "10-14", "Jun", now=now)
    assert "Away, 10 Jun to 14 Jun, both days counted." in said.all
    (promise,) = tomlkit.parse((tmp_path / "farm.toml").read_text("utf-8")).unwrap()["promises"]
    assert (promise["from"], promise["to"]) == (date(2026, 6, 10), date(2026, 6, 15))
    made = farm.season(now=now, days=24)
    assert set(moves(kept)) & inside or stays(kept) == stays(made)
    assert not set(moves(made)) & inside
    if set(moves(kept)) & inside:
        assert any("when nobody can move animals" in change for change in made["changes"])
    sheet = farm.typed("papers", "season", "--text", now=now).all
    assert "10 Jun to 14 Jun" in sheet
    assert farm.run("promise", now=now).all == "Away, 10 Jun to 14 Jun. [away-2026-06-10]"
    farm.typed("promise", "--drop", "away-2026-06-10", now=now)
    assert farm.run("promise", now=now).all.startswith("Nothing is agreed.")


def test_a_limit_that_would_bite_while_everybody_is_away_says_that_nobody_can_move_then(
    tmp_path: Path,
) -> None:
    away = {"kind": "away", "what": "Away", "from": date(2026, 6, 10), "to": date(2026, 6, 15), "id": "w"}
    farm = land(tmp_path, fields(6), [mob("1", "2026-06-08 07:00")], date(2026, 6, 8), promises=[away])
    now = local("2026-06-08")
    farm.walk({"1": 6} | {str(n): 9 for n in range(2, 7)}, now=local("2026-06-08", "07:00"))
    first = farm.season(now=now, days=24)["mobs"][0]["stays"][0]
    assert (first["place"], first["end"][:10]) == ("1", "2026-06-09")
    assert first["reason"].endswith("Nobody can move animals between then and this move.")


# ---------------------------------------------------------------- 7: grass left at the end


def test_grass_left_at_the_end_has_a_value_over_the_end_of_the_season_too(tmp_path: Path) -> None:

    def made(price: str) -> dict[str, Any]:
        sheep = mob("1", "2026-10-19 08:00", DRY | {"head": 90})
        farm = land(tmp_path / price.strip("$"), fields(4), [sheep], date(2026, 10, 19), promises=[SEASON],
                    prices={"end_cover": price})  # fmt: skip
        farm.walk({"1": 8, "2": 9, "3": 9, "4": 8}, now=local("2026-10-20", "07:00"))
        return farm.season(now=local("2026-10-20"), days=35, iterations=2_500)

    nothing, dear = made("$0"), made("$2")
    assert part(dear, "plan_cover") < part(nothing, "plan_cover")
    for plan in (nothing, dear):
        assert stays(plan)[-1] == ("yard", date(2026, 11, 10), date(2026, 11, 24))
    # 14 days in at 90 x 2.6 lb are fed whatever is done; days in the yard before that are its own choice
    fed = 14 * 90 * 2.6 * LB_KG
    before = sum((last - first).days for place, first, last in stays(dear)[:-1] if place == "yard")
    assert part(dear, "plan_hay") == pytest.approx(fed + before * 90 * 2.6 * LB_KG, rel=1e-3)
    assert part(dear, "plan_yard") == before
