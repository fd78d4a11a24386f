"""Every page of the registry: one function, one frozen and documented record, JSON that a phone can read."""

from __future__ import annotations

import dataclasses
import json
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from browseline.chain import Picture, look
from browseline.chain.field_pages import record_page
from browseline.chain.in_force import keep_plan, plan_in_force
from browseline.chain.pages import PAGES
from browseline.chain.season_page import season_page
from browseline.cli.demo import copy_example, example
from browseline.exchange.plain import document
from browseline.figures import Figure
from browseline.moves.lived import followed
from browseline.moves.season import plan
from browseline.words import links_of
from tests.unit.cli_farm import NOW, small_farm


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    """Return the example farm with a plan in force."""
    folder = tmp_path_factory.mktemp("pages") / "farm"
    now = copy_example(example(), folder)
    picture = look(folder, now)
    keep_plan(picture, plan(picture.scene, None, 50), "owner")
    return look(folder, now)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_one_frozen_record_with_its_words(demo: Picture, name: str) -> None:
    page = PAGES[name].make(demo)
    kind: Any = type(page)
    assert kind.__dataclass_params__.frozen
    assert dataclasses.fields(kind)
    assert issubclass(kind, PAGES[name].of)
    assert kind.__doc__
    assert not kind.__doc__.startswith(f"{kind.__name__}("), "the docstring is the one that dataclass wrote"
    record = json.loads(json.dumps(document(page.schema, page)))
    assert record["schema"].startswith("browseline/")
    if name != "today":
        assert page.sentences
        assert all(sentence.strip() for sentence in page.sentences)


def test_no_two_pages_share_a_schema(demo: Picture) -> None:
    schemas = [PAGES[name].make(demo).schema for name in PAGES]
    assert len(set(schemas)) == len(schemas)


@pytest.mark.parametrize("name", PAGES)
def test_a_farm_with_next_to_nothing_has_every_page(tmp_path: Path, name: str) -> None:
    bare = 'schema = 1\nname = "Bare"\ntime_zone = "America/New_York"\nunits = "acres"\nas_of = 2026-05-01\n'
    bare += '[[paddocks]]\nid = "1"\nname = "1"\narea = "2 ac"\n'
    farm = small_farm(tmp_path / "bare", bare)
    picture = look(farm.folder, datetime.fromisoformat(NOW))
    page = PAGES[name].make(picture)
    assert json.dumps(document(page.schema, page))


def test_the_plan_in_force_has_its_stays_reasons_and_costs(demo: Picture) -> None:
    page, plan_now = season_page(demo), plan_in_force(demo)
    assert plan_now is not None
    assert page.in_force
    for mob in page.mobs:
        planned = [(stay.stay.place, stay.stay.begin.start) for stay in plan_now.of(mob.id)]
        told = [(stay.place, stay.begin) for stay in mob.stays]
        assert told == planned or not planned, "a mob without a planned move stays where it is"
    ahead = [stay for mob in page.mobs for stay in mob.stays if stay.begin >= demo.now]
    assert ahead
    assert all(stay.reason for stay in ahead)
    assert page.total is not None
    assert page.total.value is not None
    assert page.rule_total is not None


def test_what_a_season_costs_with_eyes_open_is_told_and_each_of_its_sums_opens(demo: Picture) -> None:
    made = plan(demo.scene, plan_in_force(demo), 0)
    to_its_end = Figure("plan_lived", 123.0, "USD", 120.0, 456.0)
    lived = dataclasses.replace(to_its_end, parts=followed()[:1])
    rule = dataclasses.replace(made.rule_total, value=99.0)
    page = season_page(demo, dataclasses.replace(made, lived=lived, rule_total=rule))
    whole = next(told for told in page.costs if told.startswith("In all"))
    assert (
        "Kept for 7 days and then left to the usual rules of thumb and a look each day, about $123" in whole
    )
    assert "a look each day saves more" in whole
    assert {"7", "$123", "$99"} <= {whole[link.start : link.end] for link in links_of(whole)}
    to_the_end = season_page(demo, dataclasses.replace(made, lived=to_its_end))
    assert not any("Kept for" in told for told in to_the_end.costs)
    barred = season_page(
        demo,
        dataclasses.replace(made, lived=to_its_end, rule_total=dataclasses.replace(rule, value=None)),
    )
    assert not any("rules of thumb" in told for told in barred.costs)


def test_a_plan_that_nobody_kept_says_so(demo: Picture) -> None:
    page = season_page(demo, plan(demo.scene, plan_in_force(demo), 0))
    assert not page.in_force
    assert page.sentences[0].startswith("Not kept")


def test_a_period_may_be_chosen(demo: Picture) -> None:
    whole, day = record_page(demo), record_page(demo, demo.today, demo.today + timedelta(days=1))
    assert (whole.first, whole.last) == (date(demo.today.year, 1, 1), demo.today + timedelta(days=1))
    assert 0 < len(day.rows) <= len(whole.rows)
