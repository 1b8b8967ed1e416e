// A sound file: its header, its samples, and the two simpler ways of listening to what is short.
#include <cmath>

#include "burstloom/listen/listen.hpp"
#include "burstloom/listen/sound_file.hpp"
#include "target.hpp"

namespace burstloom::fuzz {
namespace {

constexpr double kShort_s = 3;

struct Figures {
  double length_s = 0;
  std::size_t samples = 0;
};

Figures listen_to(const std::string& path) {
  const Recording recording(path);
  Figures figures{recording.length_s(), 0};
  const auto reader = recording.reader();
  for (auto block = reader->next(); !block.empty(); block = reader->next()) {
    for (const float sample : block) require(std::isfinite(sample), "samples are numbers");
    figures.samples += block.size();
  }
  require(static_cast<std::int64_t>(figures.samples) == recording.figures().samples,
          "there are as many samples as was said");
  if (figures.length_s <= kShort_s) {
    (void)listen_edges(recording);
    (void)listen_follow(recording);
  }
  return figures;
}

}  // namespace
}  // namespace burstloom::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace burstloom::fuzz;
  const FileInMemory file({data, size});
  (void)unless_refused([&] { return listen_to(file.path()); });
  return 0;
}
