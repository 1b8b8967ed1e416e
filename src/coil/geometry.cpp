#include "burstloom/coil/geometry.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <tuple>

#include "burstloom/common/error.hpp"
#include "burstloom/common/special_functions.hpp"

namespace burstloom {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kMu0 = 4e-7 * kPi;
constexpr double kCopper_ohm_m = 1e-6 / 58;  // annealed, 20 C (IEC 60028; the number from memory)
constexpr double kInch_mm = 25.4;

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.6g", value);
  return text;
}

void require(bool holds, const std::string& what, const std::string& allowed) {
  if (!holds) throw Error(Fault::usage, what, "", allowed);
}

void require_sound(const Solenoid& coil) {
  require(coil.diameter_mm > 0 && coil.length_mm > 0 && coil.turns > 0 &&
              std::isfinite(coil.diameter_mm * coil.length_mm * coil.turns),
          "a solenoid of " + number(coil.diameter_mm) + " mm by " + number(coil.length_mm) + " mm with " +
              number(coil.turns) + " turns",
          "give diameter, length and turns above 0");
}

void require_sound(const Spiral& coil) {
  require(coil.inner_mm >= 0 && coil.outer_mm > coil.inner_mm && coil.turns > 0 &&
              std::isfinite(coil.outer_mm * coil.turns),
          "a spiral from " + number(coil.inner_mm) + " to " + number(coil.outer_mm) + " mm with " +
              number(coil.turns) + " turns",
          "give an outer diameter above the inner one, and turns above 0");
}

struct SheetFactors {
  double c1, c2, c3, c4;
};
SheetFactors factors_of(SpiralShape shape) {
  switch (shape) {
    case SpiralShape::square:
      return {1.27, 2.07, 0.18, 0.13};
    case SpiralShape::hexagon:
      return {1.09, 2.23, 0.00, 0.17};
    case SpiralShape::octagon:
      return {1.07, 2.29, 0.00, 0.19};
    case SpiralShape::circle:
      break;
  }
  return {1.00, 2.46, 0.00, 0.20};
}

// Medhurst's factor, pF a cm of diameter, by length over diameter.
constexpr std::array<std::array<double, 2>, 18> kMedhurst = {{{0.1, 0.96},
                                                              {0.2, 0.70},
                                                              {0.3, 0.60},
                                                              {0.5, 0.50},
                                                              {0.7, 0.47},
                                                              {1, 0.46},
                                                              {1.5, 0.47},
                                                              {2, 0.50},
                                                              {2.5, 0.56},
                                                              {3, 0.61},
                                                              {4, 0.72},
                                                              {5, 0.81},
                                                              {6, 0.92},
                                                              {8, 1.12},
                                                              {10, 1.32},
                                                              {20, 2.36},
                                                              {30, 3.4},
                                                              {50, 5.8}}};

constexpr std::array<double, 24> kE24 = {10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30,
                                         33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91};

// All E24 values from a hundredth to a hundred times `around`.
std::vector<double> e24_near(double around) {
  std::vector<double> values;
  const int decade = static_cast<int>(std::floor(std::log10(around)));
  for (int d = decade - 2; d <= decade + 2; ++d)
    for (const double value : kE24) values.push_back(value / 10 * std::pow(10.0, d));
  return values;
}

}  // namespace

double nagaoka(double diameter_over_length) {
  require(diameter_over_length >= 1e-4 && diameter_over_length <= 1e4,
          "a diameter of " + number(diameter_over_length) + " lengths", "choose one from 0.0001 to 10000");
  const double u = diameter_over_length, k = u / std::sqrt(1 + u * u), other_k = 1 / std::sqrt(1 + u * u);
  const double first = elliptic_k(k), second = elliptic_e(k);
  return 4 / (3 * kPi * other_k) * ((first - second) / (u * u) + second - k);
}

double solenoid_uh(const Solenoid& coil) {
  require_sound(coil);
  const double r = coil.diameter_mm / 2e3, l = coil.length_mm / 1e3;
  return kMu0 * kPi * r * r * coil.turns * coil.turns * nagaoka(coil.diameter_mm / coil.length_mm) / l * 1e6;
}

double solenoid_by_wheeler_uh(const Solenoid& coil) {
  require_sound(coil);
  require(coil.length_mm >= 0.2 * coil.diameter_mm, "a solenoid shorter than a fifth of its diameter",
          "use the current sheet for it");
  const double r = coil.diameter_mm / 2 / kInch_mm, l = coil.length_mm / kInch_mm;
  return r * r * coil.turns * coil.turns / (9 * r + 10 * l);
}

double spiral_by_current_sheet_uh(const Spiral& coil, SpiralShape shape) {
  require_sound(coil);
  const auto [c1, c2, c3, c4] = factors_of(shape);
  const double mean = (coil.inner_mm + coil.outer_mm) / 2e3;
  const double fill = (coil.outer_mm - coil.inner_mm) / (coil.outer_mm + coil.inner_mm);
  return kMu0 * coil.turns * coil.turns * mean * c1 / 2 *
         (std::log(c2 / fill) + c3 * fill + c4 * fill * fill) * 1e6;
}

double self_capacitance_pf(const Solenoid& coil) {
  require_sound(coil);
  const double ratio = coil.length_mm / coil.diameter_mm;
  require(ratio >= kMedhurst.front()[0] && ratio <= kMedhurst.back()[0],
          "a solenoid of " + number(ratio) + " diameters' length", "the table reaches from 0.1 to 50");
  const auto next = std::find_if(kMedhurst.begin() + 1, kMedhurst.end() - 1,
                                 [&](const auto& row) { return row[0] >= ratio; });
  const auto& [x0, y0] = *(next - 1);
  const auto& [x1, y1] = *next;
  const double part = std::log(ratio / x0) / std::log(x1 / x0);
  return (y0 + (y1 - y0) * part) * coil.diameter_mm / 10;
}

double resonance_hz(double inductance_uh, double capacitance_pf) {
  require(inductance_uh > 0 && capacitance_pf > 0, "an inductance or capacitance of nothing",
          "give both above 0");
  return 1 / (2 * kPi * std::sqrt(inductance_uh * 1e-6 * capacitance_pf * 1e-12));
}

double tank_capacitance_nf(double inductance_uh, double frequency_khz) {
  require(inductance_uh > 0 && frequency_khz > 0, "an inductance or frequency of nothing",
          "give both above 0");
  const double pace = 2 * kPi * frequency_khz * 1e3;
  return 1 / (pace * pace * inductance_uh * 1e-6) * 1e9;
}

std::vector<CapacitorChoice> e24_choices(double wanted_nf, std::size_t most) {
  require(wanted_nf >= 1e-3 && wanted_nf <= 1e5, "a capacitance of " + number(wanted_nf) + " nF",
          "choose 0.001 to 100000 nF");
  std::vector<CapacitorChoice> choices;
  const auto values = e24_near(wanted_nf);
  const auto add = [&](std::vector<double> parts, bool in_series, double total) {
    const double off = 100 * (total / wanted_nf - 1);
    if (std::abs(off) < 6) choices.push_back({std::move(parts), in_series, total, off});
  };
  for (std::size_t i = 0; i < values.size(); ++i) {
    add({values[i]}, false, values[i]);
    for (std::size_t j = i; j < values.size(); ++j) {
      add({values[i], values[j]}, false, values[i] + values[j]);
      add({values[i], values[j]}, true, values[i] * values[j] / (values[i] + values[j]));
    }
  }
  // Nearest first; of equally near ones the fewer and the more equal parts, which share volts and amperes
  // alike.
  const auto rank = [](const CapacitorChoice& it) {
    return std::make_tuple(std::round(std::abs(it.off_percent) * 20), it.parts_nf.size(),
                           it.parts_nf.back() / it.parts_nf.front());
  };
  std::stable_sort(choices.begin(), choices.end(),
                   [&](const auto& a, const auto& b) { return rank(a) < rank(b); });
  if (choices.size() > most) choices.resize(most);
  return choices;
}

double skin_depth_um(double frequency_hz) {
  require(frequency_hz > 0, "a frequency of nothing", "give one above 0 Hz");
  return std::sqrt(kCopper_ohm_m / (kPi * frequency_hz * kMu0)) * 1e6;
}

}  // namespace burstloom
