#!/bin/sh
# The Debian packages Slowmatch needs, by group, and the one way to install those that are missing:
#
#     sh src/cmake/packages.sh build test
#
# Nothing is installed that is already there by other means: what counts is the command, file or module itself.
set -eu

# One line a package: group, package, how to look for what it brings, what to look for.
packages() {
    cat <<'END'
build  gcc                 command        gcc
build  libc6-dev           file           /usr/include/stdio.h
build  cmake               command        cmake
build  ninja-build         command        ninja
build  pkg-config          command        pkg-config
build  libgsl-dev          library        gsl
build  libnlopt-dev        library        nlopt
build  libcjson-dev        library        libcjson
build  libxml2-dev         library        libxml-2.0
build  libzip-dev          library        libzip
build  libudunits2-dev     header         udunits2.h
build  libcairo2-dev       library        cairo
build  libmicrohttpd-dev   library        libmicrohttpd
build  fonts-dejavu-core   file           /usr/share/fonts/truetype/dejavu/DejaVuSans.ttf
pages  npm                 command        npm
pages  nodejs              command        node
test   clang               command        clang
test   llvm                command        llvm-symbolizer
test   libclang-rt-14-dev  clang-runtime  asan
test   libomp-14-dev       file           /usr/lib/llvm-14/lib/libarcher.so
test   mandoc              command        mandoc
test   libcriterion-dev    library        criterion
test   python3             file           /usr/bin/python3
test   python3-jsonschema  python         jsonschema
test   libgeos-dev         library        geos
test   libxml2-utils       command        xmllint
test   poppler-utils       command        pdftoppm
web    chromium            command        chromium
ranks  libopenmpi-dev      command        mpicc
ranks  openmpi-bin         command        mpirun
bench  python3-scipy       python         scipy
bench  python3-scikit-fmm  python         skfmm
lint   valgrind            command        valgrind
lint   clang-format        command        clang-format
lint   clang-tidy          command        run-clang-tidy
lint   zsh                 command        zsh
lint   fish                command        fish
END
}

# Is there a file by one of these names?
any_file() {
    for file in "$@"; do
        if [ -e "$file" ]; then return 0; fi
    done
    return 1
}

is_there() { # how what
    case $1 in
    command) command -v "$2" ;;
    file) any_file "$2" ;;
    header) any_file /usr/include/"$2" /usr/include/*/"$2" /usr/local/include/"$2" /usr/local/include/*/"$2" ;;
    library) pkg-config --exists "$2" ;;
    python) /usr/bin/python3 -c "import $2" ;;
    clang-runtime) any_file "$(clang -print-resource-dir)"/lib/*/libclang_rt."$2"* ;;
    *) fail "the list says '$1 $2', and there is no such way to look" ;;
    esac >/dev/null 2>&1 </dev/null
}

missing_in() { # group
    packages | while read -r group package how what; do
        if [ "$group" = "$1" ] && ! is_there "$how" "$what"; then
            printf '%s ' "$package"
        fi
    done
}

fail() {
    printf 'packages: %s\n' "$*" >&2
    exit 1
}

# Runs apt-get with its output kept back unless it fails.
apt() {
    log=$(mktemp)
    if ! $as_root env DEBIAN_FRONTEND=noninteractive apt-get -q "$@" >"$log" 2>&1 </dev/null; then
        cat "$log" >&2
        rm -f "$log"
        fail "apt-get $1 failed"
    fi
    rm -f "$log"
}

for group in "$@"; do
    packages | grep -q "^$group " || fail "no group '$group'; there are: $(packages | cut -d' ' -f1 | uniq | xargs)"
done

missing=$(for group in "$@"; do missing_in "$group"; done)
[ -n "$missing" ] || exit 0

as_root=
command -v apt-get >/dev/null || fail "missing, and there is no apt-get: $missing"
if [ "$(id -u)" -ne 0 ]; then
    as_root=$(command -v sudo) || fail "missing; install them as root: $missing"
fi

echo "packages: reading the lists"
apt update
for group in "$@"; do
    missing=$(missing_in "$group")
    [ -n "$missing" ] || continue
    echo "packages: installing for $group: $missing"
    # shellcheck disable=SC2086 # a list of names
    apt install -y --no-install-recommends $missing
    missing=$(missing_in "$group")
    [ -z "$missing" ] || fail "installed, but what they bring is still not found: $missing"
done
