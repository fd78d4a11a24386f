"""Which tree equation, roots and carbon share a farm's planting takes, and what they make of stems."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.farm import factors
from browseline.farm.records import Farm, Planting
from browseline.farm.toml_carbon import COARSE_ROOTS
from browseline.figures import BASES, Basis, Origin
from browseline.science import wood
from browseline.units import factor

Array = npt.NDArray[np.float64]
Equation = dict[str, str]
CARBON_SHARE = "all wood, default"
WIDE = "mixed hardwood"
JENKINS, CHOJNACKY = "jenkins2003", "chojnacky2014"
SOFT = ("conifer", "softwood")
M2_HA = factor("m2", "ha")


def equations() -> tuple[Equation, ...]:
    """Return every equation of the table."""
    return tuple(dict(line) for line in tables.texts("tree_mass"))


def equation_of(farm: Farm, planting: Planting, which: str = "") -> Equation:
    """Return the equation of a planting in a set: the group that the farm named, else its species' own.

    A species of no group of the set takes mixed hardwood of the other.
    """
    own = which or factors.tree_set(farm)
    named = dict(farm.carbon.groups).get(planting.id) if not which else None
    lines = equations()
    for line in lines:
        if line["group"] == named:
            return line
    for line in lines:
        if line["set"] == own and planting.species in line["species"].split(";"):
            return line
    return next(line for line in lines if line["group"] == WIDE)


def origin(line: Equation) -> Origin:
    """Return where an equation comes from."""
    place = f"{line['locator']}, {line['group']}"
    return Origin(line["source"], place, _basis(line["basis"]), note=line["note"])


def _basis(text: str) -> Basis:
    return next(basis for basis in BASES if basis == text)


def mass_kg(line: Equation, dbh_cm: Array) -> Array:
    """Return the dry matter above ground of trees by an equation, in the shape of the stems. [kg]"""
    return wood.aboveground_kg(dbh_cm, float(line["b0"]), float(line["b1"]))


def log_error(farm: Farm, planting: Planting, line: Equation) -> Equation | None:
    """Return the row that tells the error of one tree on the logarithm; None where no set tells one.

    The group's own, else that of the species in the other set.
    """
    found = line if line["log_rmse"] else equation_of(farm, planting, JENKINS)
    return found if found["log_rmse"] else None


def carbon_row(farm: Farm) -> tables.Row:
    """Return the share of carbon in dry wood. [1]"""
    return tables.row("tree_carbon", "carbon_share", farm.carbon.carbon_share or CARBON_SHARE)


def other_carbon_rows(farm: Farm, line: Equation) -> tuple[tables.Row, ...]:
    """Return the shares of carbon in dry wood that could be taken for a group in place of the one in use."""
    wrong = "broadleaf" if line["class"] in SOFT else "conifer"
    used = carbon_row(farm).applies_to
    cases = (case for case in tables.applies("tree_carbon", "carbon_share") if wrong not in case)
    return tuple(tables.row("tree_carbon", "carbon_share", case) for case in cases if case != used)


def by_stem(farm: Farm) -> bool:
    """Return whether the farm takes roots by the size of each stem."""
    return farm.carbon.root_share == COARSE_ROOTS


def root_row(farm: Farm, planting: Planting, line: Equation, standing_t_ha: float) -> tables.Row:
    """Return roots over what stands above ground: the named row, else by dry matter on the ground. [1]

    Parameters
    ----------
    standing_t_ha : float
        Dry matter above ground; 0 where the ground is not known, which counts as thin. [t/ha]
    """
    case = farm.carbon.root_share or _root_case(planting, line, standing_t_ha)
    return tables.row("tree_carbon", "root_share", case)


def _root_case(planting: Planting, line: Equation, standing: float) -> str:
    source = "ipcc2006_v4_ch04"
    if line["class"] in SOFT:
        size = "<50" if standing < 50 else "50-150" if standing <= 150 else ">150"
        return f"{source}, conifers, AGB {size}"
    if planting.species.startswith("oak") and standing > 70:
        return f"{source}, Quercus, AGB >70"
    size = "<75" if standing < 75 else "75-150" if standing <= 150 else ">150"
    return f"{source}, other broadleaf, AGB {size}"


def ground_ha(planting: Planting, trees: float) -> float | None:
    """Return the ground that so many trees stand on by their spacings; None where they are not known. [ha]"""
    if planting.spacing is None or planting.alley is None:
        return None
    return planting.spacing.to("m") * planting.alley.to("m") * trees * M2_HA


def part_rows(line: Equation, part: str) -> tuple[tables.Row, tables.Row]:
    """Return the two coefficients of a part's share: *coarse roots*, *stem wood*, *stem bark*."""
    sort = "softwood" if line["class"] in SOFT else "hardwood"
    named = f"{sort}, {part}"
    return tables.row("tree_carbon", "part_a0", named), tables.row("tree_carbon", "part_a1", named)


def part_share(line: Equation, dbh_cm: Array, part: str) -> Array:
    """Return a part over the dry matter above ground of each stem, in the shape of the stems. [1]"""
    a0, a1 = (row.middle() for row in part_rows(line, part))
    return wood.part_share(dbh_cm, a0, a1)


def stem_share(line: Equation, dbh_cm: Array) -> Array:
    """Return stem wood and bark over all above ground of each stem: what of a felled tree can be sawn. [1]"""
    both = part_share(line, dbh_cm, "stem wood") + part_share(line, dbh_cm, "stem bark")
    return np.asarray(np.minimum(both, 1.0))
