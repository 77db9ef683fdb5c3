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
  int seed = 1;
  int draws = 1000;
};

/// Overrides the figures of the hub's cells.
struct Cells {
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
};

enum class SupportType { tracks, wheels, feet, fixed_base };

struct Support {
  SupportType type = SupportType::fixed_base;
  std::optional<double> length_mm;  ///< between the outermost contacts, along x
  std::optional<double> width_mm;   ///< between the outermost contacts, along y
  Point2 center_mm{};
  std::vector<Point3> points_mm;
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
  std::vector<Placed> placed;
  std::vector<Openable> openables;
  std::vector<Function> functions;

  /// The stock file: header.stock, taken from `folder` unless it is absolute.
  [[nodiscard]] std::string stock_file() const;
};

/// Reads a project file, or project.toml in a folder. Empty only when there was no readable TOML at all; otherwise the
/// project holds what could be read, so that the brief can report its problems in the same run. Codes: file.*, toml.*,
/// project.*, body.*, joint.*, reserve.*, placed.*,
/// openable.*, function.*, support.*, supply.*, cells.*, limits.*, parameters.*.
[[nodiscard]] std::optional<Project> read_project(const std::string& file_or_folder,
                                                  document::Diagnostics& diagnostics);

/// The same from text; `file` is only used in locations and for the folder.
[[nodiscard]] std::optional<Project> parse_project(std::string_view text, const std::string& file,
                                                   document::Diagnostics& diagnostics);

/// Every key of a project file, for documentation and schema; the wants are left open.
[[nodiscard]] std::vector<document::FieldDoc> project_fields();

/// A kind of function with the keys of its wants.
struct KindFields {
  std::string name;
  std::string summary;
  std::vector<document::FieldDoc> wants;
};

/// Text of schema/project.schema.json: project_fields(), with the wants of each kind tied to `kind`.
[[nodiscard]] std::string project_schema(const std::vector<KindFields>& kinds);

}  // namespace project
