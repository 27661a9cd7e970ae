// Compiled for the oldest x86-64, unlike everything else, and run before any other initialisation: on a
// processor without AVX2 and FMA the rest of the program would die of an illegal instruction without a word.
#include <cstring>

#include <unistd.h>

namespace {

__attribute__((constructor(101))) void refuse_older_processors() {
  __builtin_cpu_init();
  if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma") && __builtin_cpu_supports("bmi2"))
    return;
  constexpr char text[] =
      "halflight: this processor lacks AVX2 and FMA instructions, which the program is built for; use a "
      "machine "
      "of the class x86-64-v3 (most made since 2015)\n";
  [[maybe_unused]] const ssize_t written = ::write(STDERR_FILENO, text, sizeof text - 1);
  ::_exit(3);
}

}  // namespace
