#!/usr/bin/env bash
# determinism.sh machine|edits PROGRAM PROJECT [OPTION...]
#
# machine: the JSON of a study is the same, byte for byte, for any number of threads, cold or from the cache, in any language
# and time zone of the machine, and with a damaged cache. edits: also that whatever is edited, the cache hides no edit.
set -euo pipefail
what="$1" program="$2" project="$3"
shift 3
of_the_test=("$@")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# study NAME VARIABLE=VALUE... -- OPTION...
study() {
  local name="$1" variables=()
  shift
  while [ "$1" != -- ]; do variables+=("$1"); shift; done
  shift
  env -i HOME="$work" "${variables[@]}" "$program" study "$project" "${of_the_test[@]}" --accuracy draft --json "$work/$name.json" "$@" \
    >"$work/$name.txt" 2>"$work/$name.err" || { echo "$name: exit $?"; cat "$work/$name.err"; exit 1; }
}
same() {
  cmp "$work/reference.json" "$work/$1.json" || { echo "$1: the results differ from those of one thread"; exit 1; }
  echo "$1: the same"
}

study reference -- --threads 1 --no-cache
[ -s "$work/reference.json" ]
# A language with decimal commas, made here so that it is there on any machine.
mkdir "$work/locales"
localedef -i de_DE -f UTF-8 "$work/locales/de_DE.UTF-8" 2>/dev/null || true
elsewhere=(LOCPATH="$work/locales" LC_ALL=de_DE.UTF-8 TZ=Asia/Kolkata)
study cold "${elsewhere[@]}" -- --threads 7 --cache "$work/cache"
same cold
study warm "${elsewhere[@]}" -- --threads 2 --cache "$work/cache" --cache-report
same warm
# A cache that is never hit would pass every comparison above.
grep -Eq '^ +[^ ].* 0 +[1-9][0-9]*$' "$work/warm.txt" || { echo "nothing came from the cache"; cat "$work/warm.txt"; exit 1; }

# Every second blob has a byte of its middle changed, the others are cut short.
blobs=("$work"/cache/*.blob)
[ -e "${blobs[0]}" ]
for i in "${!blobs[@]}"; do
  blob="${blobs[i]}"
  if [ $((i % 2)) = 0 ]; then
    middle=$(($(stat -c %s "$blob") / 2))
    byte=$(od -An -tu1 -j "$middle" -N 1 "$blob")
    printf "\\x$(printf %02x $((byte ^ 1)))" | dd of="$blob" bs=1 seek="$middle" conv=notrunc status=none
  else
    truncate -s -1 "$blob"
  fi
done
study damaged -- --threads 2 --cache "$work/cache"
same damaged
# The damaged blobs were replaced by good ones.
study mended -- --threads 2 --cache "$work/cache" --cache-report
same mended
if grep -Eq '^ +[^ ].* [1-9][0-9]* +[0-9]+$' "$work/mended.txt"; then
  echo "something was computed again"; cat "$work/mended.txt"; exit 1
fi

[ "$what" = edits ] || exit 0

# Whatever is edited, what the cache holds of before must not show.
sed -E 's/"delay": *"[0-9]+ (min|s)"/"delay": "23 min"/' "$project" >"$work/edited.halflight.json"
cmp -s "$project" "$work/edited.halflight.json" && { echo "nothing was edited"; exit 1; }
project="$work/edited.halflight.json"
study edited-warm -- --threads 2 --cache "$work/cache"
study edited-cold -- --threads 2 --no-cache
cmp "$work/edited-warm.json" "$work/edited-cold.json" || { echo "the cache hides an edit"; exit 1; }
cmp -s "$work/edited-cold.json" "$work/reference.json" && { echo "the edit changes nothing"; exit 1; }
echo "edited: the same with and without the cache"

study other-seed -- --threads 2 --cache "$work/cache" --seed 2
if cmp -s "$work/reference.json" "$work/other-seed.json"; then
  echo "another seed gives the same results: the comparisons above compare nothing"
  exit 1
fi
