"""The energy of one animal, term by term, and the methane that follows: the second tier."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from browseline.science import methane

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Animal:
    """What the second tier asks of an animal; numbers or arrays of one shape (members).

    ``ca`` is a share of maintenance for cattle, MJ/d/kg of live weight for sheep and goats. Sheep and
    goats give milk by ``ev_milk_mj_kg`` from ``milk_kg_d`` or from ``weaning_gain_kg``, and grow from
    ``start_kg`` to ``end_kg`` in a year; cattle by ``gain_kg_d`` towards ``mature_kg``. [kg, kg/d, %, MJ]
    """

    kind: str
    weight_kg: Array
    cfi: Array
    ca: Array
    digestible_pct: Array
    milk_kg_d: Array = field(default_factory=lambda: np.array(0.0))
    fat_pct: Array = field(default_factory=lambda: np.array(0.0))
    ev_milk_mj_kg: float = 0.0
    weaning_gain_kg: Array = field(default_factory=lambda: np.array(0.0))
    c_pregnancy: float = 0.0
    share_pregnant: Array = field(default_factory=lambda: np.array(1.0))
    gain_kg_d: Array = field(default_factory=lambda: np.array(0.0))
    mature_kg: Array | None = None
    c_growth: float = 1.0
    start_kg: Array | None = None
    end_kg: Array | None = None
    growth_a: float = 0.0
    growth_b: float = 0.0
    wool_kg_yr: Array = field(default_factory=lambda: np.array(0.0))
    ev_wool_mj_kg: float = 0.0
    work_h_d: Array = field(default_factory=lambda: np.array(0.0))


@dataclass(frozen=True, slots=True)
class Energies:
    """The terms of one animal. [MJ/d]"""

    maintenance: Array
    activity: Array
    milk: Array
    pregnancy: Array
    work: Array
    gain: Array
    wool: Array
    gross: Array


def energies(animal: Animal) -> Energies:
    """Energy terms of an animal and the gross energy it eats.

    Parameters
    ----------
    animal : Animal
        Arrays of shape (...).

    Returns
    -------
    Energies
        Arrays of shape (...). [MJ/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.2-10.16
    """
    keep = methane.maintenance_mj_d(animal.weight_kg, animal.cfi)
    cattle = animal.kind == "cattle"
    walk = methane.activity_mj_d(animal.ca, keep if cattle else animal.weight_kg)
    milk = _milk(animal, cattle)
    young = methane.pregnancy_mj_d(animal.c_pregnancy, keep, animal.share_pregnant)
    work = np.asarray(0.10 * keep * animal.work_h_d)
    gain = _gain(animal, cattle)
    wool = methane.wool_mj_d(animal.wool_kg_yr, animal.ev_wool_mj_kg)
    gross = methane.gross_energy_mj_d(keep + walk + milk + young + work, gain + wool, animal.digestible_pct)
    return Energies(keep, walk, milk, young, work, gain, wool, gross)


def _milk(animal: Animal, cattle: bool) -> Array:
    if cattle:
        return methane.cattle_milk_mj_d(animal.milk_kg_d, animal.fat_pct)
    milk = np.asarray(animal.milk_kg_d + methane.milk_of_lambs_kg_d(animal.weaning_gain_kg))
    return methane.small_milk_mj_d(milk, animal.ev_milk_mj_kg)


def _gain(animal: Animal, cattle: bool) -> Array:
    if cattle and animal.mature_kg is not None:
        return methane.cattle_gain_mj_d(animal.weight_kg, animal.mature_kg, animal.gain_kg_d, animal.c_growth)
    if not cattle and animal.start_kg is not None and animal.end_kg is not None:
        return methane.small_gain_mj_d(animal.start_kg, animal.end_kg, animal.growth_a, animal.growth_b)
    return np.zeros(np.shape(animal.weight_kg))
