// A whole evening as it was built: the songs in order, what each was woven to, and what the evening does to
// the coil. A plain value: pages, sheets, exports and the alignment of captures are made from it and from the
// files that it names. docs/reference/sets.md has the words.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "burstloom/check/judge.hpp"
#include "burstloom/coil/heat.hpp"
#include "burstloom/stream/account.hpp"
#include "burstloom/stream/burst.hpp"
#include "burstloom/weave/note_sums.hpp"

namespace burstloom {

/// The hottest switch's junction and the heatsink at one moment (C).
struct Temperatures {
  double junction_c = 0, sink_c = 0;
  friend bool operator==(const Temperatures&, const Temperatures&) = default;
};

/// Sink and cases (C) when a song starts.
struct HeatStart {
  double sink_c = 0, case_c = 0;
  friend bool operator==(const HeatStart&, const HeatStart&) = default;
};

/// What became of the wanted bursts: wanted = the sum of `count`.
struct LedgerCounts {
  std::int64_t wanted = 0;
  std::array<std::int64_t, kFates> count{};  ///< by Fate

  [[nodiscard]] std::int64_t operator[](Fate fate) const { return count[static_cast<std::size_t>(fate)]; }
  friend bool operator==(const LedgerCounts&, const LedgerCounts&) = default;
};

/// A song of the evening. Times are seconds since the first song's start; paths lie below the set's folder,
/// '/' between parts.
struct BuiltSong {
  int number = 0;            ///< its place in the evening, from 1
  std::string stem;          ///< its files' name without ending: "03-ferry-call"
  std::string title;         ///< any text; may be empty
  std::string source;        ///< the music's file as the set names it
  std::string burst_file;    ///< "songs/03-ferry-call.burst"
  std::string stream_hash;   ///< `content_hash` of that file as it was judged
  std::string preview_file;  ///< "songs/03-ferry-call.html"; empty where none was asked for
  double start_s = 0, length_s = 0;
  double pause_after_s = 0;  ///< silence until the next song starts; after the last one: as the set has it
  std::int64_t bursts = 0;
  std::int64_t tick_hz = kDefaultTickHz;

  /// As the coil's model carries them from song to song; nothing where the profile does not tell heat.
  std::optional<Temperatures> at_start, at_end, highest;
  /// Sink and cases (C) from which it was judged by itself; its .burst file says so too. Never cooler than
  /// what the songs before leave, in whole degrees where that makes no difference. Nothing where the profile
  /// does not tell heat.
  std::optional<HeatStart> judged_from;
  /// The lowest bus (V); nothing where the profile does not tell the bus.
  std::optional<double> lowest_bus_v;

  Judgement judgement;  ///< by itself, from `judged_from`: verdict, limits with margins, what is not judged;
                        ///< no rest before a repeat, which only `check` looks for
  LedgerCounts ledger;  ///< as it is in its file
  NoteSums notes;       ///< of the same
  /// Woven anew for its warm start, because from there it would have left its limits. `ledger_from_cold` is
  /// what a cold start would have left of it.
  bool turned_down = false;
  LedgerCounts ledger_from_cold;
  std::vector<std::string> remarks;  ///< of the reading and the weaving
};

/// A proposal: pauses, and for one order of the songs. `order` holds numbers of the songs as they are now.
struct OrderPlan {
  std::vector<int> order;
  std::vector<double> pause_after_s;  ///< by place; the last is 0
  double pauses_s = 0;                ///< all of them
  double length_s = 0;  ///< of the evening, from the first burst's tick 0 to the last song's end
  /// Why the plan does not hold, in words: a song that is too hot even alone. Empty where it holds.
  std::vector<std::string> impossible;
};

/// One song moved: the best single move that was found.
struct SongMove {
  int song = 0;        ///< its number now
  int to_place = 0;    ///< 1: first
  double saves_s = 0;  ///< of pauses
};

struct SetPlan {
  OrderPlan as_ordered;         ///< shortest pauses for the songs as they stand
  std::vector<SongMove> moves;  ///< one after the other, each numbered as before all of them; may be empty
  std::optional<OrderPlan> reordered;  ///< after all moves; nothing where none helps
};

struct BuiltSet {
  std::string name;       ///< any text
  std::string coil_name;  ///< any text
  std::string coil_file;  ///< as the set names it
  std::string profile;    ///< the coil's TOML, as read
  double start_c = 0;     ///< heatsink when the first song starts
  double ambient_c = 25;
  std::vector<BuiltSong> songs;
  double length_s = 0;  ///< to the last song's end

  /// The whole evening judged as one stream from `start_c`: windows across seams and carried heat included.
  /// Its `rest_before_repeat_s` says whether, and after which silence, the set may start again.
  Judgement evening;
  std::vector<HeatPoint>
      heat;  ///< the evening in equal stretches; empty where the profile does not tell heat
  std::optional<SetPlan> plan;  ///< where one was asked for
  std::vector<std::string> remarks;
};

}  // namespace burstloom
