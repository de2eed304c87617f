# Two commands do all the set-up: `make run` and `make test`.
.DEFAULT_GOAL := help
.PHONY: help run test check shots perturb soak docs lock clean

BIN := .venv/bin

help:  ## List the targets
	@awk -F ':.*## ' '/^[a-z]+:.*## /{printf "make %-8s %s\n", $$1, $$2}' Makefile

run:  ## Print today's round for the two invented demonstration sites
	@scripts/setup.sh run
	@$(BIN)/python scripts/demo.py

check:  ## Format, lint, types and layers
	@scripts/setup.sh test
	@$(BIN)/ruff format --check .
	@$(BIN)/ruff check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports

test: check  ## Every check and every test
	@$(BIN)/pytest -n 2 --dist loadfile

shots:  ## Take pictures of every page (build/shots)
	@scripts/setup.sh test
	@$(BIN)/python -m scripts.shots

perturb:  ## Shift every constant of the formulas by 2 % and list those that no test notices
	@scripts/setup.sh test
	@$(BIN)/python -m tests.perturb

soak:  ## Try faults of the record at length (FAULT=kill|full|wal|clock|mqtt|postgres SEED=n)
	@scripts/setup.sh test
	@$(BIN)/python -m tests.soak $(or $(FAULT),kill) --seed $(or $(SEED),1) $(if $(COUNT),--count $(COUNT))

docs:  ## Write the generated pages anew
	@scripts/setup.sh test
	@for page in deviations pages pages_glossary pages_site_file test_log_import_page pages_loop pages_round pages_faults; do $(BIN)/python -m tests.$$page; done

lock:  ## Resolve and hash-lock the requirements anew (needs uv)
	uv pip compile --universal --python-version 3.11 --generate-hashes -q --custom-compile-command "make lock" pyproject.toml requirements/build.in -o requirements/run.txt
	uv pip compile --universal --python-version 3.11 --generate-hashes -q --custom-compile-command "make lock" -c requirements/run.txt --extra test pyproject.toml requirements/build.in -o requirements/test.txt

clean:  ## Remove the environment and caches
	rm -rf .venv .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
