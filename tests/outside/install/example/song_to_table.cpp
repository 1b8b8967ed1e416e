// song_to_table SONG COIL HEADER: weaves a MIDI file (or a recording) for a coil, has it judged, and writes a
// table for an RP2040. Exit code 0: within the coil's limits.
#include <cstdio>
#include <string>
#include <utility>

#include "burstloom/check/judge.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/tables/tables.hpp"
#include "burstloom/weave/song.hpp"

using namespace burstloom;

namespace {

int run(const char* song_path, const char* coil_path, const char* header_path) {
  const Profile profile = read_profile(coil_path);
  SongRequest request;
  request.input = song_path;
  const WeaveOptions options;
  Song song = std::move(songs_for(request, {{&profile, options}}).front());
  Guarded guarded = place(std::move(song.wanted.bursts), profile, options.tick_hz, song.wanted.length);
  const Judgement judgement = judge(guarded.stream, profile);
  std::printf("%zu bursts, %s", guarded.stream.bursts.size(), name_of(judgement.verdict));
  if (judgement.verdict != Verdict::within_limits) return 1;
  const TableInput input{.stream = std::move(guarded.stream),
                         .title = song.title,
                         .profile = profile,
                         .rest_before_repeat_s = judgement.rest_before_repeat_s.value_or(0)};
  const Tables tables(input);
  const Target& target = target_named("rp2040");
  write_file(header_path, table_header(tables, target));
  std::printf(", %s takes %lld bytes\n", header_path,
              static_cast<long long>(fit_of(tables, target).table_bytes));
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) return 2;
  try {
    return run(argv[1], argv[2], argv[3]);
  } catch (const Error& error) {
    std::fprintf(stderr, "song_to_table: %s\n", error.what());
    return static_cast<int>(error.fault());
  }
}
