// The bus between the supply and the bursts.
#include <algorithm>
#include <cmath>

#include "burstloom/coil/supply.hpp"
#include "burstloom/common/error.hpp"
#include "by_on_time.hpp"

namespace burstloom {
namespace {

void require_positive(double value, const char* what) {
  if (value > 0 && std::isfinite(value)) return;
  throw bad_input(std::string(what) + " is " + std::to_string(value), "", "give a finite number above zero");
}

// The lowest bus of each of `points` equal stretches, asked in order of time.
class Lowest {
 public:
  Lowest(const BurstStream& stream, std::size_t points, double nominal_v) {
    const auto count = static_cast<Tick>(points);
    if (points > 0) ticks_a_point_ = std::max<Tick>(1, (stream.length + count - 1) / count);
    for (Tick i = 0; i < count; ++i) curve_.push_back({stream.seconds(i * ticks_a_point_), nominal_v});
  }
  void add(Tick at, double volts) {
    if (curve_.empty()) return;
    BusPoint& point = curve_[std::min(curve_.size() - 1, static_cast<std::size_t>(at / ticks_a_point_))];
    point.volts = std::min(point.volts, volts);
  }
  [[nodiscard]] std::vector<BusPoint> taken() { return std::move(curve_); }

 private:
  std::vector<BusPoint> curve_;
  Tick ticks_a_point_ = 1;
};

}  // namespace

std::optional<double> supply_rating_w(const Profile& profile) {
  if (!profile.drive.bus_v || !profile.supply.current_limit_a) return std::nullopt;
  return *profile.drive.bus_v * *profile.supply.current_limit_a;
}

Bus::Bus(double nominal_v, double capacitance_f, double current_limit_a)
    : nominal_v_(nominal_v),
      capacitance_f_(capacitance_f),
      current_limit_a_(current_limit_a),
      volts_(nominal_v) {
  require_positive(nominal_v, "the bus voltage");
  require_positive(capacitance_f, "the bus capacitance");
  require_positive(current_limit_a, "the supply's current limit");
}

void Bus::set_volts(double volts) {
  volts_ = std::clamp(volts, 0.0, nominal_v_);
}

Bus::Pull Bus::pull_of(double seconds, double energy_at_nominal_j) const {
  // dV/dt = I/C - a V with a = E / (C Vn^2 t): towards I / (C a), which may lie above nominal, where the
  // supply just holds the bus.
  const double decay =
      std::max(0.0, energy_at_nominal_j) / (capacitance_f_ * nominal_v_ * nominal_v_);  // a t
  const double charge_v = current_limit_a_ * seconds / capacitance_f_;
  return decay < 1e-12 ? Pull{charge_v, 0} : Pull{charge_v / decay, -std::expm1(-decay)};
}

void Bus::burst(const Pull& pull) {
  volts_ += pull.part > 0 ? (pull.volts - volts_) * pull.part : pull.volts;
  volts_ = std::min(volts_, nominal_v_);
}

void Bus::gap(double seconds) {
  volts_ = std::min(nominal_v_, volts_ + current_limit_a_ * seconds / capacitance_f_);
}

std::optional<BusOfStream> bus_of_stream(const BurstStream& stream, const Profile& profile,
                                         const FiguresOf& figures_of, std::size_t points,
                                         std::optional<double> start_v) {
  if (!profile.drive.bus_v || !profile.supply.bus_capacitance_uf || !profile.supply.current_limit_a)
    return std::nullopt;
  const double nominal_v = *profile.drive.bus_v;
  Bus bus(nominal_v, *profile.supply.bus_capacitance_uf * 1e-6, *profile.supply.current_limit_a);
  bus.set_volts(start_v.value_or(nominal_v));
  BusOfStream result{nominal_v, bus.volts(), 0, nominal_v, {}};
  Lowest lowest(stream, std::min<std::size_t>(points, 100'000), nominal_v);
  ByOnTime<Bus::Pull> pulls;
  // Figures are those of the highest bus, and go with V^2.
  const double over = 1 + profile.drive.bus_tolerance_percent / 100;
  const auto pull_of = [&](Tick on) {
    return bus.pull_of(stream.seconds(on), figures_of(on).energy_j / (over * over));
  };
  Tick now = 0;
  for (const Burst& burst : stream.bursts) {
    bus.gap(stream.seconds(burst.start - now));
    bus.burst(pulls.of(burst.on, pull_of));
    now = burst.end();
    lowest.add(now, bus.volts());
    if (bus.volts() < result.lowest_v)
      result.lowest_v = bus.volts(), result.lowest_at_s = stream.seconds(now);
  }
  bus.gap(stream.seconds(stream.length - now));
  result.end_v = bus.volts();
  result.curve = lowest.taken();
  return result;
}

}  // namespace burstloom
