// The songs of a set side by side in one image: what each takes, and what the player is compiled with.
#pragma once

#include <optional>

#include "stream_tables.hpp"

namespace burstloom::table_detail {

/// A song with what the player keeps for it.
struct PlannedSong {
  const ImageSong* song = nullptr;
  CompiledLimits limits;        ///< with the rest after this song
  std::int64_t pause_ms = 0;    ///< at least that rest
  std::vector<Table> tables{};  ///< those that the target can follow
};

/// Throws Error as `set_image` does, but for what does not fit. The songs have to live on.
[[nodiscard]] std::vector<PlannedSong> planned_songs(const std::vector<ImageSong>& songs,
                                                     const Target& target);

/// The same limits for all, with the longest rest of any song.
[[nodiscard]] CompiledLimits common_limits(const std::vector<PlannedSong>& songs);
/// The shortest pause between two songs; of one song alone its rest.
[[nodiscard]] std::int64_t shortest_pause_ms(const std::vector<PlannedSong>& songs);

/// One table a song, and what they take together with their player and directory.
struct Layout {
  std::vector<const Table*> tables;
  int voices = 0;  ///< the most of any table; 0: all are of pairs
  std::int64_t image_bytes = 0, flash_bytes = 0, ram_bytes = 0;
};
/// The tables of the first `count` songs that take the least flash within the target's RAM.
[[nodiscard]] Layout layout_of(const std::vector<PlannedSong>& songs, std::size_t count,
                               const Target& target);
/// The encoding of all tables, or nothing where they differ.
[[nodiscard]] std::optional<Encoding> common_encoding(const Layout& layout);

inline constexpr std::size_t kMostSongs = 255;
inline constexpr std::size_t kSetEntryBytes = 48, kSetTitleBytes = 32;

/// "song 2 (its title)".
[[nodiscard]] std::string which_song(std::size_t index, const ImageSong& song);

}  // namespace burstloom::table_detail
