"""How fast, how large and how exact: `time_`, `peakmem_` and `track_` benchmarks for asv."""
