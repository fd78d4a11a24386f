"""Daily weather from CSV: units in the headings, everything wrong told at once."""

import math
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from browseline.farm import weather_csv

GOOD = "date,tmax (C),tmin (C),rain (mm)\n2026-04-01,14.5,3.0,0\n2026-04-02,12,4,7.5\n"


def codes(text: str) -> list[str]:
    return [found.code for found in weather_csv.parse(text)[1]]


def test_a_plain_file_is_read_without_a_word() -> None:
    records, found = weather_csv.parse(GOOD)
    assert found == ()
    assert records is not None
    assert records.days == (date(2026, 4, 1), date(2026, 4, 2))
    assert records.tmax_c == (14.5, 12.0)
    assert records.rain_mm == (0.0, 7.5)
    assert records.wind_m_s is None


def test_units_of_the_headings_are_obeyed() -> None:
    text = "Date;Tmax [F];Tmin [°F];Precip (inches);wind (mph)\n2026/04/01;50;32;1;10\n"
    records, found = weather_csv.parse(text)
    assert found == ()
    assert records is not None
    assert records.tmax_c == pytest.approx((10.0,))
    assert records.tmin_c == pytest.approx((0.0,))
    assert records.rain_mm == pytest.approx((25.4,))
    assert records.wind_m_s == pytest.approx((4.4704,))


def test_order_and_holes_of_the_calendar_are_mended_and_told() -> None:
    text = "date,tmax (C),tmin (C),rain (mm)\n2026-04-05,10,2,0\n2026-04-01,11,3,T\n2026-04-03,,1,NA\n"
    records, found = weather_csv.parse(text)
    assert records is not None
    assert len(records.days) == 5
    assert records.rain_mm[0] == 0.0
    assert [math.isnan(x) for x in records.tmax_c] == [False, True, True, True, False]
    assert [f.code for f in found] == ["weather_csv.gaps"] * 3
    assert all(f.level == "note" for f in found)
    assert "2026-04-02 – 2026-04-04" in found[0].what


def test_all_that_is_wrong_is_told_at_once_with_its_line() -> None:
    text = (
        "date,tmax (C),tmin (C),rain (mm),mood\n2026-04-01,72,3,0,fine\n1 April,9,3,0,\n"
        "2026-04-02,abc,3,-5,\n2026-04-02,9,3,0,\n2026-04-04,3,9,0,\n"
    )
    records, found = weather_csv.parse(text)
    assert records is not None
    assert [(f.where, f.code.removeprefix("weather_csv.")) for f in found if "gaps" not in f.code] == [
        ("weather.csv:1", "unknown_column"), ("weather.csv:2", "impossible"), ("weather.csv:3", "date"),
        ("weather.csv:4", "number"), ("weather.csv:4", "impossible"), ("weather.csv:5", "double_day"),
        ("weather.csv:6", "upside_down"),
    ]  # fmt: skip
    assert math.isnan(records.tmax_c[0])
    assert math.isnan(records.rain_mm[1])


def test_many_alike_are_counted() -> None:
    lines = "".join(f"2026-04-{n:02d},x,3,0\n" for n in range(1, 21))
    _, found = weather_csv.parse("date,tmax (C),tmin (C),rain (mm)\n" + lines)
    assert [f.code for f in found].count("weather_csv.number") == 5
    assert any("15 further lines" in f.what for f in found)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "missing_column"),
        ("date,tmax (C),tmin (C),rain (mm)\n", "empty"),
        ("date,tmax (C),rain (mm)\n2026-04-01,9,0\n", "missing_column"),
        ("tmax (C),tmin (C),rain (mm)\n9,3,0\n", "missing_column"),
        ("date,tmax,tmin (C),rain (mm)\n2026-04-01,9,3,0\n", "missing_unit"),
        ("date,tmax (kg),tmin (C),rain (mm)\n2026-04-01,9,3,0\n", "unit"),
        ("date,tmax (furlong),tmin (C),rain (mm)\n2026-04-01,9,3,0\n", "unit"),
        ("date,tmax (C),tmin (C),rain (mm),precip (in)\n2026-04-01,9,3,0,0\n", "double_column"),
        ("date,day,tmax (C),tmin (C),rain (mm)\n2026-04-01,1,9,3,0\n", "double_column"),
        ("date,tmax (C),tmin (C),rain (mm)\n0202-04-01,9,3,0\n2026-04-01,9,3,0\n", "too_long"),
    ],
)
def test_a_file_that_cannot_be_used_says_why(text: str, code: str) -> None:
    records, found = weather_csv.parse(text)
    assert records is None
    assert f"weather_csv.{code}" in [f.code for f in found]
    assert all(f.mend for f in found)


def test_a_file_that_is_no_text_or_too_big_is_a_finding(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "weather.csv"
    path.write_bytes(b"date,tmax (C)\n\xff\xfe\x80")
    assert [f.code for f in weather_csv.read(path)[1]] == ["weather_csv.no_text"]
    path.write_text(GOOD, encoding="utf-8-sig")
    assert weather_csv.read(path)[1] == ()
    monkeypatch.setattr(weather_csv, "MOST_BYTES", 10)
    assert [f.code for f in weather_csv.read(path)[1]] == ["weather_csv.too_big"]


FIELD = st.one_of(
    st.text(max_size=8),
    st.sampled_from(["2026-04-01", "9999-12-31", "0001-01-01", "1e999", "nan", "inf", '"', "T"]),
)


@given(st.lists(st.lists(FIELD, max_size=6), max_size=6), st.booleans())
def test_no_text_makes_a_traceback(rows: list[list[str]], with_heading: bool) -> None:
    heading = "date,tmax (C),tmin (C),rain (mm)\n" if with_heading else ""
    records, found = weather_csv.parse(heading + "\n".join(",".join(row) for row in rows))
    assert records is not None or found


def test_a_field_without_end_is_a_finding() -> None:
    endless = GOOD + '2026-04-03,"' + "9" * 200_000
    assert codes(endless) == ["weather_csv.no_text"]
