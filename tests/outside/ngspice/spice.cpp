#include "spice.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iomanip>
#include <map>

namespace burstloom::spice {
namespace {

std::map<std::string, double> measured_in(const std::string& path) {
  std::map<std::string, double> measured;
  std::ifstream log(path);
  for (std::string line; std::getline(log, line);) {
    std::istringstream words(line);
    std::string name, equals;
    double value = 0;
    if (words >> name >> equals >> value && equals == "=") measured[name] = value;
  }
  return measured;
}

}  // namespace

Deck::Deck(std::string title) : title_(std::move(title)) {}

Deck& Deck::line(const std::string& text) {
  text_ << text << '\n';
  return *this;
}

std::string Deck::number(double value) {
  std::ostringstream text;
  text << std::setprecision(15) << value;
  return text.str();
}

std::string Deck::pulses(const std::vector<std::pair<double, double>>& times, double on, double edge_s) {
  std::string text = "PWL(0 0";
  const auto point = [&](double at, double value) { text += " " + number(at) + " " + number(value); };
  for (const auto& [from, until] : times) {
    text += "\n+";  // a deck's lines are continued by a plus
    point(from - edge_s / 2, 0);
    point(from + edge_s / 2, on);
    point(until - edge_s / 2, on);
    point(until + edge_s / 2, 0);
  }
  return text + ")";
}

std::vector<double> Deck::run(const std::vector<Probe>& probes, double until_s, double step_s) {
  const std::filesystem::path folder = BURSTLOOM_SPICE_WORK;
  std::filesystem::create_directories(folder);
  const std::string deck = folder / (title_ + ".cir"), log = folder / (title_ + ".log");
  std::ofstream file(deck);
  file << "* " << title_ << '\n' << text_.str();
  for (std::size_t i = 0; i < probes.size(); ++i) {
    const auto& [node, at_s] = probes[i];
    file << ".meas tran m" << i;
    if (at_s < 0)
      file << " max v(" << node << ")\n";
    else
      file << " find v(" << node << ") at=" << number(at_s) << '\n';
  }
  file << ".options reltol=1e-5 vntol=1e-7 abstol=1e-7 chgtol=1e-12\n.tran " << number(step_s) << ' '
       << number(until_s) << " 0 " << number(step_s) << " uic\n.end\n";
  file.close();
  const std::string command = std::string(BURSTLOOM_NGSPICE) + " -b '" + deck + "' > '" + log + "' 2>&1";
  EXPECT_EQ(std::system(command.c_str()), 0) << log;
  const auto measured = measured_in(log);
  std::vector<double> values;
  for (std::size_t i = 0; i < probes.size(); ++i) {
    const auto found = measured.find("m" + std::to_string(i));
    if (found == measured.end()) {
      ADD_FAILURE() << "ngspice did not measure " << probes[i].node << " at " << probes[i].at_s << " s: see "
                    << log;
      return {};
    }
    values.push_back(found->second);
  }
  return values;
}

}  // namespace burstloom::spice
