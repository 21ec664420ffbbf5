#!/bin/sh
# Prints the server's measurements. $1: a build folder (release), default build/release.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=$(cd "${1:-$here/../../../build/release}" && pwd)
sh "$here/../../protocol/modules.sh" npm
NAPPED="$build/bin/napped" MAKE_JOURNAL="$build/bin/make_journal" exec node "$here/bench.mjs"
