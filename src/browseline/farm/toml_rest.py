"""Plantings, promises, hay, rules, contacts, energiser, labour and prices of ``farm.toml``."""

from __future__ import annotations

from browseline.farm import bounds, settings
from browseline.farm.draft import Draft, identify
from browseline.farm.names import words
from browseline.farm.records import Contact, Energiser, HayLot, Planting, Promise, Rules
from browseline.farm.toml_table import Table
from browseline.farm.toml_trees import read_rows, read_rule

PRICED = {
    **dict.fromkeys(("hay", "hay_sold", "left_short", "entered_early", "end_cover"), "money|money by mass"),
    **dict.fromkeys(("yard_day", "change_near", "change_later"), "money|USD/d"),
    "walk": "money|money by way", "move": "money|USD/move", "heat_day": "money|USD/LU/d",
}  # fmt: skip
"""Prices that may be typed with what they are by, as the plan's page prints them; every other is a sum."""


def read_plantings(draft: Draft, farm: Table) -> None:
    """Read the plantings: trees of one species planted together."""
    for table in farm.tables("plantings"):
        found = identify(draft, table, "plantings")
        species = table.word("species", "species", needed=True)
        ident, name = found or ("", "")
        made = Planting(
            ident,
            name,
            species or "",
            table.text("paddock"),
            table.whole("planted", bounds.FIRST_YEAR, bounds.LAST_YEAR),
            table.whole("trees", 0, bounds.MOST_TREES),
            table.names("cultivars"),
            table.quantity("spacing", "length", bounds.SPACING),
            table.quantity("alley", "length", bounds.SPACING),
            table.quantity("row_width", "length", bounds.SPACING),
            table.quantity("leader", "length", bounds.LEADER),
            table.text("guard"),
            table.day("first_drop"),
            table.quantity("interval", "time", bounds.INTERVAL),
            table.flag("harvested", True),
            table.quantity("accepted_bitten", "share", bounds.SHARE),
            table.text("note") or "",
            table.text("rootstock"),
            read_rows(table),
            read_rule(table),
            table.flag("planned"),
        )
        table.close()
        if found is not None and species is not None:
            draft.plantings.append(made)


def read_promises(draft: Draft, farm: Table) -> None:
    """Read what was agreed for a stretch of days."""
    for table in farm.tables("promises"):
        found = identify(draft, table, "promises")
        kind = table.word("kind", "promise", needed=True)
        what = table.text("what")
        first, last = table.day("from", needed=True), table.day("to", needed=True)
        paddocks, mobs, hard = table.names("paddocks"), table.names("mobs"), table.flag("hard", True)
        table.close()
        if found is None or kind is None or first is None or last is None:
            continue
        if last <= first:
            table.told.finding("farm.reversed", table.at("to"), first=first, last=last)
            continue
        draft.promises.append(Promise(found[0], kind, what or found[1], first, last, paddocks, mobs, hard))


def read_hay(draft: Draft, farm: Table) -> None:
    """Read the bales in store."""
    for table in farm.tables("hay"):
        found = identify(draft, table, "hay")
        bales = table.quantity("bales", "count", bounds.BALES, bare="bales", needed=True)
        weight = table.quantity("bale_weight", "mass", bounds.BALE_WEIGHT, needed=True)
        dry, store, feeding = (
            table.quantity(key, "share", bounds.SHARE) for key in ("dry", "store_loss", "feeding_loss")
        )
        price = table.quantity("price", "money")
        table.close()
        if found is not None and bales is not None and weight is not None:
            draft.hay.append(HayLot(found[0], bales, weight, dry, store, feeding, price))


def read_rules(draft: Draft, table: Table | None) -> None:
    """Read the farm's own choice where sources differ."""
    if table is None:
        return
    draft.rules = Rules(
        worm_stay=table.quantity("worm_stay", "time", bounds.STAY),
        worm_rest=table.quantity("worm_rest", "time", bounds.INTERVAL),
        worms_hard=table.flag("worms_hard"),
        regrazed_after=table.quantity("regrazed_after", "time", bounds.INTERVAL),
        harvest_interval=table.quantity("harvest_interval", "time", bounds.INTERVAL),
        harvest_rule=table.text("harvest_rule"),
        wet_rule=table.flag("wet_rule", True),
        rest=table.quantity("rest", "time", bounds.INTERVAL),
        no_move_weekdays=_weekdays(table),
        moves_a_day=table.whole("moves_a_day", 1, 100) or 2,
        away_is_hard=table.flag("away_is_hard", True),
        sale_notice=table.quantity("sale_notice", "time", bounds.INTERVAL),
        hay_margin=table.quantity("hay_margin", "time", bounds.INTERVAL),
        first_pass=table.quantity("first_pass", "length", bounds.START_HEIGHT),
        normal_loss=table.quantity("normal_loss", "share", bounds.SHARE),
        loss_rule=table.text("loss_rule"),
        hay_pass=table.quantity("hay_pass", "money by area", bounds.HAY_PASS),
        hay_field_loss=table.quantity("hay_field_loss", "share", bounds.SHARE),
        hay_days=table.quantity("hay_days", "time", bounds.HAY_DAYS),
        hay_stubble=table.quantity("hay_stubble", "length", bounds.GRASS_HEIGHT),
        hay_area_day=table.quantity("hay_area_day", "area", bounds.AREA),
        hay_hours=table.quantity("hay_hours", "work by area", bounds.HAY_HOURS),
        chosen=_chosen(table.table("settings")),
    )
    table.close()


def _chosen(table: Table | None) -> tuple[tuple[str, str], ...]:
    """Return, for each question on which sources differ and which was settled, the reading by name."""
    if table is None:
        return ()
    found = [(key, table.one_of(key, settings.names_of(key))) for key in settings.questions()]
    table.close()
    return tuple((key, reading) for key, reading in found if reading is not None)


def _weekdays(table: Table) -> tuple[int, ...]:
    """Return weekdays as numbers, Monday 1."""
    week = words("weekday")
    listed = (table.listed("no_move_weekdays", day, "weekday") for day in table.names("no_move_weekdays"))
    return tuple(sorted({week.index(day) + 1 for day in listed if day is not None}))


def read_people(draft: Draft, farm: Table) -> None:
    """Read whom to ring, the fence, the hours there are, and prices."""
    for role, table in farm.named("contacts"):
        name, phone = table.text("name"), table.text("phone", needed=True)
        table.close()
        if phone is not None:
            draft.contacts.append(Contact(role, name or role, phone))
    fence = farm.table("energiser")
    if fence is not None:
        where, reading = fence.text("where"), fence.quantity("reading", "voltage", bounds.VOLTAGE)
        draft.energiser = Energiser(where or "", reading, fence.day("read_on"))
        fence.close()
    labour = farm.table("labour")
    if labour is not None:
        draft.labour_hours_day = labour.quantity("hours_day", "time", bounds.HOURS_A_DAY)
        labour.close()
    prices = farm.table("prices")
    for item in prices.data if prices is not None else ():
        price = prices.quantity(item, PRICED.get(item, "money")) if prices is not None else None
        if price is not None:
            draft.prices.append((item, price))
