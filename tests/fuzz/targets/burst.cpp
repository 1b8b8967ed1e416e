// A .burst file, as it is and with its checksum set right: most damage would end there otherwise.
#include "crc_set_right.hpp"
#include "streams.hpp"

namespace burstloom::fuzz {
namespace {

void try_reading(std::span<const std::uint8_t> bytes) {
  (void)read_in_any_blocks(bytes);
  const auto file = unless_refused([&] { return from_burst_file(bytes, "song.burst"); });
  if (!file) return;
  require_a_stream(file->stream);
  const Bytes written = to_burst_file(*file);
  const auto again = unless_refused([&] { return from_burst_file(written, "written.burst"); });
  require(again.has_value(), "what is written can be read");
  require(again->stream.bursts == file->stream.bursts && again->stream.length == file->stream.length &&
              again->title == file->title && again->profile == file->profile,
          "what is read again is what was written");
  require(to_burst_file(*again) == written, "what is written again is the same");
}

}  // namespace
}  // namespace burstloom::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace burstloom::fuzz;
  try_reading({data, size});
  try_reading(crc_set_right({data, size}));
  return 0;
}
