"""The farm as people wrote it: ``farm.toml``, ``map.geojson``, ``weather.csv``."""
