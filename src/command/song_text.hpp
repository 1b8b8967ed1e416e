// What is in a MIDI file: for people on one screen or in full, and as JSON.
#pragma once

#include "burstloom/score/arrangement.hpp"
#include "burstloom/score/midi.hpp"
#include "command_line.hpp"

namespace burstloom::command {

/// At most 24 lines of 80 columns for 16 channels, with what `song` tells to do next; `all`: every table.
[[nodiscard]] std::string midi_text(const MidiFile& midi, const Score& score,
                                    const std::vector<ChannelSummary>& channels, bool all);
[[nodiscard]] Json midi_json(const MidiFile& midi, const Score& score,
                             const std::vector<ChannelSummary>& channels);

}  // namespace burstloom::command
