#!/bin/sh
# Installs what is missing and serves the board. The only thing it needs is Python 3.11 or later.
set -u

root=$(unset CDPATH && cd -- "$(dirname -- "$0")/.." && pwd -P) || exit 1
. "$root/deploy/environment.sh"

make_environment run
# exec: Ctrl-C and kill reach the service itself. A --data of the caller's own comes later and wins.
exec "$venv/bin/crossload" serve --data "$root/.data" "$@"
