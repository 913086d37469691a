# The shell parts that start.sh and check.sh share: finds a Python, makes .venv, installs into it.
# Sourced, with $root set to the checkout. Plain POSIX sh; every failure is one sentence.

venv=$root/.venv
stamp=$venv/installed
install_log=$venv/install.log

fail() {
    printf '%s\n' "$*" >&2
    exit 1
}

# Prints the first Python on the path that is new enough. `python3` first: it is the one that the
# person chose; the numbered ones serve where `python3` is the system's own old one.
find_python() {
    seen=
    for name in python3 python3.14 python3.13 python3.12 python3.11 python; do
        found=$(command -v "$name") || continue
        if "$found" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            printf '%s\n' "$found"
            return
        fi
        seen=${seen:-$("$found" -V 2>&1 | head -n 1)}
    done
    fail "Crossload needs Python 3.11 or later and found ${seen:-none}: install one and run this again."
}

# What the installed packages depend on. The package itself is installed in place, so a change of
# its code asks for nothing.
fingerprint() {
    "$venv/bin/python" -I -c 'import sys; print(*sys.version_info[:3], sep=".")' 2>/dev/null || return
    cat "$root/pyproject.toml" "$root/deploy/constraints.txt" | cksum
}

# $1: run (what serving needs) or check (that and what the tests need, which serves as well).
is_installed() {
    [ -f "$stamp" ] && [ -x "$venv/bin/crossload" ] || return 1
    now_printed=$(fingerprint) || return 1
    for extent in check "$1"; do
        [ "$(cat "$stamp")" = "$root
$extent
$now_printed" ] && return 0
    done
    return 1
}

# A moved checkout leaves scripts that name the old place; another Python leaves packages it cannot see.
is_usable() {
    [ -x "$venv/bin/python" ] && "$venv/bin/python" -m pip --version >/dev/null 2>&1 || return 1
    [ ! -f "$stamp" ] || [ "$(head -n 1 "$stamp")" = "$root" ]
}

make_venv() {
    python=$(find_python) || exit 1
    "$python" -c 'import ensurepip, venv' 2>/dev/null ||
        fail "Python's venv module is missing from $python: install it (on Debian: apt-get install python3-venv) and run this again."
    rm -rf "$venv"
    { mkdir "$venv" && "$python" -m venv "$venv" >"$install_log" 2>&1; } ||
        fail "The virtual environment $venv could not be made: $(last_words)."
}

last_words() {
    words=$(grep -E '^ *(ERROR|Error): ' "$install_log" 2>/dev/null | head -n 1 | sed 's/^ *//')
    [ -n "$words" ] || words=$(tail -n 1 "$install_log" 2>/dev/null)
    printf '%s' "${words:-no reason was given}" | sed 's/[.[:space:]]*$//'
}

install_package() {
    what=$root
    [ "$1" = check ] && what="${root}[check]"
    "$venv/bin/python" -m pip install --disable-pip-version-check --no-input \
        --constraint "$root/deploy/constraints.txt" --editable "$what" >"$install_log" 2>&1 && return
    if grep -qE 'NewConnectionError|ConnectTimeoutError|ReadTimeoutError|ProxyError|NameResolutionError' "$install_log"; then
        fail "The package registry cannot be reached: connect to the network, or set pip's index or proxy, and run this again (pip's words: $install_log)."
    fi
    if grep -q 'No space left on device' "$install_log"; then
        fail "The disk that holds $venv is full: make room and run this again."
    fi
    fail "pip could not install what Crossload needs: $(last_words) (all of pip's words: $install_log)."
}

# $1: run or check. Quick when nothing changed, and then it writes nothing.
make_environment() {
    is_installed "$1" && return
    [ -w "$root" ] || fail "The folder $root cannot be written: copy the checkout to a folder of your own and run this there."
    [ ! -e "$venv" ] || [ -w "$venv" ] ||
        fail "The folder $venv belongs to somebody else: remove it, or copy the checkout to a folder of your own, and run this again."
    is_usable || make_venv
    rm -f "$stamp"
    printf 'Installing into %s (a minute or two, only when something changed)\n' "$venv"
    install_package "$1"
    { printf '%s\n%s\n' "$root" "$1" && fingerprint; } >"$stamp"
}
