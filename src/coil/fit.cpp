#include "burstloom/coil/fit.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <cmath>
#include <cstdlib>
#include <optional>
#include <string_view>

#include "burstloom/coil/circuit.hpp"
#include "burstloom/coil/waveform.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kMostPoints = 1000;
constexpr double kTellsNothing =
    1e-3;  // a combination of values that moves the points by less than this share of the rest

struct Free {
  const char* key;
  double* (*place)(Profile& profile);
};
constexpr Free kFree[] = {
    {"primary.inductance_uh",
     [](Profile& p) { return p.primary.inductance_uh ? &*p.primary.inductance_uh : nullptr; }},
    {"primary.resistance_ohm",
     [](Profile& p) { return p.primary.resistance_ohm ? &*p.primary.resistance_ohm : nullptr; }},
    {"secondary.coupling",
     [](Profile& p) { return p.secondary.coupling ? &*p.secondary.coupling : nullptr; }},
    {"secondary.streamer_load_kohm",
     [](Profile& p) { return p.secondary.streamer_load_kohm ? &*p.secondary.streamer_load_kohm : nullptr; }}};

std::vector<Free> chosen(Profile profile, const std::vector<std::string>& keys,
                         const std::vector<BenchPoint>& points) {
  std::vector<Free> free;
  for (const std::string& key : keys) {
    const auto* found =
        std::find_if(std::begin(kFree), std::end(kFree), [&](const Free& it) { return key == it.key; });
    if (found == std::end(kFree) || found->place(profile) == nullptr)
      throw Error(Fault::usage, "\"" + printable(key) + "\" cannot be fitted", "--fit",
                  "choose from primary.inductance_uh, primary.resistance_ohm, secondary.coupling, "
                  "secondary.streamer_load_kohm, as far as the profile gives them");
    free.push_back(*found);
  }
  if (!keys.empty()) return free;
  const bool any_loaded =
      std::any_of(points.begin(), points.end(), [](const BenchPoint& it) { return it.loaded; });
  for (const Free& it : kFree) {
    const bool is_load = std::string_view(it.key) == "secondary.streamer_load_kohm";
    if (it.place(profile) != nullptr && (!is_load || any_loaded)) free.push_back(it);
  }
  return free;
}

// Logarithms of the model's peaks; nothing where the circuit makes no sense.
std::optional<Eigen::VectorXd> model(const Profile& profile, const std::vector<BenchPoint>& points,
                                     const Bench& bench) {
  Eigen::VectorXd peaks(static_cast<Eigen::Index>(points.size() + (bench.decay_us ? 1 : 0)));
  const CircuitAnswer answers[] = {circuit_of(profile, false), circuit_of(profile, true)};
  if (!answers[0].known || !answers[1].known || !(answers[1].circuit.coupling < 1)) return std::nullopt;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const GateBurst burst{0, points[i].on_time_us};
    const Circuit& circuit = answers[points[i].loaded ? 1 : 0].circuit;
    const double cycle_us = 1e6 / modes_of(circuit).front().frequency_hz;
    const double peak = simulate(circuit, bridge_v(profile.drive.bridge, bench.bus_v), {&burst, 1},
                                 points[i].on_time_us + 3 * cycle_us)
                            .bursts[0]
                            .peak_a;
    peaks(static_cast<Eigen::Index>(i)) = std::log(peak);
  }
  // One tank alone decays with 2 L / R.
  if (bench.decay_us)
    peaks(peaks.size() - 1) = std::log(2e6 * answers[0].circuit.primary_h / answers[0].circuit.primary_ohm);
  return peaks;
}

Profile moved(Profile profile, const std::vector<Free>& free, const Eigen::VectorXd& by) {
  for (std::size_t i = 0; i < free.size(); ++i) {
    double& value = *free[i].place(profile);
    value *= std::exp(std::clamp(by(static_cast<Eigen::Index>(i)), -3.0, 3.0));
  }
  if (profile.secondary.coupling) profile.secondary.coupling = std::min(*profile.secondary.coupling, 0.95);
  return profile;
}

struct Slopes {
  Eigen::VectorXd off;  // points over model, logarithms
  Eigen::MatrixXd slopes;
};

Slopes slopes_at(const Profile& profile, const std::vector<Free>& free, const std::vector<BenchPoint>& points,
                 const Eigen::VectorXd& measured, const Bench& bench) {
  constexpr double kStep = 1e-4;
  const auto here = model(profile, points, bench).value();
  Slopes result{measured - here, Eigen::MatrixXd(here.size(), static_cast<Eigen::Index>(free.size()))};
  for (Eigen::Index i = 0; i < result.slopes.cols(); ++i) {
    Eigen::VectorXd by = Eigen::VectorXd::Zero(result.slopes.cols());
    by(i) = kStep;
    const auto more = model(moved(profile, free, by), points, bench),
               less = model(moved(profile, free, -by), points, bench);
    result.slopes.col(i) = (more.value_or(here) - less.value_or(here)) / (2 * kStep);
  }
  return result;
}

// A combination of values that the points hardly feel: which of them have a part in it.
void require_told_apart(const Eigen::MatrixXd& slopes, const std::vector<Free>& free) {
  // Eigenvectors of the normal matrix are combinations of values; its eigenvalues, how strongly the points
  // feel them.
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> felt(slopes.transpose() * slopes);
  const auto& squares = felt.eigenvalues();  // in rising order
  if (squares(0) > kTellsNothing * kTellsNothing * squares(squares.size() - 1)) return;
  std::string names;
  for (Eigen::Index i = 0; i < squares.size(); ++i)
    if (std::abs(felt.eigenvectors()(i, 0)) > 0.2)
      names += (names.empty() ? "" : ", ") + std::string(free[static_cast<std::size_t>(i)].key);
  throw bad_input(
      "these points cannot tell " + names + (names.find(',') == std::string::npos ? " at all" : " apart"), "",
      "add bursts of other lengths, from the first cycles to where the current levels off, with and without "
      "streamers, or fit "
      "fewer values with --fit");
}

double scatter(const Eigen::VectorXd& off) {
  return std::sqrt(off.squaredNorm() / static_cast<double>(off.size()));
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t' || text.back() == '\r'))
    text.remove_suffix(1);
  return text;
}

std::vector<std::string_view> fields_of(std::string_view line) {
  std::vector<std::string_view> fields;
  for (std::size_t at = 0; at <= line.size();) {
    const std::size_t comma = std::min(line.find(',', at), line.size());
    fields.push_back(trimmed(line.substr(at, comma - at)));
    at = comma + 1;
  }
  return fields;
}

class PointReader {
 public:
  explicit PointReader(const std::string& path) : name_(printable(path, 200)) {}

  void take(std::string_view line) {
    ++line_;
    line = trimmed(line);
    if (line.empty() || line.front() == '#') return;
    const auto fields = fields_of(line);
    if (columns_ == 0) return take_heading(fields);
    if (fields.size() != columns_)
      refuse("has " + std::to_string(fields.size()) + " fields instead of " + std::to_string(columns_));
    BenchPoint point{number(fields[0]), number(fields[1]), true};
    if (columns_ == 3) {
      if (fields[2] != "yes" && fields[2] != "no")
        refuse("has \"" + printable(std::string(fields[2])) + "\" for loaded");
      point.loaded = fields[2] == "yes";
    }
    if (points.size() == kMostPoints) refuse("is one of more than 1000");
    points.push_back(point);
  }
  void finish() const {
    if (points.empty())
      throw bad_input("there is no point in this file", name_, "give lines on_time_us,peak_current_a");
  }

  std::vector<BenchPoint> points;

 private:
  void take_heading(const std::vector<std::string_view>& fields) {
    const bool two = fields.size() >= 2 && fields[0] == "on_time_us" && fields[1] == "peak_current_a";
    if (!two || fields.size() > 3 || (fields.size() == 3 && fields[2] != "loaded"))
      throw bad_input("the heading is not on_time_us,peak_current_a or on_time_us,peak_current_a,loaded",
                      name_ + ", line " + std::to_string(line_), "give one of these as the first line");
    columns_ = fields.size();
  }
  [[noreturn]] void refuse(const std::string& what) const {
    throw bad_input("this point " + what, name_ + ", line " + std::to_string(line_),
                    "give on-time in us and peak current in A, both above 0, and yes or no for streamers");
  }
  [[nodiscard]] double number(std::string_view text) const {
    const std::string digits(text);
    char* end = nullptr;
    const double value = std::strtod(digits.c_str(), &end);
    const bool is_decimal = digits.find_first_not_of("0123456789.eE+-") == std::string::npos;
    if (!is_decimal || *end != '\0' || digits.starts_with('+') || !(value > 0 && value < 1e7))
      refuse("has \"" + printable(digits) + "\" for a number");
    return value;
  }

  std::string name_;
  std::size_t line_ = 0, columns_ = 0;
};

}  // namespace

std::vector<BenchPoint> read_bench_points(const std::string& path) {
  const Bytes bytes = read_file(path, std::size_t{1} << 20);
  const std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  PointReader reader(path);
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    reader.take(text.substr(at, end - at));
    at = end + 1;
  }
  reader.finish();
  return reader.points;
}

Fit fit_tank(const Profile& profile, const std::vector<BenchPoint>& points,
             const std::vector<std::string>& keys, Bench bench) {
  const CircuitAnswer answer = circuit_of(profile, true);
  if (!answer.known)
    throw bad_input("there is no model to fit (" + answer.why_not + ")", printable(profile.name),
                    "give first guesses in the profile");
  if (!(bench.bus_v > 0)) bench.bus_v = *profile.drive.bus_v;
  if (bench.decay_us && !(*bench.decay_us > 0 && *bench.decay_us < 1e6))
    throw Error(Fault::usage, "a decay of that length", "--decay", "give the time constant in us, above 0");
  const std::vector<Free> free = chosen(profile, keys, points);
  if (points.size() < free.size() + 1)
    throw bad_input(
        std::to_string(points.size()) + " points are too few for " + std::to_string(free.size()) + " values",
        "", "measure at least " + std::to_string(free.size() + 1) + ", or fit fewer values with --fit");
  Eigen::VectorXd measured(static_cast<Eigen::Index>(points.size() + (bench.decay_us ? 1 : 0)));
  for (std::size_t i = 0; i < points.size(); ++i)
    measured(static_cast<Eigen::Index>(i)) = std::log(points[i].peak_current_a);
  if (bench.decay_us) measured(measured.size() - 1) = std::log(*bench.decay_us);

  Fit fit{{}, 0, 0, profile};
  double damping = 1e-3;
  Slopes at = slopes_at(fit.profile, free, points, measured, bench);
  fit.scatter_before_percent = 100 * scatter(at.off);
  require_told_apart(at.slopes, free);
  for (int round = 0; round < 60 && damping < 1e8; ++round) {
    const Eigen::MatrixXd normal = at.slopes.transpose() * at.slopes;
    Eigen::MatrixXd damped = normal;
    damped.diagonal() += damping * (normal.diagonal().array() + 1e-12).matrix();
    const Eigen::VectorXd by = damped.ldlt().solve(at.slopes.transpose() * at.off);
    const Profile tried = moved(fit.profile, free, by);
    const auto there = model(tried, points, bench);
    if (!there || !((measured - *there).squaredNorm() < at.off.squaredNorm())) {
      damping *= 10;
      continue;
    }
    fit.profile = tried;
    at = slopes_at(fit.profile, free, points, measured, bench);
    damping = std::max(damping / 10, 1e-9);
    if (by.cwiseAbs().maxCoeff() < 1e-7) break;
  }
  require_told_apart(at.slopes, free);
  fit.scatter_percent = 100 * scatter(at.off);
  const double variance = at.off.squaredNorm() / static_cast<double>(points.size() - free.size());
  const Eigen::MatrixXd covariance = (at.slopes.transpose() * at.slopes).inverse() * variance;
  Profile before = profile;
  for (std::size_t i = 0; i < free.size(); ++i) {
    const auto k = static_cast<Eigen::Index>(i);
    fit.values.push_back({free[i].key, *free[i].place(before), *free[i].place(fit.profile),
                          200 * std::sqrt(covariance(k, k))});
  }
  return fit;
}

}  // namespace burstloom
