// A vehicle under a driver's hand: the model of drive(), stepped as time goes by.
#pragma once

#include <memory>
#include <string>

#include "trial/drive.h"

namespace trial {

/// Level ground before and behind a course that is driven live; beyond it the drive only takes it back.
inline constexpr double kLiveBeyond_mm = 3000;

class LiveDrive {
 public:
  /// `options.beyond_mm` 0 = kLiveBeyond_mm and room for the vehicle.
  LiveDrive(const DriveRig& rig, const balance::GroundLine& ground, DriveOptions options);
  ~LiveDrive();
  LiveDrive(const LiveDrive&) = delete;
  LiveDrive& operator=(const LiveDrive&) = delete;

  /// Empty, or why it is not run or not run on.
  [[nodiscard]] const std::string& why_not() const { return why_not_; }
  /// On to this time with the drive at a share of its speed, -1 (back) to 1; 0 brakes. False: it ended.
  bool advance(double until_s, double throttle);
  [[nodiscard]] double time_s() const;
  [[nodiscard]] DriveSample now() const;
  [[nodiscard]] bool tipped() const { return tipped_; }

 private:
  struct Inside;  // keeps the engine out of this header
  std::unique_ptr<Inside> inside_;
  std::string why_not_;
  bool tipped_ = false;
};

}  // namespace trial
