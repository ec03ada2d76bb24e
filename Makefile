# One target a chore. `make demo` and `make test` need git, make and Python 3.11 or newer, nothing else.

PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
UV     := $(BIN)/uv
INSTALL = $(UV) pip install --quiet --python $(BIN)/python
COMPILE = $(UV) pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-annotate $(if $(UPGRADE),--upgrade)

# stamps: an environment is renewed when its lock file changes
SETUP := $(VENV)/.setup-done
RUN   := $(VENV)/.run-done
TEST  := $(VENV)/.test-done
CI    := $(VENV)/.ci-done

export UV_HTTP_TIMEOUT ?= 180
export UV_LINK_MODE ?= copy
export UV_NO_CONFIG ?= 1
# trust the certificates that the machine trusts, as pip does
export UV_SYSTEM_CERTS ?= 1

.DELETE_ON_ERROR:
.PHONY: help demo test lint format types contracts docs docs-current bench wheel ci lock clean

help:
	@echo "make demo       set up, then run the main job on the shipped records; the results go to ./workspace"
	@echo "make test       set up, then run all tests (ARGS='-k routes' picks some)"
	@echo "make lint       check format and style          make format     put both right"
	@echo "make types      check types                     make contracts  check which room imports which"
	@echo "make docs       write the generated pages       make bench      measure, and write the table of results"
	@echo "make wheel      build the package               make ci         everything the gate runs"
	@echo "make lock       write the lock files anew (UPGRADE=1 takes newer releases)"
	@echo "make clean      remove what was built, the environment and the demo's workspace"

demo: $(RUN)
	@$(BIN)/unfasten demo $(ARGS)

test: $(TEST)
	@$(BIN)/python -m pytest -n auto $(ARGS)

lint: $(CI)
	@$(BIN)/ruff format --check src tests benchmarks docs
	@$(BIN)/ruff check src tests benchmarks docs

format: $(CI)
	@$(BIN)/ruff format src tests benchmarks docs
	@$(BIN)/ruff check --fix src tests benchmarks docs

types: $(CI)
	@$(BIN)/mypy

contracts: $(CI)
	@$(BIN)/lint-imports

docs: $(RUN)
	@$(BIN)/python docs/make_pages.py

docs-current: $(RUN)
	@$(BIN)/python docs/make_pages.py --check

bench: $(RUN)
	@$(BIN)/python benchmarks/bench_start.py

wheel: $(CI)
	@$(BIN)/python -m build --no-isolation --outdir dist .

ci:
	@bash .ci/run

# ---- environment -----------------------------------------------------------------------------------------------------

$(SETUP): requirements-setup.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || { \
	  echo "$(PYTHON) is missing or older than Python 3.11. Install Python 3.11 or newer, or name one: make demo PYTHON=/path/to/python3.11" >&2; \
	  exit 1; }
	@echo "setting up $(VENV) (once; later runs start at once)"
	@$(PYTHON) -m venv $(VENV) || { echo "$(PYTHON) -m venv failed; on Debian: apt-get install python3-venv" >&2; exit 1; }
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-setup.txt
	@touch $@

$(RUN): requirements.txt pyproject.toml $(SETUP)
	@$(INSTALL) --require-hashes -r requirements.txt
	@$(INSTALL) --no-deps --no-build-isolation --editable .
	@touch $@

$(TEST): requirements-test.txt $(RUN)
	@$(INSTALL) --require-hashes -r requirements-test.txt
	@touch $@

$(CI): requirements-ci.txt $(TEST)
	@$(INSTALL) --require-hashes -r requirements-ci.txt
	@touch $@

lock: $(SETUP)
	@$(COMPILE) --group setup --output-file requirements-setup.txt
	@$(COMPILE) pyproject.toml --output-file requirements.txt
	@$(COMPILE) pyproject.toml --extra postgres --extra photo --group test --constraint requirements.txt --output-file requirements-test.txt
	@$(COMPILE) pyproject.toml --extra postgres --extra photo --group test --group ci --constraint requirements-test.txt --output-file requirements-ci.txt

clean:
	rm -rf $(VENV) build dist workspace .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
