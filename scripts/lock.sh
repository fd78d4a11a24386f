#!/usr/bin/env bash
# Write locks/run.txt and locks/test.txt: every package at one version, by hash, naming no host.
# Run it through `make lock`; versions stay unless pyproject.toml forbids them. `scripts/lock.sh --upgrade`
# takes the newest. It needs uv, which is among the test parts.
set -euo pipefail
cd "$(dirname "$0")/.."
uv=${UV:-.venv/bin/uv}
options=("$@")

lock() { # lock OUT [uv options]
    local out=$1
    shift
    "$uv" pip compile pyproject.toml "$@" "${options[@]}" --quiet --universal --python-version 3.11 --generate-hashes \
        --no-header --no-emit-index-url --no-emit-find-links --no-annotate --output-file "$out"
    if grep -nE '://|^-|^ *--(extra-)?index|--find-links' "$out"; then
        echo "$out names a host; see the line above" >&2
        exit 1
    fi
}

lock locks/run.txt
lock locks/test.txt --extra test --constraint locks/run.txt
