// A walk through time: bursts and ring-downs of one circuit, exact between switchings.
#pragma once

#include <vector>

#include "current_system.hpp"

namespace burstloom::current {

/// What a stretch of time has seen, per volt of drive (peaks, charges) or volt squared (energies, squares).
struct Sums {
  double peak_a = 0;    ///< largest |i1|
  double tank_v = 0;    ///< largest |vc1|
  double energy_j = 0;  ///< from the bus: integral of drive volts times the current that it feeds
  double i2t_a2s = 0;   ///< of the current through the switches: i1, or the choke's in a current-fed stage
  double charge_c = 0;  ///< integral of the size of that current
  double commutations = 0;  ///< edges of the bridge inside the burst
  double commutated_a = 0;  ///< sum of the current's size at those edges
};

/// The state is kept in the drive's own frame: every edge of the bridge turns the signs of the tanks instead
/// of the drive's, so one matrix serves both half cycles.
///
///   driven --end_burst--> ringing (diodes conduct, or the tank is shorted)
///   ringing --current reaches zero, tank volts within the drive's--> held --volts pass the drive's-->
///   ringing ringing or held --begin_burst--> driven
class Walk {
 public:
  explicit Walk(const System& system) : system_(&system) { at_rest(); }

  /// From rest: what blocking diodes can leave in the tank at most, the drive's volts.
  void charge_tank();
  /// A driver that follows the current adds to what is left: the drive starts in the direction of the
  /// current, or of what the charge left in the tank will push.
  void begin_burst();
  void end_burst();
  /// One step of at most `longest_s`; it ends early at an edge of the bridge or a zero of the current.
  void step(double longest_s);
  /// Drives or rings on for `seconds`, calling `seen(*this)` after each step.
  template <class Seen>
  void go_on(double seconds, Seen&& seen) {
    const double end = time_s_ + seconds;
    while (end - time_s_ > system_->step_s * 1e-9) {
      step(end - time_s_);
      seen(*this);
    }
  }

  [[nodiscard]] double time_s() const { return time_s_; }
  [[nodiscard]] const Sums& sums() const { return sums_; }
  void clear_sums() { sums_ = {}; }
  [[nodiscard]] const State& state() const { return state_; }
  /// State with the signs of the outside: `frame() * place` is what a probe would show.
  [[nodiscard]] double frame() const { return frame_; }
  [[nodiscard]] bool driven() const { return driven_; }
  [[nodiscard]] bool held() const { return held_; }
  [[nodiscard]] bool just_switched() const { return just_switched_; }
  /// Whether the current through the primary still grows in size.
  [[nodiscard]] bool current_grows() const;
  /// Held for good: what is left in the secondary cannot open the diodes again.
  [[nodiscard]] bool at_rest_for_good() const;

 private:
  void at_rest();
  void unbalance();
  void turn_frame();
  void drive_step(double longest_s);
  void ring_step(double longest_s);
  void held_step(double longest_s);
  void choke_ring_step(double longest_s);
  void after_zero();
  void accept(double step_s, const State& next, bool held);
  [[nodiscard]] State moved(const Motion& motion, double step_s) const;
  [[nodiscard]] double zero_in(const Motion& motion, const Row& watched, const Row& slope, double offset,
                               double step_s, const State& next) const;

  const System* system_;
  State state_;
  double time_s_ = 0;
  double frame_ = 1;
  double expected_ = 1;          ///< outside sign that the watched quantity has until its next crossing
  std::vector<double> edges_s_;  ///< crossings seen whose edge the commutation delay still holds back
  bool driven_ = false, held_ = false, just_switched_ = false;
  Sums sums_;
};

}  // namespace burstloom::current
