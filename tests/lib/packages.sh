# What the two commands share: Debian packages, and configuring a build. Sourced by bash, from the top of the tree.

build_packages=(g++ cmake ninja-build ccache pkg-config tzdata ca-certificates
  libboost1.81-dev libspdlog-dev libfmt-dev libyaml-cpp-dev libsqlite3-dev libssl-dev libcli11-dev
  libhowardhinnant-date-dev libsimdjson-dev libicu-dev libre2-dev libpugixml-dev zlib1g-dev libjs-chart.js)
test_packages=(libgtest-dev libgmock-dev libzip-dev make python3 python3-prometheus-client locales nginx-light tinyproxy openssl libxml2-utils sqlite3 chromium slowhttptest)

as_root() {
  if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo "$@"; fi
}

# Installs the named packages that are missing.
need_packages() {
  local missing=()
  for package in "$@"; do
    dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null | grep -qx installed || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return
  echo "== installing ${missing[*]}"
  as_root apt-get update -qq
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
}

# configure PRESET [cmake options]: quiet unless it fails.
configure() {
  # One compiler cache serves every checkout.
  export CCACHE_BASEDIR="$PWD" CCACHE_NOHASHDIR=1
  local log
  log=$(mktemp)
  if ! cmake --preset "$@" >"$log" 2>&1; then
    cat "$log"
    return 1
  fi
  rm -f "$log"
}
