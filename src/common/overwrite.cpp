#include "burstloom/common/overwrite.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"

namespace burstloom {
namespace {

struct Look {
  OutputKind kind;
  const char* called;
  std::string_view begins, holds;  // the file, and its first bytes somewhere
};

constexpr Look kLooks[] = {
    {OutputKind::stream, "stream", "BURSTLM\x1A", ""},
    {OutputKind::csv, "stream as CSV", "# tick_hz=", "\nstart_us,on_us\n"},
    {OutputKind::vcd, "stream as VCD", "$version Burstloom $end\n", ""},
    {OutputKind::sound, "sound", "RIFF", "Burstloom exact gate"},
    {OutputKind::sound, "sound", "RIFF", "made by Burstloom"},
    {OutputKind::sound, "sound", "fLaC", "made by Burstloom"},
    {OutputKind::ledger, "ledger", "wanted,note,voice,wanted_start_us,", ""},
    {OutputKind::header, "header", "/*", "made by Burstloom for "},
    {OutputKind::report, "report", "<!DOCTYPE html>", "<!-- made by Burstloom -->"},
    {OutputKind::picture, "picture", "\x89PNG", "made by Burstloom"},
    {OutputKind::picture, "picture", "<?xml", "<!-- made by Burstloom -->"},
};

std::string beginning_of(const std::string& path) {
  constexpr std::size_t kSeen = 4096;
  std::string text(kSeen, '\0');
  std::ifstream file(path, std::ios::binary);
  file.read(text.data(), kSeen);
  text.resize(static_cast<std::size_t>(file.gcount()));
  return text;
}

bool is_regular(const std::string& path) {
  std::error_code ignored;
  return std::filesystem::is_regular_file(path, ignored);
}

// Devices, pipes and folders are told of where they are written to.
void require_replaceable(const Output& output) {
  std::error_code problem;
  if (!is_regular(output.path) || std::filesystem::file_size(output.path, problem) == 0) return;
  const std::string there = beginning_of(output.path);
  const char* called = "";
  for (const Look& look : kLooks) {
    if (look.kind != output.kind) continue;
    called = look.called;
    if (there.starts_with(look.begins) && there.find(look.holds) != std::string::npos) return;
  }
  throw Error(Fault::usage,
              std::string("this file is there already, and is no ") + called + " that Burstloom wrote",
              printable(output.path, 200), "write under another name, or replace it with --force");
}

}  // namespace

void require_replaceable(const std::vector<Output>& outputs) {
  for (const Output& output : outputs) require_replaceable(output);
}

void write_to_edit(const std::string& path, std::string_view content, bool force) {
  if (!force && is_regular(path)) {
    const Bytes there = read_file(path);
    if (!there.empty() &&
        !std::equal(there.begin(), there.end(), content.begin(), content.end(),
                    [](std::uint8_t a, char b) { return a == static_cast<std::uint8_t>(b); }))
      throw Error(Fault::usage, "there is another file of that name already", printable(path, 200),
                  "write under another name, or replace it with --force");
  }
  write_file(path, content);
}

}  // namespace burstloom
