// Decks for ngspice, and what it measures in them.
#pragma once

#include <sstream>
#include <string>
#include <vector>

namespace burstloom::spice {

/// A deck that is written line by line, run in batch mode, and asked for node voltages at given times.
class Deck {
 public:
  explicit Deck(std::string title);

  /// One line of the deck, as ngspice reads it.
  Deck& line(const std::string& text);
  /// A value in the deck with all its digits.
  [[nodiscard]] static std::string number(double value);
  /// "PWL(...)" that is `on` between each pair of times and 0 elsewhere, with edges of `edge_s` around each
  /// of them. The first time is later than half an edge.
  [[nodiscard]] static std::string pulses(const std::vector<std::pair<double, double>>& times, double on,
                                          double edge_s);
  /// Runs to `until_s` with steps of at most `step_s`, and gives each node's voltage at its time. Fails the
  /// test and returns nothing when ngspice does not measure all of them.
  struct Probe {
    std::string node;
    double at_s = 0;  ///< negative: the highest voltage of the whole run
  };
  [[nodiscard]] std::vector<double> run(const std::vector<Probe>& probes, double until_s, double step_s);

 private:
  std::string title_;
  std::ostringstream text_;
};

}  // namespace burstloom::spice
