// Tables and ready projects for microcontrollers.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/stream/account.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// A chip that tables can be exported for: what it has, and what its player can do.
struct Target {
  std::string name;  ///< as in `--target NAME`; its port lies in firmware-out/ports/NAME
  std::string chip;
  std::string shared_port;  ///< a second folder there, of what its family has in common; or empty
  std::int64_t clock_hz = 0;
  std::int64_t flash_bytes = 0,
               ram_bytes = 0;  ///< for the player and its table: without a boot loader's share
  std::int64_t player_flash_bytes = 0, player_ram_bytes = 0;  ///< measured by the tests, rounded up
  Tick shortest_on_ticks = 0, shortest_gap_ticks = 0;  ///< at the target's tick rate; measured, with a margin
  std::int64_t guard_ram_bytes = 1'024;                ///< that the guard's slots may take beside the player
  Tick guard_gap_ticks =
      0;  ///< by so much each window that the guard keeps lengthens the shortest gap; measured
  bool guard_counts_starts = true;  ///< whether the break rate is among the windows that its guard keeps
  Tick longest_on_ticks = 0;        ///< longer ones would keep other interrupts out for too long
  /// What a table of voices takes more than one of pairs: code, RAM for the reader and for each voice.
  std::int64_t voices_flash_bytes = 0, voices_ram_bytes = 0, voice_ram_bytes = 0;
  /// What going through the songs of a set takes, and what more when some of them are told by voices: reading
  /// both.
  std::int64_t set_flash_bytes = 0, set_voices_flash_bytes = 0, set_ram_bytes = 0;
  /// How long a step of reading a table of voices takes, beside the work in the shortest gap: for a burst
  /// that some voice wants, made or not, with so much more for each voice; and to tell a voice how it goes
  /// on. Measured, with a margin.
  Tick weaving_ticks = 0, weaving_ticks_per_voice = 0, telling_ticks = 0;
  std::int64_t tick_hz = 0;            ///< ticks of the timer; streams of another rate are refused
  std::int64_t link_fastest_baud = 0;  ///< 0: there is no player on a serial link; measured
  std::int64_t link_player_flash_bytes = 0, link_player_ram_bytes = 0;  ///< of that one
  std::int64_t link_guard_ram_bytes = 0;  ///< that its guard's slots may take beside it
};

[[nodiscard]] const std::vector<Target>& targets();
/// The target that `name` was most likely meant to be: a slip, or a board with such a chip; empty if none.
[[nodiscard]] std::string nearest_target(const std::string& name);
/// Throws Error (usage) naming the nearest target, or all that there are.
[[nodiscard]] const Target& target_named(const std::string& name);

/// What a player enforces, whatever it is told to play, in ticks.
struct PlayerLimits {
  Tick on_max = 0, gap_min = 0;
  std::int64_t rest_ms = 0;  ///< from the last burst's end on
};
/// The profile's limits in ticks, as the judge counts them: stretch and clock tolerance are taken off the
/// safe way round, then a maximum goes down and a minimum up, so that what keeps the limits passes unclamped.
/// Throws Error (usage) for a rest that is negative, not finite or too long.
[[nodiscard]] PlayerLimits player_limits(const Profile& profile, std::int64_t tick_hz, double rest_s);
/// The same for a live session, whose bursts nobody knows ahead. It rests for a minute, and until all that
/// was played is out of every window of the profile. How hot it left the heatsink is not in it: the player's
/// own rest should suit that.
[[nodiscard]] PlayerLimits live_limits(const Profile& profile, std::int64_t tick_hz);
/// The same after a song: a player counts its rest from the last burst on, `rest_s` from the song's end.
[[nodiscard]] PlayerLimits player_limits(const Profile& profile, const BurstStream& stream, double rest_s);

/// A stream ready for a table. Beside it what the header says of its origin and what the player enforces.
struct TableInput {
  BurstStream stream;
  std::string title;
  Profile profile;
  double rest_before_repeat_s = 0;
  Account account{};  ///< of the stream; may be empty: it makes for a smaller table
  /// What header and README say of whose limits it was judged by, a sentence or line each; may be empty.
  std::vector<std::string> whose_limits{};
};

namespace table_detail {
class StreamTables;
}

/// The tables of a stream. Made once and asked for several targets, it works out but once what is the same
/// for all of them. One thread at a time.
class Tables {
 public:
  /// `input` has to live on.
  Tables(const TableInput& input);
  ~Tables();
  [[nodiscard]] table_detail::StreamTables& made() const { return *made_; }

 private:
  std::unique_ptr<table_detail::StreamTables> made_;
};

/// How a table says its bursts (docs/reference/table-format.md).
enum class Encoding : std::uint8_t {
  pairs = 0,     ///< gap and on-time of each
  voices = 1,    ///< what each voice wants, for the player's weaver, and where the stream is otherwise
  directory = 2  ///< none of them: where the songs of a set are
};
[[nodiscard]] const char* name_of(Encoding encoding);

/// How much of the chip a table would take. RAM includes the deepest stack that was measured.
struct TableFit {
  std::int64_t bursts = 0, table_bytes = 0;
  Encoding encoding = Encoding::pairs;  ///< the one that takes less of the chip
  std::int64_t flash_used = 0, flash_of = 0, ram_used = 0, ram_of = 0;
  double fits_until_s =
      0;  ///< `excerpt` of the stream from its start until here would fit; all of it: its length
  [[nodiscard]] bool fits() const { return flash_used <= flash_of; }
};
[[nodiscard]] TableFit fit_of(const Tables& tables, const Target& target);

/// Whether `table_header` would give one: the target can play the stream, and holds all of it.
[[nodiscard]] bool can_hold(const Target& target, const Tables& tables);

/// The table as a C header. Throws Error: usage (stream's ticks are not the timer's), outside_limits
/// (bursts closer or shorter than the target can do; does not fit, with the numbers and what would fit).
[[nodiscard]] std::string table_header(const Tables& tables, const Target& target);

/// The whole project: table, player, port, build file, README.
[[nodiscard]] std::vector<FolderFile> project(const Tables& tables, const Target& target);

/// A song of a set. `table.rest_before_repeat_s` is the shortest rest after it before anything may start.
struct ImageSong {
  TableInput table;
  double pause_s = 0;  ///< planned after it; a shorter one than the rest becomes the rest
};

/// An entry of an image's directory.
struct SetEntry {
  std::string title;  ///< as a chip with a display shows it: ASCII, 32 characters at most
  std::int64_t bursts = 0;
  std::int64_t table_at = 0, table_bytes = 0;  ///< in the image
  Encoding encoding = Encoding::pairs;
  double length_s = 0;
  std::int64_t rest_ms = 0, pause_ms = 0;  ///< from the last burst's end on, by the player's clock
};

/// What an image takes of the chip. RAM includes the deepest stack that was measured.
struct SetFit {
  std::int64_t image_bytes = 0;
  std::int64_t flash_used = 0, flash_of = 0, ram_used = 0, ram_of = 0;
  std::size_t songs_that_fit = 0;  ///< so many from the first on
  [[nodiscard]] bool fits() const { return flash_used <= flash_of && ram_used <= ram_of; }
};

/// All songs of a set in one image for a chip's flash (docs/reference/table-format.md).
struct SetImage {
  std::vector<SetEntry> directory;
  SetFit fit;
  std::string header;               ///< the C header
  std::vector<FolderFile> project;  ///< header, player, port, build file, README
};
/// Throws Error: usage (no songs, more than 255; another tick rate; songs whose limits differ, naming what),
/// outside_limits (as `table_header`, naming the song; a pause too short for the player's guard; does not
/// fit, with the numbers, the songs that do, and what to do), and what `table_header` throws.
[[nodiscard]] SetImage set_image(const std::vector<ImageSong>& songs, const Target& target);
/// Whether `set_image` would give one.
[[nodiscard]] bool can_hold(const Target& target, const std::vector<ImageSong>& songs);

/// A player without a table: a computer sends it the bursts while it plays (docs/reference/serial-link.md).
struct LinkPlayer {
  Profile profile;
  double rest_s = 0;  ///< after reset and after every song, at least
  std::int64_t baud = 115'200;
  std::vector<std::string> whose_limits{};  ///< as of `TableInput`
};
/// Its whole project. Throws Error (usage): the target has none, a rate that no line has, a rest as in
/// `player_limits`.
[[nodiscard]] std::vector<FolderFile> link_player(const LinkPlayer& player, const Target& target);

}  // namespace burstloom
