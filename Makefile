# make setup   the environment, with the command at .venv/bin/bloomless
# make demo    the main job, on a machine with Python ≥ 3.11, venv and make
# make test    everything CI runs
# make lock    new versions into requirements/

PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
PIP    := $(BIN)/python -m pip --disable-pip-version-check --quiet
# Modules are compiled once, when they are first imported, even where the caller's shell would not keep them.
unexport PYTHONDONTWRITEBYTECODE
# The locks are whole; resolving again would reach for a newer release under an extra, which has no hash here.
LOCKED := --require-hashes --no-deps

.PHONY: setup demo test check lock clean
.DELETE_ON_ERROR:

setup: $(VENV)/.kernels

# What compiled kernels are made of; a change here compiles them again.
KERNELS := $(foreach room,sources numerics materials physics estimation advice,$(wildcard src/bloomless/$(room)/*.py))

$(BIN)/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/.runtime: requirements/runtime.lock pyproject.toml | $(BIN)/python
	$(PIP) install --no-compile $(LOCKED) -r requirements/runtime.lock
	$(PIP) install --no-deps --no-build-isolation --editable .
	touch $@

$(VENV)/.kernels: $(VENV)/.runtime $(KERNELS) tools/warm_kernels.sh
	tools/warm_kernels.sh $(BIN)/bloomless
	touch $@

$(VENV)/.dev: requirements/dev.lock $(VENV)/.runtime
	$(PIP) install $(LOCKED) -r requirements/dev.lock
	touch $@

$(VENV)/.system: tools/system_packages.sh | $(BIN)/python
	tools/system_packages.sh
	touch $@

demo: setup
	$(BIN)/bloomless demo

# Style, types, imports: seconds, before every commit.
check: $(VENV)/.dev
	$(BIN)/ruff format --check --quiet .
	$(BIN)/ruff check --quiet .
	$(BIN)/mypy --no-error-summary
	$(BIN)/lint-imports --no-cache > $(VENV)/imports.txt || { cat $(VENV)/imports.txt; exit 1; }

# Once the command can run, kernels are compiled beside the installation of what only tests and checks need.
test:
	$(MAKE) --no-print-directory --jobs=3 --output-sync=target $(VENV)/.system $(VENV)/.kernels check
	tools/run_tests.sh

lock: $(VENV)/.dev
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-annotate \
	  --all-extras --group build --output-file requirements/runtime.lock pyproject.toml
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-annotate \
	  --all-extras --group dev --constraint requirements/runtime.lock --output-file requirements/dev.lock pyproject.toml

clean:
	rm -rf $(VENV) build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis
