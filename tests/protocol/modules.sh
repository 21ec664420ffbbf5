#!/bin/sh
# Installs the locked npm packages of these tests, if they are not there yet. $1: npm.
set -eu
cd "$(dirname "$0")"
if [ node_modules/.package-lock.json -nt package-lock.json ]; then exit 0; fi
"$1" ci --no-audit --no-fund
touch node_modules/.package-lock.json
