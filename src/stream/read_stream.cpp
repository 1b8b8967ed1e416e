// A stream from any file, told apart by what is in it, then by its name.
#include <algorithm>
#include <array>
#include <cstdio>
#include <filesystem>
#include <memory>

#include "burstloom/common/error.hpp"
#include "burstloom/stream/files.hpp"

namespace burstloom {
namespace {

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
  std::string ending = std::filesystem::path(path).extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  if (ending == ".burst") return Kind::burst;
  if (ending == ".csv") return Kind::csv;
  if (ending == ".vcd") return Kind::vcd;
  return ending == ".wav" ? Kind::wav : Kind::unknown;
}

Kind kind_of(const std::string& path, std::string_view content) {
  const Kind kind = kind_by_content(content.substr(0, 512));
  return kind == Kind::unknown ? kind_by_ending(path) : kind;
}

// The first bytes of a plain file. A pipe gives its bytes only once: nothing is taken from it here.
std::string head_of(const std::string& path) {
  std::error_code problem;
  if (!std::filesystem::is_regular_file(path, problem)) return {};
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file(std::fopen(path.c_str(), "rb"), std::fclose);
  std::array<char, 512> head{};
  return file ? std::string(head.data(), std::fread(head.data(), 1, head.size(), file.get())) : std::string();
}

StreamFile of_capture(Capture capture) {
  StreamFile read;
  read.file.stream = capture.stream;
  read.capture = std::move(capture);
  return read;
}

}  // namespace

StreamFile read_stream(const std::string& path, const CaptureOptions& options) {
  // Sound is read block by block through its library, not held in memory.
  const std::string head = head_of(path);
  if (!head.empty() && kind_of(path, head) == Kind::wav) return of_capture(from_wav_gate(path, options));
  const Bytes bytes = read_file(path);
  const std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  StreamFile read;
  switch (kind_of(path, text)) {
    case Kind::burst:
      read.file = from_burst_file(bytes, path);
      return read;
    case Kind::csv:
      read.file.stream = from_csv(text, path);
      return read;
    case Kind::vcd:
      return of_capture(from_vcd(text, path, options));
    case Kind::wav:
      throw bad_input("a WAV file cannot be read from here", printable(path, 200),
                      "save it as a plain file that is not empty");
    case Kind::unknown:
      break;
  }
  throw bad_input("is no stream that Burstloom knows", printable(path, 200),
                  "give a .burst, .csv, .vcd or .wav file");
}

}  // namespace burstloom
