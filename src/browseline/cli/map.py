"""``map``: outlines from a phone or another program into the farm's map."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import put, put_json, tell
from browseline.errors import BadInput, finding
from browseline.exchange.plain import document
from browseline.farm.names import words
from browseline.farm.read import read
from browseline.farm.records import Farm, Shape
from browseline.record.store import Record
from browseline.units import plain, shown
from browseline.words import say


def map(  # the verb bears this name
    file: Annotated[Path, typer.Argument(metavar="FILE", help=say("cli.argument.map"))],
    kind: Annotated[
        str | None, typer.Option("--kind", metavar="WORD", help=say("cli.option.kind"), show_default=False)
    ] = None,
    farm: FarmOption = None,
    as_json: JsonOption = False,
    now: NowOption = None,
) -> None:
    """Add outlines to the map, and say how large each is and how sure that is."""
    from browseline.exchange.maps import import_map

    known = words("shape")
    if kind is not None and kind not in known:
        raise BadInput([finding("map.kind", f"--kind {kind}", kind=kind, known=", ".join(known))])
    folder = folder_of(farm)
    found = import_map(folder, file, kind)
    with Record.open(folder) as record:
        record.keep_files(now_of(now))
    made = read(folder)
    shapes = _measured(made.farm, found.shapes)
    tell(found.findings)
    if as_json:
        put_json(document("browseline/map/1", {"shapes": shapes, "findings": found.findings}))
        return
    for shape in shapes:
        put(_line(shape, made.farm))


def _measured(farm: Farm | None, shapes: tuple[Shape, ...]) -> tuple[Shape, ...]:
    """Return shapes with the areas that the farm gives them, where it can be read."""
    by_name = {(s.kind, s.name): s for s in farm.shapes} if farm is not None else {}
    return tuple(by_name.get((shape.kind, shape.name), shape) for shape in shapes)


def _line(shape: Shape, farm: Farm | None) -> str:
    if shape.area_ha is None or farm is None:
        return say("cli.map.drawn", kind=shape.kind, name=shape.name)
    area = shown(shape.area_ha, "area", farm.units, 2)
    if shape.area_sd_ha is None:
        return say("cli.map.area", kind=shape.kind, name=shape.name, area=area)
    spread = plain(100 * shape.area_sd_ha / shape.area_ha)
    return say("cli.map.spread", kind=shape.kind, name=shape.name, area=area, spread=spread)
