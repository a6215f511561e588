#!/usr/bin/env bash
# What the tests need from the system: installed by apt where that works, else named exactly. One line a program.
set -euo pipefail
needs=(
  # program            Debian package
  "chromium            chromium"
  "pdftotext           poppler-utils"
  "mosquitto           mosquitto"
  "socat               socat"
  "dbus-daemon         dbus"
)
libraries=("libzbar.so.0 libzbar0" "libdmtx.so.0 libdmtx0b")
PATH=$PATH:/usr/sbin:/usr/local/sbin

missing() {
  local line program package
  for line in "${needs[@]}"; do
    read -r program package <<<"$line"
    command -v "$program" >/dev/null || echo "$package"
  done
  for line in "${libraries[@]}"; do
    read -r program package <<<"$line"
    ldconfig -p | grep -q "$program" || echo "$package"
  done
  # Letters of the screens: sizes are measured in a browser.
  find /usr/share/fonts -iname 'LiberationSans-Regular*' 2>/dev/null | grep -q . || echo fonts-liberation
  # PostgreSQL: its server programs need not be on the PATH.
  if ! command -v initdb >/dev/null && ! compgen -G '/usr/lib/postgresql/*/bin/initdb' >/dev/null; then
    echo postgresql
  fi
}

packages=$(missing)
[ -z "$packages" ] && exit 0
if command -v apt-get >/dev/null; then
  sudo=""
  [ "$(id -u)" = 0 ] || sudo="sudo -n"
  # A fresh machine has no list of packages yet.
  $sudo apt-get update -qq >/dev/null 2>&1 || true
  # shellcheck disable=SC2086  # one word a package
  DEBIAN_FRONTEND=noninteractive $sudo apt-get install -y -qq --no-install-recommends $packages >/dev/null 2>&1 || true
fi
packages=$(missing)
if [ -n "$packages" ]; then
  echo "These system packages are missing and could not be installed by apt-get; the tests need them:" >&2
  echo "$packages" >&2
  exit 1
fi
