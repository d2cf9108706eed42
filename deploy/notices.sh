#!/bin/sh
# Prints every licence text, notice and patent grant that goes with the program,
# for all systems that a release is built for. Run it in the repository. A module
# without any is an error.
set -eu

section() { printf '\n\n======== %s\n\n' "$1"; }

echo "Soundings is made from the following, each under the licence that stands below its name."
goroot=$(go env GOROOT)
section "Go, $(go env GOVERSION)"
cat "$goroot/LICENSE" "$goroot/PATENTS"

modules=$(for system in linux darwin windows; do
  GOOS=$system CGO_ENABLED=0 go list -deps -f '{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}} {{.Dir}}{{end}}{{end}}' ./cmd/soundings
done | sort -u)
echo "$modules" | while read -r module version dir; do
  texts=$(find "$dir" -path '*/testdata/*' -prune -o -type f \( -iname 'licen[cs]e*' -o -iname 'copying*' -o -iname 'notice*' \
    -o -name PATENTS -o -path '*/licenses/*.txt' \) ! -name '*.go' ! -name '*.sh' -print | sort)
  if [ -z "$texts" ]; then
    echo "$module $version comes without a licence" >&2
    exit 1
  fi
  for text in $texts; do
    section "$module $version, ${text#"$dir"/}"
    cat "$text"
  done
done
