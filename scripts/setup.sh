#!/bin/sh
# Make or refresh the virtual environment: scripts/setup.sh run|test
# Needs python3 >= 3.11 with its venv module, make and git; says in one sentence which is missing.
set -eu
cd "$(dirname "$0")/.."
kind=${1:-run}
python=${PYTHON:-python3}
venv=.venv

missing() {
    echo "tailrace set-up: $1" >&2
    exit 1
}

command -v "$python" >/dev/null 2>&1 || missing "python3 is missing; install Python 3.11 or newer."
"$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' ||
    missing "python3 is $("$python" -c 'import platform; print(platform.python_version())'), older than 3.11; install Python 3.11 or newer."
"$python" -c 'import venv, ensurepip' 2>/dev/null ||
    missing "python3 has no venv module; install it (on Debian and its kin the package is python3-venv)."
command -v make >/dev/null 2>&1 || missing "make is missing; install make."
command -v git >/dev/null 2>&1 || missing "git is missing; install git."

# The tests drive a real browser, database server and message broker, all from the system.
postgres_there() {
    command -v postgres >/dev/null 2>&1 || ls /usr/lib/postgresql/*/bin/postgres >/dev/null 2>&1
}
mosquitto_there() {
    command -v mosquitto >/dev/null 2>&1 || [ -x /usr/sbin/mosquitto ]
}
if [ "$kind" = test ]; then
    packages=
    command -v chromium >/dev/null 2>&1 || packages="chromium fonts-dejavu-core"
    postgres_there || packages="$packages postgresql"
    mosquitto_there || packages="$packages mosquitto"
    if [ -n "$packages" ]; then
        [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1 ||
            missing "the tests need $packages; install them (on Debian: apt-get install $packages)."
        echo "Installing $packages for the tests ..." >&2
        export DEBIAN_FRONTEND=noninteractive
        # shellcheck disable=SC2086 # one word for each package
        { apt-get update -qq && apt-get install -y -qq --no-install-recommends $packages >/dev/null; } ||
            missing "$packages could not be installed; install them by hand."
    fi
fi

lock=requirements/$kind.txt
stamp=$venv/.set-up-$kind
print_of() { cat "$1" pyproject.toml scripts/setup.sh | cksum; }
want=$(print_of "$lock")
[ -f "$stamp" ] && [ "$(cat "$stamp")" = "$want" ] && exit 0
# The test set contains the run set, so a test environment also runs.
if [ "$kind" = run ] && [ -f "$venv/.set-up-test" ] &&
    [ "$(cat "$venv/.set-up-test")" = "$(print_of requirements/test.txt)" ]; then
    exit 0
fi

echo "Setting up $venv from $lock (once; a minute or two) ..." >&2
"$python" -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check --require-hashes -r "$lock"
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation --editable .
"$venv/bin/python" -m compileall -q src || true
echo "$want" >"$stamp"
