# `make run` builds the demo's book, `make test` runs every check, `make bench` measures. Each sets up what it needs.
.PHONY: run setup test docs bench format system clean
.DEFAULT_GOAL := run
export UV_LINK_MODE ?= copy

PYTHON := .venv/bin/python
OUT ?= out

VENDOR := src/halfshaft/web/static/vendor

setup: .venv/.ok $(VENDOR)/.ok

# A bare Debian has no ensurepip, so a virtual environment wants python3-venv.
.tool/bin/uv:
	@python3 -c 'import ensurepip' 2>/dev/null || { test "$$(id -u)" = 0 && apt-get update -qq && DEBIAN_FRONTEND=noninteractive \
	  apt-get install -y -qq --no-install-recommends python3-venv >/dev/null; } || { echo "run this first: sudo apt-get install python3-venv"; exit 1; }
	@rm -rf .tool && python3 -m venv .tool && .tool/bin/pip install -q --disable-pip-version-check uv

.venv/.ok: pyproject.toml requirements.lock | .tool/bin/uv
	@test -x $(PYTHON) || .tool/bin/uv venv -q --python python3 --no-python-downloads .venv
	@.tool/bin/uv pip sync -q --require-hashes --compile-bytecode --python .venv requirements.lock
	@.tool/bin/uv pip install -q --no-deps --python .venv -e .
	@touch $@

# What the pages of the app take from others: fetched by their lock, and only the files that are used copied into the package.
node_modules/.package-lock.json: package.json package-lock.json
	@command -v npm >/dev/null || { test "$$(id -u)" = 0 && apt-get update -qq && DEBIAN_FRONTEND=noninteractive \
	  apt-get install -y -qq --no-install-recommends nodejs npm >/dev/null; } || { echo "run this first: sudo apt-get install nodejs npm"; exit 1; }
	@npm ci --silent --no-audit --no-fund && touch $@

$(VENDOR)/.ok: node_modules/.package-lock.json Makefile
	@rm -rf $(VENDOR) && mkdir -p $(VENDOR)/three $(VENDOR)/source-sans
	@cp node_modules/three/build/three.module.js node_modules/three/build/three.core.js node_modules/three/LICENSE $(VENDOR)/three/
	@cp node_modules/source-sans/LICENSE.md $(VENDOR)/source-sans/
	@for weight in Regular Semibold Bold; do cp node_modules/source-sans/WOFF2/TTF/SourceSans3-$$weight.ttf.woff2 $(VENDOR)/source-sans/; done
	@touch $@

run: .venv/.ok
	@.venv/bin/halfshaft book examples/tern --to $(OUT)

# Poppler draws PDF pages for the tests that look at ink, ngspice solves networks for those that compare answers; without them those
# tests say so and are skipped.
system:
	@command -v pdftoppm >/dev/null && command -v ngspice >/dev/null || { test "$$(id -u)" = 0 && apt-get update -qq && DEBIAN_FRONTEND=noninteractive \
	  apt-get install -y -qq --no-install-recommends poppler-utils ngspice >/dev/null; } || echo "for all tests: sudo apt-get install poppler-utils ngspice"

test: setup system
	@.venv/bin/ruff format --check -q .
	@.venv/bin/ruff check -q .
	@.venv/bin/mypy
	@.venv/bin/lint-imports --no-logo
	@$(PYTHON) -m pytest

format: .venv/.ok
	@.venv/bin/ruff check -q --fix . && .venv/bin/ruff format -q .

docs: .venv/.ok
	@$(PYTHON) -c 'from halfshaft.files.reference import reference; print(reference(), end="")' > docs/files.md

bench: .venv/.ok
	@$(PYTHON) bench/bench.py
	@$(PYTHON) bench/packings.py 1
	@$(PYTHON) bench/fillings.py 60
	@$(PYTHON) bench/containers.py 10
	@$(PYTHON) bench/arranging.py 5
	@$(PYTHON) bench/electrics.py
	@$(PYTHON) bench/app.py
	@$(PYTHON) bench/records.py

# Names, versions and hashes only: no address of any registry goes into the lock.
requirements.lock: pyproject.toml | .tool/bin/uv
	@.tool/bin/uv pip compile -q --universal --generate-hashes --no-annotate --no-header -o $@ pyproject.toml --all-extras

clean:
	rm -rf .tool .venv node_modules $(VENDOR) $(OUT)
