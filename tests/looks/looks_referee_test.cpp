// The colour plan against CBC on an integer programme of its own: a variable for every type and need, one row a type
// and one a need, missing pieces first and cost then. Random instances of the size of real kits.
#include <coin/Cbc_C_Interface.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "looks/colour_plan.h"

namespace {

using looks::Left;
using looks::Zone;
using stock::ClassId;

class Programme {
 public:
  int row(double low, double high) {
    low_.push_back(low);
    high_.push_back(high);
    return static_cast<int>(low_.size()) - 1;
  }
  void column(double cost, double most, const std::vector<int>& rows) {
    start_.push_back(static_cast<CoinBigIndex>(index_.size()));
    cost_.push_back(cost);
    most_.push_back(most);
    for (const int r : rows) {
      index_.push_back(r);
      value_.push_back(1);
    }
  }
  double solve() {
    start_.push_back(static_cast<CoinBigIndex>(index_.size()));
    Cbc_Model* model = Cbc_newModel();
    Cbc_setParameter(model, "logLevel", "0");
    Cbc_setParameter(model, "allowableGap", "0");
    Cbc_setParameter(model, "ratioGap", "0");
    const std::vector<double> none(cost_.size(), 0.0);
    Cbc_loadProblem(model, static_cast<int>(cost_.size()), static_cast<int>(low_.size()), start_.data(), index_.data(),
                    value_.data(), none.data(), most_.data(), cost_.data(), low_.data(), high_.data());
    for (int c = 0; c < static_cast<int>(cost_.size()); ++c) Cbc_setInteger(model, c);
    Cbc_solve(model);
    EXPECT_NE(Cbc_isProvenOptimal(model), 0);
    const double value = Cbc_getObjValue(model);
    Cbc_deleteModel(model);
    return value;
  }

 private:
  std::vector<double> low_, high_, cost_, most_, value_;
  std::vector<int> index_;
  std::vector<CoinBigIndex> start_;
};

TEST(ColourPlan, EqualsAnIntegerProgramme) {
  std::mt19937 random(11);
  const auto pick = [&](int low, int high) {
    return low + static_cast<int>(random() % static_cast<unsigned>(high - low + 1));
  };
  const std::vector<std::string> colours{"red", "blue", "white", "green", "black", "yellow"};
  stock::Catalogue kit;
  for (int i = 0; i < 12; ++i) {
    stock::PartClass c;
    c.id = c.name = "part_" + std::to_string(i);
    kit.classes.push_back(std::move(c));
  }
  int lacking = 0, full = 0;
  for (int round = 0; round < 50; ++round) {
    std::vector<Left> left;
    for (int part = 0; part < 12; ++part) {
      for (const std::string& colour : colours) {
        if (pick(0, 1) == 0) left.push_back({ClassId{part}, colour, pick(1, 30)});
      }
    }
    std::vector<Zone> zones;
    const int count = pick(2, 8), size = pick(6, 40);
    for (int z = 0; z < count; ++z) {
      Zone zone{"zone", colours[static_cast<std::size_t>(pick(0, 5))], pick(1, 50), {}};
      for (int n = pick(1, 5); n > 0; --n) {
        looks::Need need;
        for (int part = 0; part < 12; ++part) {
          if (pick(0, 5) == 0) need.accepts.push_back(ClassId{part});
        }
        if (need.accepts.empty()) need.accepts.push_back(ClassId{pick(0, 11)});
        need.count = pick(1, size);
        zone.needs.push_back(std::move(need));
      }
      zones.push_back(std::move(zone));
    }
    // A missing piece costs more than all colours together.
    constexpr double kMissing = 1e6;
    Programme p;
    std::vector<int> type_row;
    for (const Left& l : left) type_row.push_back(p.row(-1e30, l.count));
    for (const Zone& z : zones) {
      for (const looks::Need& n : z.needs) {
        const int need_row = p.row(n.count, n.count);
        for (std::size_t t = 0; t < left.size(); ++t) {
          if (std::find(n.accepts.begin(), n.accepts.end(), left[t].part) == n.accepts.end()) continue;
          p.column(left[t].colour == z.colour ? 0 : z.weight, n.count, {type_row[t], need_row});
        }
        p.column(kMissing + z.weight, n.count, {need_row});
      }
    }
    const looks::ColourPlan plan = looks::plan_colours(zones, left, kit);
    EXPECT_NEAR(p.solve(), kMissing * plan.missing + static_cast<double>(plan.cost), 0.5) << "round " << round;
    (plan.missing > 0 ? lacking : full) += 1;
  }
  EXPECT_GT(lacking, 10);
  EXPECT_GT(full, 10);
}

}  // namespace
