#include <algorithm>

#include "burstloom/common/error.hpp"
#include "project_files.hpp"
#include "set_plan.hpp"
#include "words.hpp"

namespace burstloom {
namespace {

using namespace table_detail;

constexpr const char* kLongestRest = "rest after a stop, a reset and the last song";

SetFit fit_of(const std::vector<PlannedSong>& songs, const Layout& layout, const Target& target) {
  SetFit fit{.image_bytes = layout.image_bytes,
             .flash_used = layout.flash_bytes,
             .flash_of = target.flash_bytes,
             .ram_used = layout.ram_bytes,
             .ram_of = target.ram_bytes,
             .songs_that_fit = songs.size()};
  const auto first_fit = [&](std::size_t count) {
    return layout_of(songs, count, target).flash_bytes <= target.flash_bytes;
  };
  while (fit.songs_that_fit > 0 && !first_fit(fit.songs_that_fit)) --fit.songs_that_fit;
  return fit;
}

std::vector<SetEntry> directory_of(const std::vector<PlannedSong>& songs, const Layout& layout) {
  std::vector<SetEntry> directory;
  auto at = static_cast<std::int64_t>(kTableHeaderBytes + songs.size() * kSetEntryBytes);
  for (std::size_t i = 0; i < songs.size(); ++i) {
    const TableInput& song = songs[i].song->table;
    const auto bytes = static_cast<std::int64_t>(layout.tables[i]->bytes.size());
    directory.push_back({.title = in_comment(song.title).substr(0, kSetTitleBytes),
                         .bursts = static_cast<std::int64_t>(song.stream.bursts.size()),
                         .table_at = at,
                         .table_bytes = bytes,
                         .encoding = layout.tables[i]->encoding,
                         .length_s = song.stream.seconds(song.stream.length),
                         .rest_ms = songs[i].limits.rest_ms,
                         .pause_ms = songs[i].pause_ms});
    at += bytes;
  }
  return directory;
}

Bytes image_of(const std::vector<SetEntry>& directory, const Layout& layout, std::int64_t tick_hz,
               const CompiledLimits& limits) {
  Bytes entries;
  for (const SetEntry& entry : directory) {
    append_word(entries, entry.table_at);
    append_word(entries, entry.table_bytes);
    append_word(entries, static_cast<std::int64_t>(entry.length_s * 1000));
    append_word(entries, entry.pause_ms);
    entries.insert(entries.end(), entry.title.begin(), entry.title.end());
    entries.resize(entries.size() + kSetTitleBytes - entry.title.size());
  }
  Bytes image = finished_table(Encoding::directory, entries, tick_hz, directory.size(), limits);
  for (const Table* table : layout.tables)
    image.insert(image.end(), table->bytes.begin(), table->bytes.end());
  return image;
}

std::string about(const std::vector<SetEntry>& directory, const Target& target, const TableInput& first,
                  const CompiledLimits& limits) {
  std::string text = " * The pulse tables of a set of " + std::to_string(directory.size()) +
                     " songs, made by Burstloom for " + target.chip +
                     ".\n * Coil: " + in_comment(first.profile.name) + "\n" +
                     whose_limits_in_comment(first.whose_limits);
  for (std::size_t i = 0; i < directory.size(); ++i) {
    const SetEntry& song = directory[i];
    text += " * Song " + std::to_string(i) + ": " + song.title + ", " + std::to_string(song.bursts) +
            " bursts in " + number(song.length_s) + " s;\n *   at byte " + std::to_string(song.table_at) +
            ", " + std::to_string(song.table_bytes) + " bytes (" + name_of(song.encoding) +
            "); pause after it " + seconds_of(song.pause_ms) + ", rest at least " + seconds_of(song.rest_ms) +
            ".\n";
  }
  return text + " * " + limits_kept(limits, target.tick_hz, kLongestRest);
}

std::string definitions(const std::vector<PlannedSong>& songs, const Layout& layout, std::int64_t tick_hz,
                        const CompiledLimits& limits) {
  const auto encoding = common_encoding(layout);
  return define("VERSION", std::to_string(kTableVersion)) +
         define("TICK_HZ", std::to_string(tick_hz) + "UL") +
         define("BYTES", std::to_string(layout.image_bytes) + "UL") +
         (encoding ? define("ENCODING", std::to_string(static_cast<int>(*encoding))) : "") +
         (layout.voices > 0 ? define("VOICES", std::to_string(layout.voices)) : "") +
         limit_definitions(limits) + "#define BURST_SET_SONGS " + std::to_string(songs.size()) +
         "\n#define BURST_SET_PAUSE_MIN_MS " + std::to_string(shortest_pause_ms(songs)) + "UL\n";
}

constexpr std::string_view kBehaviour = R"(
## How it behaves

- **Arm** is a switch, not a push button: closed once, it stands for the whole set; opened, it ends whatever plays or
  waits. It is debounced by 20 ms.
- **Stop** acts at once, within a running burst too. Use a switch that breaks the circuit when pushed.
- After a song's end the gate is low for the planned pause; then the next song is checked (some tenths of a second on a
  slow chip) and starts **by itself, as long as arm and stop have stayed closed**. While the set runs, a silent coil is
  an armed coil: open arm before anybody comes near it, and take its supply away.
- Arm or stop opened, in a song or in a pause, is a stop of the set: gate low, the longest rest of any song, then arm has
  to be open and to be closed again with stop closed. The same song then begins anew; in a pause, the one that was to come.
- After the last song and after a reset likewise, with the first song. A switch that sticks, or was left closed, starts
  nothing.
- `player_choose(n)` (player/set.h) takes another song, 0 is the first: while nothing is armed, and after the rest. The
  pauses were planned for this order; another one may be hotter.
- A burst whose rise cannot be made in time, because another interrupt kept the processor, is left out and counted
  (`player_status.missed`); the song goes on in time.
- A burst that a duty window has no room for is left out and counted (`player_status.refused`); a sound table has none.
- Directory and table are checked before every song. When either is damaged, cut, of another version or tick rate, or
  made for wider limits, nothing plays any more (`player_status.state` 5, `player_status.error` tells why: see
  player/table.h) until a reset.

)";

std::string readme(const SetImage& image, const Target& target, const TableInput& first,
                   const CompiledLimits& limits) {
  std::string text = "# A set of songs for a coil, played by " + target.chip +
                     "\n\nCoil: " + in_markdown(first.profile.name) + "  \n" +
                     whose_limits_in_markdown(first.whose_limits) +
                     "\n| | song | length | pause after it | shortest rest |\n|---|---|---|---|---|\n";
  for (std::size_t i = 0; i < image.directory.size(); ++i) {
    const SetEntry& song = image.directory[i];
    text += "| " + std::to_string(i) + " | " + in_markdown(song.title) + " | " + number(song.length_s) +
            " s | " + (i + 1 < image.directory.size() ? seconds_of(song.pause_ms) : "the longest rest") +
            " | " + seconds_of(song.rest_ms) + " |\n";
  }
  return text + "\n" +
         readme_facts(limits, target.tick_hz, kLongestRest,
                      {image.fit.flash_used, image.fit.flash_of, image.fit.ram_used, image.fit.ram_of}) +
         std::string(kBehaviour);
}

std::string names(const std::vector<PlannedSong>& songs, std::size_t count) {
  std::string text;
  for (std::size_t i = 0; i < count; ++i)
    text += (i == 0 ? "" : ", ") + printable(songs[i].song->table.title, 60);
  return text;
}

std::string holders(const std::vector<ImageSong>& songs) {
  std::string text;
  for (const Target& target : targets())
    if (can_hold(target, songs)) text += (text.empty() ? "" : " or ") + target.name;
  return text.empty() ? "" : "export for a target that holds all (" + text + "), ";
}

void require_fit(const SetFit& fit, const std::vector<PlannedSong>& plans,
                 const std::vector<ImageSong>& songs, const Target& target) {
  if (fit.fits()) return;
  const std::string some = fit.songs_that_fit == 0 ? "not even the first song would fit"
                                                   : "the first " + std::to_string(fit.songs_that_fit) +
                                                         " would fit: " + names(plans, fit.songs_that_fit);
  throw Error(Fault::outside_limits,
              "the set takes " + std::to_string(fit.flash_used) + " bytes of flash (" +
                  std::to_string(fit.image_bytes) + " of them for " + std::to_string(songs.size()) +
                  " songs) and " + std::to_string(fit.ram_used) + " of RAM, but " + target.chip + " has " +
                  std::to_string(fit.flash_of) + " and " + std::to_string(fit.ram_of) + "; " + some,
              "", holders(songs) + "export fewer songs, or stream the files with burstloom send");
}

}  // namespace

SetImage set_image(const std::vector<ImageSong>& songs, const Target& target) {
  const std::vector<PlannedSong> plans = planned_songs(songs, target);
  const CompiledLimits limits = common_limits(plans);
  const Layout layout = layout_of(plans, plans.size(), target);
  SetImage image{directory_of(plans, layout), fit_of(plans, layout, target), {}, {}};
  require_fit(image.fit, plans, songs, target);
  const TableInput& first = songs.front().table;
  const std::int64_t tick_hz = first.stream.tick_hz;
  image.header =
      header_text(about(image.directory, target, first, limits), definitions(plans, layout, tick_hz, limits),
                  image_of(image.directory, layout, tick_hz, limits));
  image.project = project_files(image.header, readme(image, target, first, limits), target);
  return image;
}

bool can_hold(const Target& target, const std::vector<ImageSong>& songs) {
  try {
    const std::vector<PlannedSong> plans = planned_songs(songs, target);
    const Layout layout = layout_of(plans, plans.size(), target);
    return layout.flash_bytes <= target.flash_bytes && layout.ram_bytes <= target.ram_bytes;
  } catch (const Error&) {
    return false;  // too quick for the chip, or limits that its player cannot keep
  }
}

}  // namespace burstloom
