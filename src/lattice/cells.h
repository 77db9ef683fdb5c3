// Sets of unit cells of the lattice, for solids that fill many of them and overlap. A cell is a half-pitch cube, told
// by its low corner.
#pragma once

#include <cstddef>
#include <cstdint>
#include <iterator>
#include <vector>

#include "lattice/space.h"

namespace lattice {

/// A set of cells, kept as runs along z: solids fill a column in a few long ones, so a set takes a fraction of the room
/// of a list. Goes through its cells in ascending order.
class Cells {
 public:
  /// `length` cells one above the other, > 0.
  struct Run {
    Point3 low;
    int length = 1;
    friend auto operator<=>(const Run&, const Run&) = default;
  };
  class Iterator {
   public:
    using iterator_category = std::forward_iterator_tag;
    using value_type = Point3;
    using difference_type = std::ptrdiff_t;
    using pointer = const Point3*;
    using reference = Point3;
    Iterator() = default;
    [[nodiscard]] Point3 operator*() const { return {run_->low.x_hp, run_->low.y_hp, run_->low.z_hp + up_}; }
    Iterator& operator++() {
      if (++up_ == run_->length) {
        ++run_;
        up_ = 0;
      }
      return *this;
    }
    Iterator operator++(int) {
      const Iterator was = *this;
      ++*this;
      return was;
    }
    friend bool operator==(const Iterator&, const Iterator&) = default;

   private:
    friend class Cells;
    explicit Iterator(const Run* run) : run_(run) {}
    const Run* run_ = nullptr;
    int up_ = 0;
  };

  Cells() = default;
  /// In any order; they may touch, overlap and repeat.
  explicit Cells(std::vector<Run> runs);
  explicit Cells(const std::vector<Point3>& cells);

  [[nodiscard]] bool empty() const { return runs_.empty(); }
  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] Iterator begin() const { return Iterator(runs_.data()); }
  [[nodiscard]] Iterator end() const { return Iterator(runs_.data() + runs_.size()); }
  /// Longest ones, ascending.
  [[nodiscard]] const std::vector<Run>& runs() const { return runs_; }
  [[nodiscard]] bool has(Point3) const;
  /// Whether every cell is one of the other set's.
  [[nodiscard]] bool among(const Cells&) const;
  [[nodiscard]] std::vector<Point3> list() const { return {begin(), end()}; }
  friend bool operator==(const Cells& a, const Cells& b) { return a.runs_ == b.runs_; }

 private:
  std::vector<Run> runs_;
  std::size_t size_ = 0;
};

/// Cells within a box, one bit each, along z in whole words.
class CellSet {
 public:
  /// Cells inside `bounds`; one that is empty or upside down holds none.
  explicit CellSet(const Box3& bounds);
  /// Ticks the cells of a box, all within the bounds; one that is empty or upside down has none.
  void add(const Box3& box);
  [[nodiscard]] Cells cells() const;

 private:
  Point3 low_;
  int nx_ = 0, ny_ = 0, nz_ = 0;
  std::size_t words_ = 0;  ///< of a column
  std::vector<std::uint64_t> bits_;
};

}  // namespace lattice
