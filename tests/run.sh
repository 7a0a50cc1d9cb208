#!/usr/bin/env bash
# bash tests/run.sh [pytest arguments]: set up, check style and types, run all tests on SQLite, then the
# database tests again on a private PostgreSQL (POSTGRES=0 leaves those out).
work="$(mktemp -d)"
chmod 755 "$work"
export DATA_DIR="$work"                          # never the owner's data
here="$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)"
export WORKSHOP_VENV="${WORKSHOP_TEST_VENV:-$here/.venv-test}"
. "$here/workshop/setup.sh"
unset DATABASE_URL REDIS_URL SECRET_KEY DEBUG TLS ALLOWED_HOSTS DEMO

cluster="" beside=""
PATH="$PATH:/usr/sbin:/sbin"   # where runuser is, which not every login looks in
as_postgres() { if [ "$(id -u)" = 0 ]; then runuser -u postgres -- "$@"; else "$@"; fi; }   # initdb refuses root
finish() {
  status=$?
  [ -z "$beside" ] || kill "$beside" 2>/dev/null || true
  [ -z "$cluster" ] || as_postgres "$binaries/pg_ctl" -D "$cluster" -m immediate -s stop || true
  rm -rf "$work" "$cluster"
  exit $status
}
trap finish EXIT

# A browser and, unless left out, a second database; while pip is at work on the rest.
need_test_packages() {
  command -v dpkg-query >/dev/null && { command -v chromium >/dev/null || need_apt chromium; command -v redis-server >/dev/null || need_apt redis-server; has_library libatomic.so.1 || need_apt libatomic1; }
  [ "${POSTGRES:-1}" = 1 ] || return 0
  ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 && return 0
  # Debian would start a cluster of its own on installing; ours is private and thrown away.
  if [ ! -e /etc/postgresql-common/createcluster.conf ]; then
    as_root mkdir -p /etc/postgresql-common
    echo 'create_main_cluster = false' | as_root tee /etc/postgresql-common/createcluster.conf >/dev/null
  fi
  need_apt postgresql
}
need_system_packages
need_test_packages & beside=$!
setup_python tests/requirements.txt
wait "$beside"
beside=""
export OPENBLAS_NUM_THREADS=1                    # two test processes on two cores
export DJANGO_ALLOW_ASYNC_UNSAFE=1               # the browser driver keeps an event loop in the test thread

# Compiled once for all test processes and the servers they start, kept with the environment.
export NUMBA_CACHE_DIR="$WORKSHOP_VENV/compiled"
python -c "from patterns.layout import warm_up; warm_up()" & beside=$!

say "style and types"
ruff check -q .
ruff format -q --check .
mypy
python manage.py makemigrations --check --dry-run -v0
wait "$beside"
beside=""

say "tests on SQLite"
python -m pytest -q -n 2 --dist worksteal "$@"

[ "${POSTGRES:-1}" = 1 ] || exit 0
# What can differ between databases: guards, transactions, constraints, services, selectors, every
# address opened once; not what is only drawn or read from a sent file.
other_database="database and not browser and (every_database or not paper)"
# The cores know no database (`test_layers`), nor do their tests: not even read.
no_database=(--ignore=patterns --ignore=costing --ignore=tests/patterns --ignore=tests/costing)
say "database tests on PostgreSQL"
binaries="$(ls -d /usr/lib/postgresql/*/bin | sort -V | tail -1)"
cluster="$(mktemp -d)"
[ "$(id -u)" != 0 ] || chown postgres "$cluster"
as_postgres "$binaries/initdb" -D "$cluster" -U workshop -A trust -E UTF8 --no-sync >/dev/null
port="$(python -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')"
as_postgres "$binaries/pg_ctl" -D "$cluster" -s -w -l "$cluster/log" \
  -o "-c listen_addresses=127.0.0.1 -c fsync=off -p $port -k $cluster" start
DATABASE_URL="postgres://workshop@127.0.0.1:$port/postgres" python -m pytest -q -n 2 --dist worksteal -m "$other_database" "${no_database[@]}" "$@"
