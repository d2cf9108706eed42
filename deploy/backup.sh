#!/bin/sh
# A copy of what Redis keeps for the bot, and the way back. FOLDER is the folder of
# Redis (CONFIG GET dir), COPY a folder of your own.
#
#   backup.sh save FOLDER COPY       while everything runs
#   backup.sh check COPY             load the copy and count what is in it
#   backup.sh restore COPY FOLDER    into an empty folder, while Redis is stopped
#
# save asks Redis through redis-cli; where that needs more, say so with
#   REDIS="redis-cli -h redis.example --askpass"
# check and restore start a redis-server of their own, which nobody can reach.
set -eu
REDIS=${REDIS:-redis-cli}

work=$(mktemp -d) server='' usual=''

cleanup() {
  [ -z "$usual" ] || $REDIS config set auto-aof-rewrite-percentage "$usual" >/dev/null
  [ -z "$server" ] || kill "$server" 2>/dev/null || true
  rm -rf "$work"
}
trap cleanup EXIT
trap 'exit 1' INT TERM

fail() { echo "$*" >&2; exit 1; }

usage() { sed -n '5,7s/^# *//p' "$0" >&2; exit 2; }

# rewritten waits until the server that it is given writes no append-only file anew.
rewritten() {
  until "$@" info persistence | tr -d '\r' | grep -c '^aof_rewrite_\(in_progress\|scheduled\):0$' | grep -q 2; do sleep 1; done
}

# A rewrite of the append-only file takes files away while they are copied, so none
# begins until the copy is made.
save() {
  folder=$1 copy=$2
  $REDIS info persistence | grep -q '^aof_enabled:1' || fail "Redis does not answer, or keeps no append-only file (appendonly yes)."
  [ ! -e "$copy" ] || fail "$copy is there already: name a new folder."
  usual=$($REDIS config get auto-aof-rewrite-percentage | sed -n 2p)
  $REDIS config set auto-aof-rewrite-percentage 0 >/dev/null
  rewritten $REDIS
  mkdir -p "$copy"
  chmod 700 "$copy"
  cp -R "$folder"/appendonly* "$copy"/
  check "$copy"
}

# load starts a server on a folder. Only its socket leads to it.
load() {
  redis-server --port 0 --unixsocket "$work/socket" --dir "$1" --save "" --appendonly "$2" >"$work/log" 2>&1 &
  server=$!
  until [ "$(redis-cli -s "$work/socket" ping 2>/dev/null)" = PONG ]; do
    if ! kill -0 "$server" 2>/dev/null; then
      server=''
      tail -n 3 "$work/log" >&2
      fail "$copy is torn or damaged: Redis does not load it. Use another copy."
    fi
    sleep 0.2
  done
}

unload() {
  redis-cli -s "$work/socket" shutdown nosave 2>/dev/null || true
  wait "$server" || true
  server=''
}

# check works on a copy of the copy, since Redis cuts off what was half written.
check() {
  copy=$1
  rm -rf "$work/data"
  mkdir "$work/data"
  if ls "$copy"/appendonly* >/dev/null 2>&1; then
    cp -R "$copy"/appendonly* "$work/data"/
    load "$work/data" yes
  elif [ -e "$copy/dump.rdb" ]; then
    echo "There is a dump.rdb alone. With appendonly yes Redis would not read it, and start empty without a word: restore makes an append-only file of it." >&2
    cp "$copy/dump.rdb" "$work/data"/
    load "$work/data" no
  else
    fail "$copy holds neither an append-only file nor a dump.rdb."
  fi
  kickoffs=$(redis-cli -s "$work/socket" --scan | sed -nE 's/^[^{]*\{([^}]*)\}:(entries|packed)$/\1/p' | sort -u | wc -l)
  unload
  [ "$kickoffs" -gt 0 ] || fail "$copy holds no kickoff."
  echo "Kickoffs in $copy: $((kickoffs))"
}

restore() {
  copy=$1 folder=$2
  [ -z "$(ls "$folder" 2>/dev/null)" ] || fail "$folder is not empty: stop Redis, and move what is there away."
  check "$copy"
  mkdir -p "$folder"
  if ls "$copy"/appendonly* >/dev/null 2>&1; then
    cp -R "$copy"/appendonly* "$folder"/
    return
  fi
  # Redis makes an append-only file of a dump only where it is turned on while it runs.
  cp "$copy/dump.rdb" "$folder"/
  load "$folder" no
  redis-cli -s "$work/socket" config set appendonly yes >/dev/null
  rewritten redis-cli -s "$work/socket"
  redis-cli -s "$work/socket" info persistence | grep -q '^aof_last_bgrewrite_status:ok' || fail "The append-only file was not written: is the disk full?"
  unload
}

case "${1-} $#" in
  "save 3" | "restore 3" | "check 2") "$@" ;;
  *) usage ;;
esac
