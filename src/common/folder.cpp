// Folders that are written whole, with a list of what was written.
#include <sys/stat.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <map>
#include <sstream>
#include <utility>

#include "burstloom/common/content_hash.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/common/own_files.hpp"
#include "temporary.hpp"

namespace burstloom {
namespace {

namespace fs = std::filesystem;

// Folders that are removed again, where they are empty, unless they are kept.
class NewFolders {
 public:
  NewFolders() = default;
  NewFolders(const NewFolders&) = delete;
  NewFolders& operator=(const NewFolders&) = delete;
  ~NewFolders() {
    std::error_code ignored;
    for (auto folder = made_.rbegin(); folder != made_.rend(); ++folder) fs::remove(*folder, ignored);
  }

  void make(const fs::path& folder) {
    std::error_code problem;
    if (folder.empty() || fs::is_directory(folder, problem)) return;
    if (folder.has_parent_path() && folder.parent_path() != folder) make(folder.parent_path());
    problem.clear();
    if (fs::create_directory(folder, problem)) made_.push_back(folder);
    if (problem)
      throw Error(Fault::machine, "cannot make this folder (" + problem.message() + ")",
                  printable(folder.string(), 200), "choose another place");
  }

  void keep() { made_.clear(); }

 private:
  std::vector<fs::path> made_;
};

void require_inside(const std::string& path) {
  const fs::path relative(path);
  const bool climbs = std::find(relative.begin(), relative.end(), "..") != relative.end();
  if (path.empty() || relative.is_absolute() || climbs)
    throw Error(Fault::usage, "'" + printable(path) + "' does not lie below the folder", "",
                "give a path without '..' that does not start with '/'");
}

// A folder beside its place, that vanishes again unless it gets there.
class TemporaryFolder {
 public:
  explicit TemporaryFolder(fs::path target)
      : target_(std::move(target)),
        name_(made_beside(target_.string(), [](const char* name) { return ::mkdir(name, 0777); })) {}
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  ~TemporaryFolder() {
    std::error_code ignored;
    if (!kept_) fs::remove_all(name_, ignored);
  }

  [[nodiscard]] const fs::path& name() const { return name_; }

  void rename_to_target() {
    if (std::rename(name_.c_str(), target_.c_str()) != 0) throw unplaced(target_.string(), errno);
    kept_ = true;
  }

 private:
  fs::path target_, name_;
  bool kept_ = false;
};

// What Burstloom wrote into a folder: each file's hash. While a folder is being written a file has two, the
// old and the new one: whichever stands there when a run is killed is known to the next.
class FileList {
 public:
  static constexpr const char* kName = ".burstloom-export";

  FileList() = default;
  explicit FileList(const Bytes& text) {
    std::istringstream lines(std::string(text.begin(), text.end()));
    for (std::string hash, path; lines >> hash && std::getline(lines >> std::ws, path);)
      if (hash != "#") hashes_.emplace(path, hash);
  }

  [[nodiscard]] std::vector<std::string> of(const std::string& path) const {
    std::vector<std::string> hashes;
    for (auto [at, end] = hashes_.equal_range(path); at != end; ++at) hashes.push_back(at->second);
    return hashes;
  }
  void set(const std::string& path, const std::vector<std::string>& hashes) {
    hashes_.erase(path);
    for (const std::string& hash : hashes) hashes_.emplace(path, hash);
  }
  [[nodiscard]] std::string text() const {
    std::string text =
        "# Files that burstloom export wrote, by what they held: one that was edited is not replaced.\n";
    for (const auto& [path, hash] : hashes_) text += hash + " " + path + "\n";
    return text;
  }

 private:
  std::multimap<std::string, std::string> hashes_;
};

void write_new_folder(const fs::path& folder, std::vector<FolderFile> files) {
  FileList list;
  for (const auto& [path, content] : files) list.set(path, {content_hash(content)});
  files.push_back({FileList::kName, list.text()});
  NewFolders above, below;
  above.make(folder.parent_path());
  TemporaryFolder fresh(folder);
  for (const auto& [path, content] : files) {
    const std::string target = (folder / path).string();
    below.make((fresh.name() / path).parent_path());
    const int opened = new_file((fresh.name() / path).c_str());
    if (opened < 0) throw unwritten(target, "cannot write here", errno);
    FileInPieces file(opened, target);
    (void)file.write({reinterpret_cast<const std::uint8_t*>(content.data()), content.size()});
    file.finish();
  }
  fresh.rename_to_target();
  above.keep();
  below.keep();
}

void require_no_link_on_the_way(const fs::path& folder, const std::string& path) {
  fs::path way = folder;
  for (const fs::path& part : fs::path(path).parent_path()) require_no_link((way /= part).string());
}

// Enters the file into the list, unless what stands in its place is not Burstloom's.
void enter(const FolderFile& file, const fs::path& folder, bool force, FileList& list) {
  require_no_link_on_the_way(folder, file.path);
  const std::string target = (folder / file.path).string(), hash = content_hash(file.content);
  std::vector<std::string> known = list.of(file.path);
  if (!force) {
    known.push_back(hash);
    require_own_file(target, known);
  }
  const auto there = hash_of_plain_file(target);
  const bool is_old_one = there && *there != hash && std::count(known.begin(), known.end(), *there) > 0;
  list.set(file.path, is_old_one ? std::vector{*there, hash} : std::vector{hash});
}

void write_into_folder(const fs::path& folder, const std::vector<FolderFile>& files, bool force) {
  const std::string list_at = (folder / FileList::kName).string();
  const auto listed = bytes_of_plain_file(list_at);
  if (!listed && !force) require_empty_folder(folder.string());
  FileList list = listed ? FileList(*listed) : FileList();
  for (const FolderFile& file : files) enter(file, folder, force, list);
  NewFolders made;
  FilesTogether together;
  together.add(list_at, list.text());
  for (const auto& [path, content] : files) {
    made.make((folder / path).parent_path());
    together.add((folder / path).string(), content);
  }
  together.place();
  made.keep();
}

}  // namespace

void write_folder(const std::string& folder, const std::vector<FolderFile>& files, bool force) {
  for (const FolderFile& file : files) require_inside(file.path);
  const fs::path path = folder.ends_with('/') ? fs::path(folder).parent_path() : fs::path(folder);
  std::error_code ignored;
  if (fs::exists(path, ignored))
    write_into_folder(path, files, force);
  else
    write_new_folder(path, files);
}

}  // namespace burstloom
