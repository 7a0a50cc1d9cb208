# Sourced by workshop/start.sh and tests/run.sh. Installs what is missing; does nothing when all is there.
set -euo pipefail
ROOT="$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)"
cd "$ROOT"
export DATA_DIR="${DATA_DIR:-$ROOT/.data}" PYTHONUNBUFFERED=1 PIP_DISABLE_PIP_VERSION_CHECK=1
unset PYTHONDONTWRITEBYTECODE                    # every part that starts would compile the project anew
VENV="${WORKSHOP_VENV:-$ROOT/.venv}"

say() { printf '== %s\n' "$*"; }
die() { printf 'ERROR: %s\n' "$*" >&2; exit 1; }

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"
  elif command -v sudo >/dev/null; then sudo "$@"
  else die "root or sudo is needed for: $*"; fi
}

# need_apt PACKAGE...: installs only what is not installed yet.
need_apt() {
  local missing=() package
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
  done
  [ ${#missing[@]} -gt 0 ] || return 0
  say "installing with apt: ${missing[*]}"
  as_root apt-get update -qq || say "the package lists could not be renewed; trying with the old ones"
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "${missing[@]}" >/dev/null \
    || die "apt-get could not install: ${missing[*]}"
}

has_library() { { ldconfig -p 2>/dev/null || /sbin/ldconfig -p 2>/dev/null; } | grep "$1" >/dev/null; }

# Sets PYTHON to the first interpreter the pinned packages install on.
pick_python() {
  for PYTHON in python3.11 python3.12 python3.13 python3; do
    "$PYTHON" -c 'import sys; sys.exit(not ((3, 11) <= sys.version_info[:2] < (3, 14)))' 2>/dev/null && return 0
  done
  return 1
}

need_system_packages() {
  command -v dpkg-query >/dev/null || return 0   # not Debian: the libraries must be there already
  local library
  for library in libpango-1.0.so.0 libpangoft2-1.0.so.0 libharfbuzz-subset.so.0 libcairo.so.2 libfontconfig.so.1; do
    has_library "$library" || { need_apt libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 libcairo2 libfontconfig1; break; }
  done
  # The text layout library ends the process when the system has no font at all.
  ls /usr/share/fonts/truetype/*/*.ttf >/dev/null 2>&1 || need_apt fonts-dejavu-core
  pick_python || need_apt python3 python3-venv
  pick_python && "$PYTHON" -c 'import ensurepip, venv' 2>/dev/null || need_apt python3-venv
}

# setup_python REQUIREMENTS-FILE: a virtual environment with exactly these packages, first on PATH.
setup_python() {
  need_system_packages
  pick_python || die "Python 3.11, 3.12 or 3.13 is needed"
  mkdir -p "$DATA_DIR" "$(dirname "$VENV")"
  exec 9>"$VENV.lock"
  flock 9                                        # two starts at once: the second waits
  local wanted
  wanted="$(cat requirements.txt "$1" | sha256sum | cut -c1-16) $("$PYTHON" -V)"
  "$VENV/bin/python" -c 'import pip' 2>/dev/null || { rm -rf "$VENV"; "$PYTHON" -m venv "$VENV"; }
  if [ "$(cat "$VENV/.stamp" 2>/dev/null || true)" != "$wanted" ]; then
    say "installing the Python packages of $1"
    "$VENV/bin/python" -m pip install -qq --no-input --no-compile -r "$1" || die "pip could not install the packages of $1"
    # On all cores, where pip takes one; a file no Python of ours reads may not compile.
    "$VENV/bin/python" -m compileall -qq -j 0 "$VENV/lib" || true
    printf '%s' "$wanted" > "$VENV/.stamp"
  fi
  exec 9>&-
  export PATH="$VENV/bin:$PATH"
}
