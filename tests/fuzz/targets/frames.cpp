// What comes off the serial line at the computer's end.
#include "burstloom/link/frames.hpp"

#include "target.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace burstloom;
  using namespace burstloom::fuzz;
  const std::span<const std::uint8_t> bytes(data, size);
  FrameReader at_once, byte_by_byte;
  const auto bodies = at_once.take(bytes);
  std::vector<Bytes> one_by_one;
  for (const std::uint8_t& byte : bytes)
    for (Bytes& body : byte_by_byte.take({&byte, 1})) one_by_one.push_back(std::move(body));
  require(bodies == one_by_one && at_once.damaged() == byte_by_byte.damaged(), "pieces change nothing");
  for (const Bytes& body : bodies) {
    (void)player_info_from(body);
    (void)player_status_from(body);
    FrameReader again;
    require(again.take(frame_of(body)) == std::vector<Bytes>{body}, "a frame holds what was put into it");
  }
  // Its own frame, too, so that damage of bodies gets past their checksum.
  (void)player_info_from(bytes);
  (void)player_status_from(bytes);
  const Bytes stuffed = to_cobs(bytes);
  for (const std::uint8_t byte : stuffed) require(byte != 0, "stuffed bytes hold no zero");
  const auto back = from_cobs(stuffed);
  require(size == 0 || (back && std::equal(back->begin(), back->end(), bytes.begin(), bytes.end())),
          "stuffing loses nothing");
  return 0;
}
