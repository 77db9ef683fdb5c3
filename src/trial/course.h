// Ground to try a vehicle on, by the name people give it and one size.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "balance/side_view.h"

namespace trial {

enum class CourseType { flat, slope, side_slope, step, drop, trench, washboard };
inline constexpr CourseType kCourseTypes[] = {CourseType::flat,     CourseType::slope, CourseType::side_slope,
                                              CourseType::step,     CourseType::drop,  CourseType::trench,
                                              CourseType::washboard};
[[nodiscard]] const char* name_of(CourseType type);
[[nodiscard]] std::optional<CourseType> course_type(std::string_view name);

/// What the size of a course is called, its unit for people, and the largest that is tried in that unit; flat: "", "",
/// 0.
struct SizeName {
  const char *name, *unit;
  double most;
};
[[nodiscard]] SizeName size_of(CourseType type);

struct Course {
  CourseType type = CourseType::flat;
  double size = 0;  ///< height of a step, drop or wave, width of a trench, mm; an angle, rad; flat: unused

  /// Ground line for a vehicle of this length and height; the trench is deep enough to swallow it, a wave is as long as
  /// five of its heights and there are six; a slope is two lengths long; one across (side_slope) is flat along the way.
  [[nodiscard]] balance::GroundLine ground(double length_mm, double height_mm) const;
  /// From a size in the unit of size_of().
  [[nodiscard]] static Course sized(CourseType type, double in_unit);
  /// Empty, or what is wrong with the size.
  [[nodiscard]] std::string fault() const;
  /// "step of 24 mm".
  [[nodiscard]] std::string text() const;
};

/// From the rearmost to the foremost point of wheels and underside.
struct Extent {
  double rear_mm = 0, front_mm = 0, top_mm = 0;
  [[nodiscard]] double length_mm() const { return front_mm - rear_mm; }
};
[[nodiscard]] Extent extent_of(const balance::SideView& vehicle);

}  // namespace trial
