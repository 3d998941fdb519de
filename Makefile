# Everything a newcomer needs: `make demo` and `make test`. Needs Python 3.11+, pip and make.
PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
PACKAGES := $(VENV)/packages
READY  := $(VENV)/ready
SYSTEM := $(VENV)/system

.PHONY: demo test lint bench lock schema pictures clean

demo: $(READY)
	$(BIN)/ramet demo demo-out

test: $(READY) $(SYSTEM)
	$(BIN)/pytest -n 2

lint: $(READY)
	$(BIN)/ruff check src tests bench docs
	$(BIN)/ruff format --check src tests bench docs
	$(BIN)/mypy
	$(BIN)/lint-imports

bench: $(READY)
	$(BIN)/python -m bench

# The pictures of the README and the pages.
pictures: $(READY)
	$(BIN)/python docs/packet_pictures.py
	$(BIN)/python docs/science_pictures.py
	RAMET_PICTURES=docs/pictures $(BIN)/pytest -q tests/web/test_pages_in_browser.py

# Writes the committed JSON Schemas from the models in src/ramet/formats.
schema: $(READY)
	$(BIN)/python -m ramet.formats.schema src/ramet/formats/schema

# Newest allowed versions into uv.lock, and from it the hash-pinned lists that pip reads.
lock: $(READY)
	$(BIN)/uv lock --upgrade
	$(BIN)/uv export -q --frozen --no-emit-project --no-dev --no-header -o requirements/run.txt
	$(BIN)/uv export -q --frozen --no-emit-project --no-header -o requirements/dev.txt

$(READY): $(PACKAGES) pyproject.toml
	$(PYTHON) -m pip --disable-pip-version-check --python $(BIN)/python install --quiet --no-build-isolation --no-deps -e .
	@touch $(READY)

# --without-pip: Debian's Python may lack ensurepip; the pip outside installs into the environment.
$(PACKAGES): requirements/dev.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "ramet needs Python 3.11 or newer; try: make PYTHON=python3.12"; exit 1; }
	@$(PYTHON) -m pip --version >/dev/null 2>&1 || \
	  { echo "ramet needs pip for $(PYTHON) (Debian: apt-get install python3-pip)"; exit 1; }
	$(PYTHON) -m venv --clear --without-pip $(VENV)
	$(PYTHON) -m pip --disable-pip-version-check --python $(BIN)/python install --quiet --require-hashes -r requirements/dev.txt
	@touch $(PACKAGES)

# Chromium and PostgreSQL for the tests that need them: found, installed, or asked for in one line.
$(SYSTEM): $(PACKAGES) tests/system_packages.sh
	@tests/system_packages.sh
	@touch $(SYSTEM)

clean:
	rm -rf $(VENV) demo-out .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis
