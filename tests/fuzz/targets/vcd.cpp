// A capture as VCD, either way up.
#include "streams.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace burstloom;
  using namespace burstloom::fuzz;
  (void)read_in_any_blocks({data, size});
  (void)unless_refused([&] {
    return from_vcd(text_of({data, size}), "low.vcd", {.wire = {}, .invert = true});
  });
  const auto capture = unless_refused([&] { return from_vcd(text_of({data, size}), "song.vcd", {}); });
  if (!capture) return 0;
  require_a_stream(capture->stream);
  const auto written = unless_refused([&] { return to_vcd(capture->stream); });
  if (!written) return 0;
  const auto again = unless_refused([&] { return from_vcd(*written, "written.vcd", {}); });
  require(again.has_value(), "what is written can be read");
  return 0;
}
