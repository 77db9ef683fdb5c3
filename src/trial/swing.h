// A load on a rope under a moving hook point: closed forms.
//
// A rope of length l swings with omega = sqrt(g/l). A hook point that jumps to a speed v leaves the load behind: seen
// from the hook the load has the energy v^2/2 and rises to l (1 - cos theta), so theta = 2 asin(v / (2 sqrt(g l))):
// energy, any textbook of mechanics. Less sudden starts: in the linear pendulum  x'' + omega^2 x = -a(t)  a start
// leaves the swing |integral a e^(-i omega t) dt| / omega; for a speed that rises evenly over T this is the jump's
// times |sin(omega T/2) / (omega T/2)|, for one that comes up with a time constant tau the jump's times 1 / sqrt(1 +
// (omega tau)^2), and for both one after the other the product (response to a ramp: S. Timoshenko, Vibration Problems
// in Engineering, from memory). The nonlinear swing is taken from the linear one by the energy of its jump. No damping.
#pragma once

namespace trial {

/// rad; pi where the load would go over the top. speed >= 0, rope > 0.
[[nodiscard]] double swing_of_jump_rad(double speed_mm_s, double rope_mm);
/// Share of a jump's swing that a start with an even rise and a lag leaves.
[[nodiscard]] double softened(double rope_mm, double ramp_s, double lag_s);

struct SlewSwing {
  double during_rad = 0;  ///< most until the input is taken away: the start's kick and the pull outward
  double after_rad = 0;   ///< amplitude that is left when it stands
};
/// A hook point at a radius that turns by an angle: the input rises evenly over the ramp and falls likewise, the rate
/// follows with the lag. The start and the stop kick along their own tangents, the circle pulls outward between: all in
/// Duhamel's integral of the hook's way (S. Timoshenko, as above), small swings.
[[nodiscard]] SlewSwing slew_swing(double rate_rad_s, double radius_mm, double angle_rad, double rope_mm, double ramp_s,
                                   double lag_s);

/// What can be left at most, whatever the time between both kicks: the largest over way lengths within a period of this
/// one. Half a period sooner or later the stop takes away what it adds now, and no drive keeps its time that closely.
[[nodiscard]] double most_slew_swing_rad(double rate_rad_s, double radius_mm, double angle_rad, double rope_mm,
                                         double ramp_s, double lag_s);

/// Tension and pull sideways of a swing: a load of weight G that swings to theta pulls at phi with
/// G (3 cos phi - 2 cos theta) (energy). Greatest moment about a line that the hook stands `out_mm` beyond and
/// `height_mm` above, more than the load at rest gives; N mm.
[[nodiscard]] double swing_moment_nmm(double weight_n, double swing_rad, double out_mm, double height_mm);

}  // namespace trial
