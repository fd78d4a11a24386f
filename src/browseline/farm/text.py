"""A whole farm as the text of a ``farm.toml`` that reads back as the same farm."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from browseline.farm.accounts import CarbonRules, Diet, MoneyLine, MoneyPlan
from browseline.farm.future import Future, LeafCut, PlannedInput, PlannedWork, SoilChange
from browseline.farm.names import words
from browseline.farm.own_hay import typed_lines
from browseline.farm.records import Farm, LayoutRule, Line, Mob, Normals, Paddock, Planting, Rules, Sward
from browseline.farm.review import WORDS, Review
from browseline.farm.same_land import Crop, Mowing, SameLand
from browseline.units import Quantity

SOIL = ("texture", "group", "drainage", "available_water")
HEAD = ("name", "time_zone", "units", "as_of", "seed", "position_error", "language", "place_words")


def text_of(farm: Farm) -> str:
    """Return the text of a farm. What the map gives (outlines, their areas) is left to the map.

    Parameters
    ----------
    farm : Farm
        Numbers that somebody typed come out as typed; the others in the units inside, exactly.
    """
    import tomlkit

    return tomlkit.dumps(tables_of(farm))


def tables_of(farm: Farm) -> dict[str, Any]:
    """Return a farm as the tables of a ``farm.toml``; tables that would be empty are left out."""
    made: dict[str, Any] = {"schema": 1} | _filled(farm, HEAD)
    if not farm.time_zone_typed:
        del made["time_zone"]
    made |= _where(farm) | {"rules": _rules(farm.rules)}
    made["swards"] = {sward.id: _sward(sward) for sward in farm.swards}
    made["soils"] = {soil.id: _filled(soil, SOIL) for soil in farm.soils}
    made["paddocks"] = [_paddock(paddock) for paddock in farm.paddocks]
    made["mobs"] = [_mob(mob) for mob in farm.mobs]
    made["plantings"] = [_planting(planting) for planting in (*farm.plantings, *farm.planned)]
    for name in ("promises", "hay", "jobs"):
        made[name] = [_whole(record) for record in getattr(farm, name)]
    made |= _people(farm) | {"money": _money(farm.money), "carbon": _carbon(farm.carbon)}
    made["decades"] = _decades(farm.future)
    made["same_land"] = _same_land(farm.same_land)
    made["review"] = _review(farm.review)
    return {key: value for key, value in made.items() if value not in ({}, [])}


def _review(review: Review) -> dict[str, Any]:
    made = _filled(review, (*WORDS, "programme_rules", "key_areas"))
    return made | ({"thinning": dict(review.thinning)} if review.thinning else {})


def _where(farm: Farm) -> dict[str, Any]:
    made: dict[str, Any] = {}
    if farm.place is not None:
        place = farm.place
        made["place"] = {
            "latitude": place.latitude_deg, "longitude": place.longitude_deg,
            "elevation": f"{exact(place.elevation_m)} m", "coast": place.coast,
        }  # fmt: skip
    if farm.normals is not None:
        made["normals"] = _normals(farm.normals)
    return made


def _people(farm: Farm) -> dict[str, Any]:
    hours = farm.labour_hours_day
    return {
        "contacts": {c.role: _filled(c, ("name", "phone")) for c in farm.contacts},
        "energiser": _filled(farm.energiser, ("where", "reading", "read_on")),
        "labour": {"hours_day": hours.text} if hours is not None else {},
        "prices": {item: price.text for item, price in farm.prices},
        "keeper": {k.kind: _filled(k, ("experience", "market")) for k in farm.keepers},
    }


YEARS = {"from_year": "from", "to_year": "to"}
PLAN = (
    "first_year", "years", "discount", "own_hours", "cover_wanted", "price_range", "yield_range", "pledged",
    "lender",
)  # fmt: skip
LOAN = ("name", "id", "amount", "rate", "years", "interest_only", "first", "buys")
LINE = (
    "name", "id", "kind", "price", "less", "from_year", "to_year", "signed", "note", "follows", "per",
    "market", "price_range", "yield_range", "price_swing", "due", "record",
)  # fmt: skip
KNOCK = ("name", "id", "line", "on", "factor", "add", "years_later", "from_year", "to_year", "decade")
RULES = {"trees": "tree_set", "owner": "tree_owner", "paid": "already_paid"}
FUTURE = ("years", "stock", "build_up", "log_rule", "form_class", "replant", "diesel", "petrol")
DIET = {"klass": "class", "mature": "mature_weight"}


def _money(plan: MoneyPlan | None) -> dict[str, Any]:
    """Return the money ahead as it is typed; the currency stands in its prices."""
    if plan is None:
        return {}
    lines = [_filled(line, LINE, YEARS) | _steps(line) for line in typed_lines(plan)]
    found = {
        "loans": [_filled(loan, LOAN) for loan in plan.loans], "lines": lines,
        "knocks": [_filled(knock, KNOCK, YEARS) for knock in plan.knocks],
    }  # fmt: skip
    return _filled(plan, PLAN) | {name: rows for name, rows in found.items() if rows}


def _steps(line: MoneyLine) -> dict[str, Any]:
    """Return how many and how much each, by the years from which they hold."""
    found = {"count": line.count, "each": line.each}
    return {
        name: steps[0][1] if len(steps) == 1 and steps[0][0] == 1 else {str(y): n for y, n in steps}
        for name, steps in found.items()
    }


def _carbon(rules: CarbonRules) -> dict[str, Any]:
    made = _filled(rules, (n for n in CarbonRules.__slots__ if n not in ("groups", "diets")), RULES)
    if rules.groups:
        made["groups"] = dict(rules.groups)
    if rules.diets:
        made["diets"] = [_filled(diet, Diet.__slots__, DIET) for diet in rules.diets]
    return made


def _decades(future: Future) -> dict[str, Any]:
    """Return the choices for the years ahead that are not as usual."""
    usual = Future()
    typed = [name for name in FUTURE if getattr(future, name) != getattr(usual, name)]
    works = [_filled(work, PlannedWork.__slots__) for work in future.works]
    soil = {"soil": _filled(future.soil, SoilChange.__slots__)} if future.soil is not None else {}
    written = tuple(name for name in PlannedInput.__slots__ if name != "entered")
    inputs = [_filled(one, written) for one in future.inputs if not one.entered]
    fodder = [_filled(cut, LeafCut.__slots__) for cut in future.fodder]
    lists = {"works": works, "inputs": inputs, "fodder": fodder}
    return _filled(future, typed) | soil | {name: rows for name, rows in lists.items() if rows}


def _same_land(land: SameLand) -> dict[str, Any]:
    """Return what the land is set against, what is as usual left out."""
    crop = _filled(land.crop, ("paddocks", "grain", "yield_range", "nitrogen", "price", "hours"))
    usual = Crop()
    crop |= _filled(
        land.crop, (n for n in ("kind", "per", "hours_per") if getattr(land.crop, n) != getattr(usual, n))
    )
    for name, rows in (("passes", land.crop.passes), ("costs", land.crop.costs)):
        if rows:
            crop[name] = [_filled(row, type(row).__slots__) for row in rows]
    found = {
        "alone": {name: said.text for name, said in land.alone},
        "food": {name: said.text for name, said in land.food},
        "tree_nitrogen": {name: [q.text for q in span] for name, span in land.tree_nitrogen},
        "crop": crop, "mowing": [_filled(one, Mowing.__slots__) for one in land.mowing],
    }  # fmt: skip
    own = _filled(land, ("tree_lines", "stock_lines", "hours_by_month"))
    return own | {name: part for name, part in found.items() if part}


def exact(number: float) -> str:
    """Return the shortest decimal that reads back as the same number, without an exponent."""
    return format(Decimal(repr(float(number))), "f")


def _plain(value: Any) -> Any:
    if isinstance(value, Quantity):
        return value.text
    return list(value) if isinstance(value, tuple) else value


def _filled(record: Any, names: Iterable[str], as_written: Mapping[str, str] | None = None) -> dict[str, Any]:
    """Return the fields of a record that say something, under the names of the file."""
    found = ((name, getattr(record, name)) for name in names)
    written = as_written or {}
    return {written.get(name, name): _plain(value) for name, value in found if value not in (None, (), "")}


SERIES = {
    "tmax_c": "tmax", "tmin_c": "tmin", "rain_mm": "rain", "wet_days": "wet_days", "rs_mj_m2_d": "radiation",
    "sun_h_d": "sun", "ea_kpa": "vapour", "wind_m_s": "wind",
}  # fmt: skip


def _normals(normals: Normals) -> dict[str, Any]:
    made: dict[str, Any] = {"unit": "C", "rain_unit": "mm"}
    if normals.wind_m_s is not None:
        made["wind_unit"] = "m/s"
    made |= _filled(normals, SERIES, SERIES)
    if normals.wet_day_threshold_mm is not None:
        made["wet_day_threshold"] = f"{exact(normals.wet_day_threshold_mm)} mm"
    if normals.cv_year_rain is not None:
        made["rain_varies"] = f"{exact(normals.cv_year_rain)} 1"
    return made


def _rules(rules: Rules) -> dict[str, Any]:
    usual = Rules()
    names = (n for n in Rules.__slots__ if n != "chosen" and getattr(rules, n) != getattr(usual, n))
    made = _filled(rules, names)
    if rules.chosen:
        made["settings"] = dict(rules.chosen)
    if rules.no_move_weekdays:
        made["no_move_weekdays"] = [words("weekday")[day - 1] for day in rules.no_move_weekdays]
    return made


def _sward(sward: Sward) -> dict[str, Any]:
    return _filled(sward, (name for name in Sward.__slots__ if name != "id"))


PERIOD = {"from_day": "from", "to_day": "to"}


def _paddock(paddock: Paddock) -> dict[str, Any]:
    names = [name for name in Paddock.__slots__ if name not in ("area_ha", "area_sd_ha", "row_area_ha")]
    made = _filled(paddock, names, PERIOD)
    if paddock.deeded is None and paddock.area_sd_ha is None:
        made["area"] = f"{exact(paddock.area_ha)} ha"
    if paddock.row_area_ha:
        made["row_area"] = f"{exact(paddock.row_area_ha)} ha"
    return made


def _mob(mob: Mob) -> dict[str, Any]:
    made = _filled(mob, (name for name in Mob.__slots__ if name != "lines"), PERIOD)
    return made | {"lines": [_line(line) for line in mob.lines]}


def _line(line: Line) -> dict[str, Any]:
    made = _filled(
        line, ("kind", "klass", "head", "weight", "intake", "water", "births", "wool"), {"klass": "class"}
    )
    if line.stages:
        names = ("from_day", "stage", "intake", "weight")
        made["stages"] = [_filled(stage, names, PERIOD) for stage in line.stages]
    return made


def _planting(planting: Planting) -> dict[str, Any]:
    apart = ("rows", "layout", "planned")
    made = _filled(planting, (name for name in Planting.__slots__ if name not in apart))
    if planting.planned:
        made["planned"] = True
    if planting.rows:
        made["rows"] = [_whole(row) for row in planting.rows]
    if planting.layout is not None:
        made["layout"] = _filled(planting.layout, LayoutRule.__slots__, {"bearing_deg": "bearing"})
    return made


def _whole(record: Any) -> dict[str, Any]:
    return _filled(record, type(record).__slots__, PERIOD)
