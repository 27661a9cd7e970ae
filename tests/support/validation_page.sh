#!/usr/bin/env bash
# validation_page.sh write|compare FOLDER TEST_PROGRAM...
#
# docs/validation.md from the checks with EXPECT_PUBLISHED or EXPECT_OUTSIDE_PUBLISHED (published.hpp), one table for each
# program. "write" runs the tests that hold such a check and writes the page. "compare" runs nothing: it fails when the page in
# the tree is not what FOLDER holds, in which each program has left what it computed as <module>.tsv.
set -euo pipefail
export LC_ALL=C
mode="$1" recorded="$2"
shift 2
root=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# The names of the tests with a check, as `filter` of the runner writes them: those of a TEST_P stand between the
# names of its instance and its parameter.
tests_with_checks() {
  awk '
    /^TEST(_F|_P)?\(/ { split($0, part, /[(,) ]+/); name = part[2] "." part[3] ":*/" part[2] "." part[3] "/*" }
    /EXPECT_(OUTSIDE_)?PUBLISHED\(/ {
      if (name == "") { print FILENAME ":" FNR ": a check with EXPECT_PUBLISHED outside a test is not found" > "/dev/stderr"; exit 1 }
      if (!(name in seen)) { seen[name] = 1; print name }
    }
    /^}/ { name = "" }' "$@"
}

modules=()
for program in "$@"; do
  folder=$(dirname "$program")
  module=$(basename "$folder")
  # The build tree mirrors the source tree.
  tests_with_checks "$root/$(basename "$(dirname "$folder")")/$module"/*_test.cpp >"$work/$module.tests"
  [ -s "$work/$module.tests" ] || continue
  modules+=("$module")
  if [ "$mode" = write ]; then
    HALFLIGHT_VALIDATION="$work/$module.tsv" "$program" --gtest_shuffle=0 --gtest_brief=1 \
      --gtest_filter="$(paste -sd: "$work/$module.tests")" >"$work/$module.out" 2>&1 ||
      { cat "$work/$module.out"; echo "$module: a check fails, so there is no page"; exit 1; }
  else
    cp "$recorded/$module.tsv" "$work/$module.tsv" || { echo "$module: its test has not been run"; exit 1; }
  fi
  while IFS=: read -r test _; do
    grep -Eq "^([^.]*/)?${test/./\\.}(/[^	]*)?	" "$work/$module.tsv" ||
      { echo "$module: $test has a check but recorded none"; exit 1; }
  done <"$work/$module.tests"
done

# Numbers are cut to a hundredth of what is allowed, at most ten significant digits, and errors below 1e-7 are not spelled
# out: the last bits may differ between mathematical libraries.
rows() {
  awk -F '\t' '
    BEGIN {
      minus = "−"
      split("⁰ ¹ ² ³ ⁴ ⁵ ⁶ ⁷ ⁸ ⁹", raised, " ")
    }
    function floor(x, n) { n = int(x); return n > x ? n - 1 : n }
    function size(x) { return x < 0 ? -x : x }
    function magnitude(x) { return x == 0 ? 0 : floor(log(size(x)) / log(10) + 1e-9) }
    function signed(text) { if (text ~ /^-[0.]*$/) sub(/^-/, "", text); sub(/^-/, minus, text); return text }
    function stripped(text) { if (text ~ /\./) { sub(/0+$/, "", text); sub(/\.$/, "", text) } return text }
    function superscript(n, text, i) {
      text = n < 0 ? "⁻" : ""
      n = size(n) ""
      for (i = 1; i <= length(n); ++i) text = text raised[substr(n, i, 1) + 1]
      return text
    }
    function number(x, decimals) { return signed(stripped(sprintf("%." decimals "f", x))) }
    # Two significant digits.
    function short(x, m, mantissa) {
      m = magnitude(x)
      if (m >= -6) return number(x, m > 1 ? 0 : 1 - m)
      mantissa = number(x / 10 ^ m, 1)
      return (mantissa == "1" ? "" : mantissa "·") "10" superscript(m)
    }
    function error_of(expected, computed, error) {
      error = (computed - expected) / (expected == 0 ? 1 : size(expected))
      if (size(error) < 1e-7) return "0"
      return (error > 0 ? "+" : "") (expected == 0 ? short(error) unit : short(100 * error) " %")
    }
    {
      unit = $4 == "" ? "" : " " $4
      relative = $7 ~ /%$/
      allowed = $7 + 0
      absolute = relative ? allowed / 100 * size($5) : allowed
      most = 9 - magnitude($5)
      decimals = absolute == 0 ? most : 2 - magnitude(absolute)
      if (decimals > most) decimals = most
      if (decimals < 0) decimals = 0
      printf "| %s | %s | %s%s | %s%s | %s | %s |\n", $3, $2, number($5, decimals), unit, number($6, decimals), unit,
             error_of($5, $6), (allowed == 0 ? "exact" : short(allowed) (relative ? " %" : unit)) \
             ($8 == "" ? "" : "; **outside**: " $8)
    }' "$1"
}

{
  cat <<'PAGE'
# Validation

What the program computes beside values from outside it: published examples, tables, closed forms, independent
calculation. The tests write this page (`ninja -C build/release validation_page`) and fail when it is out of date, so change
a check and not a row. How each model works is in [methods/](methods/).

- **Expected** is the value of the source, **computed** that of this program. Both are cut to a hundredth of what is allowed,
  and to ten digits.
- **Error** is a share of the expected value; below a ten-millionth it is printed as 0.
- **Allowed** is how far off the test lets the value be, either way. For shares of time and counts that are drawn at random, and
  for the light of whole rooms, it is four standard errors; for savings in use, the spread of what was published.
- **Outside**: a published figure that the program does not meet, with the reason as far as it is known. No input is moved to
  meet one. The test fails when the value comes within what is allowed, so that no reason outlives its deviation.

| Module | Checks |
|---|---|
PAGE
  for module in "${modules[@]}"; do echo "| [$module](#$module) | $(wc -l <"$work/$module.tsv") |"; done
  for module in "${modules[@]}"; do
    printf '\n## %s\n\n| What | Source | Expected | Computed | Error | Allowed |\n|---|---|---|---|---|---|\n' "$module"
    rows "$work/$module.tsv"
  done
} >"$work/page.md"

case "$mode" in
  write) cp "$work/page.md" "$root/docs/validation.md" ;;
  compare)
    diff -u "$root/docs/validation.md" "$work/page.md" ||
      { echo "docs/validation.md is not what the tests give: build the target validation_page and commit the page"; exit 1; } ;;
  *) sed -n '2s/^# //p' "$0" >&2; exit 2 ;;
esac
