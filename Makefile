# Two commands do everything on a fresh machine: `make demo` and `make test`. `make help` lists the rest.

PYTHON3 ?= python3
UV ?= uv
VENV := .venv
PYTHON := $(VENV)/bin/python
INSTALLED := $(VENV)/.installed
ROBOTS := $(VENV)/.robots
OUT := out

# Without compiled bytecode every start takes two to four times as long.
unexport PYTHONDONTWRITEBYTECODE
export PIP_DISABLE_PIP_VERSION_CHECK := 1

.DEFAULT_GOAL := help
.PHONY: help demo test robots lint types bench lock clean

help:  ## list the targets
	@sed -n 's/^\([a-z]*\):.*## \(.*\)/  make \1\t\2/p' $(MAKEFILE_LIST) | expand -t 16

# The example contains faults on purpose, so that its check ends with status 1. A crash would end with 1, too, but only a
# check that came to its end writes the result.
demo: $(INSTALLED)  ## check an example machine, plan its hoses and write their papers; results in out/
	$(PYTHON) -m hosewright demo -o $(OUT)
	@rm -f $(OUT)/platform.json
	$(PYTHON) -m hosewright check examples/platform.toml --json $(OUT)/platform.json || [ $$? -eq 1 ]
	@test -s $(OUT)/platform.json || { echo "The check of the example broke off."; exit 1; }
	@echo
	@echo "The fails above are intended: the example machine (invented) has wrong hoses, so that there is something to find."
	@echo "Now the same machine with its hoses chosen anew, and the papers to build and fit them by."
	$(PYTHON) -m hosewright plan examples/platform_to_plan.toml -o $(OUT)/plan
	$(PYTHON) -m hosewright sheets $(OUT)/plan/platform_to_plan.toml -o $(OUT)/papers
	@echo
	@echo "$(OUT)/swing.png        a hose through a swing of 200 poses"
	@echo "$(OUT)/platform.json    every finding on the example machine, with figures, places and sources"
	@echo "$(OUT)/plan/            the job with its assemblies, plan.json and a picture of each run"
	@echo "$(OUT)/papers/          build sheets, installation sheet, proof, tags, bill of materials, geometry"

# The kernels are compiled once here: worker processes that compile at the same moment get in each other's way.
test: $(INSTALLED)  ## run all tests on two cores
	$(PYTHON) -m hosewright warmup
	$(PYTHON) -m pytest -n 2

robots: $(ROBOTS)  ## run the tests on a machine from an open data set (downloads 131 MB once)
	$(PYTHON) -m hosewright warmup
	$(PYTHON) -m pytest tests/robots

lint: $(INSTALLED)  ## style, format, import layers, and that the locks name no download address
	$(VENV)/bin/ruff check .
	$(VENV)/bin/ruff format --check .
	$(VENV)/bin/lint-imports
	@if grep -n '://' requirements*.lock; then echo "A lock names a download address."; exit 1; fi

types: $(INSTALLED)  ## strict type check
	$(VENV)/bin/mypy

bench: $(INSTALLED)  ## run the benchmarks; their times are for reading, nothing depends on them
	@set -e; for script in $(wildcard benchmarks/*.py); do echo "== $$script"; $(PYTHON) $$script; done

# `--no-index` fails where pyproject.toml asks for something that the lock does not hold: run `make lock` then.
$(INSTALLED): requirements-dev.lock pyproject.toml
	@$(PYTHON3) -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
	  || { echo "Python 3.11 or later is needed; name one with PYTHON3=..."; exit 1; }
	$(PYTHON3) -m venv $(VENV)
	$(PYTHON) -m pip install --quiet --require-hashes -r requirements-dev.lock
	$(PYTHON) -m pip install --quiet --no-index --no-build-isolation -e '.[dev]'
	@touch $@

$(ROBOTS): $(INSTALLED) requirements-robots.lock
	$(PYTHON) -m pip install --quiet --require-hashes -r requirements-robots.lock
	$(PYTHON) -m pip install --quiet --no-index --no-build-isolation -e '.[dev,robots]'
	@touch $@

COMPILE := $(UV) pip compile --quiet --no-config --universal --python-version 3.11 --fork-strategy fewest \
	--generate-hashes --custom-compile-command "make lock" pyproject.toml

lock:  ## pin all dependencies again (needs uv)
	$(COMPILE) -o requirements.lock
	$(COMPILE) -c requirements.lock --extra dev -o requirements-dev.lock
	$(COMPILE) -c requirements-dev.lock --extra dev --extra robots --no-annotate -o requirements-robots.lock

clean:  ## delete results and caches; delete .venv by hand to install afresh
	rm -rf $(OUT) build dist .hypothesis .pytest_cache .mypy_cache .ruff_cache .import_linter_cache
	find . -path ./$(VENV) -prune -o -name __pycache__ -type d -prune -exec rm -rf {} +
