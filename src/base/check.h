// KW_CHECK: a fault of ours, not of the user's input. On in release too; throws with the values so an edge can report
// it and end with exit code 3.
#pragma once

#include <stdexcept>
#include <string>

#if defined(__FAST_MATH__) || (defined(__FINITE_MATH_ONLY__) && __FINITE_MATH_ONLY__)
#error "relaxed floating point (-ffast-math and its parts) breaks small matrix inverses and determinism"
#endif

namespace base {

/// Thrown by KW_CHECK; caught only at the edges.
struct InternalFault : std::logic_error {
  using std::logic_error::logic_error;
};

[[noreturn]] void fail_check(const char* expression, const char* file, int line, const std::string& detail);

}  // namespace base

#define KW_CHECK(condition, detail)                                               \
  do {                                                                            \
    if (!(condition)) ::base::fail_check(#condition, __FILE__, __LINE__, detail); \
  } while (false)
