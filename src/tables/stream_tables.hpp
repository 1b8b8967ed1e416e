// The tables of one stream for whatever targets are asked for. What they say is the same for all: it is
// encoded once, and only as far as some target asks for it.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>

#include "encode.hpp"
#include "voice_table.hpp"

namespace burstloom::table_detail {

/// A finished table.
struct Table {
  Bytes bytes;
  Encoding encoding = Encoding::pairs;
  int voices = 0;  ///< of an encoding that has them
};

/// What a table takes of a chip.
struct Measured {
  Encoding encoding = Encoding::pairs;
  int voices = 0;
  std::int64_t table_bytes = 0, flash_bytes = 0, ram_bytes = 0;  ///< flash and RAM with the player
};

class StreamTables {
 public:
  /// `input` has to live on.
  explicit StreamTables(const TableInput& input) : input_(input) {}
  StreamTables(const StreamTables&) = delete;
  StreamTables& operator=(const StreamTables&) = delete;

  [[nodiscard]] const TableInput& input() const { return input_; }
  /// `require_playable`; run but once for a target that can play it.
  void require_playable(const Target& target, const CompiledLimits& limits);
  /// The table in the encoding that takes the least flash and that `target` can follow. The limits are the
  /// target's `compiled_limits`.
  [[nodiscard]] const Measured& smallest(const Target& target, const CompiledLimits& limits);
  [[nodiscard]] Table smallest_table(const Target& target, const CompiledLimits& limits);
  /// Whether `target` has the flash for it.
  [[nodiscard]] bool fit(const Target& target, const CompiledLimits& limits);
  /// The tables that `target` can follow: of pairs, and of voices where it has fewer bytes.
  [[nodiscard]] std::vector<Table> tables(const Target& target, const CompiledLimits& limits);

 private:
  struct Bounds {
    Tick shortest_gap = 0, longest_on = 0;
  };
  const Bytes& pairs();
  const Bounds& bounds();
  const std::vector<Wish>& wishes();
  const std::optional<std::vector<VoiceProgram>>& programs();
  const std::vector<bool>& tells();
  const Bytes* voices_for(const Target& target, const CompiledLimits& limits);
  Measured measured_smallest(const Target& target, const CompiledLimits& limits);
  Measured measured(const Bytes& data, Encoding encoding, const Target& target,
                    const CompiledLimits& limits) const;

  const TableInput& input_;
  std::optional<Bytes> pairs_;
  std::optional<Bounds> bounds_;
  std::optional<std::vector<Wish>> wishes_;
  std::optional<std::optional<std::vector<VoiceProgram>>> programs_;
  std::optional<std::vector<bool>> tells_;
  std::optional<std::optional<Bytes>> voices_;
  std::map<std::string, Measured> smallest_;  // for each target by name
  std::set<std::string> playable_;            // names of targets
};

/// What the smallest table takes of the chip, and how much of the song would fit where it does not.
[[nodiscard]] TableFit fit_of(StreamTables& tables, const Target& target, const CompiledLimits& limits);

}  // namespace burstloom::table_detail
