// Whether a file is still the one that was read.
#pragma once

#include <string>

namespace base {

/// What tells one state of a file from another: device, number, size and time of the last change; "gone" when there is
/// none. Equal states mean equal bytes unless the file was written twice within one tick of the system's clock.
[[nodiscard]] std::string file_state(const std::string& file);

/// Whether the last change was long enough ago that a later one cannot have the same time. "gone" is.
[[nodiscard]] bool file_settled(const std::string& file);

}  // namespace base
