#!/usr/bin/env bash
# Finds Chromium and PostgreSQL, installs Debian's as root, or says in one line how to get them.
# Without them the tests that need them are skipped and say so; under RAMET_REQUIRE_ALL=1 that is an error.
set -euo pipefail

missing=()
{ command -v chromium || command -v chromium-browser || command -v google-chrome; } >/dev/null || missing+=(chromium)
{ command -v initdb || ls /usr/lib/postgresql/*/bin/initdb; } >/dev/null 2>&1 || missing+=(postgresql)
[ ${#missing[@]} -eq 0 ] && exit 0

if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
  echo "installing ${missing[*]} for the tests"
  apt-get update -qq
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
  exit 0
fi

echo "not found: ${missing[*]}; tests that need them are not run (Debian: sudo apt-get install ${missing[*]})"
[ "${RAMET_REQUIRE_ALL:-}" != 1 ]
