// A set file: written again, it is the same set.
#include "burstloom/sets/set_file.hpp"
#include "target.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace burstloom;
  using namespace burstloom::fuzz;
  const auto set = unless_refused([&] { return parse_set(text_of({data, size}), "set.toml", "/evening"); });
  if (!set) return 0;
  const std::string written = to_toml(*set, "as planned");
  const auto again = unless_refused([&] { return parse_set(written, "written.toml", "/evening"); });
  require(again.has_value(), "a written set can be read");
  require(again->songs.size() == set->songs.size(), "a written set has the same songs");
  for (std::size_t song = 0; song < set->songs.size(); ++song)
    require(again->pause_after_s(song) == set->pause_after_s(song), "a written set has the same pauses");
  return 0;
}
