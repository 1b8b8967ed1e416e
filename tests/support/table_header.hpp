// Exported headers read back from their text, and tables decoded anew, by docs/reference/table-format.md.
#pragma once

#include <gtest/gtest.h>

#include <cctype>
#include <map>
#include <sstream>

#include "burstloom/tables/tables.hpp"

namespace burstloom {

inline const Target& chip() {
  return target_named("atmega328p");
}

inline Profile plain_profile() {
  Profile profile;
  profile.name = "bench coil";
  profile.drive.clock_tolerance_percent = 0.5;
  profile.drive.pulse_stretch_ns = 100;
  profile.limits.on_time_min_us = 4;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  profile.limits.duty = {{10, 20}};
  return profile;
}

inline TableInput three_bursts() {
  TableInput input;
  input.title = "three bursts";
  input.profile = plain_profile();
  input.stream = {kDefaultTickHz, 10'000, {{7, 60}, {1'000, 60}, {5'000, 98}}};
  return input;
}

// A header as a compiler sees it: its definitions and its bytes.
struct Header {
  std::map<std::string, std::uint64_t> define;
  Bytes bytes;
};

inline Header parse(const std::string& text) {
  Header header;
  std::istringstream lines(text.substr(text.find("*/\n") + 3));
  std::string line, word, name, value;
  while (std::getline(lines, line) && !line.starts_with("static const")) {
    std::istringstream words(line);
    if (words >> word >> name >> value && word == "#define" && name.starts_with("BURST_TABLE_") &&
        std::isdigit(static_cast<unsigned char>(value[0])) != 0)
      header.define[name.substr(12)] = std::stoull(value, nullptr, 0);
  }
  while (std::getline(lines, line) && line != "};") {
    std::istringstream numbers(line);
    while (std::getline(numbers, word, ','))
      header.bytes.push_back(static_cast<std::uint8_t>(std::stoi(word)));
  }
  return header;
}

inline std::uint32_t word_at(const Bytes& bytes, std::size_t at) {
  return static_cast<std::uint32_t>(bytes.at(at) + 256 * bytes.at(at + 1) + 65'536 * bytes.at(at + 2)) +
         16'777'216u * bytes.at(at + 3);
}

// docs/reference/table-format.md, written anew: multiplications in place of shifts.
inline std::vector<Burst> decode(const Bytes& bytes) {
  std::size_t at = 36;
  const auto number = [&] {
    std::uint64_t value = 0, place = 1;
    for (;; place *= 128) {
      const std::uint64_t byte = bytes.at(at++);
      value += byte % 128 * place;
      if (byte < 128) return value;
    }
  };
  std::vector<Burst> bursts;
  Tick end = 0, on = 0;
  for (std::uint32_t left = word_at(bytes, 12); left > 0; --left) {
    const std::uint64_t gap_and_flag = number();
    if (gap_and_flag % 2 == 1) on = static_cast<Tick>(number());
    bursts.push_back({end + static_cast<Tick>(gap_and_flag / 2), on});
    end = bursts.back().end();
  }
  EXPECT_EQ(at, bytes.size());
  return bursts;
}

}  // namespace burstloom
