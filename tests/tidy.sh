#!/usr/bin/env bash
# What the house asks of its own sources and no compiler checks. Prints every place that breaks a rule.
set -u
cd "$(dirname "$0")/.."
broken=0

# rule WHAT PATTERN PATH...: no line under these paths may match.
rule() {
  local what=$1 pattern=$2 found
  shift 2
  found=$(grep -rnE --include='*.cpp' --include='*.hpp' --include='*.in' "$pattern" "$@")
  [ -z "$found" ] && return
  printf '%s:\n%s\n\n' "$what" "$found"
  broken=1
}

# includes_only FOLDER WORDS: what this part of the core may include of the others.
includes_only() {
  local folder=$1 allowed=$2
  rule "common/$folder may include only base, $folder and: ${allowed:-nothing else}" \
    "^#include \"(server|client|tests)/" "common/$folder"
  local found
  found=$(grep -rnE '^#include "common/[a-z]+/' "common/$folder" | grep -vE "\"common/(${folder}${allowed:+|${allowed// /|}})/")
  [ -z "$found" ] && return
  printf 'common/%s includes what lies above it:\n%s\n\n' "$folder" "$found"
  broken=1
}

includes_only kitchen "food"
includes_only food ""
includes_only line "kitchen food"
includes_only plan "kitchen line"
includes_only mise "kitchen food line plan"
includes_only rehearse "kitchen line plan"
includes_only wire "kitchen line plan"
rule "the server and the client never see each other" '^#include "client/' server
rule "the server and the client never see each other" '^#include "server/' client

rule "the core asks no clock" '_clock::now|std::time\(|gettimeofday' common
rule "the core has no I/O, no thread and no random source of its own" \
  '^#include <(iostream|fstream|cstdio|filesystem|thread|mutex|atomic|future|random|boost/asio.*|boost/beast.*|spdlog.*|sqlite3.*|curses.*)>' \
  common
rule "a detached coroutine loses its exceptions" 'asio::detached' server client
rule "lines have at most 120 characters" '^.{121,}$' common server client tests
rule "no path of a machine" '"/(work|home|root)/' common server client tests

found=$(grep -l '"resolved"' web/package-lock.json tests/*/package-lock.json 2>/dev/null)
if [ -n "$found" ]; then
  printf 'a lock file names where it was downloaded from:\n%s\n' "$found"
  broken=1
fi
exit $broken
