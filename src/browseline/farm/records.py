"""What a farm folder holds, as frozen records.

Numbers that somebody typed stay ``Quantity`` (text, exact value, unit); what nobody typed is
None and becomes a default with its source only where it is used. Whatever has a date is an event
in the record; here stand the things without a date, and opening values at ``as_of``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Literal

from browseline.farm.accounts import CarbonRules, MoneyPlan
from browseline.farm.future import Future
from browseline.farm.review import Review
from browseline.farm.same_land import SameLand
from browseline.units import Quantity, System

Ring = tuple[tuple[float, float], ...]
Water = Literal["trough", "trailer", "stream", "none", "unknown"]


@dataclass(frozen=True, slots=True)
class Place:
    """Where the farm lies. Latitude north positive, longitude east positive. [deg, m]"""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float = 0.0
    coast: bool = False


@dataclass(frozen=True, slots=True)
class Normals:
    """Monthly normals, January first, twelve of each. None is "not known".

    Temperatures in C, rain in mm a month, wet days of at least ``wet_day_threshold_mm`` a month,
    radiation in MJ/m2/d, sun in h/d, vapour pressure in kPa, wind in m/s at 2 m.
    ``cv_year_rain`` is the standard deviation of a year's rain over its mean.
    """

    tmax_c: tuple[float, ...]
    tmin_c: tuple[float, ...]
    rain_mm: tuple[float, ...]
    wet_days: tuple[float, ...] | None = None
    wet_day_threshold_mm: float | None = None
    rs_mj_m2_d: tuple[float, ...] | None = None
    sun_h_d: tuple[float, ...] | None = None
    ea_kpa: tuple[float, ...] | None = None
    wind_m_s: tuple[float, ...] | None = None
    cv_year_rain: float | None = None


@dataclass(frozen=True, slots=True)
class DailyRecords:
    """Daily weather, one entry a day without holes in the calendar; NaN where nothing was read.

    Temperatures in C, rain in mm, radiation in MJ/m2/d, vapour pressure in kPa, wind in m/s.
    """

    days: tuple[date, ...]
    tmax_c: tuple[float, ...]
    tmin_c: tuple[float, ...]
    rain_mm: tuple[float, ...]
    rs_mj_m2_d: tuple[float, ...] | None = None
    ea_kpa: tuple[float, ...] | None = None
    wind_m_s: tuple[float, ...] | None = None


@dataclass(frozen=True, slots=True)
class Sward:
    """A sward of the farm: a kind of the table, and the farm's own numbers over it."""

    id: str
    kind: str
    mass_per_height: Quantity | None = None
    density: str | None = None
    leave_at: Quantity | None = None
    start_at: Quantity | None = None
    share_eaten: Quantity | None = None
    fertility: Quantity | None = None
    cut_or_long_rest: bool = False
    yearly_yield: Quantity | None = None
    harvest_share: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Soil:
    """A soil of the farm: texture, hydrologic group, drainage in the words of a soil survey."""

    id: str
    texture: str | None = None
    group: str | None = None
    drainage: str | None = None
    available_water: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Shape:
    """A feature of the map: what it is, its geometry, and the area the geometry encloses.

    Rows and trees name their ``planting`` and ``row``; a lane may have a width. [m]
    """

    id: str
    kind: str
    name: str
    geometry: str
    rings: tuple[Ring, ...] = ()
    points: Ring = ()
    area_ha: float | None = None
    area_sd_ha: float | None = None
    note: str = ""
    public: bool = True
    plant: str = ""
    planting: str = ""
    row: str = ""
    width_m: float | None = None


@dataclass(frozen=True, slots=True)
class Paddock:
    """One paddock. ``area_ha`` is what the tool counts with; deeded acres override the map."""

    id: str
    name: str
    area_ha: float
    area_sd_ha: float | None = None
    deeded: Quantity | None = None
    sward: str | None = None
    soil: str | None = None
    water: Water = "unknown"
    trough: Quantity | None = None
    light: Quantity | None = None
    cover: Quantity | None = None
    row_area_ha: float = 0.0
    open_ground: bool = True
    sacrifice: bool = False
    shape: str | None = None
    parents: tuple[str, ...] = ()
    from_day: date | None = None
    to_day: date | None = None
    note: str = ""

    @property
    def grazed_ha(self) -> float:
        """Return the area that animals graze: the paddock without its tree rows. [ha]"""
        return max(self.area_ha - self.row_area_ha, 0.0)


@dataclass(frozen=True, slots=True)
class Stage:
    """What one line of a mob needs from a day on: stage in words, intake a head a day."""

    from_day: date
    stage: str
    intake: Quantity | None = None
    weight: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """Animals of one kind and class in a mob, at ``as_of``; ``wool`` is that of a head and year, greasy."""

    kind: str
    klass: str
    head: int
    weight: Quantity | None = None
    intake: Quantity | None = None
    water: Quantity | None = None
    stages: tuple[Stage, ...] = ()
    births: date | None = None
    wool: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Mob:
    """Animals that are moved together.

    A mob that ``follows`` another enters a paddock at least ``follows_after`` and at most
    ``follows_within`` after that one left it.
    """

    id: str
    name: str
    lines: tuple[Line, ...]
    at: str | None = None
    since: str | None = None
    owner: str | None = None
    due: date | None = None
    runs_with: tuple[str, ...] = ()
    follows: str | None = None
    keep_out: tuple[str, ...] = ()
    parents: tuple[str, ...] = ()
    from_day: date | None = None
    to_day: date | None = None
    follows_after: Quantity | None = None
    follows_within: Quantity | None = None


@dataclass(frozen=True, slots=True)
class TreeRow:
    """One row of a planting: how many trees, of which cultivar, on which rootstock, planted when."""

    id: str
    name: str
    trees: int | None = None
    cultivar: str | None = None
    rootstock: str | None = None
    planted: int | None = None


@dataclass(frozen=True, slots=True)
class LayoutRule:
    """How the rows of a planting shall stand; what is None takes the rows of ``data/layout.csv``.

    A set is one row, or two or three ``between`` apart; the alley runs from outer stem to outer stem of two
    sets. Rows run by ``bearing_deg`` (clockwise from north) or on the contour, whose slope along a row stays
    under ``drift``. An alley holds ``passes`` of the ``implement`` and ``clearance`` on both sides.
    ``from_*`` is how far a stem keeps off; ``partners`` are plantings that pollinate this one.
    """

    rows_in_set: int = 1
    between: Quantity | None = None
    staggered: bool = False
    bearing_deg: float | None = None
    contour: bool = False
    drift: Quantity | None = None
    headland: Quantity | None = None
    implement: Quantity | None = None
    passes: int | None = None
    clearance: Quantity | None = None
    from_fence: Quantity | None = None
    from_boundary: Quantity | None = None
    from_building: Quantity | None = None
    from_overhead: Quantity | None = None
    from_buried: Quantity | None = None
    from_water: Quantity | None = None
    partners: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Planting:
    """Trees of one species planted together in a paddock: a row, a block, a strip."""

    id: str
    name: str
    species: str
    paddock: str | None
    planted: int | None = None
    trees: int | None = None
    cultivars: tuple[str, ...] = ()
    spacing: Quantity | None = None
    alley: Quantity | None = None
    row_width: Quantity | None = None
    leader: Quantity | None = None
    guard: str | None = None
    first_drop: date | None = None
    interval: Quantity | None = None
    harvested: bool = True
    accepted_bitten: Quantity | None = None
    note: str = ""
    rootstock: str | None = None
    rows: tuple[TreeRow, ...] = ()
    layout: LayoutRule | None = None
    planned: bool = False


@dataclass(frozen=True, slots=True)
class Promise:
    """Something agreed for a stretch of days: away, hay, harvest, contract, term, shut, lease.

    A promise of kind *feed* shuts nothing: it is the stretch of days that grass and store must last.
    One of kind *grazing* is the season that stock live off the grass. A *lease* is the stretch over which
    its ground may be used: outside it, its paddocks are shut.
    """

    id: str
    kind: str
    what: str
    from_day: date
    to_day: date
    paddocks: tuple[str, ...] = ()
    mobs: tuple[str, ...] = ()
    hard: bool = True

    @property
    def last_day(self) -> date:
        """Return the last day that it holds, as people say it; ``to_day`` is the day after."""
        return self.to_day - timedelta(days=1)


@dataclass(frozen=True, slots=True)
class HayLot:
    """Bales in store at ``as_of``: weight as stored, dry share, losses in store and in feeding."""

    id: str
    bales: Quantity
    bale_weight: Quantity
    dry: Quantity | None = None
    store_loss: Quantity | None = None
    feeding_loss: Quantity | None = None
    price: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Rules:
    """The farm's own choice where sources differ; None takes the cautious row of the tables.

    ``sale_notice`` is the time that selling animals takes, ``hay_margin`` the spare time of hay to keep,
    ``first_pass`` the height at which the first grazing of the year starts (else the sward's own),
    ``normal_loss`` the share of trees lost in a usual year, ``loss_rule`` the loss rule with its date.
    How the farm makes hay, by its own machines or a contractor: ``hay_pass`` what a cut costs by area,
    ``hay_field_loss`` the share of the cut grass lost in the field, ``hay_days`` from the cut until the hay
    is off, ``hay_stubble`` the height that a cut leaves (else the sward's height to leave),
    ``hay_area_day`` the most area cut in a day, ``hay_hours`` the farm's own work by the area cut.
    ``chosen`` names, for a question on which sources differ, the reading to use (``farm/settings.py``).
    """

    worm_stay: Quantity | None = None
    worm_rest: Quantity | None = None
    worms_hard: bool = False
    regrazed_after: Quantity | None = None
    harvest_interval: Quantity | None = None
    harvest_rule: str | None = None
    wet_rule: bool = True
    rest: Quantity | None = None
    no_move_weekdays: tuple[int, ...] = ()
    moves_a_day: int = 2
    away_is_hard: bool = True
    sale_notice: Quantity | None = None
    hay_margin: Quantity | None = None
    first_pass: Quantity | None = None
    normal_loss: Quantity | None = None
    loss_rule: str | None = None
    hay_pass: Quantity | None = None
    hay_field_loss: Quantity | None = None
    hay_days: Quantity | None = None
    hay_stubble: Quantity | None = None
    hay_area_day: Quantity | None = None
    hay_hours: Quantity | None = None
    chosen: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """Work that animals do in a paddock: brush cleared, ground turned, grass kept down, rows fed.

    ``target`` ends it: the share of leaf left, the share of bare ground, or the height of the grass.
    ``beside`` names plantings over the fence, for a farm without a map.
    """

    id: str
    name: str
    kind: str
    paddock: str
    mob: str | None = None
    target: Quantity | None = None
    from_day: date | None = None
    to_day: date | None = None
    stay: Quantity | None = None
    rest: Quantity | None = None
    beside: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Keeper:
    """What the keeper knows of a kind, and who buys it, in the keeper's own words."""

    kind: str
    experience: str = ""
    market: str = ""


@dataclass(frozen=True, slots=True)
class Contact:
    """Whom to ring: role in words, name or place, telephone."""

    role: str
    name: str
    phone: str


@dataclass(frozen=True, slots=True)
class Energiser:
    """The fence: where its switch is, what it read, and when."""

    where: str = ""
    reading: Quantity | None = None
    read_on: date | None = None


@dataclass(frozen=True, slots=True)
class Farm:
    """A whole farm folder, read and checked. ``planned`` are plantings of which no tree stands yet."""

    name: str
    time_zone: str
    units: System
    as_of: date
    paddocks: tuple[Paddock, ...]
    mobs: tuple[Mob, ...]
    place: Place | None = None
    place_words: str = ""
    seed: int = 1
    normals: Normals | None = None
    daily: DailyRecords | None = None
    swards: tuple[Sward, ...] = ()
    soils: tuple[Soil, ...] = ()
    plantings: tuple[Planting, ...] = ()
    promises: tuple[Promise, ...] = ()
    hay: tuple[HayLot, ...] = ()
    rules: Rules = field(default_factory=Rules)
    shapes: tuple[Shape, ...] = ()
    contacts: tuple[Contact, ...] = ()
    energiser: Energiser = field(default_factory=Energiser)
    labour_hours_day: Quantity | None = None
    prices: tuple[tuple[str, Quantity], ...] = ()
    language: str = "en"
    time_zone_typed: bool = True
    position_error: Quantity | None = None
    jobs: tuple[Job, ...] = ()
    keepers: tuple[Keeper, ...] = ()
    planned: tuple[Planting, ...] = ()
    money: MoneyPlan | None = None
    carbon: CarbonRules = field(default_factory=CarbonRules)
    future: Future = field(default_factory=Future)
    same_land: SameLand = field(default_factory=SameLand)
    review: Review = field(default_factory=Review)

    def paddock(self, ident: str) -> Paddock | None:
        """Return the paddock of that id, or None."""
        return next((p for p in self.paddocks if p.id == ident), None)

    def mob(self, ident: str) -> Mob | None:
        """Return the mob of that id, or None."""
        return next((m for m in self.mobs if m.id == ident), None)

    def sward_of(self, paddock: Paddock) -> Sward | None:
        """Return the sward of a paddock: its own, or the farm's only one."""
        if paddock.sward is None:
            return self.swards[0] if len(self.swards) == 1 else None
        return next((s for s in self.swards if s.id == paddock.sward), None)

    def soil_of(self, paddock: Paddock) -> Soil | None:
        """Return the soil of a paddock: its own, or the farm's only one."""
        if paddock.soil is None:
            return self.soils[0] if len(self.soils) == 1 else None
        return next((s for s in self.soils if s.id == paddock.soil), None)

    def price(self, item: str) -> Quantity | None:
        """Return the farm's own price of an item, or None."""
        return dict(self.prices).get(item)
