// Names of colours that can be printed, for decals. The stock's colours are names only and need no printing.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace looks {

/// "#rrggbb" in small letters of a usual name ("dark grey") or of such a figure itself, case and outer blanks ignored.
[[nodiscard]] std::optional<std::string> paint_of(std::string_view text);
/// The usual names, ascending.
[[nodiscard]] std::span<const std::string> paint_names();

}  // namespace looks
