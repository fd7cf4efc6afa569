# Everything starts here: `make demo` and `make test` need only python3 (3.11 to 3.13), git and make.
PYTHON ?= python3
VENV ?= .venv
PORT ?= 8000
COVERAGE ?= --cov --cov-report=term
RUNTIME_LOCK := config/requirements/runtime.txt
DEV_LOCK := config/requirements/dev.txt
LOCK := $(DEV_LOCK)
RUN := $(VENV)/bin/python
MANAGE := $(RUN) manage.py

.PHONY: demo serve test check format schema lock install

install:
	@$(PYTHON) -I config/bootstrap.py $(VENV) $(LOCK)

# Who only looks needs none of the tools of the tests.
demo serve: LOCK := $(RUNTIME_LOCK)

demo: install
	@$(MANAGE) demo

serve: install
	@$(MANAGE) serve --port $(PORT)

test: install
	$(RUN) -m pytest -n 2 $(COVERAGE) $(ARGS)

check: install
	$(RUN) -m ruff format --check .
	$(RUN) -m ruff check .
	$(RUN) -m mypy
	$(VENV)/bin/lint-imports --no-logo
	$(MANAGE) makemigrations --check --dry-run
	$(RUN) -m pytest -q --no-cov tests/config/test_openapi_document.py tests/config/test_house.py

format: install
	$(RUN) -m ruff format .
	$(RUN) -m ruff check --fix .

schema: install
	$(MANAGE) spectacular --validate --fail-on-warn --file config/openapi.yaml

# Needs uv on the PATH; the lock holds hashes and no address.
LOCK_OPTIONS := --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate
lock:
	uv pip compile pyproject.toml $(LOCK_OPTIONS) -o $(RUNTIME_LOCK)
	uv pip compile pyproject.toml --group dev $(LOCK_OPTIONS) -c $(RUNTIME_LOCK) -o $(DEV_LOCK)
