#include "bench_coil.hpp"

#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <sstream>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/common/toml_table.hpp"

namespace burstloom::command {
namespace {

namespace fs = std::filesystem;

// A copied profile is no longer than a profile may be, and its line ends and quotes are escaped.
constexpr std::size_t kLargestCopy = std::size_t{4} << 20;
constexpr const char* kNameItAgain =
    "name it again with burstloom coil use COIL.toml, or the coil of this command with --coil";

// The XDG Base Directory Specification, version 0.8: relative paths are to be ignored.
std::string absolute_path_in(const char* variable) {
  const char* value = std::getenv(variable);
  return value != nullptr && value[0] == '/' ? value : "";
}

std::string required_path() {
  std::string path = bench_coil_path();
  if (path.empty())
    throw Error(Fault::machine, "there is no folder to keep the bench coil in: HOME is not set", "",
                "set HOME or XDG_CONFIG_HOME, or name the coil in each command with --coil");
  return path;
}

std::int64_t checksum(const std::string& text) {
  return crc32({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

std::string text_of_file(const std::string& path) {
  const Bytes bytes = read_file(path, kLargestCopy);
  return {bytes.begin(), bytes.end()};
}

// Escaped on one line: no rule for strings of several lines touches the text then.
std::string copy_of(const BenchCoil& coil) {
  constexpr auto kEscaped =
      toml::toml_formatter::default_flags &
      ~(toml::format_flags::allow_multi_line_strings | toml::format_flags::allow_literal_strings);
  const toml::table table{{"original", printable(coil.original, std::string::npos)},
                          {"profile", coil.profile.text},
                          {"profile_crc32", checksum(coil.profile.text)}};
  std::ostringstream text;
  text
      << "# The bench coil, copied by burstloom coil use. To change it, edit the original and use it again.\n"
      << toml::toml_formatter(table, kEscaped) << "\n";
  return text.str();
}

BenchCoil read_copy(const std::string& text, const std::string& where) {
  const toml::table table = parsed_toml(text, where);
  const auto profile = table["profile"].value<std::string>();
  const auto original = table["original"].value<std::string>();
  if (!profile || !original || table["profile_crc32"].value<std::int64_t>() != checksum(*profile))
    throw bad_input("it is not as it was written", where, kNameItAgain);
  return {parse_profile(*profile, where), *original};
}

}  // namespace

std::string bench_coil_path() {
  const std::string config = absolute_path_in("XDG_CONFIG_HOME"), home = absolute_path_in("HOME");
  if (config.empty() && home.empty()) return "";
  const fs::path folder = config.empty() ? fs::path(home) / ".config" : fs::path(config);
  return folder / "burstloom" / "bench-coil.toml";
}

std::optional<BenchCoil> bench_coil() {
  const std::string path = bench_coil_path(), where = printable(path, 200);
  std::error_code problem;
  if (path.empty() || fs::symlink_status(path, problem).type() == fs::file_type::not_found)
    return std::nullopt;
  std::string text;
  try {
    text = text_of_file(path);
  } catch (const Error& error) {
    throw Error(Fault::machine, "the bench coil cannot be read: " + error.problem(), where, kNameItAgain);
  }
  try {
    return read_copy(text, where);
  } catch (const Error& error) {
    throw bad_input("the copy of the bench coil cannot be used: " + error.problem(), error.where(),
                    kNameItAgain);
  }
}

bool has_changed(const BenchCoil& coil) {
  std::error_code ignored;
  if (!fs::is_regular_file(coil.original, ignored)) return false;
  try {
    return text_of_file(coil.original) != coil.profile.text;
  } catch (const Error&) {
    return false;  // the copy holds, whatever became of the original
  }
}

BenchCoil use_bench_coil(const std::string& path) {
  const std::string copy = required_path();
  BenchCoil coil{read_profile(path), fs::absolute(path).lexically_normal().string()};
  std::error_code problem;
  const fs::path folder = fs::path(copy).parent_path();
  fs::create_directories(folder, problem);
  if (problem)
    throw Error(Fault::machine, "cannot make this folder (" + problem.message() + ")",
                printable(folder.string(), 200), "make it writable, or name the coil with --coil");
  write_file(copy, copy_of(coil));
  return coil;
}

bool forget_bench_coil() {
  const std::string path = required_path();
  if (::unlink(path.c_str()) == 0) return true;
  if (errno == ENOENT || errno == ENOTDIR) return false;
  throw Error(Fault::machine,
              std::string("the bench coil cannot be forgotten (") + std::strerror(errno) + ")",
              printable(path, 200), "make its folder writable");
}

}  // namespace burstloom::command
