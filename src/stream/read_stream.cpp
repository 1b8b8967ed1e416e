// A stream from any file, told apart by what is in it, then by its name.
#include <algorithm>
#include <array>
#include <filesystem>

#include "block_readers.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/common/file_blocks.hpp"
#include "burstloom/common/file_kind.hpp"
#include "burstloom/common/words.hpp"
#include "gate_trace.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kHead = 512;     // bytes that tell what a file is
constexpr std::size_t kTables = 8192;  // and where text is taken for another file of ours

enum class Kind { unknown, burst, csv, vcd, wav };

Kind kind_by_content(std::string_view head) {
  if (head.starts_with("BURSTLM")) return Kind::burst;
  if (head.starts_with("RIFF") || head.starts_with("RF64")) return Kind::wav;
  if (head.starts_with("\xEF\xBB\xBF")) head.remove_prefix(3);
  const std::size_t start = head.find_first_not_of(" \t\r\n");
  if (start == std::string_view::npos) return Kind::unknown;
  head.remove_prefix(start);
  if (head.starts_with('#') || head.starts_with("start_us")) return Kind::csv;
  constexpr std::array<std::string_view, 9> kVcdWords{"$comment", "$date",      "$enddefinitions",
                                                      "$scope",   "$timescale", "$upscope",
                                                      "$var",     "$version",   "$attrbegin"};
  const bool is_vcd =
      std::any_of(kVcdWords.begin(), kVcdWords.end(), [&](auto word) { return head.starts_with(word); });
  return is_vcd ? Kind::vcd : Kind::unknown;
}

Kind kind_by_ending(const std::string& path) {
  const std::string ending = in_small_letters(std::filesystem::path(path).extension().string());
  if (ending == ".burst") return Kind::burst;
  if (ending == ".csv") return Kind::csv;
  if (ending == ".vcd") return Kind::vcd;
  return ending == ".wav" ? Kind::wav : Kind::unknown;
}

Kind kind_of(const std::string& path, std::string_view content) {
  const Kind kind = kind_by_content(content);
  if (kind == Kind::unknown) require_kind(FileKind::stream, content, printable(path, 200));
  return kind == Kind::unknown ? kind_by_ending(path) : kind;
}

[[noreturn]] void refuse_unknown(FileBlocks& file, const std::string& path) {
  require_kind(FileKind::stream, file.head(kTables), printable(path, 200));
  throw bad_input("is no stream that Burstloom knows", printable(path, 200),
                  "give a .burst, .csv, .vcd or .wav file");
}

// Sound is read through its library, by name: a pipe will not do.
void require_plain_file(const std::string& path) {
  std::error_code problem;
  if (!std::filesystem::is_regular_file(path, problem) || std::filesystem::file_size(path, problem) == 0)
    throw bad_input("a WAV file cannot be read from here", printable(path, 200),
                    "save it as a plain file that is not empty");
}

// A mark that promised too much: the file is read once more, as the measurement that it is.
void start_again(FileBlocks& file, const std::string& path) {
  if (!file.again())
    throw bad_input("says that every edge lies on its tick, but not every one does", printable(path, 200),
                    "save it as a file and give that: a pipe cannot be read twice");
}

StreamTail read_kind(Kind kind, FileBlocks& file, const std::string& path, const CaptureOptions& options,
                     BurstSink& sink, bool trust_mark) {
  const TextSource source = [&file](bool (*ends)(char)) { return file.next(ends); };
  switch (kind) {
    case Kind::burst:
      return read_burst(file.rest(), path, sink);
    case Kind::csv:  // '#' begins comments in TOML, too
      require_kind(FileKind::stream, file.head(kTables), printable(path, 200));
      return read_csv(source, path, sink);
    case Kind::vcd:
      return read_vcd(source, path, options, sink, trust_mark);
    case Kind::wav:
      require_plain_file(path);
      return read_wav(path, options, sink, trust_mark);
    case Kind::unknown:
      break;
  }
  refuse_unknown(file, path);
}

StreamTail read_opened(Kind kind, FileBlocks& file, const std::string& path, const CaptureOptions& options,
                       BurstSink& sink) {
  try {
    return read_kind(kind, file, path, options, sink, true);
  } catch (const NotAsMarked&) {
    start_again(file, path);
    return read_kind(kind, file, path, options, sink, false);
  }
}

}  // namespace

StreamTail read_in_blocks(const std::string& path, const CaptureOptions& options, BurstSink& sink,
                          std::size_t bytes) {
  FileBlocks file(path, bytes);
  return read_opened(kind_of(path, file.head(kHead)), file, path, options, sink);
}

StreamFile read_stream(const std::string& path, const CaptureOptions& options) {
  FileBlocks file(path);
  const Kind kind = kind_of(path, file.head(kHead));
  StreamFile read;
  if (kind == Kind::burst) {
    read.file = from_burst_file(file.rest(), path);
    return read;
  }
  WholeStream whole;
  const StreamTail tail = read_opened(kind, file, path, options, whole);
  read.file.stream = std::move(whole.stream);
  read.file.stream.length = tail.length;
  if (tail.capture) {
    read.capture.emplace();
    static_cast<CaptureSigns&>(*read.capture) = *tail.capture;
    read.capture->stream = read.file.stream;
  }
  return read;
}

}  // namespace burstloom
