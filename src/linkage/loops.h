// The loop equations of a mechanism, made ready for fast and repeated evaluation.
//
// A spanning tree of joints (all sliders, then inputs, then the other pins) reaches every body from the frame. Each
// body on a pin has an absolute angle, each slider a travel; gears and inputs are linear in these, and are eliminated
// at once. What is left are the free coordinates y and two equations per pin outside the tree (it closes a loop):
//   sum of R(angle) v + sum of s R(angle) u = 0
// with constant vectors v and unit vectors u. A four-bar has 2 unknowns, a six-bar 4. The Jacobian is analytic.
// Vector loop method: Norton, Design of Machinery, ch. 4.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "linkage/mechanism.h"

namespace linkage {

/// One vector of a chain: constant (travel < 0), or along a slider with the travel as its length.
struct Term {
  int angle = -1;   ///< angle coordinate it turns with; -1 = fixed in the frame
  int travel = -1;  ///< travel coordinate
  double x = 0, z = 0;
};

/// value = constant + sum of weight x free coordinate + sum of weight x input
struct Affine {
  struct Part {
    int index = 0;
    double weight = 0;
  };
  double constant = 0;
  std::vector<Part> free, input;
};

/// Values of all coordinates with the sines and cosines of the angles; buffers to be used again.
struct Coordinates {
  std::vector<double> value, cosine, sine;
};

struct BodyPose {
  Vec2 at;  ///< origin of the body's frame
  double angle_rad = 0;
  double cosine = 1, sine = 0;
  /// A vector of the body, in frame directions.
  [[nodiscard]] Vec2 direction(Vec2 v) const {
    return {cosine * v.x_mm - sine * v.z_mm, sine * v.x_mm + cosine * v.z_mm};
  }
  [[nodiscard]] Vec2 world(Vec2 point) const {
    return {at.x_mm + cosine * point.x_mm - sine * point.z_mm, at.z_mm + sine * point.x_mm + cosine * point.z_mm};
  }
};

class Loops {
 public:
  /// KW_CHECK: problems(mechanism) is empty.
  explicit Loops(Mechanism mechanism);

  [[nodiscard]] const Mechanism& mechanism() const { return mechanism_; }
  [[nodiscard]] int unknowns() const { return unknowns_; }  ///< also the number of equations
  [[nodiscard]] int inputs() const { return static_cast<int>(mechanism_.inputs.size()); }
  [[nodiscard]] int bodies() const { return static_cast<int>(mechanism_.bodies.size()); }
  [[nodiscard]] int coordinates() const { return static_cast<int>(coordinates_.size()); }
  [[nodiscard]] double size_mm() const { return size_mm_; }  ///< sum of all lengths, at least 1: the scale of errors
  /// Free coordinate i is a travel (mm) and not an angle (rad).
  [[nodiscard]] bool is_travel(int unknown) const { return is_travel_[static_cast<std::size_t>(unknown)] != 0; }
  /// Every coordinate in terms of free coordinates and inputs; and which are travels.
  [[nodiscard]] const std::vector<Affine>& affine() const { return coordinates_; }
  [[nodiscard]] bool coordinate_is_travel(int c) const { return travel_[static_cast<std::size_t>(c)] != 0; }
  /// The angle coordinate a body turns with, -1 when it does not turn.
  [[nodiscard]] int angle_of(int body) const { return holds_[static_cast<std::size_t>(body)].angle; }
  [[nodiscard]] const std::vector<std::vector<Term>>& closures() const { return closures_; }

  /// All coordinates from the free ones and the inputs.
  void expand(std::span<const double> free, std::span<const double> input, Coordinates& out) const;
  /// Rates of all coordinates from those of the free ones while only one input moves, at 1 per second.
  void expand_rates(std::span<const double> free_rates, int input, std::vector<double>& rates) const;
  /// Residuals in mm and, unless empty, their derivatives: `by_free` unknowns x unknowns, `by_input` unknowns x inputs,
  /// both by rows.
  void evaluate(const Coordinates& at, std::span<double> residual_mm, std::span<double> by_free,
                std::span<double> by_input) const;
  /// Where every body stands; `poses` has one per body.
  void place(const Coordinates& at, std::span<BodyPose> poses) const;
  /// Rates of every body (turn rad/s, velocity of its frame's origin mm/s) for rates of the coordinates.
  struct BodyRate {
    Vec2 velocity;
    double turn = 0;
    /// Of a point given by its offset from the body's origin in frame directions.
    [[nodiscard]] Vec2 of(Vec2 offset) const {
      return {velocity.x_mm - turn * offset.z_mm, velocity.z_mm + turn * offset.x_mm};
    }
  };
  void move(const Coordinates& at, std::span<const BodyPose> poses, std::span<const double> rates,
            std::span<BodyRate> bodies) const;

  /// Value of a joint (pin: rad, slider: mm) from the coordinates, and its rate from theirs.
  [[nodiscard]] double joint_value(int joint, const Coordinates& at) const;
  [[nodiscard]] double joint_rate(int joint, std::span<const double> rates) const;
  /// Coordinate values read off where the bodies stand (their points need not meet), the reverse of place().
  [[nodiscard]] std::vector<double> measure(std::span<const BodyPose> poses) const;
  /// The coordinate that is free coordinate i itself.
  [[nodiscard]] int coordinate_of(int unknown) const { return free_[static_cast<std::size_t>(unknown)]; }
  /// The chain of vectors from the frame's origin to a point of a body.
  [[nodiscard]] std::vector<Term> chain(int body, Vec2 at) const;

 private:
  friend std::vector<std::string> problems(const Mechanism&);
  struct Prepared {};  ///< compiles without KW_CHECK, leaves what is wrong in faults_
  Loops(Mechanism mechanism, Prepared);
  void grow_tree();
  void eliminate();
  void close_loops();

  /// How a body hangs on the tree.
  struct Hold {
    int joint = -1, parent = 0;
    int angle = -1;         ///< coordinate of its angle; -1 = does not turn
    double offset_rad = 0;  ///< its angle = coordinate + offset
    double offset_cosine = 1, offset_sine = 0;
    Vec2 axis;        ///< of its slider, in the frame of the slider's a
    int travel = -1;  ///< coordinate of its slider
  };

  Mechanism mechanism_;
  std::vector<std::string> faults_;
  std::vector<Hold> holds_;
  std::vector<int> order_;  ///< bodies, parents first
  std::vector<char> in_tree_, travel_, is_travel_;
  std::vector<int> free_;
  std::vector<Affine> coordinates_;
  std::vector<std::vector<Term>> closures_;
  int unknowns_ = 0;
  double size_mm_ = 1;
};

}  // namespace linkage
