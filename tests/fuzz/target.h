// What a fuzzed reader offers, whoever makes its inputs: libFuzzer, or mutate.cpp where there is none.
#pragma once

#include <cstdio>
#include <cstdlib>
#include <string_view>

/// Looks at one input; must neither crash nor throw.
void fuzz_one(std::string_view input);

/// Ends the program when a promise does not hold, so that the input is found.
inline void fuzz_check(bool holds, const char* promise) {
  if (holds) return;
  std::fprintf(stderr, "broken promise: %s\n", promise);
  std::abort();
}
