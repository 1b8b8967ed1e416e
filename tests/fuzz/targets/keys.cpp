// Live playing: raw bytes of a MIDI port at any moments. Whatever comes, the bursts are within the limits.
#include "burstloom/check/judge.hpp"
#include "burstloom/live/engine.hpp"
#include "burstloom/live/midi_reader.hpp"
#include "target.hpp"

namespace burstloom::fuzz {
namespace {

constexpr Tick kTurn = kDefaultTickHz / 100;
constexpr std::size_t kPiece = 4;

const Profile& coil() {
  static const Profile profile = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  return profile;
}

// Four bytes of the input: how many turns of 10 ms pass, then three bytes off the wire.
BurstStream played(std::span<const std::uint8_t> bytes) {
  LiveEngine engine(coil(), {});
  MidiReader reader;
  BurstStream stream{engine.tick_hz(), 0, {}};
  Tick now = 0;
  const auto run = [&](Tick turns) {
    std::array<LiveBurst, 64> made{};
    for (; turns > 0; --turns) {
      now += kTurn;
      for (std::size_t count = made.size(); count == made.size();) {
        count = engine.make(now, made);
        for (std::size_t i = 0; i < count; ++i)
          if (made[i].on > 0) stream.bursts.push_back({made[i].start, made[i].on});
      }
    }
  };
  for (; bytes.size() >= kPiece; bytes = bytes.subspan(kPiece)) {
    run(bytes[0] % 8);
    reader.take(bytes.subspan(1, kPiece - 1),
                [&](const MidiMessage& message) { (void)engine.hear(now, message.span()); });
  }
  run(20);
  engine.end_all(now);
  run(2);
  stream.length = now;
  if (!stream.bursts.empty())
    stream.length = std::max(now, stream.bursts.back().start + stream.bursts.back().on);
  return stream;
}

}  // namespace
}  // namespace burstloom::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace burstloom;
  using namespace burstloom::fuzz;
  const BurstStream stream = played({data, std::min<std::size_t>(size, 512)});
  require(judge(stream, coil()).verdict == Verdict::within_limits, "live playing keeps the limits");
  return 0;
}
