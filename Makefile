# Two commands matter: `make demo` and `make test`. Both set up .venv from the lock when needed.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready
TOOLS := build/tools/bin
SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
# the matrices of one athlete are small: threads would wait for each other more than they work
export OPENBLAS_NUM_THREADS := 1
# some images set it: each of the many processes would compile the package, and pytest every test, anew
unexport PYTHONDONTWRITEBYTECODE

.PHONY: demo test quick onefont words pictures lint typecheck bench calibrate attack faults fuzz lowest newest pythons audit licences lock clean help

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

# files in their order, not by their number of tests: long ones with few tests would come last, and
# one worker would wait for the other
BOTH := -n 2 --dist loadfile --no-loadscope-reorder

test: $(READY) ## all tests
	$(BIN)/python -m pytest $(BOTH) --ignore tests/wheel tests
	$(BIN)/python -m pytest tests/wheel
	$(BIN)/python -m pytest --nbval-lax -p no:cacheprovider notebooks

quick: $(READY) ## unit, reference and property tests, without those of whole pages, charts and processes
	$(BIN)/python -m pytest $(BOTH) -q -m "not whole" tests/property tests/reference tests/unit

onefont: $(READY) ## browser tests where no typeface but DejaVu is installed
	ONLY_FONTS='DejaVu*' $(BIN)/python -m pytest $(BOTH) tests/browser

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

$(TOOLS): ## uv and pip-audit, which only the targets below need
	@$(PYTHON) -m venv build/tools
	@$(TOOLS)/python -m pip install --quiet --disable-pip-version-check uv pip-audit

lowest newest: $(TOOLS) ## unit and reference tests with the lowest, or newest, versions that pyproject.toml allows
	$(TOOLS)/uv pip compile --quiet --upgrade --python-version 3.11 --extra test \
		--resolution $(if $(filter lowest,$@),lowest-direct,highest) --output-file build/$@.txt pyproject.toml
	$(call tested,build/$@,$(PYTHON),-r build/$@.txt)

pythons: $(TOOLS) ## unit and reference tests under every Python from 3.11 to 3.14 on the PATH
	@for name in python3.11 python3.12 python3.13 python3.14; do \
		if $$name -c "" 2>/dev/null; then $(MAKE) --no-print-directory under-$$name; else echo "$$name is not here"; fi \
	done

under-%: $(TOOLS)
	$(call tested,build/$*,$*,--require-hashes -r requirements.lock)

# an environment in a folder, of a Python and of these packages, and in it the tests of the computing parts
define tested
	$(TOOLS)/uv venv --quiet --clear --python $$($(2) -c "import sys; print(sys.executable)") $(1)
	$(TOOLS)/uv pip install --quiet --python $(1)/bin/python $(3)
	PYTHONPATH=$(CURDIR) $(1)/bin/python -m pytest -q -p no:cacheprovider tests/unit tests/reference
endef

audit: $(READY) $(TOOLS) ## known faults of the locked packages; says what could not be looked up
	$(TOOLS)/pip-audit --disable-pip --require-hashes -r requirements.lock --format json > build/audit.json || true
	$(BIN)/python -m tests.audit build/audit.json

lock: $(TOOLS) ## renew requirements.lock
	$(TOOLS)/uv pip compile --universal --python-version 3.11 --generate-hashes --extra lab --extra charts --extra cluster --extra sheets --extra test \
		--custom-compile-command "make lock" --quiet --output-file requirements.lock pyproject.toml

clean: ## remove what the other targets made
	rm -rf $(VENV) .mypy_cache .ruff_cache .pytest_cache .hypothesis dist build reports/demo
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
