"""Invented normals for tests: 41 N, 200 m, no real place (forage.md section 4)."""

from browseline.farm.records import Normals

INLAND = Normals(
    tmax_c=(2, 4, 10, 17, 23, 27, 29, 28, 24, 17, 10, 4),
    tmin_c=(-8, -7, -2, 4, 9, 14, 17, 16, 12, 5, 1, -5),
    rain_mm=(70, 60, 80, 85, 95, 100, 100, 90, 90, 80, 80, 70),
    wet_days=(11, 10, 12, 12, 13, 11, 11, 10, 10, 10, 11, 11),
    wet_day_threshold_mm=0.25,
)
