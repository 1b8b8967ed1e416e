#include "set_plan.hpp"

#include <algorithm>

#include "burstloom/common/error.hpp"
#include "guard_run.hpp"
#include "words.hpp"

namespace burstloom::table_detail {
namespace {

constexpr Tick kGuardLooksEvery = Tick{1} << 28;  // far less than half of what the player's clock counts

void require_number_of(const std::vector<ImageSong>& songs) {
  if (songs.empty() || songs.size() > kMostSongs)
    throw Error(Fault::usage, "an image of " + std::to_string(songs.size()) + " songs", "",
                "give it between 1 and " + std::to_string(kMostSongs));
}

// What `check` throws, with the song's name.
template <typename Check>
auto of_song(std::size_t index, const ImageSong& song, Check check) {
  try {
    return check();
  } catch (const Error& error) {
    throw Error(error.fault(), error.problem(), which_song(index, song), error.what_to_do());
  }
}

PlannedSong planned(const ImageSong& song, const Target& target) {
  const TableInput& table = song.table;
  PlannedSong plan{&song, compiled_limits(table, target)};
  require_playable(table, target, plan.limits);
  plan.pause_ms =
      std::max(plan.limits.rest_ms, player_limits(table.profile, table.stream, song.pause_s).rest_ms);
  plan.tables = StreamTables(table).tables(target, plan.limits);
  return plan;
}

// What of the limits is not the same, in words; or nothing.
std::string difference(const CompiledLimits& first, const CompiledLimits& other, const BurstStream& stream) {
  const auto us = [&](Tick ticks) { return number(stream.microseconds(ticks)) + " µs"; };
  const auto differ = [](const std::string& what, const std::string& one, const std::string& another) {
    return "its " + what + " is " + another + ", not " + one;
  };
  if (first.on_max != other.on_max) return differ("longest on-time", us(first.on_max), us(other.on_max));
  if (first.gap_min != other.gap_min) return differ("shortest gap", us(first.gap_min), us(other.gap_min));
  if (first.stretch != other.stretch) return differ("pulse stretch", us(first.stretch), us(other.stretch));
  const auto said = [](const CompiledLimits& limits) {
    std::string all;
    for (const GuardWindow& window : limits.windows) all += (all.empty() ? "" : ", ") + window.limit.name;
    return all.empty() ? std::string("none") : all;
  };
  if (said(first) != said(other))
    return differ("list of windows that the guard keeps", said(first), said(other));
  for (std::size_t i = 0; i < first.windows.size(); ++i) {
    const GuardWindow &a = first.windows[i], &b = other.windows[i];
    const auto ticks = [&](const GuardWindow& window) {
      return std::to_string(window.limit.allowance) + " in " + us(window.limit.window);
    };
    if (ticks(a) != ticks(b)) return differ("allowance of " + a.limit.name, ticks(a), ticks(b));
  }
  return {};
}

void require_same_limits(const std::vector<PlannedSong>& songs) {
  for (std::size_t i = 1; i < songs.size(); ++i) {
    const std::string what = difference(songs[0].limits, songs[i].limits, songs[i].song->table.stream);
    if (!what.empty())
      throw Error(Fault::usage,
                  which_song(i, *songs[i].song) + " has other limits than " + which_song(0, *songs[0].song) +
                      ", and a player keeps one set of limits: " + what,
                  "", "weave all songs of an image for the same coil");
  }
}

// The player's guard goes on from song to song: the first bursts of one may fall into windows that the one
// before has filled.
void require_long_enough_pauses(const std::vector<PlannedSong>& songs) {
  GuardRun guard(songs.front().limits);
  Tick zero = 0;
  for (std::size_t i = 0; i < songs.size(); ++i) {
    const BurstStream& stream = songs[i].song->table.stream;
    for (const Burst& burst : stream.bursts) {
      if (guard.ask({zero + burst.start, burst.on}) == burst.on) continue;
      throw Error(
          Fault::outside_limits,
          which_song(i, *songs[i].song) + " begins too soon: its burst at " +
              number(stream.seconds(burst.start)) +
              " s would be kept back by the player's guard, in a window that the song before has filled",
          "", "plan a longer pause before it");
    }
    const Tick end = zero + stream.bursts.back().end();
    zero = end + songs[i].pause_ms * stream.tick_hz / 1000;
    for (Tick now = end; now < zero; now += kGuardLooksEvery) guard.rest(now);
    guard.rest(zero);
  }
}

const Table& smallest(const std::vector<Table>& tables, bool may_have_voices) {
  const auto smaller = [](const Table& a, const Table& b) { return a.bytes.size() < b.bytes.size(); };
  return may_have_voices ? *std::min_element(tables.begin(), tables.end(), smaller) : tables.front();
}

Layout layout(const std::vector<PlannedSong>& songs, std::size_t count, const Target& target,
              bool may_have_voices) {
  Layout layout;
  layout.image_bytes = static_cast<std::int64_t>(kTableHeaderBytes + count * kSetEntryBytes);
  for (std::size_t i = 0; i < count; ++i) {
    layout.tables.push_back(&smallest(songs[i].tables, may_have_voices));
    layout.voices = std::max(layout.voices, layout.tables.back()->voices);
    layout.image_bytes += static_cast<std::int64_t>(layout.tables.back()->bytes.size());
  }
  const PlayerSize player = player_size(target, songs.front().limits, layout.voices);
  layout.flash_bytes = player.flash_bytes + target.set_flash_bytes +
                       (layout.voices > 0 ? target.set_voices_flash_bytes : 0) + layout.image_bytes;
  layout.ram_bytes = player.ram_bytes + target.set_ram_bytes;
  return layout;
}

}  // namespace

std::string which_song(std::size_t index, const ImageSong& song) {
  return "song " + std::to_string(index + 1) + " (" + printable(song.table.title, 60) + ")";
}

std::vector<PlannedSong> planned_songs(const std::vector<ImageSong>& songs, const Target& target) {
  require_number_of(songs);
  std::vector<PlannedSong> plans;
  for (std::size_t i = 0; i < songs.size(); ++i)
    plans.push_back(of_song(i, songs[i], [&] { return planned(songs[i], target); }));
  require_same_limits(plans);
  require_long_enough_pauses(plans);
  return plans;
}

CompiledLimits common_limits(const std::vector<PlannedSong>& songs) {
  CompiledLimits limits = songs.front().limits;
  for (const PlannedSong& song : songs) limits.rest_ms = std::max(limits.rest_ms, song.limits.rest_ms);
  return limits;
}

std::int64_t shortest_pause_ms(const std::vector<PlannedSong>& songs) {
  std::int64_t shortest = songs.front().pause_ms;
  for (std::size_t i = 0; i + 1 < songs.size(); ++i) shortest = std::min(shortest, songs[i].pause_ms);
  return shortest;
}

Layout layout_of(const std::vector<PlannedSong>& songs, std::size_t count, const Target& target) {
  Layout pairs = layout(songs, count, target, false), mixed = layout(songs, count, target, true);
  return mixed.flash_bytes < pairs.flash_bytes && mixed.ram_bytes <= target.ram_bytes ? mixed : pairs;
}

std::optional<Encoding> common_encoding(const Layout& layout) {
  const Encoding first = layout.tables.front()->encoding;
  const bool same =
      std::ranges::all_of(layout.tables, [&](const Table* table) { return table->encoding == first; });
  return same ? std::optional(first) : std::nullopt;
}

}  // namespace burstloom::table_detail
