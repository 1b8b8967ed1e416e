#include <filesystem>
#include <system_error>
#include <vector>

#include "burstloom/common/files.hpp"
#include "burstloom/common/nearest.hpp"

namespace burstloom {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostLookedAt = 5000;  // a folder may be huge, and this is only a hint

std::vector<std::string> names_in(const fs::path& folder) {
  std::vector<std::string> names;
  std::error_code problem;
  for (fs::directory_iterator at(folder.empty() ? "." : folder, problem), end;
       !problem && at != end && names.size() < kMostLookedAt; at.increment(problem))
    names.push_back(printable(at->path().filename().string()));
  return names;
}

}  // namespace

Error no_such_file(const std::string& path) {
  const fs::path folder = fs::path(path).parent_path();
  std::error_code problem;
  if (!folder.empty() && !fs::is_directory(folder, problem))
    return bad_input("there is no folder " + printable(folder.string(), 100), printable(path, 200),
                     "check the name");
  return bad_input("there is no such file", printable(path, 200),
                   did_you_mean(fs::path(path).filename().string(), names_in(folder),
                                "check its name, and the folder you are in"));
}

}  // namespace burstloom
