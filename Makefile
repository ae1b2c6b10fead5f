# Two commands matter: `make demo` and `make test`. Both set up .venv from the lock when needed.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready
SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
# the matrices of one athlete are small: threads would wait for each other more than they work
export OPENBLAS_NUM_THREADS := 1

.PHONY: demo test quick onefont words pictures lint typecheck bench calibrate attack faults fuzz licences lock clean help

help:
	@grep -hE '^[a-z]+:.*##' Makefile | sed -E 's/:.*##/\t/' | expand -t 12

$(READY): requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
		|| { echo "gripbook needs Python 3.11 or newer; $(PYTHON) is older. Try: make PYTHON=python3.12 $(MAKECMDGOALS)"; exit 1; }
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $(READY)

demo: $(READY) ## render the invented squad into reports/demo
	$(BIN)/gripbook report data_demo --out reports/demo
	@echo "Open reports/demo/index.html in a browser; no network is needed."

test: $(READY) ## all tests
	$(BIN)/python -m pytest -n 2 --dist loadfile -m "not wheel" tests
	$(BIN)/python -m pytest -m wheel tests
	$(BIN)/python -m pytest --nbval-lax -p no:cacheprovider notebooks

quick: $(READY) ## unit, reference and property tests, without those of whole pages, charts and processes
	$(BIN)/python -m pytest -n 2 --dist loadfile -q -m "not whole" tests/unit tests/reference tests/property

onefont: $(READY) ## browser tests where no typeface but DejaVu is installed
	ONLY_FONTS='DejaVu*' $(BIN)/python -m pytest -n 2 --dist loadfile tests/browser

lint: $(READY) ## ruff: rules and format
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

typecheck: $(READY) ## mypy, strict on the package
	$(BIN)/mypy

words: $(READY) ## collect the messages, renew and compile the catalogues
	$(BIN)/python -m tests.catalogue

pictures: $(READY) ## take the README's pictures anew (needs Chromium)
	$(BIN)/python -m tests.pictures

bench: $(READY) ## speed, as ratios within one run
	$(BIN)/python -m tests.bench
	$(BIN)/python -m tests.strength.speed

calibrate: $(READY) ## long checks of the strength model and of proposals
	$(BIN)/python -m tests.strength.calibrate
	$(BIN)/python -m tests.strength.proposals

attack: $(READY) ## try to work out hidden body mass from the pages of simulated squads and the demo
	$(BIN)/python -m tests.attack

faults: $(READY) ## KILLS runs (50) killed at random points, a full disk, no memory, two runs, links; counted
	$(BIN)/python -m tests.faults

fuzz: $(READY) ## odd log folders for MINUTES (10), counted
	$(BIN)/python -m tests.fuzz

licences: $(READY) ## the licence of every installed package
	$(BIN)/python -m tests.licences

lock: ## renew requirements.lock (needs uv)
	uv pip compile --universal --python-version 3.11 --generate-hashes --all-extras \
		--custom-compile-command "make lock" --quiet --output-file requirements.lock pyproject.toml

clean: ## remove what the other targets made
	rm -rf $(VENV) .mypy_cache .ruff_cache .pytest_cache .hypothesis dist build reports/demo
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
