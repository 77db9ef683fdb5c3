// The kinds of function this program knows.
#pragma once

#include <span>
#include <string_view>

#include "candidate/kind.h"

namespace functions {

[[nodiscard]] std::span<const candidate::Kind> kinds();
[[nodiscard]] const candidate::Kind* find_kind(std::string_view name);

}  // namespace functions
