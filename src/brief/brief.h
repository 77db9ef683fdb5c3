// The brief: a project whose every number has been checked and converted, with its stock and kit system resolved.
//
// Frame of the whole machine: x forward, y to the left, z up, millimetres, origin on the ground under the chassis
// reference point. Angles in radians inside, degrees only in files and reports.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/triple.h"
#include "document/node.h"
#include "lattice/space.h"
#include "lattice/sweep.h"
#include "stock/part.h"
#include "stock/stock.h"

namespace brief {

struct Vec3 {
  double x_mm = 0, y_mm = 0, z_mm = 0;
  [[nodiscard]] constexpr double along(lattice::Axis a) const {
    return a == lattice::Axis::x ? x_mm : a == lattice::Axis::y ? y_mm : z_mm;
  }
};

/// Uncertain physical inputs shared by the whole model. Draw k uses one value of each for every function.
enum class Parameter {
  spur_efficiency,
  bevel_efficiency,
  crown_efficiency,
  ring_efficiency,
  worm_friction,
  bearing_loss,
  tooth_stress_mpa,
  bevel_support,
  crown_support,
  axle_shear_modulus_mpa,
  axle_shear_stress_mpa,
  pin_friction,
  ring_friction,
  rolling_resistance,
  ground_friction,
  screw_friction_factor,  ///< multiplies an actuator's thread friction, around 1
  motor_torque_factor,    ///< multiplies a motor's stall torque, around 1
  motor_speed_factor,     ///< multiplies a motor's no-load speed, around 1
  supply_voltage_factor,  ///< multiplies the hub's open-circuit voltage, around 1
  mass_factor,            ///< multiplies masses that are estimates, around 1
  stiffness_factor,       ///< multiplies the stiffness of beams, axles, pins and their holes, around 1
  play_factor,            ///< multiplies clearances and backlash, around 1
  count_
};
inline constexpr int kParameterCount = static_cast<int>(Parameter::count_);
[[nodiscard]] std::string_view name_of(Parameter p);

/// One value for each parameter.
struct Sample {
  std::array<double, kParameterCount> value{};
  [[nodiscard]] double operator[](Parameter p) const { return value[static_cast<std::size_t>(p)]; }
};

struct Parameters {
  std::array<stock::Figure, kParameterCount> figure;
  [[nodiscard]] Sample nominal() const;
  /// Draw k (k >= 0) with the given seed: base/triple.h, stream = parameter name.
  [[nodiscard]] Sample draw(std::uint64_t seed, std::uint64_t k) const;
  [[nodiscard]] const stock::Figure& at(Parameter p) const { return figure[static_cast<std::size_t>(p)]; }
};

/// How a body moves against its parent.
struct Joint {
  enum class Type { fixed, slew, pitch };  ///< slew: about z; pitch: about y, positive raises the front
  Type type = Type::fixed;
  Vec3 pivot_mm;  ///< machine frame, all joints at zero
  double low_rad = 0, high_rad = 0;
};

/// One rigid body of the machine, in its zero pose (all joints at zero: upper straight ahead, booms horizontal).
struct Body {
  std::string id;
  int parent = -1;  ///< index into Brief::bodies, always smaller than the own index; -1 = the ground body
  Joint joint;
  base::Triple mass_g;
  bool mass_is_estimate = false;  ///< nobody entered it: from envelope and parts
  Vec3 centre_mm;                 ///< centre of mass, machine frame, zero pose
  Vec3 size_mm;                   ///< envelope; zero = not said
};

/// What carries the machine on the ground.
struct Support {
  enum class Type { fixed_base, wheels, tracks, feet };
  /// pairs: neighbouring wheels of a side, counted from the rear, on a beam that rocks about a pin across; an odd one
  /// at the front stays fixed.
  enum class Rocking { none, pairs };
  Type type = Type::fixed_base;
  std::vector<Vec3> points_mm;  ///< contact points (corners of track contact areas), at least three
  // What rolls, seen from one side; 0 = not said, and what the chosen function has counts.
  int wheels_per_side = 0;
  double wheel_diameter_mm = 0;
  Rocking rocking = Rocking::none;
  double pin_height_mm = 0;                         ///< of the rocking beams; 0 = at the wheels' axles
  double rocks_rad = 0.349;                         ///< either way; about 20 deg
  std::vector<std::array<double, 2>> underside_mm;  ///< x, z from rear to front; empty = under the chassis' envelope
};

/// Something on the way: to get over, or a slope to stand and drive on.
struct Obstacle {
  enum class Type { step, drop, trench, ridge, slope };
  std::string id;
  Type type = Type::step;
  double height_mm = 0;               ///< step, drop, ridge
  double width_mm = 0, depth_mm = 0;  ///< trench
  double slope_rad = 0;               ///< slope; either face of a ridge
  double heading_rad = 0;             ///< slope: where uphill lies from the nose, 0 = straight up, pi/2 = to the left
  std::optional<base::Triple> friction;  ///< empty = the parameter ground_friction
};

/// A load that is to be moved on the site. The site's frame: z = 0 on the ground the machine stands on.
struct SiteLoad {
  std::string id;
  double mass_g = 0;
  Vec3 size_mm;             ///< zero = not said
  Vec3 from_mm, to_mm;      ///< middle of its foot
  double sling_mm = 0;      ///< hook above its top
  double least_part_g = 0;  ///< may be split into equal parts no lighter than this; 0 = whole only
};
/// Where the machine may stand to lift.
struct WorkPlace {
  std::string id;
  double x_mm = 0, y_mm = 0;  ///< of the machine's origin, on the site
  double heading_rad = 0;
  bool feet_down = false;
};
/// Where a load may stand on the machine while it drives.
struct StowPlace {
  std::string id;
  Vec3 at_mm;    ///< middle of its floor, machine frame
  Vec3 room_mm;  ///< length, width, height
  double most_g = 0;
};

/// Main dimensions of the machine that is modelled, and the scale the project's own figures are at; 0 = not said.
struct RealMachine {
  double scale = 0;  ///< real / project
  Vec3 size_mm;      ///< length, width, height
  double wheel_diameter_mm = 0, track_width_mm = 0, ring_diameter_mm = 0, actuator_closed_mm = 0;
};

/// The cells of one hub.
struct Pack {
  stock::Chemistry chemistry = stock::Chemistry::alkaline;
  int in_series = 6;
  double voltage_v = 0;  ///< open circuit, fresh
  base::Triple resistance_ohm, capacity_mah;
};

struct Supply {
  std::vector<stock::ClassId> hubs;  ///< one entry per hub used, from the stock
  int ports = 0;                     ///< in all
  int channels = 0;
  double voltage_v = 0;       ///< open circuit
  double resistance_ohm = 0;  ///< of one hub
  double port_current_ma = 0;
  double total_current_ma = 0;                            ///< in all
  double capacity_mah = 0;                                ///< in all
  base::Triple resistance_range_ohm, capacity_range_mah;  ///< the same with their spread
  std::vector<Pack> packs;  ///< one per entry of `hubs`; briefs made by hand may lack them
};

/// A part of the working cycle: functions that run together.
struct DutyPhase {
  std::string id;
  std::vector<int> functions;  ///< indices into Brief::functions, ascending; empty = a pause
  double load = 1;             ///< share of the load each was designed for
  double time_s = 0;
};

/// What the driver holds in the hands.
struct Handset {
  int sticks = 2, sliders = 2, buttons = 4;
  bool left_handed = false;
  bool programs = true;  ///< can follow a rule
  bool said = false;     ///< false: nobody told, the above is assumed
};

struct Limits {
  std::optional<double> mass_g;  ///< whole machine
  std::optional<double> run_time_min;
  std::optional<double> tipping_angle_deg;  ///< least, in every direction
  std::optional<Vec3> envelope_mm;          ///< length, width, height it must stay within
  double lifting_slope_rad = 0;             ///< it must lift on such a slope
  std::optional<double>
      lifting_downhill_rad;  ///< which way that falls from the nose, to the left positive; empty = any
};

struct Reserve {
  std::vector<stock::ClassId> accepts;
  std::string colour;  ///< empty = any
  int count = 0;
  std::string reason;
  int body = -1;  ///< whose mass it adds to; -1 = chassis
};

/// A thing at a place of its own that no function chooses.
struct Placed {
  std::string id;
  int body = 0;                             ///< whose lattice `box` is on (lattice_body)
  lattice::Box3 box;                        ///< half-pitches
  std::vector<lattice::Way> draws_out;      ///< one of them must be free; empty = it stays in
  std::vector<lattice::Way> pressed;        ///< from one of them a finger or a pusher must reach it; empty = no switch
  std::optional<lattice::Box3> kept_clear;  ///< way out that functions keep off
};

/// A door, cover or flap on a hinge.
struct Openable {
  std::string id;
  int body = 0;       ///< whose lattice the rest is on (lattice_body)
  lattice::Box3 box;  ///< closed, half-pitches
  lattice::Axis axis = lattice::Axis::x;
  lattice::Point3 hinge;
  double opens_rad = 0;  ///< right-hand rule about the axis
  bool keep_clear = true;
  std::vector<lattice::Box3> swept;  ///< what it passes over, from closed to open
};

/// Room that functions must keep out of, and whose it is.
struct TakenRoom {
  int body = 0;  ///< whose lattice the box is on (lattice_body)
  lattice::Box3 box;
  std::string_view id;  ///< of the placed thing or openable; lives as long as the brief
};

struct Function {
  std::string id;  ///< the user's name, unique
  std::string kind;
  bool required = true;
  double weight = 1;  ///< of a wished function
  int sides = 1;      ///< 2 = a mirrored pair, uses everything twice
  int body = -1;      ///< body that carries its parts (index); -1 = chassis
  std::optional<lattice::Box3>
      room;          ///< where its drive may stand, half-pitches on the body's lattice; empty = envelope
  std::string lock;  ///< candidate key to keep; empty = free
  std::vector<stock::ClassId> must_use, must_not_use;
  double duty = 1.0;     ///< share of the run time it works, 0..1
  int best_only = 0;     ///< of each motor so many trains are enough, those with the best margins; 0 = every one
  document::Node wants;  ///< kind-specific table, read by the kind
  document::Location where;
};

struct Brief {
  std::string name;
  std::string description;
  std::string folder;
  std::shared_ptr<const stock::Catalogue> catalogue;
  std::shared_ptr<const stock::Stock> stock;
  std::vector<Body> bodies;  ///< bodies[0] is the chassis
  Support support;
  Supply supply;
  Limits limits;
  Parameters parameters;
  std::vector<Reserve> reserves;
  std::vector<Placed> placed;
  std::vector<Openable> openables;
  std::vector<Obstacle> obstacles;
  std::vector<SiteLoad> site_loads;
  std::vector<WorkPlace> work_places;
  std::vector<StowPlace> stow_places;
  std::optional<RealMachine> real;
  std::vector<Function> functions;
  std::vector<DutyPhase> duty;  ///< never empty when there are functions
  bool duty_is_default = true;  ///< nobody told: every function alone, by its duty
  Handset handset;
  std::uint64_t seed = 1;
  int draws = 1000;

  [[nodiscard]] const stock::KitSystem& system() const { return catalogue->system; }
  [[nodiscard]] double total_mass_g() const;  ///< sum of nominal body masses
  /// Placed things, what doors pass over and ways kept clear, on all lattices.
  [[nodiscard]] std::vector<TakenRoom> taken_room() const;
};

}  // namespace brief
