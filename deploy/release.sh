#!/bin/sh
# Makes a release in out/release from the tag that is checked out:
#   sh deploy/release.sh
# or from any commit, to try it:
#   sh deploy/release.sh --snapshot
# The same commit gives the same bytes: see checksums.txt.
set -eu
cd "$(dirname "$0")/.."

tools=$(mktemp -d)
trap 'rm -rf "$tools"' EXIT
export GOBIN="$tools" GOFLAGS=-trimpath
go install github.com/goreleaser/goreleaser/v2@v2.15.1
go install github.com/CycloneDX/cyclonedx-gomod/cmd/cyclonedx-gomod@v1.10.0

# Another Go would make other bytes.
GOTOOLCHAIN=go$(go list -m -f '{{.GoVersion}}')
export GOTOOLCHAIN PATH="$tools:$PATH"
mkdir -p out
sh deploy/notices.sh >out/THIRD-PARTY.txt
SOURCE_DATE_EPOCH=$(git log -1 --format=%ct) go run ./cmd/soundings man --out out/man
for shell in bash fish zsh; do go run ./cmd/soundings completion $shell >out/soundings.$shell; done
goreleaser release --config deploy/goreleaser.yaml --clean --skip=publish "$@"
