# The two commands that matter: `make demo` and `make test`. Both need Python 3.11 or later, make, and the
# package registries; everything else goes into .venv.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check
WORKERS ?= 2

.PHONY: demo test check browser postgres bench bench-app twins published pages lock clean

demo: $(VENV)/run.installed
	$(BIN)/trialcut demo --out out/demo

test: $(VENV)/test.installed browser postgres check
	$(BIN)/python -m pytest -n $(WORKERS)

check: $(VENV)/test.installed
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports

# The window is tested in a real browser: Debian's Chromium, installed where it is missing and we may.
browser:
	@command -v chromium >/dev/null || { \
	  if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	    apt-get update -q && DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends chromium; \
	  else \
	    echo "the browser tests need Chromium: install the package 'chromium' and run make test again" >&2; exit 1; \
	  fi; }

# The book is tested on a PostgreSQL server of the tests' own: its programs, installed where they are missing.
postgres:
	@command -v initdb >/dev/null || ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || { \
	  if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	    apt-get update -q && DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends postgresql; \
	  else \
	    echo "the tests of the book need PostgreSQL: install the package 'postgresql' and run make test again" >&2; exit 1; \
	  fi; }

# Every check against something that we did not write: as a table, and as tests.
published: $(VENV)/test.installed
	$(BIN)/python tools/published_table.py
	$(BIN)/python -m pytest tests/published -q

bench: $(VENV)/test.installed
	$(BIN)/python bench/run.py

# The window alone: first paint, clicks, the slider, 300 studies, 25 people at once for a minute.
bench-app: $(VENV)/test.installed browser
	$(BIN)/python bench/bench_app.py

# Simulated shops whose physics is not ours: N=20 make twins for a quick look; status 1 if a target is missed.
twins: $(VENV)/test.installed
	$(BIN)/python bench/twins.py

# The pages and schemas that are written from code and constants; the tests say when they are out of date.
pages: $(VENV)/test.installed
	$(BIN)/python tools/write_schemas.py
	$(BIN)/python tools/constants_page.py

# New versions into the lock files; only for those who work on Trialcut.
lock: $(VENV)/test.installed
	$(PIP) install --quiet uv
	$(BIN)/uv pip compile --universal --python-version 3.11 --upgrade --no-header pyproject.toml -o requirements/run.txt
	$(BIN)/uv pip compile --universal --python-version 3.11 --upgrade --no-header --group test pyproject.toml -o requirements/test.txt

$(VENV)/bin/python:
	$(PYTHON) -c "import sys; sys.exit(0 if sys.version_info >= (3, 11) else 'Trialcut needs Python 3.11 or later: make PYTHON=python3.12')"
	$(PYTHON) -m venv $(VENV) || { rm -rf $(VENV); \
	  if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	    apt-get update -q && DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends python3-venv \
	    && $(PYTHON) -m venv $(VENV); \
	  else \
	    echo "this Python makes no virtual environments: install the package 'python3-venv' and run make again" >&2; exit 1; \
	  fi; }

$(VENV)/run.installed: $(VENV)/bin/python requirements/run.txt pyproject.toml
	$(PIP) install --quiet -r requirements/run.txt
	$(PIP) install --quiet --no-deps -e .
	touch $@

$(VENV)/test.installed: $(VENV)/bin/python requirements/test.txt pyproject.toml
	$(PIP) install --quiet -r requirements/test.txt
	$(PIP) install --quiet --no-deps -e .
	touch $@ $(VENV)/run.installed

clean:
	rm -rf $(VENV) out build dist
