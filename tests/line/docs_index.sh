#!/usr/bin/env bash
# docs/README.md names every page, pages of doing are short, and no page links to a file that is not there. docs_index.sh PROJECT
set -euo pipefail
cd "$1"
failed=0
complain() { echo "$1"; failed=1; }
for page in docs/*/*.md; do
  grep -q "(${page#docs/})" docs/README.md || complain "docs/README.md does not name ${page#docs/}"
done
for page in docs/doing/*.md; do
  [[ $(wc -w < "$page") -le 500 ]] || complain "$page has $(wc -w < "$page") words: a page of doing has at most 500"
done
for page in README.md DEVELOPERS.md docs/README.md docs/*/*.md audio-samples/README.md; do
  while read -r target; do
    [[ -e $(dirname "$page")/$target ]] || complain "$page links to $target, which is not there"
  done < <(grep -oE '\]\([^)#]+' "$page" | sed 's/^](//' | grep -vE '^https?:' || true)
done
exit "$failed"
