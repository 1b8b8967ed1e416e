#include "burstloom/coil/current_table.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "burstloom/coil/circuit.hpp"
#include "current_sweep.hpp"

namespace burstloom {
namespace {

// As far as the gate may see a burst that keeps its limit, and a little further for captures.
double longest_us(const Profile& profile) {
  return profile.limits.on_time_max_us * 1.05 + profile.drive.pulse_stretch_ns / 1e3;
}

double highest_bus_v(const Drive& drive) {
  return *drive.bus_v * (1 + drive.bus_tolerance_percent / 100);
}

bool usable(const MeasuredCurrent& points) {
  return !points.on_time_us.empty() && points.on_time_us.size() == points.peak_current_a.size();
}

double between(double x, double x0, double y0, double x1, double y1) {
  return std::clamp(y0 + (y1 - y0) * (x - x0) / (x1 - x0), std::min(y0, y1), std::max(y0, y1));
}

// Every figure of a burst that adds up or is a peak.
constexpr double BurstFigures::*kFigures[] = {
    &BurstFigures::peak_current_a,    &BurstFigures::energy_j,
    &BurstFigures::i2t_a2s,           &BurstFigures::charge_c,
    &BurstFigures::i2t_ring_down_a2s, &BurstFigures::charge_ring_down_c,
    &BurstFigures::half_cycles,       &BurstFigures::commutation_current_a,
    &BurstFigures::tank_capacitor_v,  &BurstFigures::switch_v};

BurstFigures worse_of(const BurstFigures& a, const BurstFigures& b) {
  BurstFigures worse = a;
  for (const auto figure : kFigures) worse.*figure = std::max(a.*figure, b.*figure);
  return worse;
}

BurstFigures mix(const BurstFigures& a, const BurstFigures& b, double part_of_b) {
  BurstFigures mixed = a;
  for (const auto figure : kFigures)
    mixed.*figure = std::max(0.0, a.*figure + (b.*figure - a.*figure) * part_of_b);
  return mixed;
}

// The longest on-time up to `most_us` with a `value` of at most `limit`; values never fall.
template <class Value>
double longest(double most_us, double limit, Value value) {
  double low = 0, high = most_us;
  if (!(value(0) <= limit)) return 0;
  if (value(high) <= limit) return high;
  for (int i = 0; i < 100 && high - low > low * 1e-15; ++i) {
    const double middle = low + (high - low) / 2;
    (value(middle) <= limit ? low : high) = middle;
  }
  return low;
}

// A burst whose current was measured higher than the model has it takes that much more from the bus, and its
// heat goes with the square. Lower, it gets the measured peak and no other credit.
void adopt(BurstFigures& figures, double measured_a) {
  const double factor = measured_a / figures.peak_current_a;
  figures.peak_current_a = measured_a;
  if (!(factor > 1)) return;
  for (const auto linear :
       {&BurstFigures::energy_j, &BurstFigures::charge_c, &BurstFigures::charge_ring_down_c,
        &BurstFigures::commutation_current_a, &BurstFigures::tank_capacitor_v, &BurstFigures::switch_v})
    figures.*linear *= factor;
  figures.i2t_a2s *= factor * factor;
  figures.i2t_ring_down_a2s *= factor * factor;
}

}  // namespace

CurrentTable::CurrentTable(const Profile& profile)
    : measured_(profile.measured), stops_at_zero_(profile.drive.stops_at_zero) {
  if (measured_ && profile.drive.bus_v && measured_->bus_v > 0 && usable(*measured_))
    scale_ = highest_bus_v(profile.drive) / measured_->bus_v;
  for (const bool loaded : {false, true}) {
    const CircuitAnswer answer = circuit_of(profile, loaded);
    why_no_model_ = answer.why_not;
    remark_ = answer.remark;
    if (!answer.known) return;
  }
  end_us_ = longest_us(profile);
  const auto on_us = current::on_times_us(circuit_of(profile, false).circuit, end_us_);
  for (const bool loaded : {false, true}) build(profile, on_us, loaded);
  // Two tanks that beat give some energy back as a burst grows. A limit takes no credit for that: no figure
  // falls with the on-time.
  for (std::size_t i = 1; i < worse_.size(); ++i) {
    const double on_time_us = worse_[i].on_time_us;
    worse_[i] = worse_of(worse_[i], worse_[i - 1]);
    worse_[i].on_time_us = on_time_us;
  }
}

// One state. Points were taken burst by burst, from rest: what the burst before adds comes on top of them.
void CurrentTable::build(const Profile& profile, const std::vector<double>& on_us, bool loaded) {
  const Circuit circuit = circuit_of(profile, loaded).circuit;
  const double drive_v = bridge_v(profile.drive.bridge, highest_bus_v(profile.drive));
  const double gap_us = profile.limits.gap_us;
  const auto carried = current::sweep(circuit, drive_v, on_us, gap_us, current::Start::carried);
  auto& rest = from_rest_[loaded ? 1 : 0];
  rest = current::sweep(circuit, drive_v, on_us, gap_us, current::Start::rest);
  const bool has_points = scale_ && measured_->loaded == loaded;
  const double last_point_a = has_points ? *point_peak_a(measured_->on_time_us.back()) : 0;
  worse_.resize(on_us.size());
  for (std::size_t i = 0; i < on_us.size(); ++i) {
    residual_a_ = std::max({residual_a_, rest[i].residual_a, carried[i].residual_a});
    BurstFigures figures = worse_of(rest[i].figures, carried[i].figures);
    const double rest_a = rest[i].figures.peak_current_a, added_a = figures.peak_current_a - rest_a;
    if (has_points) adopt(figures, point_peak_a(on_us[i]).value_or(std::max(rest_a, last_point_a)) + added_a);
    worse_[i] = worse_of(worse_[i], figures);
    worse_[i].on_time_us = on_us[i];
  }
}

// The highest current up to each point: a burst's peak cannot fall as the burst grows, a scope reading can.
// Linear between points, the first point's below it, nothing past the last.
std::optional<double> CurrentTable::point_peak_a(double on_time_us) const {
  if (!scale_ || !(on_time_us <= measured_->on_time_us.back())) return std::nullopt;
  const auto& times = measured_->on_time_us;
  const auto& currents = measured_->peak_current_a;
  const auto next =
      static_cast<std::size_t>(std::lower_bound(times.begin(), times.end(), on_time_us) - times.begin());
  const auto highest_until = [&](std::size_t i) {
    return *scale_ *
           *std::max_element(currents.begin(), currents.begin() + static_cast<std::ptrdiff_t>(i) + 1);
  };
  if (next == 0) return highest_until(0);
  return between(on_time_us, times[next - 1], highest_until(next - 1), times[next], highest_until(next));
}

// The first row whose on-time is not shorter.
std::size_t CurrentTable::row_for(double on_time_us) const {
  const auto found = std::partition_point(
      worse_.begin(), worse_.end(), [&](const BurstFigures& row) { return row.on_time_us < on_time_us; });
  return static_cast<std::size_t>(found - worse_.begin());
}

std::optional<double> CurrentTable::peak_current_a(double on_time_us) const {
  if (!has_model()) return point_peak_a(on_time_us);
  if (!(on_time_us <= end_us_ * (1 + 1e-9))) return std::nullopt;
  const std::size_t row = std::min(row_for(on_time_us * (1 - 1e-9)), worse_.size() - 1);
  return worse_[row].peak_current_a + residual_a_;
}

double CurrentTable::longest_on_time_us(double limit_a) const {
  if (!knows_peak()) return 0;
  return longest(has_model() ? end_us_ : measured_->on_time_us.back(), limit_a,
                 [this](double on_us) { return peak_current_a(on_us).value_or(INFINITY); });
}

double CurrentTable::longest_on_time_us(double BurstFigures::*figure, double limit) const {
  return longest(end_us_, limit, [&](double on_us) { return figures(on_us).*figure; });
}

BurstFigures CurrentTable::figures(double on_time_us) const {
  const std::size_t row = row_for(on_time_us);
  const std::size_t next = std::min(row, worse_.size() - 1);
  BurstFigures before;  // of no on-time: nothing
  if (next > 0) before = worse_[next - 1];
  const double part = (on_time_us - before.on_time_us) / (worse_[next].on_time_us - before.on_time_us);
  // A driver that finishes its half cycle makes steps: the worse neighbour, there.
  BurstFigures figures = stops_at_zero_ ? worse_of(before, worse_[next]) : mix(before, worse_[next], part);
  figures.on_time_us = on_time_us;
  figures.peak_current_a = std::max(figures.peak_current_a, worse_[next].peak_current_a) + residual_a_;
  return figures;
}

double CurrentTable::ring_down_s() const {
  double longest = 0;
  for (const auto& state : from_rest_)
    for (const CurrentRow& row : state) longest = std::max(longest, row.ring_down_s);
  return longest;
}

std::vector<PointBesideModel> CurrentTable::points_beside_model() const {
  std::vector<PointBesideModel> beside;
  if (!has_model() || !scale_) return beside;
  const auto& rows = from_rest_[measured_->loaded ? 1 : 0];
  for (std::size_t i = 0; i < measured_->on_time_us.size(); ++i)
    if (const std::size_t row = row_for(measured_->on_time_us[i]); row < rows.size())
      beside.push_back({measured_->on_time_us[i], measured_->peak_current_a[i],
                        rows[row].figures.peak_current_a / *scale_});
  return beside;
}

namespace {

// What the table depends on.
struct TableKey {
  Drive drive;
  Primary primary;
  Secondary secondary;
  std::optional<MeasuredCurrent> measured;
  double on_time_max_us = 0, gap_us = 0;
  Switch switches;
  friend bool operator==(const TableKey&, const TableKey&) = default;
};

}  // namespace

std::shared_ptr<const CurrentTable> current_table(const Profile& profile) {
  constexpr std::size_t kMostKept = 4;  // coils that play together take turns
  thread_local std::vector<std::pair<TableKey, std::shared_ptr<const CurrentTable>>> kept;
  TableKey key{profile.drive,
               profile.primary,
               profile.secondary,
               profile.measured,
               profile.limits.on_time_max_us,
               profile.limits.gap_us,
               profile.switches};
  const auto found =
      std::find_if(kept.begin(), kept.end(), [&](const auto& entry) { return entry.first == key; });
  if (found != kept.end()) {
    std::rotate(found, found + 1, kept.end());  // the one asked for last goes last
  } else {
    if (kept.size() == kMostKept) kept.erase(kept.begin());
    kept.emplace_back(std::move(key), std::make_shared<const CurrentTable>(profile));
  }
  return kept.back().second;
}

}  // namespace burstloom
