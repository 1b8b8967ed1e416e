// What the tests of this room share: random streams, folders that vanish, errors looked at closely.
#pragma once

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <stdlib.h>

#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "burstloom/common/error.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom::test {

/// A folder of its own that is gone when the test ends.
class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "burstloom-XXXXXX").string();
    path_ = ::mkdtemp(name.data());
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  [[nodiscard]] std::size_t entries() const {
    const std::filesystem::directory_iterator all(path_);
    return static_cast<std::size_t>(std::distance(begin(all), end(all)));
  }

 private:
  std::filesystem::path path_;
};

/// Runs `act`, which must throw an Error of this kind whose sentence holds `part`.
template <typename Act>
void expect_error(Fault fault, const std::string& part, Act act) {
  try {
    act();
    ADD_FAILURE() << "no error, but expected one with: " << part;
  } catch (const Error& error) {
    EXPECT_EQ(static_cast<int>(error.fault()), static_cast<int>(fault)) << error.what();
    EXPECT_NE(std::string(error.what()).find(part), std::string::npos) << error.what();
    EXPECT_EQ(std::string(error.what()).find('\n'), std::string::npos)
        << "more than one line: " << error.what();
  }
}

/// Lengths that try the edges of the formats: many short ones, some of a few bytes, few huge ones.
inline rc::Gen<Tick> lengths(Tick least, Tick most = Tick{1} << 36) {
  return rc::gen::weightedOneOf<Tick>({{4, rc::gen::inRange<Tick>(least, least + 200)},
                                       {4, rc::gen::inRange<Tick>(least, least + 40'000)},
                                       {1, rc::gen::inRange<Tick>(least, most)}});
}

/// A random stream; call it within a property. `least_gap` 0 lets bursts touch.
inline BurstStream random_stream(const std::vector<std::int64_t>& rates, Tick least_gap,
                                 Tick most = Tick{1} << 36) {
  BurstStream stream;
  stream.tick_hz = *rc::gen::elementOf(rates);
  const auto parts = *rc::gen::container<std::vector<std::pair<Tick, Tick>>>(
      rc::gen::pair(lengths(least_gap, most), lengths(1, most)));
  for (const auto& [gap, on] : parts) {
    stream.bursts.push_back({stream.length + gap, on});
    stream.length += gap + on;
  }
  if (!stream.bursts.empty() && *rc::gen::inRange(0, 4) == 0) {  // starts at once
    const Tick shift = stream.bursts.front().start;
    for (Burst& burst : stream.bursts) burst.start -= shift;
    stream.length -= shift;
  }
  stream.length += *lengths(0, most);
  return stream;
}

}  // namespace burstloom::test
