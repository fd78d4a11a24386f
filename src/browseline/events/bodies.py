"""The kinds of event: what each one says, in the units it was typed in.

``about`` names what the subject of the envelope is: a mob, a paddock, a planting, an animal, a hay
lot or the farm. Money is ``Decimal`` with its currency; a treatment holds the product and the
vet's withdrawal date, never a dose.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from browseline.events.envelope import Body
from browseline.units import Quantity

Length = Annotated[Quantity, "length"]
Mass = Annotated[Quantity, "mass"]
Area = Annotated[Quantity, "area"]
Share = Annotated[Quantity, "share"]
Growth = Annotated[Quantity, "herbage growth"]
HeightGrowth = Annotated[Quantity, "height growth"]
Density = Annotated[Quantity, "herbage density"]
Duration = Annotated[Quantity, "time"]
Bales = Annotated[Quantity, "count"]
Volume = Annotated[Quantity, "volume"]
Intake = Annotated[Quantity, "intake"]
Money = Annotated[Quantity, "money"]
Given = Annotated[Quantity, "count|mass|volume"]


# ---------------------------------------------------------------- where the animals are


@dataclass(frozen=True)
class Moved(Body, kind="moved", about="mob"):
    """The mob went to a paddock (or a pen, a yard, away: ``to`` is then that word).

    ``until_day`` is that on which the last stay of a plan ends, which no other planned move tells.
    """

    to: str
    despite_shut: str = ""
    until_day: date | None = None


@dataclass(frozen=True)
class Split(Body, kind="split", about="mob"):
    """Part of a mob became a mob of its own. ``head`` lists ``kind/class=number``."""

    into: str
    head: tuple[str, ...]
    name: str = ""
    to: str = ""


@dataclass(frozen=True)
class Merged(Body, kind="merged", about="mob"):
    """The mob joined another and is no more."""

    into: str


@dataclass(frozen=True)
class Netted(Body, kind="netted", about="paddock"):
    """A net or wire split a paddock into parts, each with its own clocks from then on."""

    parts: tuple[str, ...]
    areas: tuple[str, ...]


@dataclass(frozen=True)
class Penned(Body, kind="penned", about="mob"):
    """Animals were taken out of the mob to a pen; young at foot go with them."""

    animal: str
    head: tuple[str, ...]
    why: str = ""


@dataclass(frozen=True)
class Back(Body, kind="back", about="mob"):
    """A penned animal, with what was penned with it, came back."""

    animal: str


@dataclass(frozen=True)
class Counted(Body, kind="counted", about="mob"):
    """Somebody counted. ``head`` is one number, or ``kind/class=number`` each."""

    head: tuple[str, ...]


# ---------------------------------------------------------------- births, deaths, trade


@dataclass(frozen=True)
class Born(Body, kind="born", about="mob"):
    """Young were born into the mob."""

    head: int
    klass: str
    beast: str = ""


@dataclass(frozen=True)
class Died(Body, kind="died", about="mob"):
    """Animals died."""

    head: int
    klass: str
    beast: str = ""
    cause: str = ""


@dataclass(frozen=True)
class Sold(Body, kind="sold", about="mob"):
    """Animals were sold."""

    head: int
    klass: str
    beast: str = ""
    price: Money | None = None


@dataclass(frozen=True)
class Bought(Body, kind="bought", about="mob"):
    """Animals were bought into the mob."""

    head: int
    klass: str
    beast: str = ""
    price: Money | None = None
    weight: Mass | None = None


@dataclass(frozen=True)
class Weaned(Body, kind="weaned", about="mob"):
    """Young became a class of their own, in this mob or in another."""

    head: int
    klass: str
    new_klass: str
    beast: str = ""
    into: str = ""
    intake: Intake | None = None


@dataclass(frozen=True)
class Borrowed(Body, kind="borrowed", about="mob"):
    """A mob that belongs to somebody else came, to go back on a day."""

    head: int
    beast: str
    klass: str
    until: date | None = None
    owner: str = ""
    to: str = ""
    weight: Mass | None = None
    intake: Intake | None = None


@dataclass(frozen=True)
class Returned(Body, kind="returned", about="mob"):
    """A borrowed mob went home."""

    head: int | None = None


@dataclass(frozen=True)
class Weighed(Body, kind="weighed", about="mob"):
    """Animals were weighed: the mean of so many."""

    weight: Mass
    klass: str = ""
    beast: str = ""
    head: int | None = None


@dataclass(frozen=True)
class Treated(Body, kind="treated", about="animal"):
    """A vet or keeper treated an animal: product and withdrawal date, never an amount."""

    product: str
    withdrawal: date | None = None
    by: str = ""


# ---------------------------------------------------------------- grass, gates, weather


@dataclass(frozen=True)
class Walked(Body, kind="walked", about="paddock"):
    """The height of the grass was read; ``density`` is fair, good or excellent."""

    height: Length
    density: str = ""
    readings: int | None = None
    mass_per_height: Density | None = None


@dataclass(frozen=True)
class Looked(Body, kind="looked", about="paddock"):
    """Somebody looked at trees, ground, animals or plants. Every number is optional.

    ``sick`` are trees with signs of a disease.
    """

    at: str
    planting: str = ""
    seen: int | None = None
    bitten: int | None = None
    barked: int | None = None
    bare: Share | None = None
    leaf: Share | None = None
    ruts: str = ""
    roots: str = ""
    animal: str = ""
    condition: str = ""
    eyelid: str = ""
    clear: bool | None = None
    row: str = ""
    sick: int | None = None


@dataclass(frozen=True)
class Shut(Body, kind="shut", about="paddock"):
    """A paddock was shut: why, and until a day or a condition."""

    because: str
    until: str = ""
    until_day: date | None = None


@dataclass(frozen=True)
class Opened(Body, kind="opened", about="paddock"):
    """A shut paddock was opened; ``met`` says that the condition is met."""

    met: str = ""


@dataclass(frozen=True)
class Rained(Body, kind="rained", about="farm"):
    """Rain in the gauge for the day."""

    depth: Length


@dataclass(frozen=True)
class Forecast(Body, kind="forecast", about="farm"):
    """What somebody expects until a day: grass growth as mass or height a day, or rain."""

    until: date
    growth: Growth | None = None
    height: HeightGrowth | None = None
    rain: Length | None = None


@dataclass(frozen=True)
class Stormed(Body, kind="stormed", about="farm"):
    """Wind, hail or snow that may have brought down limbs."""

    what: str = "wind"


@dataclass(frozen=True)
class Cut(Body, kind="cut", about="paddock"):
    """A paddock was mown or made into hay."""

    purpose: str = "hay"
    to_height: Length | None = None
    bales: Bales | None = None
    area: Area | None = None


@dataclass(frozen=True)
class Sown(Body, kind="sown", about="paddock"):
    """Seed went in."""

    what: str


@dataclass(frozen=True)
class Spread(Body, kind="spread", about="paddock"):
    """Lime, dung or fertiliser was spread."""

    what: str
    amount: Mass | None = None


@dataclass(frozen=True)
class Sampled(Body, kind="sampled", about="paddock"):
    """Soil was sampled: the laboratory's figures as text."""

    result: str
    depth: Length | None = None


# ---------------------------------------------------------------- trees


@dataclass(frozen=True)
class Planted(Body, kind="planted", about="planting"):
    """Trees were planted."""

    trees: int
    species: str = ""
    row: str = ""


@dataclass(frozen=True)
class Lost(Body, kind="lost", about="planting"):
    """Trees died or were found dead."""

    trees: int
    cause: str = ""
    row: str = ""


@dataclass(frozen=True)
class Guarded(Body, kind="guarded", about="planting"):
    """Guards were put on, mended or taken off."""

    trees: int
    guard: str = ""
    row: str = ""


@dataclass(frozen=True)
class Pruned(Body, kind="pruned", about="planting"):
    """Trees were pruned; the brush may lie where stock reach it."""

    trees: int | None = None
    to_height: Length | None = None
    row: str = ""


@dataclass(frozen=True)
class Thinned(Body, kind="thinned", about="planting"):
    """Trees were taken out to let light in."""

    trees: int
    row: str = ""


@dataclass(frozen=True)
class Felled(Body, kind="felled", about="planting"):
    """Trees were felled."""

    trees: int
    why: str = ""
    row: str = ""


@dataclass(frozen=True)
class TreeMeasured(Body, kind="tree_measured", about="planting"):
    """A stem, a height or a crown was measured."""

    tree: str = ""
    dbh: Length | None = None
    height: Length | None = None
    crown: Length | None = None
    leader: Length | None = None
    row: str = ""


@dataclass(frozen=True)
class Bitten(Body, kind="bitten", about="planting"):
    """Trees bitten or barked, seen outside a walk: wildlife or stock."""

    trees: int
    by: str = ""


@dataclass(frozen=True)
class Picked(Body, kind="picked", about="planting"):
    """A crop was gathered."""

    amount: Mass
    who: str = ""
    row: str = ""


# ---------------------------------------------------------------- store, money, hours, papers


@dataclass(frozen=True)
class Fed(Body, kind="fed", about="mob"):
    """Hay was given in bales; feed or mineral by weight, water by volume: ``what`` names it."""

    amount: Given
    lot: str = ""
    where: str = ""
    what: str = ""


@dataclass(frozen=True)
class Spent(Body, kind="spent", about="farm"):
    """Money went out. What came for it into the store: ``bales`` of a ``lot``, or a ``weight``."""

    amount: Money
    what: str
    bales: Bales | None = None
    lot: str = ""
    weight: Mass | None = None


@dataclass(frozen=True)
class Earned(Body, kind="earned", about="farm"):
    """Money came in. ``weight`` is what went for it out of the store: nuts, pods, fruit."""

    amount: Money
    what: str
    weight: Mass | None = None


@dataclass(frozen=True)
class Fuelled(Body, kind="fuelled", about="farm"):
    """Fuel was used or bought."""

    amount: Volume
    fuel: str = "diesel"


@dataclass(frozen=True)
class Worked(Body, kind="worked", about="farm"):
    """Work. Without a ``time`` it took as long as the entry's own interval.

    ``clock`` is *start* or *stop*: a start without a time runs until the next stop of the same work.
    """

    time: Duration | None = None
    what: str = ""
    clock: str = ""


@dataclass(frozen=True)
class Photographed(Body, kind="photographed", about="paddock"):
    """A photo was taken; the file is named by its hash."""

    file: str
    what: str = ""


@dataclass(frozen=True)
class Noted(Body, kind="noted", about="farm"):
    """A note in somebody's own words."""

    text: str


@dataclass(frozen=True)
class Issued(Body, kind="issued", about="farm"):
    """A paper was issued: its context, program version and table edition reprint it."""

    paper: str
    context: str
    program: str
    tables: str
    file: str = ""


# ---------------------------------------------------------------- corrections


@dataclass(frozen=True)
class Undone(Body, kind="undone", about="farm"):
    """The superseded event did not happen."""


@dataclass(frozen=True)
class Corrected(Body, kind="corrected", about="farm"):
    """A number in a file of the farm was mended; the record keeps both."""

    what: str
    was: str
    now: str
    amount: Decimal | None = None
