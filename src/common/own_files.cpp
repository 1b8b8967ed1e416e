#include "burstloom/common/own_files.hpp"

#include <algorithm>
#include <filesystem>

#include "burstloom/common/content_hash.hpp"
#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

namespace fs = std::filesystem;

// Of the path itself: "a/" and "a/." would be what a link leads to.
fs::file_type type_at(const std::string& path) {
  fs::path plain = fs::path(path).lexically_normal();
  if (!plain.has_filename()) plain = plain.parent_path();
  std::error_code ignored;
  return fs::symlink_status(plain, ignored).type();
}

// "README, photo.jpg, ..": as many as a sentence bears.
std::string some_names_in(const std::string& folder) {
  constexpr std::size_t kSaid = 3;
  std::vector<std::string> names;
  std::error_code problem;
  for (fs::directory_iterator it(folder, problem), end; !problem && it != end; it.increment(problem))
    names.push_back(printable(it->path().filename().string(), 40));
  std::sort(names.begin(), names.end());
  std::string said;
  for (std::size_t i = 0; i < std::min(kSaid, names.size()); ++i) said += (i == 0 ? "" : ", ") + names[i];
  return said + (names.size() > kSaid ? ", .." : "");
}

}  // namespace

std::optional<Bytes> bytes_of_plain_file(const std::string& path) {
  if (type_at(path) != fs::file_type::regular) return std::nullopt;
  return read_file(path);
}

std::optional<std::string> hash_of_plain_file(const std::string& path) {
  const auto bytes = bytes_of_plain_file(path);
  return bytes ? std::optional(content_hash(*bytes)) : std::nullopt;
}

void require_no_link(const std::string& path) {
  if (type_at(path) == fs::file_type::symlink)
    throw Error(Fault::usage, "this is a symbolic link, and what it leads to is not touched",
                printable(path, 200), "remove the link, or write to another folder");
}

void require_empty_folder(const std::string& folder) {
  if (const std::string names = some_names_in(folder); !names.empty())
    throw Error(Fault::usage, "there are files in this folder that Burstloom did not write (" + names + ")",
                printable(folder, 200), "write to a new folder, or among them with --force");
}

void require_own_file(const std::string& path, const std::vector<std::string>& hashes) {
  const fs::file_type type = type_at(path);
  if (type == fs::file_type::not_found || type == fs::file_type::directory) return;
  const auto there = hash_of_plain_file(path);
  if (there && (*there == content_hash("") || std::count(hashes.begin(), hashes.end(), *there) > 0)) return;
  throw Error(Fault::usage, "Burstloom did not write this file, or it was edited since", printable(path, 200),
              "write to another folder, or replace it with --force");
}

}  // namespace burstloom
