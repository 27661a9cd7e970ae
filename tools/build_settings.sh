# Sourced by ./check and ./demo, which have gone to the root of the tree.

# The compiler cache stays outside the tree, so that a fresh clone is as fast as an old one.
export CCACHE_DIR="${CCACHE_DIR:-${XDG_CACHE_HOME:-${HOME:-/tmp}/.cache}/ccache}"
export CCACHE_BASEDIR="$PWD"

# configure PRESET: a build folder that was copied along with the tree knows the wrong paths and is made anew.
configure() {
  local cache="build/$1/CMakeCache.txt"
  if [ -f "$cache" ] && ! grep -qxF "CMAKE_HOME_DIRECTORY:INTERNAL=$PWD" "$cache"; then
    rm -rf "build/$1"
  fi
  cmake --preset "$1" --log-level=WARNING
}
