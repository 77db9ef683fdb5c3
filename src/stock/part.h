// What parts exist in a kit system and what the theory needs to know about each: plain data read from catalogue/.
//
// Lengths in hole pitches carry _p, in millimetres _mm. Every figure that is not a pure count carries low, nominal and
// high and where it comes from, so that nobody mistakes a guess for a measurement.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "base/triple.h"
#include "stock/words.h"

namespace stock {

/// Where a figure comes from.
enum class Source { derived, common_practice, published, measured, invented };

struct Figure {
  base::Triple value;
  Source source = Source::invented;
  std::string note;  ///< formula, document or reason; may be empty
};

/// Index into Catalogue::classes.
enum class ClassId : int {};
[[nodiscard]] constexpr int index(ClassId id) {
  return static_cast<int>(id);
}

enum class Family {
  gear,
  ring,
  rack,
  differential,
  axle,
  joiner,
  bush,
  beam,
  frame,
  plate,
  connector,
  pin,
  bracket,
  motor,
  hub,
  cell,
  cable,
  actuator,
  wheel,
  sprocket,
  track_link,
  drum,
  rope,
  hook,
  panel,
  trim,
};
[[nodiscard]] std::string_view name_of(Family family);
[[nodiscard]] std::string_view name_of(Source source);
/// Every family, in the order of the enumeration.
[[nodiscard]] const std::vector<Family>& all_families();

/// spur: parallel shafts. bevel: only with another bevel. crown: teeth on the face, meshes a spur at a right angle.
/// worm: drives a spur at a right angle.
enum class GearForm { spur, bevel, crown, worm };

struct Gear {
  GearForm form = GearForm::spur;
  int teeth = 0;  ///< worm: number of starts
  double face_width_mm = 0;
  double pitch_diameter_mm = 0;  ///< worm only; other forms: module times teeth
  bool bevelled_too = false;     ///< a spur gear that also meshes its like at a right angle
};

/// A turntable: a large ring on its own bearing.
struct Ring {
  int outer_teeth = 0;  ///< 0 = none
  int inner_teeth = 0;  ///< 0 = none
  double face_width_mm = 0;
  double bearing_radius_mm = 0;  ///< where the halves slide on each other
};

struct Rack {
  int teeth = 0;
  double length_mm = 0;
  double face_width_mm = 0;
};

/// A differential case: driven by its outside teeth, holds `inner_bevels` bevels of `inner_teeth` teeth (not included).
struct Differential {
  int outer_teeth = 0;
  double face_width_mm = 0;
  bool bevelled_too = false;
  int inner_teeth = 0;
  int inner_bevels = 3;
};

struct Axle {
  int length_p = 0;
  bool with_stop = false;  ///< has a head at one end
};

struct Bush {
  double length_p = 0;  ///< along the axle; 0 = not told
};

/// Anything with a row or field of holes: beams, frames, plates, panels, brackets.
struct Beam {
  int length_p = 0;
  int width_p = 1;
  double thickness_p = 1;
};

/// Which way a pin goes into the hole of a motor's or hub's body: along its length (a motor's shaft), across, or up its
/// height.
enum class HoleAxis { along, across, up };
[[nodiscard]] std::string_view name_of(HoleAxis axis);

/// A hole in the wall of a motor's or hub's body by which it can be part of a frame. A list that is left out is not
/// known, an empty one says that there are none.
struct FixingHole {
  std::array<double, 3> at_p{};  ///< where its pin beds, from the middle of the body: along, across, up
  HoleAxis axis = HoleAxis::across;
};

struct Motor {
  double nominal_voltage_v = 0;
  Figure stall_torque_nmm;  ///< at nominal voltage
  Figure no_load_speed_rpm;
  Figure no_load_current_ma;
  Figure stall_current_ma;
  int length_p = 0, width_p = 0, height_p = 0;
  double lead_mm = 0;  ///< its own lead; 0 = not told
  std::optional<std::vector<FixingHole>> fixing_holes = {};
};

/// A lead that makes a motor's own longer.
struct Cable {
  double length_mm = 0;
};

/// What cells are made of: sets how charge and voltage fall with drain (motor/cells.h).
enum class Chemistry { alkaline, nimh, li_ion };

/// A receiver with its cells: what the motors are plugged into.
struct Hub {
  int ports = 0;
  int channels = 0;
  double voltage_v = 0;  ///< open circuit, fresh
  double port_current_ma = 0;
  double total_current_ma = 0;
  Figure internal_resistance_ohm;
  Figure capacity_mah;
  Chemistry chemistry = Chemistry::alkaline;
  int cells = 0;  ///< in series; 0 = not told: as many as give the voltage
  int length_p = 0, width_p = 0, height_p = 0;
  std::optional<std::vector<FixingHole>> fixing_holes = {};
};

/// A screw actuator: a nut on a screw, driven through its input shaft.
struct Actuator {
  double closed_mm = 0;  ///< pin to pin, shortest
  double open_mm = 0;    ///< pin to pin, longest
  double lead_mm = 0;    ///< travel per turn of the input
  double thread_mean_diameter_mm = 0;
  Figure thread_friction;
  Figure max_force_n;  ///< what the body and its clutch hold
};

struct Wheel {
  double diameter_mm = 0;
  double width_mm = 0;
};
struct Sprocket {
  int teeth = 0;
  double pitch_radius_mm = 0;
};
struct TrackLink {
  double pitch_mm = 0;
  double width_mm = 0;
};
struct Drum {
  double core_diameter_mm = 0;
  double flange_diameter_mm = 0;
  double width_mm = 0;
};
struct Rope {
  double length_mm = 0;
  double diameter_mm = 0;
  double strength_n = 0;
};

using PartData = std::variant<std::monostate, Gear, Ring, Axle, Beam, Motor, Hub, Actuator, Wheel, Sprocket, TrackLink,
                              Drum, Rope, Rack, Differential, Bush, Cable>;

/// One class of interchangeable parts (colour apart).
struct PartClass {
  std::string id;  ///< "gear_24", unique in its kit system
  Family family = Family::trim;
  std::string name;               ///< plain words, "gear, 24 teeth"
  std::vector<std::string> also;  ///< other plain descriptions that mean the same
  Figure mass_g;
  PartData data;
  Source source = Source::invented;  ///< of the dimensions in `data`
  std::string note;                  ///< why, or from what
};

/// How a train type or a bearing behaves in this kit system.
struct CraftFigures {
  Figure spur_efficiency, bevel_efficiency, crown_efficiency, ring_efficiency;  ///< per mesh, 0..1
  Figure worm_friction;                                                         ///< coefficient in the worm mesh
  Figure bearing_loss;      ///< share of the torque lost per shaft, 0..1
  Figure tooth_stress_mpa;  ///< allowable in the Lewis formula, static
  Figure bevel_support;     ///< share of the tooth load a bevel keeps when its shafts are not held on both sides
  Figure crown_support;     ///< the same for a crown pair
  Figure axle_shear_modulus_mpa;
  Figure axle_shear_stress_mpa;  ///< allowable
  Figure pin_friction;           ///< coefficient in pins and journals
  Figure ring_friction;          ///< coefficient in a turntable's bearing
  Figure rolling_resistance;     ///< of wheels and tracks on a hard floor
  Figure ground_friction;        ///< of tyres and tracks on the floor
  Figure fill_density_g_cm3;     ///< parts per volume of a finished machine's envelope, motors and hubs apart
};

struct AxleSection {
  bool cross = true;    ///< cross with straight arms; false = round
  double width_mm = 0;  ///< over the arms, or diameter
  double arm_mm = 0;    ///< arm thickness; round: unused
};

struct KitSystem {
  std::string id;  ///< "metric8"
  std::string name;
  double pitch_mm = 0;
  double module_mm = 0;
  double pressure_angle_deg = 20;
  double addendum = 1.0;  ///< in modules
  double dedendum = 1.25;
  double max_misfit_mm = 0;  ///< centre distances further off than this are not proposed
  AxleSection axle;
  CraftFigures craft;
  Source source = Source::invented;  ///< of pitch, module, tooth form and axle
  std::string note;
};

struct Catalogue {
  KitSystem system;
  std::vector<PartClass> classes;  ///< ordered as in the files; ids unique
  Words words;                     ///< of stock lists, for matching rows to classes

  [[nodiscard]] std::optional<ClassId> find(std::string_view id) const;
  [[nodiscard]] const PartClass& at(ClassId id) const { return classes.at(static_cast<std::size_t>(index(id))); }
  /// All classes of a family, in catalogue order.
  [[nodiscard]] std::vector<ClassId> of(Family family) const;
};

}  // namespace stock
