// A project file as it stands: plain data with places, no references resolved, units still the user's.
//
// Reading reports every problem of the file at once; a member keeps its default where its value could not be read.
// What needs the kit system or another part of the project (references, body tree, joints) is checked in brief/.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/triple.h"
#include "document/diagnostic.h"
#include "document/fields.h"
#include "document/node.h"
#include "lattice/space.h"
#include "project/parameter_names.h"

namespace project {

using Point2 = std::array<double, 2>;
using Point3 = std::array<double, 3>;
using document::LocatedText;
using document::Location;

inline constexpr const char* kDefaultStock = "stock.csv";

struct Header {
  std::string name;
  std::string description;
  LocatedText system;                        ///< id of a kit system
  LocatedText stock{kDefaultStock, {}, {}};  ///< file, beside the project file
  std::string stock_columns;                 ///< as of --columns; empty = found by their heads
  LocatedText revision;                      ///< of what is published: "B", "3"; empty = none told
  int seed = 1;
  int draws = 1000;
};

enum class Chemistry { hub, alkaline, nimh, li_ion };  ///< hub: as the catalogue says of the hub

/// Overrides the figures of the hub's cells.
struct Cells {
  Chemistry chemistry = Chemistry::hub;
  int count = 0;                    ///< in series; 0 = as the hub
  std::optional<double> voltage_v;  ///< open circuit, one hub
  std::optional<base::Triple> capacity_mah;
  std::optional<base::Triple> resistance_ohm;
};

/// Hubs by name, or how many of the ones in the stock; neither = one.
struct Hubs {
  std::vector<LocatedText> named;
  std::optional<int> count;
  Location where;
  std::string path;
};

struct Supply {
  Hubs hubs;
  Cells cells;
};

struct Limits {
  std::optional<double> mass_g;
  std::optional<double> run_time_min;
  std::optional<double> tipping_angle_deg;
  std::optional<Point3> envelope_mm;  ///< length, width, height
  std::optional<double> lifting_slope_deg;
  std::optional<double> lifting_downhill_deg;
  Location where;
  std::string path;
};

enum class SupportType { tracks, wheels, feet, fixed_base };
enum class Rocking { none, pairs };

struct Support {
  SupportType type = SupportType::fixed_base;
  std::optional<double> length_mm;  ///< between the outermost contacts, along x
  std::optional<double> width_mm;   ///< between the outermost contacts, along y
  Point2 center_mm{};
  std::vector<Point3> points_mm;
  int wheels_per_side = 0;  ///< 0 = not said
  std::optional<double> wheel_diameter_mm;
  Rocking rocking = Rocking::none;
  std::optional<double> pin_height_mm;
  double rocks_deg = 20;
  std::vector<Point3> underside_mm;  ///< [x, z, 0] each
  Location where;
  std::string path;
};

struct Parameters {
  std::array<std::optional<base::Triple>, kParameterNames> value;  ///< by parameter_names()
};

enum class JointType { fixed, slew, pitch };

struct Joint {
  JointType type = JointType::fixed;
  std::optional<Point3> pivot_mm;
  std::optional<std::array<double, 2>> range_deg;
  Location where;
  std::string path;
};

struct Body {
  LocatedText id;
  LocatedText parent;
  std::optional<base::Triple> mass_g;
  std::optional<Point3> centre_mm;
  std::optional<Point3> size_mm;
  Joint joint;
  Location where;
  std::string path;
};

struct Reserve {
  std::vector<LocatedText> part;  ///< any of these serves
  int count = 1;
  std::string colour;
  std::string reason;
  LocatedText body;
  Location where;
  std::string path;
};

/// So many pieces of which any of the named classes serves.
struct ZonePart {
  std::vector<LocatedText> part;
  int count = 1;
  Location where;
  std::string path;
};

/// Something seen from outside that is wanted in one colour.
struct Zone {
  LocatedText id;
  LocatedText colour;
  int weight = 1;  ///< how much one piece is seen
  std::vector<ZonePart> parts;
  Location where;
  std::string path;
};

/// A sticker for the finished model, printed at its true size in the dossier.
struct Decal {
  LocatedText id;
  std::string text;  ///< lettering; empty = stripes or a plain field
  double width_mm = 40, height_mm = 8;
  LocatedText colour{"black", {}, {}};  ///< of lettering and stripes
  LocatedText ground{"white", {}, {}};
  int stripes = 0;  ///< slanting, one beside the other; 0 = none
  int count = 1;
  std::string where_on;  ///< on the model, for people
  Location where;
  std::string path;
};

/// A box in hole pitches on the lattice of a body.
struct Room {
  std::array<double, 2> x{}, y{}, z{};
  Location where;  ///< line 0: not said
  std::string path;
};

/// A thing at a place of its own that no function chooses: cells, hub, switch, seat.
struct Placed {
  LocatedText id;
  LocatedText body;
  Room box_p;
  std::vector<LocatedText> draws_out;  ///< ways of which one must be free
  std::vector<LocatedText> pressed;    ///< ways it may be pressed from; one must be within reach
  bool keep_clear = false;
  Location where;
  std::string path;
};

/// A door, cover or flap that turns about a hinge; told closed.
struct Openable {
  LocatedText id;
  LocatedText body;
  Room box_p;
  lattice::Axis axis = lattice::Axis::x;
  std::optional<Point3> hinge_p;
  double opens_deg = 90;
  bool keep_clear = true;
  Location where;
  std::string path;
};

enum class ObstacleType { step, drop, trench, ridge, slope };

/// Something on the way that the machine must get over, or a slope it must drive on.
struct Obstacle {
  LocatedText id;
  ObstacleType type = ObstacleType::step;
  std::optional<double> height_mm, width_mm, depth_mm, slope_deg;
  double heading_deg = 0;
  std::optional<base::Triple> friction;
  Location where;
  std::string path;
};

/// A part of the working cycle: functions that run together, how long, under which share of their loads.
struct DutyPhase {
  LocatedText id;
  std::vector<LocatedText> runs;  ///< functions; none = a pause
  double load = 1;                ///< share of the load each function was designed for
  double time_s = 10;
  Location where;
  std::string path;
};

/// A load that is to be moved.
struct SiteLoad {
  LocatedText id;
  double mass_g = 0;
  std::optional<Point3> size_mm;
  Point3 from_mm{}, to_mm{};
  double sling_mm = 0;
  std::optional<double> least_part_g;
  Location where;
  std::string path;
};

/// Where the machine may stand to lift.
struct WorkPlace {
  LocatedText id;
  Point2 at_mm{};
  double heading_deg = 0;
  bool feet_down = false;
  Location where;
  std::string path;
};

/// Where a load may stand on the machine while it drives.
struct StowPlace {
  LocatedText id;
  Point3 at_mm{}, room_mm{};
  double most_g = 0;
  Location where;
  std::string path;
};

/// Main dimensions of the machine that is modelled.
struct RealMachine {
  double scale = 0;
  std::optional<double> length_mm, width_mm, height_mm, wheel_diameter_mm, track_width_mm, ring_diameter_mm,
      actuator_closed_mm;
  Location where;
  std::string path;
};

/// What the driver holds in the hands.
struct Handset {
  int sticks = 2;  ///< each with two axes
  int sliders = 2;
  int buttons = 4;
  bool left_handed = false;  ///< driving on the right hand's stick
  bool programs = true;      ///< can follow a rule (the ornamental engine)
};

enum class Priority { required, wished };

struct Function {
  LocatedText id;
  LocatedText kind;
  Priority priority = Priority::required;
  double weight = 1;
  int sides = 1;
  LocatedText body;
  Room room_p;
  std::string lock;
  std::vector<LocatedText> must_use, must_not_use;
  double duty = 1;
  document::Node wants;  ///< for the kind to read; when absent an empty table at the function's place
  Location where;
  std::string path;
};

struct Project {
  std::string file;    ///< as named by the user, or folder + "/project.toml"
  std::string folder;  ///< holds the file; "." when the name has none
  Header header;
  Supply supply;
  Limits limits;
  std::optional<Support> support;
  Parameters parameters;
  std::vector<Body> bodies;
  std::vector<Reserve> reserves;
  std::vector<Zone> zones;
  std::vector<Decal> decals;
  std::vector<Placed> placed;
  std::vector<Openable> openables;
  std::vector<Obstacle> obstacles;
  std::vector<SiteLoad> loads;
  std::vector<WorkPlace> work_places;
  std::vector<StowPlace> stow_places;
  std::optional<RealMachine> real;
  std::vector<Function> functions;
  std::vector<DutyPhase> duty;
  std::optional<Handset> handset;

  /// The stock file: header.stock, taken from `folder` unless it is absolute.
  [[nodiscard]] std::string stock_file() const;
};

/// A kind of function with the keys of its wants.
struct KindFields {
  std::string name;
  std::string summary;
  std::vector<document::FieldDoc> wants;
};

/// Reads a project as if it were built `factor` times as large (document/rescale.h).
struct Rescaling {
  double factor = 1;
  std::vector<KindFields> kinds;  ///< whose wants are scaled with the rest
};

/// The project file that a name means: itself, or project.toml in a folder.
[[nodiscard]] std::string file_of(const std::string& file_or_folder);

/// Reads a project file, or project.toml in a folder. Empty only when there was no readable TOML at all; otherwise the
/// project holds what could be read, so that the brief can report its problems in the same run. Codes: file.*, toml.*,
/// project.*, body.*, joint.*, reserve.*, zone.*, decal.*, placed.*,
/// openable.*, obstacle.*, load.*, work_place.*, stow_place.*, real.*, function.*, support.*, supply.*, cells.*,
/// limits.*, parameters.*.
[[nodiscard]] std::optional<Project> read_project(const std::string& file_or_folder, document::Diagnostics& diagnostics,
                                                  const Rescaling& rescaling = {});

/// The same from text; `file` is only used in locations and for the folder.
[[nodiscard]] std::optional<Project> parse_project(std::string_view text, const std::string& file,
                                                   document::Diagnostics& diagnostics, const Rescaling& rescaling = {});

/// Every key of a project file, for documentation and schema; the wants are left open.
[[nodiscard]] std::vector<document::FieldDoc> project_fields();

/// Text of schema/project.schema.json: project_fields(), with the wants of each kind tied to `kind`.
[[nodiscard]] std::string project_schema(const std::vector<KindFields>& kinds);

}  // namespace project
