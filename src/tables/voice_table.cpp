#include "voice_table.hpp"

#include <algorithm>
#include <numeric>

#include "burstloom/stream/leb128.hpp"
#include "voice_program.hpp"

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

struct Voice {
  std::vector<Tick> starts;
  std::vector<std::optional<std::uint16_t>> ons;
  std::vector<TrainRun> trains;
  std::vector<OnRun> on_runs;
};

std::vector<Voice> voices_of(const std::vector<Wish>& wishes) {
  std::vector<Voice> voices;
  for (const Wish& wish : wishes) {
    if (wish.voice >= voices.size()) voices.resize(wish.voice + 1u);
    Voice& voice = voices[wish.voice];
    voice.starts.push_back(wish.start);
    voice.ons.push_back(wish.made ? std::optional(static_cast<std::uint16_t>(wish.made->on)) : std::nullopt);
  }
  for (Voice& voice : voices) {
    voice.trains = train_runs(voice.starts);
    voice.on_runs = on_runs(voice.ons);
  }
  return voices;
}

bool can_be_said(const std::vector<Wish>& wishes) {
  return std::all_of(wishes.begin(), wishes.end(), [](const Wish& wish) {
    return wish.voice < WEAVER_VOICES &&
           (!wish.made || wish.made->on <= static_cast<Tick>(TABLE_LONGEST_ON_TICKS));
  });
}

bool can_be_said(const std::vector<Voice>& voices) {
  return !voices.empty() && std::all_of(voices.begin(), voices.end(), [](const Voice& voice) {
    return std::all_of(voice.trains.begin(), voice.trains.end(),
                       [](const TrainRun& run) { return run.delay.value_or(0) <= kLongestGapTicks; });
  });
}

// The fewest periods of which each run finds one that suits it, the most wanted first.
class PeriodList {
 public:
  explicit PeriodList(const std::vector<Voice>& voices) {
    std::vector<const TrainRun*> runs;
    for (const Voice& voice : voices)
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

Bytes program_of(const Voice& voice, const PeriodList& periods) {
  Bytes bytes;
  std::optional<std::size_t> period;  // the one in use
  std::size_t train = 0, on = 0;
  for (std::size_t at = 0; at < voice.starts.size();) {
    const bool new_train = train < voice.trains.size() && voice.trains[train].first == at;
    const bool new_on = on < voice.on_runs.size() && voice.on_runs[on].first == at;
    const TrainRun* run = new_train ? &voice.trains[train++] : nullptr;
    const OnRun* ons = new_on ? &voice.on_runs[on++] : nullptr;
    std::size_t end = voice.starts.size();
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

Bytes data_without_corrections(const std::vector<Voice>& voices, Tick gap) {
  const PeriodList periods(voices);
  Bytes data = {static_cast<std::uint8_t>(voices.size()), 0, 0, 0};
  append(data, gap, 4);
  append(data, static_cast<std::int64_t>(periods.periods().size()), 2);
  Bytes programs;
  for (const Voice& voice : voices) {
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

// A player's reader at work on bytes of this program.
class Reading {
 public:
  Reading(const Bytes& table, const CompiledLimits& limits) : before_(host_table) {
    host_table = {table.data(), static_cast<std::uint32_t>(table.size()),
                  static_cast<std::uint32_t>(limits.on_max), static_cast<std::uint32_t>(limits.gap_min), 0};
  }
  ~Reading() { host_table = before_; }
  Reading(const Reading&) = delete;
  Reading& operator=(const Reading&) = delete;

 private:
  struct ::host_table before_;
};

// What the weaver would make of the wishes is compared with what was made. Nothing when they are not what the
// programs say.
std::optional<Bytes> corrections_of(const Bytes& table, const std::vector<Wish>& wishes,
                                    const CompiledLimits& limits) {
  const Reading reading(table, limits);
  voice_reader reader{};
  if (!voice_reader_begin(&reader)) return {};
  Corrections corrections;
  for (const Wish& wish : wishes) {
    std::uint8_t voice = 0;
    weaver_burst wanted{};
    if (!voice_reader_tell(&reader) || voice_reader_want(&reader, &voice, &wanted) != VOICES_BURST) return {};
    if (wanted.start != static_cast<std::uint32_t>(wish.start) || voice != wish.voice) return {};
    weaver_burst woven = wanted;
    const bool would_be_made = weaver_settle(&reader.weaver, voice, &woven) != 0;
    if (!wish.made) {
      would_be_made ? corrections.drop() : corrections.right();
      continue;
    }
    const weaver_burst made{static_cast<std::uint32_t>(wish.made->start),
                            static_cast<std::uint32_t>(wish.made->on)};
    const bool right_start = would_be_made && woven.start == made.start, right_on = wanted.on == made.on;
    const Tick shift = wish.made->start - wish.start;
    if (right_start && right_on)
      corrections.right();
    else if (right_start)
      corrections.set_on(wish.made->on);
    else if (right_on && shift >= Corrections::kNearest && shift <= Corrections::kFurthest)
      corrections.shift(shift);
    else
      corrections.shift_and_set_on(shift, wish.made->on);
    weaver_made(&reader.weaver, &made);
  }
  return corrections.bytes();
}

bool gives(const Bytes& table, const BurstStream& stream, const CompiledLimits& limits) {
  const Reading reading(table, limits);
  table_reader reader{};
  if (!table_reader_begin(&reader)) return false;
  // A song that begins sooner than a gap after its start begins a gap after it, and all of it so much later.
  Tick end = std::min<Tick>(0, stream.bursts.front().start - limits.gap_min);
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

std::vector<bool> tells_after(const std::vector<Wish>& wishes, const std::vector<Voice>& voices) {
  std::vector<std::vector<bool>> begins;  // of each voice's bursts, those with which a stretch begins
  for (const Voice& voice : voices) {
    std::vector<bool>& mine = begins.emplace_back(voice.starts.size() + 1, false);
    for (const TrainRun& run : voice.trains) mine[run.first] = true;
    for (const OnRun& run : voice.on_runs) mine[run.first] = true;
  }
  std::vector<std::size_t> burst(voices.size(), 0);
  std::vector<bool> tells;
  tells.reserve(wishes.size());
  for (const Wish& wish : wishes) tells.push_back(begins[wish.voice][++burst[wish.voice]]);
  return tells;
}

Tick shortest_gap(const BurstStream& stream, Tick least) {
  Tick shortest = kLongestGapTicks;
  for (std::size_t i = 1; i < stream.bursts.size(); ++i)
    shortest = std::min(shortest, stream.bursts[i].start - stream.bursts[i - 1].end());
  return std::max(shortest, least);
}

}  // namespace

std::optional<VoiceTable> voice_table(const BurstStream& stream, const std::vector<Wish>& wishes,
                                      const CompiledLimits& limits) {
  if (!can_be_said(wishes)) return {};
  const std::vector<Voice> voices = voices_of(wishes);
  if (!can_be_said(voices)) return {};
  Bytes data = data_without_corrections(voices, shortest_gap(stream, limits.gap_min));
  std::optional<Bytes> smallest;
  for (const Ways ways : {Ways{26, false}, Ways{26, true}, Ways{255, false}}) {
    data[1] = ways.cap;
    data[2] = ways.yields;
    const auto corrections =
        corrections_of(finished_table(Encoding::voices, data, stream, limits), wishes, limits);
    if (!corrections) return {};
    if (smallest && data.size() + corrections->size() >= smallest->size()) continue;
    smallest = data;
    smallest->insert(smallest->end(), corrections->begin(), corrections->end());
  }
  VoiceTable table{finished_table(Encoding::voices, *smallest, stream, limits),
                   static_cast<int>(voices.size()), tells_after(wishes, voices)};
  if (!gives(table.bytes, stream, limits)) return {};
  return table;
}

}  // namespace burstloom::table_detail
