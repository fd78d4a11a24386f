"""Tests; a package, so that benchmarks can time what they set up."""
