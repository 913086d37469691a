#!/bin/sh
# Sets up all that the tests need and runs every check; nothing is skipped. What CI runs.
set -u

root=$(unset CDPATH && cd -- "$(dirname -- "$0")/.." && pwd -P) || exit 1
. "$root/deploy/environment.sh"
cd "$root" || exit 1

work=$root/.check
passed=0
failed=0

minutes_since() {
    awk "BEGIN { printf \"%.1f\", ($(date +%s) - $1) / 60 }"
}

# $1: its name, the rest: the command. A stage that fails does not hide the ones after it.
stage() {
    name=$1
    shift
    began=$(date +%s)
    printf '\n== %s\n' "$name"
    "$@"
    code=$?
    if [ "$code" -eq 0 ]; then outcome=passed; else outcome=FAILED; fi
    printf '== %s %s, %s minutes\n' "$name" "$outcome" "$(minutes_since "$began")"
    return "$code"
}

# A stage that counts as one check.
check() {
    if stage "$@"; then passed=$((passed + 1)); else failed=$((failed + 1)); fi
}

set_up() {
    make_environment check
    missing=$("$venv/bin/python" tests/services.py) || exit 1
    [ -z "$missing" ] && return
    if [ "$(id -u)" -ne 0 ] || ! command -v apt-get >/dev/null; then
        fail "The checks need what these Debian packages bring: $missing; install them (as root: apt-get install $missing) and run this again."
    fi
    printf 'Installing %s\n' "$missing"
    # Unquoted on purpose: one word a package.
    { apt-get -q update && DEBIAN_FRONTEND=noninteractive \
        apt-get -q install -y --no-install-recommends $missing; } >"$work/apt.txt" 2>&1 </dev/null ||
        fail "apt-get could not install $missing: $(tail -n 1 "$work/apt.txt") (all of its words: $work/apt.txt)."
    missing=$("$venv/bin/python" tests/services.py) || exit 1
    [ -z "$missing" ] || fail "apt-get installed $missing but its programs are not where the tests look (tests/services.py)."
}

run_pytest() {
    rm -f "$work/tests.xml"
    "$venv/bin/python" -m pytest -q -p no:cacheprovider --durations=10 --junitxml="$work/tests.xml"
}

# Prints two numbers. A skipped test counts as failed: a check that did not run has not passed.
tally() {
    "$venv/bin/python" - "$work/tests.xml" <<'EOF'
import sys
from xml.etree import ElementTree

try:
    suites = list(ElementTree.parse(sys.argv[1]).getroot().iter("testsuite"))
except (OSError, ElementTree.ParseError):
    suites = []
total = sum(int(suite.get("tests")) for suite in suites)
skipped = sum(int(suite.get("skipped")) for suite in suites)
failed = skipped + sum(int(suite.get(kind)) for suite in suites for kind in ("failures", "errors"))
if skipped:
    print(f"{skipped} tests were skipped, which counts as failed", file=sys.stderr)
print(max(total - failed, 0), failed)
EOF
}

tests() {
    stage tests run_pytest
    code=$?
    counts=$(tally)
    failures=${counts#* }
    # A run that broke off, or found no test, has failed however few failures it counted.
    [ "$code" -ne 0 ] && [ "$failures" -eq 0 ] && failures=1
    passed=$((passed + ${counts% *}))
    failed=$((failed + failures))
}

mkdir -p "$work" 2>/dev/null && [ -w "$work" ] ||
    fail "The folder $work cannot be written: copy the checkout to a folder of your own and run this there."
trap 'rm -rf "$work/walk"' EXIT
trap 'exit 130' INT TERM
began_all=$(date +%s)

stage set-up set_up
check lint "$venv/bin/ruff" check .
check format "$venv/bin/ruff" format --check .
check types "$venv/bin/mypy"
tests
rm -rf "$work/walk"
check walk "$venv/bin/python" tests/while_serving.py "$work/walk" 60 \
    "$venv/bin/crossload" demo --walk --url
check 'second start' "$venv/bin/python" tests/while_serving.py "$work/walk" 3

printf '\n%s minutes in all\n' "$(minutes_since "$began_all")"
printf '%s passed, %s failed\n' "$passed" "$failed"
[ "$failed" -eq 0 ]
