# shellcheck shell=bash
# Shared by the scripts: sourced, not run. Installs what is missing and checks what is there.

say() { printf '%s\n' "$*" >&2; }

die() {
    say "$*"
    exit 1
}

# Runs a command as root: directly, or with sudo where that asks for no password.
as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"; else sudo -n "$@"; fi
}

can_be_root() {
    [ "$(id -u)" = 0 ] || sudo -n true 2>/dev/null
}

has_postgres() {
    local bin bins
    # Without quotes, so that the pattern expands; the program looks in the same places.
    # shellcheck disable=SC2206
    if [ -n "${PG_BINDIR:-}" ]; then bins=("$PG_BINDIR"); else bins=(/usr/lib/postgresql/*/bin ${PATH//:/ }); fi
    for bin in "${bins[@]}"; do
        if [ -x "$bin/initdb" ] && [ -x "$bin/postgres" ]; then return 0; fi
    done
    return 1
}

# Whether what the Debian package is for is there, from wherever it came.
is_present() {
    case $1 in
        postgresql) has_postgres ;;
        chromium) command -v chromium >/dev/null || command -v google-chrome >/dev/null ;;
        chromium-driver) command -v chromedriver >/dev/null ;;
        poppler-utils) command -v pdftotext >/dev/null ;;
        python3-openpyxl) /usr/bin/python3 -c 'import openpyxl' 2>/dev/null ;;
        python3-aiosmtpd) /usr/bin/python3 -c 'import aiosmtpd' 2>/dev/null ;;
        gcc) command -v cc >/dev/null ;;
        *) command -v "$1" >/dev/null ;;
    esac
}

# Debian's postgresql package starts a server of its own when it is installed; we start ours.
keep_debian_from_starting_a_cluster() {
    local settings=/etc/postgresql-common/createcluster.conf
    [ -e "$settings" ] && return
    as_root mkdir -p "${settings%/*}"
    echo 'create_main_cluster = false' | as_root tee "$settings" >/dev/null
}

# need PACKAGE...: installs those whose programs are missing, or stops with the command to run.
need() {
    local package missing=()
    for package in "$@"; do is_present "$package" || missing+=("$package"); done
    [ ${#missing[@]} = 0 ] && return
    if ! command -v apt-get >/dev/null; then
        die "These are missing: ${missing[*]}. Install what this system calls them, then run this again."
    fi
    if ! can_be_root; then
        die "These are missing: ${missing[*]}. Install them, then run this again:
    sudo apt-get install --yes ${missing[*]}"
    fi
    say "Installing ${missing[*]}"
    case " ${missing[*]} " in *' postgresql '*) keep_debian_from_starting_a_cluster ;; esac
    as_root apt-get update --quiet --quiet
    as_root env DEBIAN_FRONTEND=noninteractive NEEDRESTART_SUSPEND=1 apt-get install --quiet --quiet --yes \
        --no-install-recommends -o Dpkg::Options::=--force-confold "${missing[@]}" >&2
    for package in "${missing[@]}"; do
        is_present "$package" || die "$package is installed and yet its programs are not found."
    done
}

# Whether every user may pass through a folder and all folders above it.
is_open_to_all() {
    local folder
    folder=$(readlink -f "$1")
    while :; do
        [ $((8#$(stat -c %a "$folder") & 1)) = 1 ] || return 1
        [ "$folder" = / ] && return
        folder=$(dirname "$folder")
    done
}

need_rust() {
    if ! command -v cargo >/dev/null && [ -r "${CARGO_HOME:-$HOME/.cargo}/env" ]; then
        # shellcheck disable=SC1091
        . "${CARGO_HOME:-$HOME/.cargo}/env"
    fi
    command -v cargo >/dev/null || die "Rust is missing. Install it as https://rustup.rs says, then run this again."
}
