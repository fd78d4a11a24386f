"""The arrows in order: a farm folder and an instant in, everything that is known then out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from browseline import readings, sward
from browseline.chain.keep import content_key, kept_weather
from browseline.chain.parts import with_parts, with_planted
from browseline.chain.reach import horizon_of
from browseline.chain.to_come import to_come
from browseline.chain.tree_shade import clear_shares, tree_shade, with_row_ground
from browseline.errors import BadInput, Finding, errors_in
from browseline.events import Event
from browseline.farm.read import read
from browseline.farm.records import Farm
from browseline.limits import Scene
from browseline.record.fold import fold
from browseline.record.state import State
from browseline.record.store import Record

if TYPE_CHECKING:
    from browseline.weather import Weather

MEMBERS = 51
WARM_UP_D = 365


@dataclass(frozen=True)
class Picture:
    """A farm at an instant, seen through the whole chain."""

    folder: Path
    now: datetime
    farm: Farm
    events: tuple[Event, ...]
    state: State
    weather: Weather | None
    scene: Scene
    findings: tuple[Finding, ...]

    @property
    def today(self) -> date:
        """Return the farm's local day."""
        return self.scene.days[0]


def look(
    folder: Path | str, now: datetime, *, members: int = MEMBERS, horizon_d: int | None = None
) -> Picture:
    """Return the farm of a folder as it is at ``now``, with the days ahead.

    Parameters
    ----------
    members : int
        Of weather and growth. [1]
    horizon_d : int, optional
        Days ahead, today first; as far as the plan in force reaches where not given. [d]

    Raises
    ------
    BadInput
        With every finding, if the folder cannot be used as it is.
    """
    farm, events, findings = opened(folder)
    state = fold(farm, events, now)
    return picture(Path(folder), farm, events, state, now, members, horizon_d, findings)


def opened(folder: Path | str) -> tuple[Farm, tuple[Event, ...], tuple[Finding, ...]]:
    """Return the farm of a folder, all its entries, and what is to be asked or noted of its files.

    Raises
    ------
    BadInput
        With every finding, if the folder cannot be used as it is.
    """
    reading = read(folder)
    if reading.farm is None or errors_in(reading.findings):
        raise BadInput(reading.findings)
    with Record.open(folder) as record:
        return reading.farm, record.events(), reading.findings


def picture(
    folder: Path,
    farm: Farm,
    events: tuple[Event, ...],
    state: State,
    now: datetime,
    members: int,
    horizon_d: int | None = None,
    findings: tuple[Finding, ...] = (),
) -> Picture:
    """Return the picture of a farm whose state is already folded; its days as ``look`` has them."""
    farm = with_planted(farm, state)
    zone = ZoneInfo(farm.time_zone)
    today = now.astimezone(zone).date()
    horizon_d = horizon_d or horizon_of(events, now, zone)
    weather = weather_of(farm, state, today, members, horizon_d)
    trees = tree_shade(folder, farm, state, today.year, clear_shares(farm, weather))
    farm, state = with_parts(with_row_ground(farm, trees), state)
    growing = sward.growing_days(farm, weather, trees) if weather is not None else None
    taught = {
        paddock: (figure.value or 0.0, ((figure.high or 0.0) - (figure.low or 0.0)) / 2)
        for paddock, figure in readings.taught(farm, state, growing).items()
    }
    herbage = sward.grow(farm, state, now, growing, horizon_d=horizon_d, members=members, fertility=taught)
    days = tuple(today + timedelta(days=d) for d in range(horizon_d))
    paddocks = tuple(p.id for p in farm.paddocks)
    coming = to_come(events, now)
    scene = Scene(
        farm, state, herbage, now, days, state.living(), paddocks, weather=weather, trees=trees, coming=coming
    )
    scene.memo.update(growing=growing, taught=taught)
    noted = findings + (weather.findings if weather is not None else ())
    return Picture(folder, now, farm, events, state, weather, scene, noted)


def weather_of(farm: Farm, state: State, today: date, members: int, horizon_d: int) -> Weather | None:
    """Return the weather from before the first height to the last day ahead; None where none is known."""
    if farm.place is None or (farm.normals is None and farm.daily is None):
        return None
    from browseline.weather import make

    zone = ZoneInfo(farm.time_zone)
    heights = [h.at.end.astimezone(zone).date() for h in state.heights]
    first = min([*heights, today])
    last = today + timedelta(days=horizon_d + 2)
    rain = {day: depth.to("mm") for day, depth in state.rain}
    place, seed = farm.place, farm.seed
    key = content_key(
        place, farm.normals, farm.daily, first, last, members, seed, today, sorted(rain.items())
    )
    return kept_weather(
        key,
        lambda: make(
            place,
            farm.normals,
            farm.daily,
            first,
            last,
            members,
            seed,
            today=today,
            rain_typed=rain,
            warmup_days=WARM_UP_D,
        ),
    )
