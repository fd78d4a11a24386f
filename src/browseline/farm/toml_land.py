"""Place, normals, swards, soils and paddocks of ``farm.toml``."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from typing import cast

from browseline.errors import Finding
from browseline.farm import bounds, climate
from browseline.farm.draft import Draft, identify
from browseline.farm.names import meant, words
from browseline.farm.records import Normals, Paddock, Place, Shape, Soil, Sward, Water
from browseline.farm.toml_table import Table
from browseline.units import UNITS, NotAQuantity, Quantity, convert, unit_word


def read_place(draft: Draft, table: Table | None) -> None:
    """Read where the farm lies."""
    if table is None:
        return
    latitude = table.number("latitude", -90, 90, needed=True)
    longitude = table.number("longitude", -180, 180, needed=True)
    elevation = table.quantity("elevation", "length", bounds.ELEVATION)
    coast = table.flag("coast")
    table.close()
    if latitude is not None and longitude is not None:
        draft.place = Place(latitude, longitude, elevation.to("m") if elevation else 0.0, coast)


# ---------------------------------------------------------------- normals


def read_normals(draft: Draft, table: Table | None) -> None:
    """Read monthly normals, turn them to the units inside, and check them."""
    if table is None:
        return
    temperature = _unit(table, "unit", "temperature", needed=table.has("tmax") or table.has("tmin"))
    rain_unit = _unit(table, "rain_unit", "length", needed=table.has("rain"))
    wind_unit = _unit(table, "wind_unit", "speed", needed=table.has("wind"))
    high, low = _series(table, "tmax", temperature, "C"), _series(table, "tmin", temperature, "C")
    rain = _series(table, "rain", rain_unit, "mm")
    wind = _series(table, "wind", wind_unit, "m/s", needed=False)
    wet, sun = table.numbers("wet_days"), table.numbers("sun")
    radiation, vapour = table.numbers("radiation"), table.numbers("vapour")
    threshold = table.quantity("wet_day_threshold", "length", bounds.WET_DAY)
    varies = table.quantity("rain_varies", "share", bounds.SHARE)
    table.close()
    if high is None or low is None or rain is None or table.bad:
        return
    draft.normals = Normals(
        high, low, rain, wet, threshold.to("mm") if threshold else None, radiation, sun, vapour, wind,
        varies.to("1") if varies else None,
    )  # fmt: skip
    for found in _by_code(climate.check(draft.normals)):
        table.told.placed(found, table.path, climate.WHERE)


def _by_code(findings: Iterable[Finding]) -> list[Finding]:
    """Return the first finding of each code, with all the months that have the same fault."""
    alike: dict[str, list[Finding]] = {}
    for found in findings:
        alike.setdefault(found.code, []).append(found)
    made = []
    for same in alike.values():
        months = [found.where.removeprefix(climate.WHERE).strip() for found in same]
        made.append(replace(same[0], where=f"{climate.WHERE} {', '.join(months)}".rstrip()))
    return made


def _unit(table: Table, key: str, dimension: str, needed: bool) -> str | None:
    """Return the unit word of a row of numbers."""
    typed = table.text(key, needed=needed)
    if typed is None:
        return None
    word = unit_word(typed)
    if word is not None and UNITS[word].dimension == dimension:
        return word
    table.no_quantity(key, NotAQuantity("unit" if word is None else "dimension", typed, dimension))
    return None


def _series(
    table: Table, key: str, unit: str | None, inside: str, needed: bool = True
) -> tuple[float, ...] | None:
    if needed and not table.has(key):
        table.text(key, needed=True)
    typed = table.numbers(key)
    if typed is None or unit is None:
        return None
    return tuple(float(convert(Fraction(number), unit, inside)) for number in typed)


# ---------------------------------------------------------------- swards and soils


def read_swards(draft: Draft, farm: Table) -> None:
    """Read the swards: a kind of the list, and the farm's own numbers over it."""
    for name, table in farm.named("swards"):
        draft.at["swards", name] = table.path
        kind = table.word("kind", "sward", needed=True)
        made = Sward(
            name,
            kind or "",
            table.quantity("mass_per_height", "herbage density", bounds.MASS_PER_HEIGHT),
            table.word("density", "density"),
            table.quantity("leave_at", "length", bounds.GRASS_HEIGHT),
            table.quantity("start_at", "length", bounds.START_HEIGHT),
            table.quantity("share_eaten", "share", bounds.SHARE_EATEN),
            table.quantity("fertility", "share", bounds.FERTILITY),
            table.flag("cut_or_long_rest"),
            table.quantity("yearly_yield", "herbage mass", bounds.YEARLY_YIELD),
            table.quantity("harvest_share", "share", bounds.SHARE_EATEN),
        )
        table.close()
        if kind is not None:
            draft.swards.append(made)


def _texture(table: Table, draft: Draft) -> str | None:
    """Return the texture of a soil: a class of soil surveys that the tables spell otherwise is theirs."""
    typed = table.text("texture")
    if typed is None:
        return None
    stands_for = meant("texture class", typed)
    if stands_for == "":
        known = ", ".join(words("texture"))
        draft.told.finding("farm.texture_class", table.at("texture"), value=typed, known=known)
        return None
    return stands_for or table.listed("texture", typed, "texture")


def read_soils(draft: Draft, farm: Table) -> None:
    """Read the soils in the words of a soil survey."""
    for name, table in farm.named("soils"):
        draft.at["soils", name] = table.path
        draft.soils.append(
            Soil(
                name,
                _texture(table, draft),
                table.word("group", "soil group"),
                table.word("drainage", "drainage"),
                table.quantity("available_water", "length", bounds.AVAILABLE_WATER),
            )
        )
        table.close()


# ---------------------------------------------------------------- paddocks


def read_paddocks(draft: Draft, farm: Table) -> None:
    """Read the paddocks: typed ones, and drawn ones that the file does not name."""
    drawn = {shape.id: shape for shape in draft.shapes if shape.kind == "paddock"}
    by_name = {shape.name: shape for shape in drawn.values()}
    for table in farm.tables("paddocks"):
        found = identify(draft, table, "paddocks")
        made = _paddock(table, found, drawn, by_name)
        table.close()
        if made is not None:
            draft.paddocks.append(made)
    taken = {p.shape for p in draft.paddocks} | draft.known["paddocks"]
    for shape in drawn.values():
        if shape.id not in taken and shape.area_ha:
            draft.known["paddocks"].add(shape.id)
            draft.paddocks.append(
                Paddock(shape.id, shape.name or shape.id, shape.area_ha, shape.area_sd_ha, shape=shape.id)
            )


def _paddock(
    table: Table, found: tuple[str, str] | None, drawn: dict[str, Shape], by_name: dict[str, Shape]
) -> Paddock | None:
    sort = table.word("water", "water") or "unknown"
    rows = table.quantity("row_area", "area", bounds.ROW_AREA)
    deeded = table.quantity("deeded", "area", bounds.AREA)
    typed = table.quantity("area", "area", bounds.AREA)
    shape = _shape(table, found, drawn, by_name)
    made = {
        "sward": table.text("sward"), "soil": table.text("soil"), "water": cast("Water", sort),
        "trough": table.quantity("trough", "volume", bounds.TROUGH),
        "light": table.quantity("light", "share", bounds.SHARE),
        "cover": table.quantity("cover", "share", bounds.SHARE),
        "row_area_ha": rows.to("ha") if rows is not None else 0.0,
        "open_ground": table.flag("open_ground", True), "sacrifice": table.flag("sacrifice"),
        "parents": table.names("parents"), "from_day": table.day("from"), "to_day": table.day("to"),
        "note": table.text("note") or "",
    }  # fmt: skip
    area, spread = _area(table, deeded or typed, shape)
    if found is None or area is None:
        return None
    kept = {"deeded": deeded, "shape": shape.id if shape is not None else None}
    return Paddock(found[0], found[1], area, spread, **kept, **made)  # type: ignore[arg-type]


def _shape(
    table: Table, found: tuple[str, str] | None, drawn: dict[str, Shape], by_name: dict[str, Shape]
) -> Shape | None:
    """Return the outline that is named, else the one of the same id, else of the same name."""
    named = table.text("shape")
    if named is not None:
        if named not in drawn:
            table.told.finding("farm.no_shape", table.at("shape"), shape=named)
            table.bad.add("shape")
        return drawn.get(named)
    if found is None:
        return None
    return drawn.get(found[0]) or by_name.get(found[1])


def _area(table: Table, typed: Quantity | None, shape: Shape | None) -> tuple[float | None, float | None]:
    """Return the area to count with and its spread: what was typed, else what the map encloses. [ha]"""
    if typed is not None:
        return typed.to("ha"), None
    if shape is not None and shape.area_ha:
        return shape.area_ha, shape.area_sd_ha
    if not table.bad & {"deeded", "area", "shape"}:
        table.told.finding("farm.no_area", table.path, paddock=table.text("name") or table.text("id") or "")
    return None, None
