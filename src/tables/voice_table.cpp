#include "voice_table.hpp"

#include <algorithm>
#include <array>
#include <numeric>

#include "burstloom/stream/leb128.hpp"
#include "encode.hpp"

extern "C" {
#include "burst_table.h"
#include "table.h"
}

namespace burstloom::table_detail {
namespace {

// The weaver's ways: how long a burst may wait, in 1/256 of its period, and whether it gives way to the
// voices before its own.
struct Ways {
  std::uint8_t cap = 0;
  bool yields = false;
};

constexpr std::array<Ways, 3> kWays = {Ways{26, false}, Ways{26, true}, Ways{255, false}};

// Whether no more bursts are dropped in a row, before one that is made, than a player goes through.
bool drops_in_reach(const std::vector<Wish>& wishes) {
  int drops = 0;
  for (const Wish& wish : wishes) {
    if (wish.made && drops > VOICES_MOST_DROPS) return false;
    drops = wish.made ? 0 : drops + 1;
  }
  return true;
}

bool can_be_said(const std::vector<Wish>& wishes) {
  return !wishes.empty() && drops_in_reach(wishes) &&
         std::all_of(wishes.begin(), wishes.end(), [](const Wish& wish) {
           return wish.voice < WEAVER_VOICES &&
                  (!wish.made || wish.made->on <= static_cast<Tick>(TABLE_LONGEST_ON_TICKS));
         });
}

bool can_be_said(const std::vector<VoiceProgram>& voices) {
  return std::all_of(voices.begin(), voices.end(), [](const VoiceProgram& voice) {
    return std::all_of(voice.trains.begin(), voice.trains.end(),
                       [](const TrainRun& run) { return run.delay.value_or(0) <= kLongestGapTicks; });
  });
}

// The fewest periods of which each run finds one that suits it, the most wanted first.
class PeriodList {
 public:
  explicit PeriodList(const std::vector<VoiceProgram>& voices) {
    std::vector<const TrainRun*> runs;
    for (const VoiceProgram& voice : voices)
      for (const TrainRun& run : voice.trains)
        if (run.has_period) runs.push_back(&run);
    std::sort(runs.begin(), runs.end(), [](const auto* a, const auto* b) { return a->high < b->high; });
    std::vector<std::pair<std::int64_t, FinePeriod>> used;  // how often, which
    for (const TrainRun* run : runs) {
      if (used.empty() || used.back().second < run->low) used.push_back({0, run->high});
      ++used.back().first;
    }
    sorted_.reserve(used.size());
    for (const auto& [times, period] : used) sorted_.push_back({period, 0});
    std::vector<std::size_t> by_use(used.size());
    std::iota(by_use.begin(), by_use.end(), 0u);
    std::stable_sort(by_use.begin(), by_use.end(),
                     [&](std::size_t a, std::size_t b) { return used[a].first > used[b].first; });
    for (const std::size_t i : by_use) {
      sorted_[i].second = periods_.size();
      periods_.push_back(sorted_[i].first);
    }
  }

  [[nodiscard]] const std::vector<FinePeriod>& periods() const { return periods_; }
  [[nodiscard]] std::size_t index_for(const TrainRun& run) const {
    return std::lower_bound(sorted_.begin(), sorted_.end(), std::pair(run.low, std::size_t{0}))->second;
  }

 private:
  std::vector<std::pair<FinePeriod, std::size_t>> sorted_;  // period, index
  std::vector<FinePeriod> periods_;
};

Bytes program_of(const VoiceProgram& voice, const PeriodList& periods) {
  Bytes bytes;
  std::optional<std::size_t> period;  // the one in use
  std::size_t train = 0, on = 0;
  for (std::size_t at = 0; at < voice.bursts;) {
    const bool new_train = train < voice.trains.size() && voice.trains[train].first == at;
    const bool new_on = on < voice.on_runs.size() && voice.on_runs[on].first == at;
    const TrainRun* run = new_train ? &voice.trains[train++] : nullptr;
    const OnRun* ons = new_on ? &voice.on_runs[on++] : nullptr;
    std::size_t end = voice.bursts;
    if (train < voice.trains.size()) end = std::min(end, voice.trains[train].first);
    if (on < voice.on_runs.size()) end = std::min(end, voice.on_runs[on].first);
    end = std::min(end, at + 65535);
    // A train that goes on in the period in use says so all the same: it stands in the middle of a tick
    // again.
    const bool says_period = run && run->has_period && !(run->delay && period == periods.index_for(*run));
    unsigned head = (run && run->delay ? VOICE_SAYS_START : 0) | (says_period ? VOICE_SAYS_PERIOD : 0) |
                    (ons ? VOICE_SAYS_ON : 0) | (ons && ons->fade != 0 ? VOICE_SAYS_FADE : 0);
    const std::size_t bursts = end - at;
    if (bursts < 16) head |= static_cast<unsigned>(bursts) << 4;
    bytes.push_back(static_cast<std::uint8_t>(head));
    if (bursts >= 16) append_leb128(bytes, static_cast<std::int64_t>(bursts));
    if (run && run->delay) append_leb128(bytes, *run->delay);
    if (says_period) {
      period = periods.index_for(*run);
      append_leb128(bytes, static_cast<std::int64_t>(*period));
    }
    if (ons) append_leb128(bytes, ons->on);
    if (ons && ons->fade != 0) bytes.push_back(static_cast<std::uint8_t>(ons->fade));
    at = end;
  }
  return bytes;
}

void append(Bytes& bytes, std::int64_t value, int count) {
  for (int i = 0; i < count; ++i) bytes.push_back(static_cast<std::uint8_t>(value >> 8 * i & 0xFF));
}

Bytes data_without_corrections(const std::vector<VoiceProgram>& voices, Tick gap) {
  const PeriodList periods(voices);
  Bytes data = {static_cast<std::uint8_t>(voices.size()), kWays[0].cap, kWays[0].yields, 0};
  append(data, gap, 4);
  append(data, static_cast<std::int64_t>(periods.periods().size()), 2);
  Bytes programs;
  for (const VoiceProgram& voice : voices) {
    const Bytes program = program_of(voice, periods);
    append(data, static_cast<std::int64_t>(program.size()), 3);
    programs.insert(programs.end(), program.begin(), program.end());
  }
  for (const FinePeriod period : periods.periods()) {
    append(data, period >> 32, 3);
    append(data, period & 0xFFFFFFFF, 4);
  }
  data.insert(data.end(), programs.begin(), programs.end());
  return data;
}

// Corrections, each with the number of bursts before it that are right.
class Corrections {
 public:
  static constexpr Tick kNearest = -1024, kFurthest = 1023;

  void right() { ++right_; }
  void drop() {
    runs(31);
    put(0xC0 | right_);
  }
  void set_on(Tick on) {
    runs(15);
    put(0xE0 | right_);
    append_leb128(bytes_, on);
  }
  /// kNearest to kFurthest.
  void shift(Tick by) {
    runs(15);
    const auto bits = static_cast<unsigned>(by & 2047);
    bytes_.push_back(static_cast<std::uint8_t>(static_cast<unsigned>(right_) << 3 | bits >> 8));
    put(bits & 255);
  }
  void shift_and_set_on(Tick by, Tick on) {
    runs(15);
    put(0xF0 | right_);
    append_leb128(bytes_, by < 0 ? ~(by * 2) : by * 2);
    append_leb128(bytes_, on);
  }
  [[nodiscard]] const Bytes& bytes() const { return bytes_; }

 private:
  // Says of so many that they are right that no more than `most` are left to say.
  void runs(std::int64_t most) {
    while (right_ > most) {
      const std::int64_t run = std::min<std::int64_t>(right_, 64);
      bytes_.push_back(static_cast<std::uint8_t>(0x80 | (run - 1)));
      right_ -= run;
    }
  }
  void put(std::int64_t byte) {
    bytes_.push_back(static_cast<std::uint8_t>(byte));
    right_ = 0;
  }

  Bytes bytes_;
  std::int64_t right_ = 0;
};

// A player's reader at work on bytes of this program. Limits wider than any: a player that keeps them closer
// reads the same, as long as the stream is inside them.
class Reading {
 public:
  explicit Reading(const Bytes& table) : before_(host_table) {
    host_table = {table.data(), static_cast<std::uint32_t>(table.size()), TABLE_LONGEST_ON_TICKS, 0, 0};
  }
  ~Reading() { host_table = before_; }
  Reading(const Reading&) = delete;
  Reading& operator=(const Reading&) = delete;

 private:
  struct ::host_table before_;
};

Bytes readable(const Bytes& data, const BurstStream& stream) {
  return finished_table(Encoding::voices, data, stream, {});
}

// What the weaver makes of the burst that it took last, when it goes by `ways` and has been told everything
// in those of kWays[0].
class Settling {
 public:
  explicit Settling(weaver& weaver) : weaver_(weaver) {}
  std::optional<weaver_burst> operator()(Ways ways, std::uint8_t voice, weaver_burst burst) {
    weaver_voice& it = weaver_.voice[voice];
    const std::uint32_t cap = it.cap;
    if (ways.cap != kWays[0].cap) it.cap = cap_of(it.period, ways.cap);
    weaver_.yields = ways.yields;
    const bool is_made = weaver_settle(&weaver_, voice, &burst) != 0;
    it.cap = cap;
    return is_made ? std::optional(burst) : std::nullopt;
  }

 private:
  std::uint32_t cap_of(std::uint32_t period, std::uint8_t cap) {
    other_.cap = cap;
    weaver_set_period(&other_, 0, period, 0);
    return other_.voice[0].cap;
  }

  weaver& weaver_;
  weaver other_{};
};

void correct(Corrections& corrections, const Wish& wish, Tick wanted_on,
             const std::optional<weaver_burst>& woven) {
  if (!wish.made) return woven ? corrections.drop() : corrections.right();
  const bool right_start = woven && woven->start == static_cast<std::uint32_t>(wish.made->start),
             right_on = wanted_on == wish.made->on;
  const Tick shift = wish.made->start - wish.start;
  if (right_start && right_on) return corrections.right();
  if (right_start) return corrections.set_on(wish.made->on);
  if (right_on && shift >= Corrections::kNearest && shift <= Corrections::kFurthest)
    return corrections.shift(shift);
  corrections.shift_and_set_on(shift, wish.made->on);
}

// What the weaver would make of the wishes, by each of its ways, is compared with what was made. Nothing when
// they are not what the programs say.
std::optional<std::array<Corrections, kWays.size()>> corrections_of(const Bytes& table,
                                                                    const std::vector<Wish>& wishes) {
  const Reading reading(table);
  voice_reader reader{};
  if (!voice_reader_begin(&reader)) return {};
  Settling settle(reader.weaver);
  std::array<Corrections, kWays.size()> corrections;
  for (const Wish& wish : wishes) {
    std::uint8_t voice = 0;
    weaver_burst wanted{};
    if (!voice_reader_tell(&reader) || voice_reader_want(&reader, &voice, &wanted) != VOICES_BURST) return {};
    if (wanted.start != static_cast<std::uint32_t>(wish.start) || voice != wish.voice) return {};
    for (std::size_t i = 0; i < kWays.size(); ++i)
      correct(corrections[i], wish, wanted.on, settle(kWays[i], voice, wanted));
    if (!wish.made) continue;
    const weaver_burst made{static_cast<std::uint32_t>(wish.made->start),
                            static_cast<std::uint32_t>(wish.made->on)};
    weaver_made(&reader.weaver, &made);
  }
  return corrections;
}

bool gives(const Bytes& table, const BurstStream& stream) {
  const Reading reading(table);
  table_reader reader{};
  if (!table_reader_begin(&reader)) return false;
  Tick end = 0;
  for (const Burst& burst : stream.bursts) {
    table_burst read{};
    std::uint8_t result = TABLE_MORE;
    while (result == TABLE_MORE) result = table_reader_step(&reader, &read);
    if (result != TABLE_BURST) return false;
    if (read.gap != burst.start - end || read.on != burst.on) return false;
    end = burst.end();
  }
  return true;
}

}  // namespace

std::optional<std::vector<VoiceProgram>> voice_programs(const std::vector<Wish>& wishes) {
  if (!can_be_said(wishes)) return {};
  struct Wanted {
    std::vector<Tick> starts;
    std::vector<std::optional<std::uint16_t>> ons;
  };
  std::vector<Wanted> wanted;
  for (const Wish& wish : wishes) {
    if (wish.voice >= wanted.size()) wanted.resize(wish.voice + 1u);
    Wanted& voice = wanted[wish.voice];
    voice.starts.push_back(wish.start);
    voice.ons.push_back(wish.made ? std::optional(static_cast<std::uint16_t>(wish.made->on)) : std::nullopt);
  }
  std::vector<VoiceProgram> voices;
  voices.reserve(wanted.size());
  for (const Wanted& voice : wanted)
    voices.push_back({voice.starts.size(), train_runs(voice.starts), on_runs(voice.ons)});
  if (!can_be_said(voices)) return {};
  return voices;
}

std::vector<bool> tells_after(const std::vector<Wish>& wishes, const std::vector<VoiceProgram>& voices) {
  std::vector<std::vector<bool>> begins;  // of each voice's bursts, those with which a stretch begins
  for (const VoiceProgram& voice : voices) {
    std::vector<bool>& mine = begins.emplace_back(voice.bursts + 1, false);
    for (const TrainRun& run : voice.trains) mine[run.first] = true;
    for (const OnRun& run : voice.on_runs) mine[run.first] = true;
  }
  std::vector<std::size_t> burst(voices.size(), 0);
  std::vector<bool> tells;
  tells.reserve(wishes.size());
  for (const Wish& wish : wishes) tells.push_back(begins[wish.voice][++burst[wish.voice]]);
  return tells;
}

std::optional<Bytes> voice_data(const BurstStream& stream, const std::vector<Wish>& wishes,
                                const std::vector<VoiceProgram>& voices, std::size_t fewer_than) {
  Bytes data = data_without_corrections(voices, shortest_gap(stream));
  if (data.size() >= fewer_than) return {};
  const auto corrections = corrections_of(readable(data, stream), wishes);
  if (!corrections) return {};
  const auto smallest = std::min_element(
      corrections->begin(), corrections->end(),
      [](const Corrections& a, const Corrections& b) { return a.bytes().size() < b.bytes().size(); });
  const Ways ways = kWays[static_cast<std::size_t>(smallest - corrections->begin())];
  data[1] = ways.cap;
  data[2] = ways.yields;
  data.insert(data.end(), smallest->bytes().begin(), smallest->bytes().end());
  if (data.size() >= fewer_than || !gives(readable(data, stream), stream)) return {};
  return data;
}

Tick shortest_gap(const BurstStream& stream) {
  Tick shortest = kLongestGapTicks;
  for (std::size_t i = 1; i < stream.bursts.size(); ++i)
    shortest = std::min(shortest, stream.bursts[i].start - stream.bursts[i - 1].end());
  return shortest;
}

}  // namespace burstloom::table_detail
