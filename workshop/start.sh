#!/usr/bin/env bash
# bash workshop/start.sh: set up what is missing, then serve the workshop and run its background worker.
# Environment: PORT (8000), HOST (127.0.0.1), DATA_DIR (.data), DEMO=0 for no invented demo data; see .env.example.
. "$(dirname "${BASH_SOURCE[0]}")/setup.sh"
case "${DEMO:-1}" in 0 | 1) ;; *) die "DEMO is '$DEMO'; set it to 0 or 1" ;; esac
[[ "${WORKERS:-2}" =~ ^([1-9]|[1-5][0-9]|6[0-4])$ ]] || die "WORKERS is '$WORKERS'; set it to a number from 1 to 64"
setup_python requirements.txt
export OPENBLAS_NUM_THREADS="${OPENBLAS_NUM_THREADS:-1}"   # small matrices: threads would only wait for each other
export HOST="${HOST:-127.0.0.1}" PORT="${PORT:-8000}"
python -m workshop.port_free "$HOST" "$PORT" || exit 1
python manage.py prepare

processes=()
stop() {
  trap - INT TERM EXIT
  for process in "${processes[@]}"; do kill -TERM "$process" 2>/dev/null || true; done
  wait || true
}
trap stop EXIT
trap 'exit 0' INT TERM
# The worker is nicer than the web server: pages stay quick while it lays out.
# Each part in a session of its own: Ctrl-C reaches this script alone, which then stops both in order.
setsid gunicorn workshop.wsgi:application --bind "$HOST:$PORT" --workers "${WORKERS:-2}" --threads 4 --timeout 60 --no-control-socket --log-level warning & processes+=($!)
setsid nice -n 5 python manage.py work & processes+=($!)
wait -n && status=0 || status=$?                 # when one part ends, end the other, so a supervisor sees it
die "a part of the workshop ended by itself (status $status); the lines above say why"
