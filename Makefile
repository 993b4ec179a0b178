# Every command of the project, the same here as in CI. `make` alone lists them.
PORT ?= 8000
PYTHON ?=
export PYTHON
VENV := .venv/bin

.DEFAULT_GOAL := help
.PHONY: help demo run setup test check bench lock

help: ## list these commands
	@sed -n 's/^\([a-z]*\):.*## /  make \1\t/p' $(MAKEFILE_LIST) | expand -t 16

demo: ## a site with three made-up knit-alongs, on data of its own
	@tools/setup requirements.lock
	@exec env KAL_DEMO=True KAL_DATA_DIR=data/demo $(VENV)/python tools/serve.py --demo --port $(PORT)

run: ## your own site: web server and worker
	@tools/setup requirements.lock
	@exec $(VENV)/python tools/serve.py --port $(PORT)

setup: ## the virtual environment with everything that tests and checks need
	@tools/setup requirements-dev.lock

test: setup ## the whole test suite; add ARGS="-k clue" to choose
	@$(VENV)/python -m pytest $(ARGS)

check: setup ## lint, format, types, templates, migrations, lock files
	$(VENV)/ruff check .
	$(VENV)/ruff format --check .
	$(VENV)/mypy
	$(VENV)/djlint --lint --quiet templates
	$(VENV)/python manage.py makemigrations --check --dry-run
	$(VENV)/python tools/check_lock.py

bench: setup ## benchmarks, as ratios in one run
	@$(VENV)/python -m benchmarks $(ARGS)

lock: ## write the lock files anew from pyproject.toml (needs uv; ARGS=--upgrade for newer versions)
	@tools/lock $(ARGS)
