// The flow from part types to what zones need: types on one side, needs on the other, a piece in a colour that is not
// welcome costs the zone's weight. Inside of looks/.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "looks/colour_plan.h"

namespace looks {

/// A class in one colour, merged from all of Left.
struct Type {
  stock::ClassId part{};
  std::string colour;
  int count = 0;
};

class Flow {
 public:
  /// Types that no need accepts are left out. KW_CHECK on counts and weights out of range.
  Flow(const std::vector<Zone>& zones, const std::vector<Left>& left);
  ~Flow();
  Flow(const Flow&) = delete;
  Flow& operator=(const Flow&) = delete;

  /// Colours welcome in each zone; others cost its weight.
  using Welcome = std::vector<std::vector<std::string>>;

  struct Taken {
    int zone = 0, need = 0;
    int type = 0;  ///< index into types()
    int count = 0;
  };
  struct Answer {
    std::int64_t cost = 0;     ///< weight times pieces that do not match, missing ones among them
    int missing = 0;           ///< as few as possible, whatever the cost
    std::vector<Taken> taken;  ///< by zone, need, type; counts > 0
  };
  [[nodiscard]] Answer solve(const Welcome&);
  [[nodiscard]] const std::vector<Type>& types() const { return types_; }

 private:
  struct Network;  // LEMON stays out of the header
  std::vector<Type> types_;
  std::unique_ptr<Network> network_;
};

}  // namespace looks
