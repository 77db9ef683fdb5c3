// What a remedy changes in the project file, in the file's own words, so that it can be done and not only read.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "document/node.h"

namespace assessment {

/// One value of the project file as a remedy wants it. Entries of a list are named, not numbered: the file may have
/// been put into another order meanwhile.
struct Amendment {
  enum class Op { set, add, remove };  ///< a key; an entry of a list
  std::string table;                   ///< "bodies", "functions", "support"
  std::string id;        ///< which entry of a list, its reason where entries have no id; empty: stands alone, or is new
  std::string key;       ///< set: "centre_mm", "wants/load_g"
  document::Node value;  ///< set, add: as it is to stand; its places mean nothing
  Op op = Op::set;
};
[[nodiscard]] const char* name_of(Amendment::Op op);

/// Rounded to thousandths, which no builder can tell apart.
[[nodiscard]] document::Node number_value(double value);
[[nodiscard]] document::Node text_value(std::string_view text);
[[nodiscard]] document::Node list_value(std::vector<document::Node> items);
[[nodiscard]] document::Node numbers_value(const std::vector<double>& values);
[[nodiscard]] document::Node table_value(std::vector<std::pair<std::string, document::Node>> entries);

/// "bodies.tank.centre_mm = [0, 0, 40]", as the text report tells it.
[[nodiscard]] std::string text_of(const Amendment& amendment);

}  // namespace assessment
