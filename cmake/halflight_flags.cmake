# The one place that sets compiler flags.
#
# -ffp-contract=off and a pinned instruction class make results identical between optimisation
# levels and between machines of the class (docs/architecture.md, "Determinism"). x86-64-v3 (AVX2
# and FMA) is the floor; the program refuses to start below it.
add_library(halflight_flags INTERFACE)
target_compile_options(halflight_flags INTERFACE
  -march=x86-64-v3 -ffp-contract=off -fno-fast-math
  -Wall -Wextra -Wpedantic -Wshadow -Wnon-virtual-dtor -Wcast-qual -Wimplicit-fallthrough -Werror)
target_include_directories(halflight_flags INTERFACE "${CMAKE_CURRENT_SOURCE_DIR}/core")
# Threads come from one pool; a threaded matrix product would change the order of sums.
target_compile_definitions(halflight_flags INTERFACE EIGEN_DONT_PARALLELIZE EIGEN_MPL2_ONLY)
if(HALFLIGHT_SANITIZE)
  # Optimised, because whole studies run under it; asserts stay in every build. Undefined behaviour ends the program, so
  # that it counts as a finding.
  # Instrumented library code makes g++ see uninitialised members that are not (its manual says so).
  target_compile_options(halflight_flags INTERFACE
    -fsanitize=${HALFLIGHT_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer -g1
    $<$<CXX_COMPILER_ID:GNU>:-Wno-maybe-uninitialized>)
  target_link_options(halflight_flags INTERFACE -fsanitize=${HALFLIGHT_SANITIZE})
endif()
if(HALFLIGHT_FUZZ)
  # Branches report where an input has led. clang calls parts of g++'s standard library deprecated that the library itself
  # uses.
  target_compile_options(halflight_flags INTERFACE -fsanitize=fuzzer-no-link -Wno-deprecated-declarations)
endif()
set(CMAKE_CXX_FLAGS_RELEASE "-O2")
set(CMAKE_CXX_FLAGS_DEBUG "-Og -g")
