#!/bin/sh
# Makes qr-reader.js anew, for a newer version of the library: npm and a network are needed, and then a look at what came.
# Write the version and the digest that it prints into VERSION.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
version=${1:-0.7.0}
folder=$(mktemp -d)
cd "$folder"
npm init --yes >/dev/null
npm install --ignore-scripts --no-fund --no-audit "qr@$version" esbuild@0.28.2 >/dev/null
echo 'export { decodeQR } from "qr/decode.js";' >entry.mjs
# not made smaller: whoever doubts the page can read it
npx esbuild entry.mjs --bundle --format=esm --target=es2022 --legal-comments=none --outfile="$here/qr-reader.js"
cp node_modules/qr/LICENSE-MIT "$here/LICENSE"
printf 'qr %s\n%s\n' "$version" "$(sha256sum "$here/qr-reader.js" | cut -d ' ' -f 1)" >"$here/VERSION"
rm -r "$folder"
cat "$here/VERSION"
