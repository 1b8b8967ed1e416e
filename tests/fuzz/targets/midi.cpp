// A MIDI file: read as it is and salvaged, made into notes and messages, summarised, written again.
#include "burstloom/score/midi.hpp"

#include <cmath>

#include "burstloom/score/arrangement.hpp"
#include "burstloom/score/write_midi.hpp"
#include "target.hpp"

namespace burstloom::fuzz {
namespace {

void try_reading(std::span<const std::uint8_t> bytes, bool salvage) {
  const auto score = unless_refused([&] {
    const MidiFile midi = parse_midi(bytes, "song.mid", {.salvage = salvage});
    (void)messages_of(midi);
    return score_of(midi, "song");
  });
  if (!score) return;
  for (const Note& note : score->notes)
    require(std::isfinite(note.start_s) && note.start_s >= 0 && note.end_s >= note.start_s &&
                std::isfinite(note.key),
            "notes lie in time and have a pitch");
  const auto arranged_anew = unless_refused([&] {
    return arranged(*score,
                    parse_arrangement(suggest_arrangement(*score, summarise(*score, {})), "suggested"));
  });
  require(arranged_anew.has_value(), "a suggested arrangement can be used");
  const auto written = unless_refused([&] { return to_midi(*score); });
  if (written)
    require(unless_refused([&] { return parse_midi(*written, "written.mid"); }).has_value(),
            "what is written can be read");
}

}  // namespace
}  // namespace burstloom::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  burstloom::fuzz::try_reading({data, size}, false);
  burstloom::fuzz::try_reading({data, size}, true);
  return 0;
}
