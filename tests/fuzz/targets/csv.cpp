// A stream as CSV.
#include "streams.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace burstloom;
  using namespace burstloom::fuzz;
  (void)read_in_any_blocks({data, size});
  const auto stream = unless_refused([&] { return from_csv(text_of({data, size}), "song.csv"); });
  if (!stream) return 0;
  require_a_stream(*stream);
  const auto written = unless_refused([&] { return to_csv(*stream); });
  if (!written) return 0;
  const auto again = unless_refused([&] { return from_csv(*written, "written.csv"); });
  require(again.has_value(), "what is written can be read");
  require(again->bursts == stream->bursts && again->tick_hz == stream->tick_hz,
          "what is read again is what was written");
  return 0;
}
