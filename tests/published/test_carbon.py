"""Methane, nitrous oxide, wood, carbon and errors against worked cases; ids and sources in carbon.csv.

C063, C066 and C069 are defaults printed by the guidelines (Table 10.11), reproduced from their inputs.
The worked animals W1-W6 stand with every term in worked_animals.csv.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browseline.science import carbon, crop, methane, nitrogen, spread, warming, wood
from browseline.science.animal_energy import Animal, energies
from browseline.units import factor

HERE = Path(__file__).parent


def table(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((HERE / name).read_text("utf-8").splitlines()))


CASES = table("carbon.csv")
RENAMED = {
    "live_weight_kg": "weight_kg", "mean_weight_kg": "weight_kg", "de_pct": "digestible_pct",
    "mature_weight_kg": "mature_kg", "start_weight_kg": "start_kg", "end_weight_kg": "end_kg",
    "a": "growth_a", "b": "growth_b",
}  # fmt: skip
WOOL_MJ_KG = 24.0


def animal(**said: Any) -> Animal:
    said.pop("ym_pct_ge", None)
    made = {RENAMED.get(key, key): value for key, value in said.items()}
    return Animal(**({"ev_wool_mj_kg": WOOL_MJ_KG} | made))


def gross(**said: Any) -> float:
    return float(energies(animal(**said)).gross)


def enteric(ym_pct_ge: float, ge_mj_d: float | None = None, **said: Any) -> float:
    energy = ge_mj_d if ge_mj_d is not None else gross(**said)
    return float(methane.enteric_kg_ch4_yr(np.array(energy), np.array(ym_pct_ge)))


def activity(**said: float) -> Any:
    if "ca_mj_kg" in said:
        return methane.activity_mj_d(np.array(said["ca_mj_kg"]), np.array(said["live_weight_kg"]))
    return methane.activity_mj_d(np.array(said["ca"]), np.array(said["nem_mj_d"]))


def milk(milk_kg_d: float, fat_pct: float = 0.0, ev_milk_mj_kg: float = 0.0) -> Any:
    if ev_milk_mj_kg:
        return methane.small_milk_mj_d(np.array(milk_kg_d), ev_milk_mj_kg)
    return methane.cattle_milk_mj_d(np.array(milk_kg_d), np.array(fat_pct))


def grazing_n2o(part: str) -> Callable[..., Any]:
    def made(
        n_kg_yr: float, ef3prp: float, frac_gasm: float, ef4: float, frac_leach: float, ef5: float
    ) -> float:
        n = np.array(n_kg_yr)
        parts = {
            "direct": nitrogen.direct_kg_n2o(n, np.array(ef3prp)),
            "air": nitrogen.indirect_kg_n2o(n, np.array(frac_gasm), np.array(ef4)),
            "water": nitrogen.indirect_kg_n2o(n, np.array(frac_leach), np.array(ef5)),
        }
        return float(sum(parts.values())) if part == "all" else float(parts[part])

    return made


def leached(n_kg_ha: float | None = None, **said: float) -> Any:
    if n_kg_ha is None:
        return grazing_n2o("water")(**said)
    return nitrogen.indirect_kg_n2o(np.array(n_kg_ha), np.array(said["frac_leach"]), np.array(said["ef5"]))


PARTS = ("foliage", "stem bark", "stem wood")


def part_share(**said: Any) -> Any:
    if said["component"] != "branches":
        return wood.part_share(np.array(said["dbh_cm"]), said["a0"], said["a1"])
    others = [
        wood.part_share(np.array(said["dbh_cm"]), *(json.loads(row["inputs"])[a] for a in ("a0", "a1")))
        for part in PARTS
        for row in CASES
        if f'"class": "{said["class"]}", "component": "{part}"' in row["inputs"]
    ]
    return wood.branch_share(*others)


def soil(soc_ref_t_ha: float, factor_before: float, factor_after: float, years: int, area_ha: float) -> float:
    series = carbon.soil_change_t_c(soc_ref_t_ha, factor_before, factor_after, np.arange(years + 1.0))
    assert series[-1] == 0
    return float(series[0]) * area_ha


def litre_co2(fuel: str, kg_co2_us_gal: float) -> Any:
    return carbon.fuel_kg_co2(np.array(factor("L", "gal")), kg_co2_us_gal)


def residues(grain_fresh_kg_ha: float, dry_matter_fraction: float, **said: float) -> Any:
    return nitrogen.residue_kg_n_ha(np.array(grain_fresh_kg_ha * dry_matter_fraction), **said)


def left(start_t_c: float, half_life_yr: float, years: float) -> Any:
    return start_t_c * carbon.left_after(np.array(years), np.array(half_life_yr))


def star(case: str, e100_now_t: float, e100_20yr_ago_t: float) -> Any:
    return warming.star_t_co2we(np.array(e100_now_t), np.array(e100_20yr_ago_t), warming.PRINTED)


def air(gtc_ppm: float, co2_per_c: float) -> Any:
    assert co2_per_c == crop.CO2_OF_CARBON_IN_AIR
    return crop.air_gt_co2(np.array(1.0), gtc_ppm)


def weight(which: int) -> Callable[..., float]:
    return lambda s, h_yr, dt_yr: warming.star_weights(s, h_yr, dt_yr)[which]


def items(**said: Any) -> tuple[np.ndarray, np.ndarray]:
    values, halves = np.array(said["items"]).T
    return values, halves


def net_share(**said: Any) -> float:
    values, halves = items(**said)
    return 100 * spread.sum_half(values, halves) / abs(float(values.sum()))


RESULT: dict[str, Callable[..., Any]] = {
    "net energy for maintenance": lambda cfi, live_weight_kg: methane.maintenance_mj_d(
        np.array(live_weight_kg), np.array(cfi)
    ),
    "net energy for activity": activity,
    "net energy for milk": milk,
    "net energy for milk from lamb gain": lambda weaning_gain_kg, ev_milk_mj_kg: methane.small_milk_mj_d(
        methane.milk_of_lambs_kg_d(np.array(weaning_gain_kg)), ev_milk_mj_kg
    ),
    "net energy for pregnancy": lambda c_pregnancy, nem_mj_d, share_pregnant=1.0: methane.pregnancy_mj_d(
        c_pregnancy, np.array(nem_mj_d), np.array(share_pregnant)
    ),
    "net energy for wool": lambda ev_wool_mj_kg, wool_kg_yr: methane.wool_mj_d(
        np.array(wool_kg_yr), ev_wool_mj_kg
    ),
    "net energy for growth, cattle": lambda live_weight_kg, mature_weight_kg, c_growth, gain_kg_d: (
        methane.cattle_gain_mj_d(
            np.array(live_weight_kg), np.array(mature_weight_kg), np.array(gain_kg_d), c_growth
        )
    ),
    "net energy for growth, sheep": lambda start_weight_kg, end_weight_kg, a, b: methane.small_gain_mj_d(
        np.array(start_weight_kg), np.array(end_weight_kg), a, b
    ),
    "ratio of net energy for maintenance to digestible energy": lambda de_pct: methane.maintenance_ratio(
        np.array(de_pct)
    ),
    "ratio of net energy for growth to digestible energy": lambda de_pct: methane.growth_ratio(
        np.array(de_pct)
    ),
    "gross energy intake of one animal": gross,
    "dry matter intake from gross energy": lambda ge_mj_d: methane.intake_kg_dm_d(np.array(ge_mj_d)),
    "enteric methane of one animal in a year": enteric,
    "enteric methane of one animal in a year, to whole kg": lambda **said: round(enteric(**said)),
    "volatile solids excreted": lambda ge_mj_d, de_pct, ue, ash: methane.solids_kg_d(
        np.array(ge_mj_d), np.array(de_pct), ue, ash
    ),
    "methane from dung on pasture in a year": lambda vs_kg_d, bo_m3_kg_vs, mcf_pct: methane.dung_kg_ch4(
        np.array(vs_kg_d * methane.DAYS), bo_m3_kg_vs, mcf_pct, 0.67
    ),
    "methane per kg of volatile solids on pasture": lambda bo_m3_kg_vs, mcf_pct, density_kg_m3: (
        1000 * methane.dung_kg_ch4(np.array(1.0), bo_m3_kg_vs, mcf_pct, density_kg_m3)
    ),
    "nitrogen excreted, from a rate per 1000 kg": lambda rate_kg_n_1000kg_d, live_weight_kg: (
        nitrogen.excreted_by_rate(np.array(rate_kg_n_1000kg_d), np.array(live_weight_kg))
    ),
    "nitrogen intake from energy and protein": lambda ge_mj_d, cp_pct: nitrogen.eaten_kg_n_d(
        np.array(ge_mj_d), np.array(cp_pct)
    ),
    "nitrogen retained in gain": lambda gain_kg_d, neg_mj_d: nitrogen.kept_in_gain_kg_n_d(
        np.array(gain_kg_d), np.array(neg_mj_d)
    ),
    "nitrogen excreted in a year, tier 2": lambda intake_kg_n_d, retained_kg_n_d: nitrogen.excreted_kg_n_yr(
        np.array(intake_kg_n_d), np.array(retained_kg_n_d)
    ),
    "direct nitrous oxide of grazing stock": grazing_n2o("direct"),
    "nitrous oxide from volatilised nitrogen": grazing_n2o("air"),
    "nitrous oxide from leached nitrogen": leached,
    "total nitrous oxide of grazing stock": grazing_n2o("all"),
    "nitrogen in crop residues": residues,
    "direct nitrous oxide of nitrogen inputs": lambda input, n_kg_ha, ef1: nitrogen.direct_kg_n2o(
        np.array(n_kg_ha), np.array(ef1)
    ),
    "nitrous oxide from volatilised fertiliser": lambda n_kg_ha, frac_gasf, ef4: nitrogen.indirect_kg_n2o(
        np.array(n_kg_ha), np.array(frac_gasf), np.array(ef4)
    ),
    "nitrous oxide of one hectare of maize in CO2e": lambda n2o_kg_ha, gwp: warming.co2e_kg(
        np.array(n2o_kg_ha), np.array(gwp)
    ),
    "aboveground biomass of one tree from dbh": lambda group, b0, b1, dbh_cm: wood.aboveground_kg(
        np.array(dbh_cm), b0, b1
    ),
    "share of a component in aboveground biomass": part_share,
    "stand root biomass, temperate": lambda aboveground_t_ha: wood.temperate_roots_t_ha(
        np.array(aboveground_t_ha)
    ),
    "stand root biomass from shoot biomass": lambda aboveground_t_ha: wood.stand_roots_t_ha(
        np.array(aboveground_t_ha)
    ),
    "yearly soil carbon gain, nominal to improved grassland": soil,
    "carbon to carbon dioxide": lambda c_t: carbon.co2_of_carbon(np.array(c_t)),
    "carbon dioxide of a litre of fuel": litre_co2,
    "carbon dioxide of field diesel": lambda l_ha, kg_co2_l: l_ha * litre_co2("diesel", 10.21),
    "work rate of a mower": lambda width_m, speed_km_h, field_efficiency: carbon.work_rate_ha_h(
        width_m, speed_km_h, field_efficiency
    ),
    "fuel per area from power": lambda pto_kw, travel_kw, l_kwh, ha_h: carbon.work_fuel_l_ha(
        pto_kw, travel_kw, l_kwh, ha_h
    ),
    "fuel per area, US units to metric": lambda us_gal_acre: (
        us_gal_acre * factor("gal", "L") / factor("ac", "ha")
    ),
    "decay constant from half-life": lambda half_life_yr: carbon.decay_1_yr(np.array(half_life_yr)),
    "carbon left in sawn wood": left,
    "GWP* scaling g(s)": lambda s: warming.scaling(s),
    "GWP* coefficient of the present year": weight(0),
    "GWP* coefficient of the year 20 earlier": weight(1),
    "warming-equivalent emission in a year": star,
    "yearly herd shrinkage that gives zero warming-equivalent emission": lambda years: (
        100 * warming.shrinkage_for_none(warming.PRINTED)
    ),
    "carbon dioxide per ppm": air,
    "half-width of a product": lambda u_pct: spread.product_half_pct(np.array(u_pct)),
    "net of gains and losses": lambda **said: items(**said)[0].sum(),
    "half-width of a sum, absolute": lambda **said: spread.sum_half(*items(**said)),
    "half-width of a sum, percent of the net": net_share,
    "mean of a lognormal": lambda parameter, mu_log, sigma_log: spread.lognormal_mean(mu_log, sigma_log),
    "97.5 % point of a lognormal": lambda parameter, mu_log, sigma_log: spread.lognormal_point(
        mu_log, sigma_log, np.array(0.975)
    ),
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['id']} {c['source']} {c['locator']}")
def test_against_the_worked_case(case: dict[str, str]) -> None:
    found = RESULT[case["function"]](**json.loads(case["inputs"]))
    assert float(found) == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))
